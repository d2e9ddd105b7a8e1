//! A plan on a canvas of the page.
//!
//! plotters' canvas backend counts in whole pixels.  Here it draws on a grid
//! eight times finer, scaled back by the canvas, so that curves are smooth;
//! level and upright lines are put onto whole pixels, so that they are sharp.

use crate::fault::{Answer, misasked, thrown};
use crate::plans::open;
use figure::Palette;
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
};
use plotters_canvas::CanvasBackend;
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
    let refused = || thrown(misasked("a canvas that can be drawn on"));
    let context = canvas.get_context("2d")?.ok_or_else(refused)?;
    let context: CanvasRenderingContext2d = context.dyn_into().map_err(|_| refused())?;
    let share = 1.0 / f64::from(FINE);
    context.set_transform(share, 0.0, 0.0, share, 0.0, 0.0)?;
    context.set_line_join("round");
    context.set_line_cap("butt");
    CanvasBackend::with_canvas_object(canvas).map(Fine).ok_or_else(refused)
}

/// The canvas on a finer grid.
struct Fine(CanvasBackend);

type Drawn = Result<(), DrawingErrorKind<<CanvasBackend as DrawingBackend>::ErrorType>>;

// The middle of the pixel that a place of the fine grid lies in.
fn middle(place: i32) -> i32 {
    place.div_euclid(FINE) * FINE + FINE / 2
}

impl DrawingBackend for Fine {
    type ErrorType = <CanvasBackend as DrawingBackend>::ErrorType;

    fn get_size(&self) -> (u32, u32) {
        let (width, height) = self.0.get_size();
        (width.saturating_mul(FINE as u32), height.saturating_mul(FINE as u32))
    }

    fn ensure_prepared(&mut self) -> Drawn {
        self.0.ensure_prepared()
    }

    fn present(&mut self) -> Drawn {
        self.0.present()
    }

    fn draw_pixel(&mut self, point: BackendCoord, color: BackendColor) -> Drawn {
        self.0.draw_pixel(point, color)
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
        self.0.draw_path([from, to], style)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        upper_left: BackendCoord,
        bottom_right: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn {
        self.0.draw_rect(upper_left, bottom_right, style, fill)
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn {
        self.0.draw_path(path, style)
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        center: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Drawn {
        self.0.draw_circle(center, radius, style, fill)
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        vert: I,
        style: &S,
    ) -> Drawn {
        self.0.fill_polygon(vert, style)
    }

    fn draw_text<S: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &S,
        pos: BackendCoord,
    ) -> Drawn {
        self.0.draw_text(text, style, pos)
    }

    fn estimate_text_size<S: BackendTextStyle>(
        &self,
        text: &str,
        style: &S,
    ) -> Result<(u32, u32), DrawingErrorKind<Self::ErrorType>> {
        self.0.estimate_text_size(text, style)
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
