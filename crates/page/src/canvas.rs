//! A plan on a canvas of the page.
//!
//! Plans are drawn in whole units of a grid eight times finer than the pixels
//! of the canvas and scaled back by it, so that curves are smooth; level and
//! upright lines are put onto whole pixels, so that they are sharp.  Crossing
//! from wasm to the browser costs more than the drawing: a colour is handed
//! over when it changes, and dots that follow one another are filled at once.

use crate::fault::{Answer, misasked, thrown};
use crate::plans::open;
use figure::Palette;
use plotters_backend::text_anchor::{HPos, VPos};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
    FontTransform,
};
use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::fmt;
use wasm_bindgen::prelude::wasm_bindgen;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement};

/// Parts of a pixel that the grid counts.
const FINE: i32 = 8;

/// Draws a plan on a canvas, `ratio` pixels of the canvas to one of the plan.
///
/// # Errors
///
/// `figure/plan`, `figure/palette` or `figure/draw`.
#[wasm_bindgen]
pub fn draw(canvas: &HtmlCanvasElement, plan: &[u8], palette: &str, ratio: f64) -> Answer<()> {
    let plan = open(plan)?;
    let palette = Palette::from_json(palette).map_err(thrown)?;
    let mut sheet = Sheet::new(canvas)?;
    figure::draw::draw(&plan, &palette, &mut sheet, ratio * f64::from(FINE)).map_err(thrown)
}

/// Draws a plan with its line of provenance, for saving.
///
/// # Errors
///
/// `figure/plan`, `figure/palette` or `figure/draw`.
#[wasm_bindgen]
pub fn draw_sheet(canvas: &HtmlCanvasElement, plan: &[u8], palette: &str, ratio: f64) -> Answer<()> {
    let plan = open(plan)?;
    let palette = Palette::from_json(palette).map_err(thrown)?;
    let mut sheet = Sheet::new(canvas)?;
    figure::draw::sheet(&plan, &palette, &mut sheet, ratio * f64::from(FINE)).map_err(thrown)
}

/// What the browser had against a call.
#[derive(Debug)]
struct Refused(String);

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Refused {}

type Drawn = Result<(), DrawingErrorKind<Refused>>;

#[allow(clippy::needless_pass_by_value)] // As `map_err` hands it over.
fn refused(error: JsValue) -> DrawingErrorKind<Refused> {
    DrawingErrorKind::DrawingError(Refused(format!("{error:?}")))
}

/// A canvas that is drawn on, and what it was last told.
struct Sheet {
    context: CanvasRenderingContext2d,
    size: (u32, u32),
    fill: Option<BackendColor>,
    stroke: Option<(BackendColor, u32)>,
    font: String,
    // Whether dots of the fill's colour wait to be filled.
    dots: bool,
}

impl Sheet {
    fn new(canvas: &HtmlCanvasElement) -> Answer<Self> {
        let without = || thrown(misasked("a canvas that can be drawn on"));
        let context = canvas.get_context("2d")?.ok_or_else(without)?;
        let context: CanvasRenderingContext2d = context.dyn_into().map_err(|_| without())?;
        let share = 1.0 / f64::from(FINE);
        context.set_transform(share, 0.0, 0.0, share, 0.0, 0.0)?;
        context.set_line_join("round");
        context.set_line_cap("butt");
        let fine = |pixels: u32| pixels.saturating_mul(FINE as u32);
        Ok(Self {
            context,
            size: (fine(canvas.width()), fine(canvas.height())),
            fill: None,
            stroke: None,
            font: String::new(),
            dots: false,
        })
    }

    fn fill_with(&mut self, colour: BackendColor) {
        if self.fill.is_none_or(|now| !same(now, colour)) {
            self.finish_dots();
            self.context.set_fill_style_str(&css(colour));
            self.fill = Some(colour);
        }
    }

    fn stroke_with<S: BackendStyle>(&mut self, style: &S) {
        let (colour, width) = (style.color(), style.stroke_width());
        if self.stroke.is_none_or(|(now, wide)| wide != width || !same(now, colour)) {
            self.context.set_stroke_style_str(&css(colour));
            self.context.set_line_width(f64::from(width));
            self.stroke = Some((colour, width));
        }
    }

    // Anything else that is drawn comes after the dots that wait.
    fn finish_dots(&mut self) {
        if std::mem::take(&mut self.dots) {
            self.context.fill();
        }
    }

    fn trace(&mut self, path: impl IntoIterator<Item = BackendCoord>) {
        self.finish_dots();
        self.context.begin_path();
        let mut path = path.into_iter();
        if let Some((x, y)) = path.next() {
            self.context.move_to(f64::from(x), f64::from(y));
        }
        for (x, y) in path {
            self.context.line_to(f64::from(x), f64::from(y));
        }
    }

    fn dot(&mut self, (x, y): BackendCoord, radius: u32) -> Drawn {
        let (x, y, radius) = (f64::from(x), f64::from(y), f64::from(radius));
        if !self.dots {
            self.context.begin_path();
            self.dots = true;
        }
        self.context.move_to(x + radius, y);
        self.context.arc(x, y, radius, 0.0, TAU).map_err(refused)
    }
}

fn same(a: BackendColor, b: BackendColor) -> bool {
    a.rgb == b.rgb && a.alpha.to_bits() == b.alpha.to_bits()
}

fn css(colour: BackendColor) -> String {
    let (r, g, b) = colour.rgb;
    format!("rgba({r},{g},{b},{})", colour.alpha)
}

// The middle of the pixel that a place of the fine grid lies in.
fn middle(place: i32) -> i32 {
    place.div_euclid(FINE) * FINE + FINE / 2
}

// A level or upright line through the middle of its pixels.
fn sharp(from: BackendCoord, to: BackendCoord) -> (BackendCoord, BackendCoord) {
    let (mut from, mut to) = (from, to);
    if from.0 == to.0 {
        (from.0, to.0) = (middle(from.0), middle(to.0));
    }
    if from.1 == to.1 {
        (from.1, to.1) = (middle(from.1), middle(to.1));
    }
    (from, to)
}

fn turn(transform: &FontTransform) -> f64 {
    match transform {
        FontTransform::None => 0.0,
        FontTransform::Rotate90 => FRAC_PI_2,
        FontTransform::Rotate180 => PI,
        FontTransform::Rotate270 => -FRAC_PI_2,
    }
}

impl DrawingBackend for Sheet {
    type ErrorType = Refused;

    fn get_size(&self) -> (u32, u32) {
        self.size
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        self.finish_dots();
        Ok(())
    }

    fn draw_pixel(&mut self, (x, y): BackendCoord, color: BackendColor) -> Drawn {
        self.fill_with(color);
        self.finish_dots();
        self.context.fill_rect(f64::from(x), f64::from(y), 1.0, 1.0);
        Ok(())
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Drawn {
        let (from, to) = sharp(from, to);
        self.draw_path([from, to], style)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        upper_left: BackendCoord,
        bottom_right: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let (left, top) = (f64::from(upper_left.0), f64::from(upper_left.1));
        let (right, bottom) = (f64::from(bottom_right.0), f64::from(bottom_right.1));
        self.finish_dots();
        if fill {
            self.fill_with(style.color());
            self.context.fill_rect(left, top, right - left, bottom - top);
        } else {
            self.stroke_with(style);
            self.context.stroke_rect(left, top, right - left, bottom - top);
        }
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn {
        self.trace(path);
        self.stroke_with(style);
        self.context.stroke();
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        center: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let colour = style.color();
        if fill {
            self.fill_with(colour);
            self.dot(center, radius)?;
            // What shows through must be laid over one another, one by one.
            if colour.alpha < 1.0 {
                self.finish_dots();
            }
            return Ok(());
        }
        self.finish_dots();
        self.stroke_with(style);
        self.context.begin_path();
        let (x, y) = (f64::from(center.0), f64::from(center.1));
        self.context.arc(x, y, f64::from(radius), 0.0, TAU).map_err(refused)?;
        self.context.stroke();
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        vert: I,
        style: &S,
    ) -> Drawn {
        self.fill_with(style.color());
        self.trace(vert);
        self.context.close_path();
        self.context.fill();
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &S,
        (x, y): BackendCoord,
    ) -> Drawn {
        self.fill_with(style.color());
        self.finish_dots();
        let (family, weight) = (style.family(), style.style());
        let font = format!("{} {}px {}", weight.as_str(), style.size(), family.as_str());
        if font != self.font {
            self.context.set_font(&font);
            self.font = font;
        }
        self.context.set_text_align(match style.anchor().h_pos {
            HPos::Left => "left",
            HPos::Center => "center",
            HPos::Right => "right",
        });
        self.context.set_text_baseline(match style.anchor().v_pos {
            VPos::Top => "top",
            VPos::Center => "middle",
            VPos::Bottom => "bottom",
        });
        let (x, y) = (f64::from(x), f64::from(y));
        let angle = turn(&style.transform());
        if angle == 0.0 {
            return self.context.fill_text(text, x, y).map_err(refused);
        }
        self.context.save();
        self.context.translate(x, y).map_err(refused)?;
        self.context.rotate(angle).map_err(refused)?;
        let drawn = self.context.fill_text(text, 0.0, 0.0).map_err(refused);
        self.context.restore();
        drawn
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_line_goes_through_the_middle_of_a_pixel() {
        assert_eq!([-1, 0, 3, 7, 8].map(middle), [-4, 4, 4, 4, 12]);
        assert_eq!(sharp((3, 9), (80, 9)), ((3, 12), (80, 12)));
        assert_eq!(sharp((9, 3), (9, 80)), ((12, 3), (12, 80)));
    }

    #[test]
    fn a_slanted_line_stays_where_it_is() {
        assert_eq!(sharp((3, 9), (80, 10)), ((3, 9), (80, 10)));
    }

    #[test]
    fn a_colour_is_the_same_only_with_the_same_strength() {
        let ink = BackendColor { alpha: 1.0, rgb: (1, 2, 3) };
        assert!(same(ink, ink));
        assert!(!same(ink, BackendColor { alpha: 0.5, ..ink }));
        assert_eq!(css(ink), "rgba(1,2,3,1)");
    }
}
