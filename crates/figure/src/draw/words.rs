//! Writing, run by run, measured by the table of widths.

use super::DrawFault;
use super::easel::{Easel, refused};
use crate::metrics::{LOWER, RAISE, run_size_px, run_width_px, text_width_px};
use crate::model::{Anchor, Colour, Label, Run, Script};
use plotters_backend::text_anchor::{HPos, Pos, VPos};
use plotters_backend::{BackendColor, BackendCoord, BackendTextStyle, DrawingBackend};
use plotters_backend::{FontFamily, FontStyle};
use std::convert::Infallible;

/// From the baseline to the bottom of the text box, in heights of the text:
/// the descent of the common plain faces.
pub(crate) const BELOW_BASELINE: f64 = 0.215;

struct Style {
    colour: BackendColor,
    size: f64,
    italic: bool,
    side: HPos,
}

impl BackendTextStyle for Style {
    type FontError = Infallible;

    fn color(&self) -> BackendColor {
        self.colour
    }

    fn size(&self) -> f64 {
        self.size
    }

    fn style(&self) -> FontStyle {
        if self.italic { FontStyle::Italic } else { FontStyle::Normal }
    }

    fn anchor(&self) -> Pos {
        Pos::new(self.side, VPos::Bottom)
    }

    fn family(&self) -> FontFamily<'_> {
        FontFamily::SansSerif
    }

    fn layout_box(&self, text: &str) -> Result<((i32, i32), (i32, i32)), Infallible> {
        let width = text_width_px(text, self.size).ceil() as i32;
        Ok(((0, 0), (width, self.size.ceil() as i32)))
    }

    // A backend without letters of its own shows none.
    fn draw<E, F: FnMut(i32, i32, BackendColor) -> Result<(), E>>(
        &self,
        _text: &str,
        _pos: BackendCoord,
        _draw: F,
    ) -> Result<Result<(), E>, Infallible> {
        Ok(Ok(()))
    }
}

pub(super) fn label<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    label: &Label,
) -> Result<(), DrawFault> {
    if label.runs.iter().all(|run| run.text.trim().is_empty()) {
        return Ok(());
    }
    if label.clear {
        let area = label.area();
        let pad = 0.15 * label.size_px;
        let from = (area.x - pad, area.y - pad);
        easel.box_filled(from, (area.right() + pad, area.bottom()), Colour::Paper, 0.86)?;
    }
    let total = run_width_px(&label.runs, label.size_px);
    let mut before = 0.0;
    for run in &label.runs {
        let width = run_width_px(std::slice::from_ref(run), label.size_px);
        let (side, x) = hung(label, run, total, before, width);
        text(easel, label, run, side, x)?;
        before += width;
    }
    Ok(())
}

/// Which side of a run stands where.  A run hangs on the side its label hangs
/// on, so that a face of other widths strays least.
fn hung(label: &Label, run: &Run, total: f64, before: f64, width: f64) -> (HPos, f64) {
    match label.anchor {
        Anchor::Start => (HPos::Left, label.x_px + before),
        Anchor::End if !run.text.ends_with(' ') => {
            (HPos::Right, label.x_px - total + before + width)
        }
        Anchor::End => (HPos::Left, label.x_px - total + before),
        Anchor::Middle if label.runs.len() == 1 => (HPos::Center, label.x_px),
        Anchor::Middle => (HPos::Left, label.x_px - total / 2.0 + before),
    }
}

fn text<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    label: &Label,
    run: &Run,
    side: HPos,
    x: f64,
) -> Result<(), DrawFault> {
    let size = run_size_px(run, label.size_px);
    let shift = match run.script {
        Script::Plain => 0.0,
        Script::Super => -RAISE,
        Script::Sub => LOWER,
    };
    // Spaces at the ends of a run would be lost; their width stays in its place.
    let lead = run.text.len() - run.text.trim_start().len();
    let x = if matches!(side, HPos::Left) { x + text_width_px(&run.text[..lead], size) } else { x };
    let y = label.y_px + shift * label.size_px + BELOW_BASELINE * size;
    let style = Style {
        colour: easel.shade(label.colour, 1.0),
        size: size * easel.scale,
        italic: run.italic,
        side,
    };
    let at = easel.place((x, y));
    easel.backend.draw_text(run.text.trim(), &style, at).map_err(refused)
}
