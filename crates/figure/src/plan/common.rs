//! Small things several figures need.

use crate::layout::range;
use crate::layout::sheet::Sheet;
use crate::model::{Anchor, Colour, Dash, Duty, Line, Rect};
use crate::writing::line;

/// Width of a line that carries data: 0.32 mm at 96 pixels an inch.
pub(crate) const LINE_PX: f64 = 1.2;
/// Width of a line in the background: 0.26 mm.
pub(crate) const THIN_PX: f64 = 1.0;

/// A line that carries data.
pub(crate) fn data_line(name: &str, colour: Colour, x: Vec<f64>, y: Vec<f64>) -> Line {
    let samples = y.iter().filter(|v| v.is_finite()).count() as u64;
    let (name, dash) = (name.to_owned(), Dash::Solid);
    Line { name, colour, width_px: LINE_PX, dash, marker: None, x, y, samples, data: true }
}

/// Says in the middle of an empty frame why it is empty.
pub(crate) fn say(sheet: &mut Sheet, rect: Rect, text: &str) {
    let at = (rect.x + rect.width / 2.0, rect.y + rect.height / 2.0);
    sheet.write(line(text), at, Anchor::Middle, Duty::Note);
}

/// Dashes for the k-th of several smooth lines.
pub(crate) fn dash(k: usize) -> Dash {
    [Dash::Solid, Dash::Dashed, Dash::DashDot, Dash::Dotted, Dash::Long][k % 5]
}

/// The y span to show: the one asked for, or the data with some air.
pub(crate) fn y_span(asked: Option<(f64, f64)>, data: Option<(f64, f64)>) -> (f64, f64) {
    asked.unwrap_or_else(|| range::aired(data, 0.06))
}
