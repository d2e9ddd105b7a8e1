//! The drawing primitives as SVG elements.

use crate::draw::BELOW_BASELINE;
use crate::model::Plan;
use plotters_backend::text_anchor::{HPos, VPos};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
    FontStyle,
};
use std::convert::Infallible;
use std::fmt::Write;

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

/// Elements gathered so far.
pub(super) struct SvgBackend {
    width_px: f64,
    height_px: f64,
    fine: f64,
    least_px: f64,
    body: String,
    /// The stroke of the open `path`, and its data so far.
    open: Option<(String, String)>,
}

impl SvgBackend {
    pub(super) fn new(width_px: f64, height_px: f64, fine: f64, least_px: f64) -> Self {
        Self { width_px, height_px, fine, least_px, body: String::new(), open: None }
    }

    /// The document with everything gathered.
    pub(super) fn document(mut self, plan: &Plan, (width_mm, height_mm): (f64, f64)) -> String {
        self.close();
        let id: String =
            plan.name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
        let title = escaped(if plan.caption.is_empty() { &plan.name } else { &plan.caption });
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}mm\" height=\"{}mm\" \
             viewBox=\"0 0 {} {}\" role=\"img\" aria-labelledby=\"{id}-title {id}-desc\" \
             font-family=\"sans-serif\" stroke-linejoin=\"round\" stroke-linecap=\"butt\" \
             fill=\"none\">\n<title id=\"{id}-title\">{title}</title>\n\
             <desc id=\"{id}-desc\">{}</desc>\n{}</svg>\n",
            short(width_mm),
            short(height_mm),
            short(self.width_px),
            short(self.height_px),
            escaped(&plan.summary),
            self.body
        )
    }

    /// Strokes that follow each other in the same pen share one element.
    fn stroke<S: BackendStyle>(&mut self, style: &S, data: &str) {
        let colour = style.color();
        let width = f64::from(style.stroke_width()) / self.fine;
        let mut pen = format!("stroke=\"{}\" stroke-width=\"{}\"", hex(colour), short(width));
        if colour.alpha < 1.0 {
            let _ = write!(pen, " stroke-opacity=\"{}\"", short(colour.alpha));
        }
        self.gather(pen, data);
    }

    fn dots(&mut self, colour: BackendColor, radius: u32, data: &str) {
        let width = short(2.0 * f64::from(radius) / self.fine);
        let colour = hex(colour);
        let pen = format!("stroke=\"{colour}\" stroke-width=\"{width}\" stroke-linecap=\"round\"");
        self.gather(pen, data);
    }

    fn gather(&mut self, pen: String, data: &str) {
        match &mut self.open {
            Some((open, gathered)) if *open == pen => gathered.push_str(data),
            _ => {
                self.close();
                self.open = Some((pen, data.to_owned()));
            }
        }
    }

    fn close(&mut self) {
        if let Some((pen, data)) = self.open.take() {
            let _ = writeln!(self.body, "<path {pen} d=\"{data}\"/>");
        }
    }

    fn element(&mut self, text: &str) {
        self.close();
        self.body.push_str(text);
        self.body.push('\n');
    }

    fn fill(&self, colour: BackendColor) -> String {
        if colour.alpha < 1.0 {
            format!("fill=\"{}\" fill-opacity=\"{}\"", hex(colour), short(colour.alpha))
        } else {
            format!("fill=\"{}\"", hex(colour))
        }
    }

    fn length(&self, units: i32) -> String {
        short(f64::from(units) / self.fine)
    }

    /// Moves and relative lines: exact, since all places are whole units.
    fn data(&self, path: impl IntoIterator<Item = BackendCoord>) -> String {
        let mut out = String::new();
        let mut last: Option<BackendCoord> = None;
        for (x, y) in path {
            let (letter, dx, dy) = match last {
                None => ('M', x, y),
                Some((a, b)) => ('l', x.saturating_sub(a), y.saturating_sub(b)),
            };
            let _ = write!(out, "{letter}{} {}", self.length(dx), self.length(dy));
            last = Some((x, y));
        }
        out
    }
}

impl DrawingBackend for SvgBackend {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        ((self.width_px * self.fine) as u32, (self.height_px * self.fine) as u32)
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        self.close();
        Ok(())
    }

    fn draw_pixel(&mut self, (x, y): BackendCoord, colour: BackendColor) -> Drawn {
        self.draw_rect((x, y), (x + 1, y + 1), &colour, true)
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Drawn {
        self.draw_path([from, to], style)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let (x, y) = (from.0.min(to.0), from.1.min(to.1));
        let (width, height) = ((to.0 - from.0).abs(), (to.1 - from.1).abs());
        if fill {
            let place = [x, y, width, height].map(|units| self.length(units));
            let [x, y, width, height] = place;
            let fill = self.fill(style.color());
            self.element(&format!(
                "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" {fill}/>"
            ));
        } else {
            let corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)];
            let data = self.data(corners) + "z";
            self.stroke(style, &data);
        }
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn {
        let data = self.data(path);
        self.stroke(style, &data);
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        centre: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let (x, y) = (self.length(centre.0), self.length(centre.1));
        let r = short(f64::from(radius) / self.fine);
        if fill {
            // Dots of one size and colour share a path: round ends of no length.
            self.dots(style.color(), radius, &format!("M{x} {y}h.01"));
        } else {
            let d = short(2.0 * f64::from(radius) / self.fine);
            let data = format!("M{x} {y}m-{r} 0a{r} {r} 0 1 0 {d} 0a{r} {r} 0 1 0-{d} 0");
            self.stroke(style, &data);
        }
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn {
        let data = self.data(path);
        let fill = self.fill(style.color());
        self.element(&format!("<path {fill} d=\"{data}z\"/>"));
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &S,
        pos: BackendCoord,
    ) -> Drawn {
        let drop = match style.anchor().v_pos {
            VPos::Bottom => -BELOW_BASELINE,
            VPos::Center => 0.35,
            VPos::Top => 0.9,
        };
        let y = short((f64::from(pos.1) + drop * style.size()) / self.fine);
        let x = self.length(pos.0);
        let least_px = (self.least_px * 100.0).ceil() / 100.0;
        let size = short((style.size() / self.fine).max(least_px));
        let side = match style.anchor().h_pos {
            HPos::Left => "",
            HPos::Center => " text-anchor=\"middle\"",
            HPos::Right => " text-anchor=\"end\"",
        };
        let slant = match style.style() {
            FontStyle::Italic | FontStyle::Oblique => " font-style=\"italic\"",
            FontStyle::Normal | FontStyle::Bold => "",
        };
        let fill = self.fill(style.color());
        let text = escaped(text);
        self.element(&format!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\"{side}{slant} {fill}>{text}</text>"
        ));
        Ok(())
    }
}

/// At most two decimals, none that say nothing.
fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn hex(colour: BackendColor) -> String {
    let (r, g, b) = colour.rgb;
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Text for XML: markup is written out, and characters XML forbids are left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if (c as u32) < 0x20 || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_in_a_name_is_text_in_the_drawing() {
        assert_eq!(escaped("<b>&\u{1}\"x"), "&lt;b&gt;&amp;&quot;x");
    }

    #[test]
    fn numbers_have_no_idle_zeros() {
        assert_eq!(short(12.50), "12.5");
        assert_eq!(short(-0.001), "0");
        assert_eq!(short(170.0), "170");
    }
}
