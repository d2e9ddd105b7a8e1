//! Curves and points over any axis but time: Allan deviations, coherence, the
//! quiet day, one quantity against another.
//!
//! Curves are told apart by colour, dashes and markers, and named at their
//! ends; limits and remarks are written where they belong.

use super::common::{LINE_PX, SHAPES, crowd, dash, data_line, say};
use crate::layout::axes::{Kind, Spec};
use crate::layout::ends::{self, End};
use crate::layout::key::{self, Entry};
use crate::layout::range;
use crate::layout::sheet::Sheet;
use crate::layout::stack::{Margins, Stack, stacked};
use crate::metrics::{CAP, run_width_px, text_width_px};
use crate::model::{
    Anchor, Band, Colour, Dash, Duty, Layer, Line, Panel, Plan, Points, Rule, Shape, Whiskers,
};
use crate::request::{Frame, View, Words};
use crate::thin::{Samples, thin};
use crate::writing::{line, quantity};
use record::{Unit, say, words::word};

/// How a curve is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// A line through its points.
    Line,
    /// Its points alone.
    Points,
    /// Both.
    Both,
}

/// A curve, or a set of points.
#[derive(Clone, Copy, Debug)]
pub struct Curve<'a> {
    /// What it is; written at its end.
    pub name: &'a str,
    /// Along x.
    pub x: &'a [f64],
    /// Along y; NaN is a gap.
    pub y: &'a [f64],
    /// Lower and upper edge of its interval, where it has one: a band about a
    /// line, a bar through each point.
    pub interval: Option<(&'a [f64], &'a [f64])>,
    /// How it is drawn.
    pub look: Look,
}

/// What kind of axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spacing {
    /// Even.
    Even,
    /// By the logarithm.
    Log,
    /// Hours of a day.
    Hours,
    /// Degrees.
    Degrees,
    /// Seconds by their logarithm, written as `1 min`, `1 h`, `1 day`.
    Durations,
}

/// An axis.
#[derive(Clone, Copy, Debug)]
pub struct Along<'a> {
    /// The quantity, as it is written.
    pub quantity: &'a str,
    /// Its unit.
    pub unit: Unit,
    /// What kind of axis.
    pub spacing: Spacing,
    /// From and to; the data's span when `None`.
    pub span: Option<(f64, f64)>,
}

/// A straight line across, with its name.
#[derive(Clone, Copy, Debug)]
pub struct Level<'a> {
    /// Where, in x when upright and in y when not.
    pub at: f64,
    /// Whether it stands upright.
    pub upright: bool,
    /// What it is; may be empty.
    pub name: &'a str,
}

/// A point with a remark.
#[derive(Clone, Copy, Debug)]
pub struct Note<'a> {
    /// Where along x.
    pub x: f64,
    /// Where along y.
    pub y: f64,
    /// What is said of it.
    pub text: &'a str,
}

/// What a figure of curves shows.
#[derive(Clone, Copy, Debug)]
pub struct Curves<'a> {
    /// The curves.
    pub curves: &'a [Curve<'a>],
    /// The axis along the bottom.
    pub x: Along<'a>,
    /// The axis along the left.
    pub y: Along<'a>,
    /// Straight lines across.
    pub levels: &'a [Level<'a>],
    /// Remarks.
    pub notes: &'a [Note<'a>],
}

/// A figure of curves.
pub fn curves(data: &Curves<'_>, frame: Frame, view: View, words: &Words) -> Plan {
    let mut sheet = Sheet::new(frame);
    let all =
        |curve: &Curve<'_>| range::of(curve.x.iter().copied().filter(|v| placed(&data.x, *v)));
    let span = data.curves.iter().map(all).fold(None, range::joined);
    let x = view.x_span().or(data.x.span).unwrap_or_else(|| aired(&data.x, span, 0.0));
    let span = data.curves.iter().map(|c| heights(data, c, x)).fold(None, range::joined);
    let y = view.y_span().or(data.y.span).unwrap_or_else(|| aired(&data.y, span, 0.06));
    let specs = [spec(&data.y, y)];
    let stack = stacked(&sheet, &spec(&data.x, x), &specs, margins(data, &sheet));
    place(&mut sheet, data, stack);
    sheet.finish(words)
}

/// Whether a number has a place on an axis.
fn placed(axis: &Along<'_>, value: f64) -> bool {
    value.is_finite() && (!by_logarithm(axis) || value > 0.0)
}

fn by_logarithm(axis: &Along<'_>) -> bool {
    matches!(axis.spacing, Spacing::Log | Spacing::Durations)
}

fn aired(axis: &Along<'_>, span: Option<(f64, f64)>, share: f64) -> (f64, f64) {
    match axis.spacing {
        Spacing::Log | Spacing::Durations => range::aired_log(span, share.max(0.02)),
        Spacing::Hours => (0.0, 24.0),
        Spacing::Even | Spacing::Degrees => range::aired(span, share.max(0.02)),
    }
}

fn spec(axis: &Along<'_>, span: (f64, f64)) -> Spec {
    let kind = match axis.spacing {
        Spacing::Even => Kind::Even,
        Spacing::Log => Kind::Log,
        Spacing::Durations => Kind::Durations,
        Spacing::Hours => Kind::Hours,
        Spacing::Degrees => Kind::Angle(None),
    };
    let span =
        if kind == Kind::Log && span.0 <= 0.0 { (span.1.abs() * 1e-3, span.1) } else { span };
    Spec::new(kind, span, axis.quantity, axis.unit)
}

/// The heights of a curve and its interval over a span of x.
fn heights(data: &Curves<'_>, curve: &Curve<'_>, (lo, hi): (f64, f64)) -> Option<(f64, f64)> {
    let over = |values: &[f64]| {
        let pairs = curve.x.iter().zip(values).filter(|(x, _)| (lo..=hi).contains(*x));
        range::of(pairs.map(|(_, y)| *y).filter(|y| placed(&data.y, *y)))
    };
    let edges = curve.interval.map(|(a, b)| range::joined(over(a), over(b)));
    range::joined(over(curve.y), edges.flatten())
}

fn margins(data: &Curves<'_>, sheet: &Sheet) -> Margins {
    let many = data.curves.len() > 1;
    let names: Vec<_> =
        data.curves.iter().filter(|c| many && c.look != Look::Points).map(named).collect();
    let right_px = ends::margin_px(names.iter().map(Vec::as_slice), sheet.em());
    let keyed = many && data.curves.iter().any(|c| c.look == Look::Points);
    let top_px = if keyed && is_narrow(data, sheet) { key::ROW * sheet.em() } else { 0.0 };
    Margins { right_px, top_px }
}

/// Whether a key stands above the title, beside which it would not find room.
fn is_narrow(data: &Curves<'_>, sheet: &Sheet) -> bool {
    let em = sheet.em();
    text_width_px(data.y.quantity, em) + 20.0 * em > sheet.frame.width_px
}

fn named(curve: &Curve<'_>) -> Vec<crate::model::Run> {
    vec![quantity(curve.name)]
}

fn place(sheet: &mut Sheet, data: &Curves<'_>, stack: Stack) {
    let Stack { rects, mut ys, x } = stack;
    let (Some(rect), Some(y)) = (rects.first().copied(), ys.pop()) else { return };
    sheet.left(rect, &y.axis, 0.0);
    sheet.bottom(rect, &x);
    let columns = rect.width.ceil() as usize;
    let mut layers = Vec::new();
    for level in data.levels {
        layers.push(Layer::Rule(Rule {
            name: level.name.to_owned(),
            at: level.at,
            upright: level.upright,
            colour: Colour::Soft,
            dash: Dash::Dashed,
        }));
    }
    for (k, curve) in data.curves.iter().enumerate() {
        layers.extend(drawn(k, curve, (x.axis.lo, x.axis.hi), columns));
    }
    sheet.panel(data.y.quantity, rect, x.axis, y.axis, layers);
    let Some(panel) = sheet.panels.pop() else { return };
    if data.curves.iter().all(|c| c.x.is_empty()) {
        say(sheet, rect, word("Nothing to draw"));
    }
    write_names(sheet, &panel, data);
    let mut crowd = crowd(&panel);
    crowd.extend(data.levels.iter().flat_map(|level| along_level(&panel, level, sheet.em())));
    data.levels.iter().for_each(|level| write_level(sheet, &panel, level, &crowd));
    data.notes.iter().for_each(|note| write_note(sheet, &panel, note, &crowd));
    sheet.panels.push(panel);
}

/// The layers of one curve.
fn drawn(k: usize, curve: &Curve<'_>, span: (f64, f64), columns: usize) -> Vec<Layer> {
    let colour = Colour::Channel((k % 8) as u8);
    let shape = shape(k, curve);
    let (x, y) = thinned(curve, span, columns);
    let mut out = Vec::new();
    if let Some((lo, hi)) = curve.interval {
        out.push(interval(curve, (lo, hi), colour));
    }
    if curve.look != Look::Points {
        let line = data_line(curve.name, colour, x.clone(), y.clone());
        let samples = curve.y.iter().filter(|v| v.is_finite()).count() as u64;
        out.push(Layer::Line(Line { dash: dash(k), width_px: LINE_PX, samples, ..line }));
    }
    if curve.look != Look::Line {
        let name = curve.name.to_owned();
        let samples = y.len() as u64;
        let data = curve.look == Look::Points;
        let size_px = if curve.x.len() > MANY { 3.0 } else { 5.0 };
        out.push(Layer::Points(Points { name, colour, shape, size_px, x, y, samples, data }));
    }
    out
}

/// More points than this are drawn small.
const MANY: usize = 400;

/// The marker of a curve: a dot for the first where there are many.
fn shape(k: usize, curve: &Curve<'_>) -> Shape {
    if k == 0 && curve.x.len() > MANY { Shape::Dot } else { SHAPES[k % SHAPES.len()] }
}

/// A rising curve thinned to columns; any other as it is, up to a number that
/// can still be drawn.
pub(crate) fn thinned(
    curve: &Curve<'_>,
    (lo, hi): (f64, f64),
    columns: usize,
) -> (Vec<f64>, Vec<f64>) {
    let len = curve.x.len().min(curve.y.len());
    let (x, y) = (&curve.x[..len], &curve.y[..len]);
    let rises = x.windows(2).all(|w| w[0] <= w[1]);
    if curve.look == Look::Points || !rises || len <= 4 * columns {
        let stride = len.div_ceil(20_000).max(1);
        let every = |v: &[f64]| v.iter().step_by(stride).copied().collect();
        return (every(x), every(y));
    }
    let place = |v: f64| x.partition_point(|other| *other < v);
    let edge = |c: usize| place(lo + (hi - lo) * c as f64 / columns as f64);
    let broken = |a: usize, b: usize| b > a + 1 && y[a + 1..b].iter().all(|v| v.is_nan());
    let range = place(lo)..x.partition_point(|v| *v <= hi);
    let found = thin(Samples::new(y, None), range, columns, edge, broken);
    let at = |from: &[f64]| found.places.iter().map(|k| k.map_or(f64::NAN, |k| from[k])).collect();
    (at(x), at(y))
}

/// A band about a line, or a bar through each of its points.
fn interval(curve: &Curve<'_>, (lo, hi): (&[f64], &[f64]), colour: Colour) -> Layer {
    let name = say!("{} interval", curve.name);
    let (x, lo, hi) = (curve.x.to_vec(), lo.to_vec(), hi.to_vec());
    if curve.look == Look::Line {
        Layer::Band(Band { name, colour, x, lo, hi, data: true })
    } else {
        Layer::Whiskers(Whiskers { name, colour, x, lo, hi, data: true })
    }
}

/// Names at the ends of several curves; sets of points are named in the key.
fn write_names(sheet: &mut Sheet, panel: &Panel, data: &Curves<'_>) {
    if data.curves.len() < 2 {
        return;
    }
    let mut found = Vec::new();
    let mut keyed = Vec::new();
    for (k, curve) in data.curves.iter().enumerate() {
        let colour = Colour::Channel((k % 8) as u8);
        if curve.look == Look::Points {
            keyed.push(Entry {
                runs: named(curve),
                colour,
                dash: Dash::Solid,
                width_px: 0.0,
                marker: Some(shape(k, curve)),
                line: false,
            });
            continue;
        }
        let marker = (curve.look == Look::Both).then(|| shape(k, curve));
        let y_px = ends::last_px(panel, curve.x, curve.y);
        let (runs, dash) = (named(curve), dash(k));
        found.push(End { runs, y_px, colour, dash, marker, width_px: LINE_PX });
    }
    ends::write(sheet, panel.rect, &found);
    let (mut rect, mut title_px) = (panel.rect, run_width_px(&panel.y.title, sheet.em()));
    if is_narrow(data, sheet) {
        rect.y -= key::ROW * sheet.em();
        title_px = 0.0;
    }
    key::write(sheet, rect, title_px, &keyed);
}

/// Points along a level's line, which words keep clear of.
fn along_level(panel: &Panel, level: &Level<'_>, em: f64) -> Vec<(f64, f64)> {
    let rect = panel.rect;
    let length = if level.upright { rect.height } else { rect.width };
    let at = |step: usize| {
        let off = step as f64 * 0.5 * em;
        match level.upright {
            true => (panel.x_px(level.at), rect.y + off),
            false => (rect.x + off, panel.y_px(level.at)),
        }
    };
    (0..=(length / (0.5 * em)) as usize).map(at).collect()
}

/// The name of a level, above or below its line at an end, or beside it at the
/// top.
fn write_level(sheet: &mut Sheet, panel: &Panel, level: &Level<'_>, crowd: &[(f64, f64)]) {
    let (em, rect) = (sheet.em(), panel.rect);
    if level.name.is_empty() {
        return;
    }
    let mut places = Vec::new();
    if level.upright {
        let x = panel.x_px(level.at);
        for row in 0..4 {
            let y = rect.y + (0.6 + CAP + 1.3 * f64::from(row)) * em;
            places.push(((x + 0.35 * em, y), Anchor::Start));
            places.push(((x - 0.35 * em, y), Anchor::End));
        }
    } else {
        let y = panel.y_px(level.at);
        let (right, left) = (rect.right() - 0.6 * em, rect.x + 0.6 * em);
        let inner = rect.x + rect.width * 0.6;
        for (x, anchor) in [(right, Anchor::End), (left, Anchor::Start), (inner, Anchor::End)] {
            places.push(((x, y - 0.35 * em), anchor));
            places.push(((x, y + (0.35 + CAP) * em), anchor));
        }
    }
    sheet.write_free(&line(level.name), rect, places, crowd, Duty::Note);
}

/// A remark above, below or beside its point.
fn write_note(sheet: &mut Sheet, panel: &Panel, note: &Note<'_>, crowd: &[(f64, f64)]) {
    let (em, rect) = (sheet.em(), panel.rect);
    let (x, y) = (panel.x_px(note.x), panel.y_px(note.y));
    if !rect.holds(x, y) {
        return;
    }
    let mut places = Vec::new();
    for step in 0..4 {
        let off = (0.8 + 1.2 * f64::from(step)) * em;
        for anchor in [Anchor::Middle, Anchor::Start, Anchor::End] {
            places.push(((x, y - off), anchor));
            places.push(((x, y + off + CAP * em), anchor));
        }
    }
    sheet.write_free(&line(note.text), rect, places, crowd, Duty::Direct);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_set_of_points_is_named_at_any_width() {
        let (x, y) = ([4.0, 12.0, 20.0], [-300.0, 3.0, 100.0]);
        let set = |name| Curve { name, x: &x, y: &y, interval: None, look: Look::Points };
        let along = |quantity, unit| Along { quantity, unit, spacing: Spacing::Even, span: None };
        let data = Curves {
            curves: &["bx", "by", "bz"].map(set),
            x: along("temperature", Unit::Celsius),
            y: along("field about its median", Unit::Nanotesla),
            levels: &[],
            notes: &[],
        };
        for width in 24..80 {
            let width_px = f64::from(width) * 10.0;
            let frame = Frame { width_px, height_px: 260.0, font_px: 13.0 };
            let plan = curves(&data, frame, View::ALL, &Words::default());
            for name in ["bx", "by", "bz"] {
                let named = plan.labels.iter().filter(|l| l.plain() == name).count();
                assert_eq!(named, 1, "{name} at {width_px}");
            }
        }
    }
}
