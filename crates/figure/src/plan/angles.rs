//! Angles over time: declination, inclination, heading, each with its mean
//! and the standard uncertainty of that as a band.
//!
//! Angles are drawn in the turn about their mean, so that a heading which
//! swings through north is one line; where it still jumps by more than half a
//! turn the line is broken, not drawn across.

use super::common::{LINE_PX, y_span};
use super::series::{Clock, Window};
use crate::layout::axes::{Kind, Spec};
use crate::layout::key::{self, Entry};
use crate::layout::range;
use crate::layout::sheet::Sheet;
use crate::layout::stack::{Margins, Stack, stacked};
use crate::model::{Band, Colour, Dash, Layer, Line, Plan, Rule};
use crate::request::{Frame, View, Words};
use crate::thin::Samples;
use crate::writing::line;
use record::{Marks, Quantity, Unit, say, words::worded};

/// An angle over time.
#[derive(Clone, Copy, Debug)]
pub struct AngleTrace<'a> {
    /// Its name.
    pub name: &'a str,
    /// When, nanoseconds of UTC since 1970.
    pub times_ns: &'a [i64],
    /// Degrees; NaN where there is none.
    pub values_deg: &'a [f64],
    /// Which samples are left out.
    pub marks: Option<&'a Marks>,
    /// Its mean, degrees; NaN for none.
    pub mean_deg: f64,
    /// Standard uncertainty of the mean, degrees; NaN for none.
    pub sigma_deg: f64,
}

/// A figure of angles over time, one panel each.
pub fn angles(traces: &[AngleTrace<'_>], frame: Frame, view: View, words: &Words) -> Plan {
    let mut sheet = Sheet::new(frame);
    let clocks: Vec<Clock<'_>> = traces.iter().map(|t| Clock::new(t.times_ns)).collect();
    let window = Window::new(&clocks, view);
    let columns = sheet.frame.width_px.ceil() as usize;
    let turned: Vec<Turned> = traces.iter().map(Turned::new).collect();
    let lines: Vec<Line> = traces
        .iter()
        .zip(&clocks)
        .zip(&turned)
        .enumerate()
        .map(|(k, ((trace, clock), turned))| one(k, trace, clock, turned, &window, columns))
        .collect();
    let asked = if traces.len() == 1 { view.y_span() } else { None };
    let spec = |((trace, line), turned): ((&AngleTrace<'_>, &Line), &Turned)| {
        let spread = [trace.mean_deg - trace.sigma_deg, trace.mean_deg + trace.sigma_deg];
        let span = range::joined(range::of(window.inside(line)), range::of(spread));
        Spec::new(Kind::Angle(turned.wraps_from), y_span(asked, span), trace.name, Unit::Degree)
    };
    let specs: Vec<Spec> = traces.iter().zip(&lines).zip(&turned).map(spec).collect();
    let x = Spec::time(window.origin_ns, (window.lo, window.hi));
    let stack = stacked(&sheet, &x, &specs, Margins::default());
    place(&mut sheet, traces, lines, stack);
    sheet.finish(words)
}

/// Angles brought into the turn about their mean.
struct Turned {
    values: Vec<f64>,
    wraps_from: Option<f64>,
}

impl Turned {
    fn new(trace: &AngleTrace<'_>) -> Self {
        let span = range::of(trace.values_deg.iter().copied());
        // Values above 180 are headings, written 0 to 360.
        let heading = span.is_some_and(|(_, hi)| hi > 180.0);
        let centre = if trace.mean_deg.is_finite() { trace.mean_deg } else { 0.0 };
        let narrow = span.is_some_and(|(lo, hi)| hi - lo < 180.0);
        let near = |v: &f64| v - 360.0 * ((v - centre) / 360.0).round();
        let values = if narrow && !trace.mean_deg.is_finite() {
            trace.values_deg.to_vec()
        } else {
            trace.values_deg.iter().map(near).collect()
        };
        Self { values, wraps_from: Some(if heading { 0.0 } else { -180.0 }) }
    }
}

fn one(
    k: usize,
    trace: &AngleTrace<'_>,
    clock: &Clock<'_>,
    turned: &Turned,
    window: &Window,
    columns: usize,
) -> Line {
    let values = clock.sorted(&turned.values);
    let marks = trace.marks.map(|marks| clock.sorted_marks(marks));
    let samples = Samples::new(&values, marks.as_ref());
    let line = clock.line(samples, window, columns);
    let (x, y) = broken_at_jumps(&line.x, &line.y);
    let (name, colour) = (trace.name.to_owned(), Colour::Channel((k % 8) as u8));
    Line { name, colour, width_px: LINE_PX, x, y, ..line }
}

/// Sets a break wherever a line would cross more than half a turn.
fn broken_at_jumps(x: &[f64], y: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let (mut xs, mut ys) = (Vec::with_capacity(x.len()), Vec::with_capacity(y.len()));
    for (k, (a, b)) in x.iter().zip(y).enumerate() {
        if k > 0 && (b - y[k - 1]).abs() > 180.0 {
            xs.push(f64::NAN);
            ys.push(f64::NAN);
        }
        xs.push(*a);
        ys.push(*b);
    }
    (xs, ys)
}

fn place(sheet: &mut Sheet, traces: &[AngleTrace<'_>], lines: Vec<Line>, stack: Stack) {
    let Stack { rects, ys, x } = stack;
    for (((trace, line), y), rect) in traces.iter().zip(lines).zip(ys).zip(&rects) {
        let title_px = crate::run_width_px(&y.axis.title, sheet.em());
        key::write(sheet, *rect, title_px, &mean_entry(trace));
        sheet.left(*rect, &y.axis, 0.0);
        let mut layers = Vec::new();
        if trace.mean_deg.is_finite() {
            layers.extend(band(trace, x.axis.lo, x.axis.hi).map(Layer::Band));
        }
        layers.push(Layer::Line(line));
        if trace.mean_deg.is_finite() {
            layers.push(Layer::Rule(Rule {
                name: "mean".to_owned(),
                at: trace.mean_deg,
                upright: false,
                colour: Colour::Ink,
                dash: Dash::Dashed,
            }));
        }
        sheet.panel(trace.name, *rect, x.axis.clone(), y.axis.clone(), layers);
    }
    if let Some(rect) = rects.last() {
        sheet.bottom(*rect, &x);
    }
}

fn band(trace: &AngleTrace<'_>, lo: f64, hi: f64) -> Option<Band> {
    let (mean, sigma) = (trace.mean_deg, trace.sigma_deg);
    (sigma > 0.0 && sigma.is_finite()).then(|| Band {
        name: worded("mean ± standard uncertainty"),
        colour: Colour::Accent,
        x: vec![lo, hi],
        lo: vec![mean - sigma; 2],
        hi: vec![mean + sigma; 2],
        data: false,
    })
}

fn mean_entry(trace: &AngleTrace<'_>) -> Vec<Entry> {
    if !trace.mean_deg.is_finite() {
        return Vec::new();
    }
    let mean = Quantity::new(trace.mean_deg, trace.sigma_deg, Unit::Degree);
    vec![Entry {
        runs: line(say!("mean {}", mean.readable())),
        colour: Colour::Ink,
        dash: Dash::Dashed,
        width_px: 1.0,
        marker: None,
        line: true,
    }]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn planned(values: &[f64], mean_deg: f64) -> Plan {
        let times: Vec<i64> = (0..values.len() as i64).map(|k| k * 1_000_000_000).collect();
        let trace = AngleTrace {
            name: "heading",
            times_ns: &times,
            values_deg: values,
            marks: None,
            mean_deg,
            sigma_deg: 1.0,
        };
        let frame = Frame { width_px: 500.0, height_px: 240.0, font_px: 12.0 };
        angles(&[trace], frame, View::ALL, &Words::default())
    }

    fn drawn(plan: &Plan) -> &Line {
        plan.panels[0]
            .layers
            .iter()
            .find_map(|layer| if let Layer::Line(line) = layer { Some(line) } else { None })
            .unwrap()
    }

    #[test]
    fn a_heading_that_swings_through_north_is_one_line_a_few_degrees_high() {
        let plan = planned(&[358.0, 359.0, 1.0, 3.0, 359.0], 0.0);
        assert!(drawn(&plan).y.iter().all(|y| y.is_finite()));
        let axis = &plan.panels[0].y;
        assert!(axis.hi - axis.lo < 10.0);
        let labels: Vec<String> =
            axis.ticks.iter().map(|t| crate::writing::plain_text(&t.text)).collect();
        assert!(labels.contains(&"358".to_owned()) && labels.contains(&"2".to_owned()));
    }

    #[test]
    fn a_jump_of_more_than_half_a_turn_breaks_the_line() {
        let plan = planned(&[10.0, 100.0, 175.0, 185.0, 300.0], 0.0);
        assert_eq!(drawn(&plan).y.iter().filter(|y| y.is_nan()).count(), 1);
    }
}
