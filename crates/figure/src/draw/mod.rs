//! A plan on a drawing backend.
//!
//! Only the backend's primitives are used; lines are cut and dashed here and
//! writing is measured by our own table, so every backend shows the same
//! picture.  Nothing is decided here: no tick, no colour, no place.
//!
//! Backends count in whole units.  Every length is multiplied by `scale`, so a
//! backend with a coordinate system ten times finer gives tenths of a pixel.

mod easel;
mod frame;
mod layers;
mod shapes;
mod words;

use crate::metrics::{SMALL, text_width_px};
use crate::model::{Anchor, Colour, Duty, Label, Plan};
use crate::palette::Palette;
use crate::writing::line;
use easel::Easel;
use plotters_backend::DrawingBackend;
use record::{Fault, say, words::word};
use std::fmt;

pub(crate) use words::BELOW_BASELINE;

/// Why a plan could not be drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DrawFault {
    /// The scale is not a positive number.
    Scale(String),
    /// The backend refused; in its own words.
    Backend(String),
}

impl fmt::Display for DrawFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Scale(scale) => {
                f.write_str(&say!("A figure cannot be drawn {scale} times as large."))
            }
            Self::Backend(words) => f.write_str(&say!("The figure could not be drawn: {words}.")),
        }
    }
}

impl std::error::Error for DrawFault {}

impl From<DrawFault> for Fault {
    fn from(fault: DrawFault) -> Self {
        Self::new(
            "figure/draw",
            fault.to_string(),
            word("Reload the page; the log is not affected."),
        )
    }
}

/// Draws a plan, `scale` backend units to a pixel of the plan.
///
/// # Errors
///
/// [`DrawFault::Scale`] unless `scale` is positive and finite, and whatever
/// the backend reports.
pub fn draw<DB: DrawingBackend>(
    plan: &Plan,
    palette: &Palette,
    backend: &mut DB,
    scale: f64,
) -> Result<(), DrawFault> {
    let mut easel = Easel::new(backend, palette, scale)?;
    easel.ready()?;
    body(plan, &mut easel, plan.height_px)?;
    easel.done()
}

/// Draws a plan with its line of provenance beneath, as exports want it; the
/// sheet is [`sheet_height_px`] tall.
///
/// # Errors
///
/// As [`draw`].
pub fn sheet<DB: DrawingBackend>(
    plan: &Plan,
    palette: &Palette,
    backend: &mut DB,
    scale: f64,
) -> Result<(), DrawFault> {
    let mut easel = Easel::new(backend, palette, scale)?;
    easel.ready()?;
    body(plan, &mut easel, sheet_height_px(plan))?;
    if !plan.provenance.is_empty() {
        words::label(&mut easel, &provenance(plan))?;
    }
    easel.done()
}

/// Height of a plan with its line of provenance, in pixels of the plan.
pub fn sheet_height_px(plan: &Plan) -> f64 {
    let strip = if plan.provenance.is_empty() { 0.0 } else { strip_px(plan.font_px) };
    plan.height_px + strip
}

/// Height of the line of provenance beneath a figure.
pub(crate) fn strip_px(font_px: f64) -> f64 {
    1.7 * SMALL * font_px
}

fn body<DB: DrawingBackend>(
    plan: &Plan,
    easel: &mut Easel<'_, DB>,
    height_px: f64,
) -> Result<(), DrawFault> {
    easel.box_filled((0.0, 0.0), (plan.width_px, height_px), Colour::Paper, 1.0)?;
    for panel in &plan.panels {
        layers::draw(easel, panel, plan.font_px)?;
        frame::draw(easel, panel, plan.font_px)?;
    }
    for stroke in &plan.strokes {
        shapes::stroke(easel, stroke)?;
    }
    plan.labels.iter().try_for_each(|label| words::label(easel, label))
}

/// The line of provenance, cut to the width of the sheet.
fn provenance(plan: &Plan) -> Label {
    let size_px = SMALL * plan.font_px;
    let room = plan.width_px - size_px;
    let mut text = plan.provenance.clone();
    while text_width_px(&text, size_px) * 1.1 > room && text.chars().count() > 2 {
        text.pop();
        text.pop();
        text.push('…');
    }
    Label {
        runs: line(text),
        x_px: 0.5 * size_px,
        y_px: plan.height_px + 1.15 * size_px,
        anchor: Anchor::Start,
        size_px,
        colour: Colour::Soft,
        clear: false,
        duty: Duty::Note,
    }
}
