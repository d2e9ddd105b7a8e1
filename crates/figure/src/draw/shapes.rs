//! Markers, and lines on the sheet outside the data.

use super::DrawFault;
use super::easel::{Easel, Pen};
use crate::model::{Colour, Shape, Stroke};
use plotters_backend::DrawingBackend;

/// Whether a marker hangs on an edge of the frame.
pub(super) fn hangs(shape: Shape) -> bool {
    matches!(shape, Shape::Above | Shape::Below)
}

/// A line on the sheet, with its marker in the middle.
pub(super) fn stroke<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    stroke: &Stroke,
) -> Result<(), DrawFault> {
    if stroke.width_px > 0.0 {
        let pen = Pen { colour: stroke.colour, width_px: stroke.width_px, dash: stroke.dash };
        match stroke.path[..] {
            [from, to] => easel.straight(from, to, pen)?,
            _ => easel.path(&stroke.path, pen)?,
        }
    }
    let (Some(shape), Some(a), Some(b)) = (stroke.marker, stroke.path.first(), stroke.path.last())
    else {
        return Ok(());
    };
    let middle = ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0);
    marker(easel, shape, middle, 6.0, stroke.colour)
}

/// A marker `size_px` wide.  Open shapes show the paper inside, so that a
/// line does not run through them.
pub(super) fn marker<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    shape: Shape,
    at: (f64, f64),
    size_px: f64,
    colour: Colour,
) -> Result<(), DrawFault> {
    let r = size_px / 2.0;
    let pen = Pen::solid(colour, 1.1);
    let to = |dx: f64, dy: f64| (at.0 + dx * r, at.1 + dy * r);
    match shape {
        Shape::Dot => easel.dot(at, r, colour),
        Shape::Ring => {
            easel.dot(at, r, Colour::Paper)?;
            easel.ring(at, r, pen)
        }
        Shape::Square => {
            open(easel, &[to(-0.9, -0.9), to(0.9, -0.9), to(0.9, 0.9), to(-0.9, 0.9)], pen)
        }
        Shape::Triangle => open(easel, &[to(0.0, -1.15), to(1.1, 0.8), to(-1.1, 0.8)], pen),
        Shape::Wedge => open(easel, &[to(0.0, 1.15), to(1.1, -0.8), to(-1.1, -0.8)], pen),
        Shape::Diamond => {
            open(easel, &[to(0.0, -1.2), to(1.2, 0.0), to(0.0, 1.2), to(-1.2, 0.0)], pen)
        }
        Shape::Cross => {
            easel.path(&[to(-0.85, -0.85), to(0.85, 0.85)], pen)?;
            easel.path(&[to(-0.85, 0.85), to(0.85, -0.85)], pen)
        }
        Shape::Plus => {
            easel.path(&[to(-1.1, 0.0), to(1.1, 0.0)], pen)?;
            easel.path(&[to(0.0, -1.1), to(0.0, 1.1)], pen)
        }
        Shape::Above => easel.filled(&[to(0.0, 0.4), to(1.0, 2.2), to(-1.0, 2.2)], colour, 1.0),
        Shape::Below => easel.filled(&[to(0.0, -0.4), to(1.0, -2.2), to(-1.0, -2.2)], colour, 1.0),
    }
}

fn open<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    corners: &[(f64, f64)],
    pen: Pen,
) -> Result<(), DrawFault> {
    easel.filled(corners, Colour::Paper, 1.0)?;
    let mut path = corners.to_vec();
    path.extend(corners.first());
    easel.path(&path, pen)
}
