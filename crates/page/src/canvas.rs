//! A plan on a canvas of the page.
//!
//! plotters' canvas backend counts in whole pixels.  Here it draws on a grid
//! eight times finer, scaled back by the canvas, so that curves are smooth;
//! level and upright lines are put onto whole pixels, so that they are sharp.
//! Crossing from wasm to the browser costs more than the drawing itself: dots of
//! one colour that follow one another are filled at once.

use crate::fault::{Answer, misasked, thrown};
use crate::plans::open;
use figure::Palette;
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
};
use plotters_canvas::CanvasBackend;
use record::words::word;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::wasm_bindgen;
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement};

/// Parts of a pixel that the grid counts.
const FINE: i32 = 8;

/// Draws a plan on a canvas, `ratio` pixels of the canvas to one of the plan.
///
/// # Errors
///
/// `figure/plan`, `figure/palette` or `figure/draw`.
#[wasm_bindgen]
pub fn draw(canvas: HtmlCanvasElement, plan: &[u8], palette: &str, ratio: f64) -> Answer<()> {
    let plan = open(plan)?;
    let palette = Palette::from_json(palette).map_err(thrown)?;
    let mut backend = fine(canvas)?;
    figure::draw::draw(&plan, &palette, &mut backend, ratio * f64::from(FINE)).map_err(thrown)
}

/// Draws a plan with its line of provenance, for saving.
///
/// # Errors
///
/// `figure/plan`, `figure/palette` or `figure/draw`.
#[wasm_bindgen]
pub fn draw_sheet(canvas: HtmlCanvasElement, plan: &[u8], palette: &str, ratio: f64) -> Answer<()> {
    let plan = open(plan)?;
    let palette = Palette::from_json(palette).map_err(thrown)?;
    let mut backend = fine(canvas)?;
    figure::draw::sheet(&plan, &palette, &mut backend, ratio * f64::from(FINE)).map_err(thrown)
}

fn fine(canvas: HtmlCanvasElement) -> Answer<Fine> {
    let refused = || thrown(misasked(word("a canvas that can be drawn on")));
    let context = canvas.get_context("2d")?.ok_or_else(refused)?;
    let context: CanvasRenderingContext2d = context.dyn_into().map_err(|_| refused())?;
    let share = 1.0 / f64::from(FINE);
    context.set_transform(share, 0.0, 0.0, share, 0.0, 0.0)?;
    context.set_line_join("round");
    context.set_line_cap("butt");
    let backend = CanvasBackend::with_canvas_object(canvas).ok_or_else(refused)?;
    Ok(Fine { backend, context, dots: None })
}

/// The canvas on a finer grid.
struct Fine {
    backend: CanvasBackend,
    context: CanvasRenderingContext2d,
    // The colour of the dots that wait to be filled.
    dots: Option<BackendColor>,
}

impl Fine {
    // Whatever else is drawn comes after the dots that wait.
    fn settled(&mut self) -> &mut CanvasBackend {
        if self.dots.take().is_some() {
            self.context.fill();
        }
        &mut self.backend
    }

    fn dot(&mut self, (x, y): BackendCoord, radius: u32, colour: BackendColor) {
        if !self.dots.is_some_and(|now| same(now, colour)) {
            self.settled();
            let (r, g, b) = colour.rgb;
            self.context.set_fill_style_str(&format!("rgb({r},{g},{b})"));
            self.context.begin_path();
            self.dots = Some(colour);
        }
        let (x, y, radius) = (f64::from(x), f64::from(y), f64::from(radius));
        self.context.move_to(x + radius, y);
        // Refused for a negative radius alone, which an unsigned one is not.
        let _ = self.context.arc(x, y, radius, 0.0, std::f64::consts::TAU);
    }
}

fn same(a: BackendColor, b: BackendColor) -> bool {
    a.rgb == b.rgb && a.alpha.to_bits() == b.alpha.to_bits()
}

type Drawn = Result<(), DrawingErrorKind<<CanvasBackend as DrawingBackend>::ErrorType>>;

// The middle of the pixel that a place of the fine grid lies in.
fn middle(place: i32) -> i32 {
    place.div_euclid(FINE) * FINE + FINE / 2
}

impl DrawingBackend for Fine {
    type ErrorType = <CanvasBackend as DrawingBackend>::ErrorType;

    fn get_size(&self) -> (u32, u32) {
        let (width, height) = self.backend.get_size();
        (width.saturating_mul(FINE as u32), height.saturating_mul(FINE as u32))
    }

    fn ensure_prepared(&mut self) -> Drawn {
        self.backend.ensure_prepared()
    }

    fn present(&mut self) -> Drawn {
        self.settled().present()
    }

    fn draw_pixel(&mut self, point: BackendCoord, color: BackendColor) -> Drawn {
        self.settled().draw_pixel(point, color)
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Drawn {
        let (mut from, mut to) = (from, to);
        if from.0 == to.0 {
            (from.0, to.0) = (middle(from.0), middle(to.0));
        }
        if from.1 == to.1 {
            (from.1, to.1) = (middle(from.1), middle(to.1));
        }
        self.settled().draw_path([from, to], style)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        upper_left: BackendCoord,
        bottom_right: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn {
        self.settled().draw_rect(upper_left, bottom_right, style, fill)
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn {
        self.settled().draw_path(path, style)
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        center: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let colour = style.color();
        // What shows through must be laid over one another, one by one.
        if fill && colour.alpha >= 1.0 {
            self.dot(center, radius, colour);
            return Ok(());
        }
        self.settled().draw_circle(center, radius, style, fill)
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        vert: I,
        style: &S,
    ) -> Drawn {
        self.settled().fill_polygon(vert, style)
    }

    fn draw_text<S: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &S,
        pos: BackendCoord,
    ) -> Drawn {
        self.settled().draw_text(text, style, pos)
    }

    fn estimate_text_size<S: BackendTextStyle>(
        &self,
        text: &str,
        style: &S,
    ) -> Result<(u32, u32), DrawingErrorKind<Self::ErrorType>> {
        self.backend.estimate_text_size(text, style)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_line_goes_through_the_middle_of_a_pixel() {
        assert_eq!([-1, 0, 3, 7, 8].map(middle), [-4, 4, 4, 4, 12]);
    }
}
