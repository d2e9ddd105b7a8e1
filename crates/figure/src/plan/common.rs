//! Small things several figures need.

use crate::layout::range;
use crate::layout::sheet::Sheet;
use crate::model::{Anchor, Colour, Dash, Duty, Layer, Line, Panel, Rect, Shape};
use crate::writing::line;

/// Width of a line that carries data: 0.32 mm at 96 pixels an inch.
pub(crate) const LINE_PX: f64 = 1.2;
/// Width of a line in the background: 0.26 mm.
pub(crate) const THIN_PX: f64 = 1.0;

/// A line that carries data.
pub(crate) fn data_line(name: &str, colour: Colour, x: Vec<f64>, y: Vec<f64>) -> Line {
    let samples = y.iter().filter(|v| v.is_finite()).count() as u64;
    let (name, dash) = (name.to_owned(), Dash::Solid);
    let (width_px, marker, lift) = (LINE_PX, None, 0.0);
    Line { name, colour, width_px, dash, marker, x, y, lift, samples, data: true }
}

/// Says in the middle of an empty frame why it is empty.
pub(crate) fn say(sheet: &mut Sheet, rect: Rect, text: &str) {
    let at = (rect.x + rect.width / 2.0, rect.y + rect.height / 2.0);
    sheet.write(line(text), at, Anchor::Middle, Duty::Note);
}

/// Markers of the first lines of a panel, so that colour is not their only
/// difference.
pub(crate) const SHAPES: [Shape; 7] = [
    Shape::Ring,
    Shape::Square,
    Shape::Triangle,
    Shape::Diamond,
    Shape::Wedge,
    Shape::Plus,
    Shape::Cross,
];

/// Places that a panel's lines, points and intervals cover, a few pixels
/// apart, for labels to keep clear of.
pub(crate) fn crowd(panel: &Panel) -> Vec<(f64, f64)> {
    let place = |(x, y): (&f64, &f64)| (panel.x_px(*x), panel.y_px(*y));
    let mut out = Vec::new();
    for layer in &panel.layers {
        match layer {
            Layer::Line(line) => along(line.x.iter().zip(&line.y).map(place), &mut out),
            Layer::Points(points) => out.extend(points.x.iter().zip(&points.y).map(place)),
            Layer::Whiskers(w) => {
                for ((x, lo), hi) in w.x.iter().zip(&w.lo).zip(&w.hi) {
                    along([place((x, lo)), place((x, hi))].into_iter(), &mut out);
                }
            }
            _ => {}
        }
    }
    out.retain(|(x, y)| panel.rect.holds(*x, *y));
    out
}

fn along(places: impl Iterator<Item = (f64, f64)>, out: &mut Vec<(f64, f64)>) {
    let mut last: Option<(f64, f64)> = None;
    for (x, y) in places {
        if let Some((a, b)) = last {
            let steps = (libm::hypot(x - a, y - b) / 4.0).clamp(1.0, 400.0) as u32;
            let at = |k: u32| f64::from(k) / f64::from(steps);
            out.extend((0..steps).map(|k| (a + at(k) * (x - a), b + at(k) * (y - b))));
        }
        last = (x.is_finite() && y.is_finite()).then_some((x, y));
        out.extend(last);
    }
}

/// Dashes for the k-th of several smooth lines.
pub(crate) fn dash(k: usize) -> Dash {
    [Dash::Solid, Dash::Dashed, Dash::DashDot, Dash::Dotted, Dash::Long][k % 5]
}

/// The y span to show: the one asked for, or the data with some air.
pub(crate) fn y_span(asked: Option<(f64, f64)>, data: Option<(f64, f64)>) -> (f64, f64) {
    asked.unwrap_or_else(|| range::aired(data, 0.06))
}
