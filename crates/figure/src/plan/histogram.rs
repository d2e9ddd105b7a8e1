//! A histogram, with the curve it is compared with.

use super::common::data_line;
use crate::layout::axes::{Kind, Spec};
use crate::layout::key::{self, Entry};
use crate::layout::range;
use crate::layout::sheet::Sheet;
use crate::layout::stack::{Margins, stacked};
use crate::metrics::text_width_px;
use crate::model::{Bars, Colour, Dash, Layer, Line, Plan, Rect};
use crate::request::{Frame, View, Words};
use crate::writing::line;
use record::{Unit, words::word};

/// Counts in bins.
#[derive(Clone, Copy, Debug)]
pub struct Bins<'a> {
    /// What was counted by.
    pub quantity: &'a str,
    /// Its unit.
    pub unit: Unit,
    /// Edges of the bins, one more than there are bins, rising.
    pub edges: &'a [f64],
    /// Values in each.
    pub counts: &'a [u64],
    /// Counts in the same bins that are drawn faintly behind, such as those of
    /// before; none, or as many as there are bins.
    pub behind: &'a [u64],
    /// Mean and standard deviation of a normal curve to draw over them, of as
    /// many values as were counted.
    pub normal: Option<(f64, f64)>,
}

/// A figure of a histogram.
pub fn histogram(bins: &Bins<'_>, frame: Frame, view: View, words: &Words) -> Plan {
    let mut sheet = Sheet::new(frame);
    let edges = range::of(bins.edges.iter().copied());
    let x = view.x_span().unwrap_or_else(|| range::aired(edges, 0.02));
    let normal = bins.normal.map(|normal| curve(bins, normal, x));
    let tallest = bins.counts.iter().chain(bins.behind).max().map_or(1.0, |n| *n as f64).max(1.0);
    let peak = normal.as_ref().and_then(|(_, y)| range::of(y.iter().copied()));
    let top = peak.map_or(tallest, |(_, hi)| hi.max(tallest));
    let y = view.y_span().unwrap_or((0.0, top * 1.06));
    let spec = Spec::new(Kind::Even, x, bins.quantity, bins.unit);
    let count = Spec::new(Kind::Even, y, word("samples"), Unit::None);
    let mut stack = stacked(&sheet, &spec, &[count], Margins::default());
    let (Some(rect), Some(y)) = (stack.rects.pop(), stack.ys.pop()) else {
        return sheet.finish(words);
    };
    sheet.left(rect, &y.axis, 0.0);
    sheet.bottom(rect, &stack.x);
    let n = bins.counts.len().min(bins.edges.len().saturating_sub(1));
    let bars = |name: &str, counts: &[u64], colour| {
        Layer::Bars(Bars {
            name: name.to_owned(),
            x0: bins.edges[..n].to_vec(),
            x1: bins.edges[bins.edges.len().min(1)..][..n].to_vec(),
            y: counts[..n].iter().map(|c| *c as f64).collect(),
            base: 0.0,
            colours: vec![colour; n],
            thin: true,
        })
    };
    let mut layers = Vec::new();
    let compares = bins.behind.len() >= n && n > 0;
    if compares {
        layers.push(bars(word("before"), bins.behind, Colour::Faint));
    }
    let name = word(if compares { "after" } else { "samples" });
    layers.push(bars(name, bins.counts, Colour::Channel(0)));
    if compares {
        key_above(&mut sheet, rect);
    }
    if let Some((x, y)) = normal {
        let line = data_line(word("normal curve"), Colour::Ink, x, y);
        layers.push(Layer::Line(Line { dash: Dash::Dashed, data: false, ..line }));
    }
    sheet.panel(bins.quantity, rect, stack.x.axis, y.axis, layers);
    sheet.finish(words)
}

fn key_above(sheet: &mut Sheet, rect: Rect) {
    let entry = |text: &str, colour| Entry {
        runs: line(text),
        colour,
        dash: Dash::Solid,
        width_px: 3.0,
        marker: None,
        line: true,
    };
    let entries = [entry(word("before"), Colour::Faint), entry(word("after"), Colour::Channel(0))];
    let title_px = text_width_px(word("samples"), sheet.em());
    key::write(sheet, rect, title_px, &entries);
}

/// The normal density times the count and the mean width of a bin.
fn curve(bins: &Bins<'_>, (mean, sd): (f64, f64), (lo, hi): (f64, f64)) -> (Vec<f64>, Vec<f64>) {
    let total: u64 = bins.counts.iter().sum();
    let width = match (bins.edges.first(), bins.edges.last()) {
        (Some(a), Some(b)) => (b - a) / bins.counts.len().max(1) as f64,
        _ => 0.0,
    };
    let height = total as f64 * width / (sd * std::f64::consts::TAU.sqrt());
    let x: Vec<f64> = (0..=200).map(|k| lo + (hi - lo) * f64::from(k) / 200.0).collect();
    let at = |x: &f64| height * libm::exp(-0.5 * ((x - mean) / sd) * ((x - mean) / sd));
    let y = x.iter().map(at).collect();
    (x, y)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_normal_curve_encloses_as_much_as_the_bars() {
        let edges: Vec<f64> = (0..=40).map(|k| -10.0 + f64::from(k) * 0.5).collect();
        let counts = vec![25u64; 40];
        let bins = Bins {
            quantity: word("residual"),
            unit: Unit::Nanotesla,
            edges: &edges,
            counts: &counts,
            behind: &[],
            normal: Some((0.0, 2.0)),
        };
        let (x, y) = curve(&bins, (0.0, 2.0), (-10.0, 10.0));
        let area: f64 =
            x.windows(2).zip(y.windows(2)).map(|(x, y)| (x[1] - x[0]) * (y[0] + y[1]) / 2.0).sum();
        assert!((area / (1000.0 * 0.5) - 1.0).abs() < 1e-4);
    }

    #[test]
    fn no_bins_leave_an_empty_frame() {
        let bins = Bins {
            quantity: "x",
            unit: Unit::None,
            edges: &[],
            counts: &[],
            behind: &[],
            normal: None,
        };
        let frame = Frame { width_px: 400.0, height_px: 220.0, font_px: 12.0 };
        let plan = histogram(&bins, frame, View::ALL, &Words::default());
        assert_eq!(plan.panels.len(), 1);
    }
}
