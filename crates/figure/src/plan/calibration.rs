//! A turning before and after calibration: three projections, and the length
//! of each vector against its sample.
//!
//! Before, the readings carry the mean scale of the calibration and nothing
//! else, so that both clouds share one unit: the shift and the squash that the
//! calibration takes away are what is left to see.

mod arrangement;
mod cloud;

use super::common::{data_line, say};
use crate::layout::axes::{Kind, Ready, Spec};
use crate::layout::key::{self, Entry};
use crate::layout::range;
use crate::layout::sheet::Sheet;
use crate::model::{Colour, Dash, Layer, Line, Plan, Points, Rect, Rule, Shape};
use crate::request::{Frame, View, Words};
use crate::ticks::Room;
use crate::writing::line;
use arrangement::Arrangement;
use cloud::Cloud;
use record::vector::{Mat3, Vec3};
use record::{Unit, print, say, words::word};

/// A turning and its calibration.
#[derive(Clone, Copy, Debug)]
pub struct CalibrationData<'a> {
    /// The three components as the sensor wrote them; NaN where missing.
    pub raw: [&'a [f64]; 3],
    /// Their unit.
    pub raw_unit: Unit,
    /// Unit after calibration.
    pub unit: Unit,
    /// Reading in no field, raw unit.
    pub offset: Vec3,
    /// Maps raw − offset to field.
    pub matrix: Mat3,
    /// Length all vectors are brought to, field unit.
    pub radius: f64,
    /// Places of the samples that the fit rejected.
    pub rejected: &'a [usize],
}

/// The planes of the projections: which component lies along x and y.
const PLANES: [(usize, usize); 3] = [(0, 1), (0, 2), (1, 2)];
const NAMES: [&str; 3] = ["x", "y", "z"];

/// A figure of a calibration.
///
/// `view` is not heeded: the panels show different axes.
pub fn calibration(data: &CalibrationData<'_>, frame: Frame, _view: View, words: &Words) -> Plan {
    let mut sheet = Sheet::new(frame);
    let shown = Shown::new(data);
    let cloud = Cloud::new(data, shown.factor);
    let reach = cloud.reach();
    let entries = key_entries(&cloud);
    let arranged = arranged(&sheet, &entries, &widest_label(reach));
    for (plane, rect) in PLANES.into_iter().zip(&arranged.squares) {
        projection(&mut sheet, &shown, &cloud, plane, *rect, reach);
    }
    let above = Rect { width: arranged.key_width_px, ..arranged.squares[0] };
    key::above(&mut sheet, &entries, above);
    if let Some(rect) = arranged.lengths {
        lengths(&mut sheet, &shown, &cloud, rect);
    }
    if let Some(rect) = arranged.residuals {
        residuals(&mut sheet, data.unit, &shown, &cloud, rect);
    }
    sheet.finish(words)
}

/// The panels beneath as many rows of the key as it needs.
fn arranged(sheet: &Sheet, entries: &[Entry], widest: &str) -> Arrangement {
    let one = Arrangement::new(sheet, widest, 1);
    let rows = key::rows(entries, one.key_width_px, sheet.em()).len();
    if rows > 1 { Arrangement::new(sheet, widest, rows) } else { one }
}

/// The unit that the clouds are drawn in: fields of tens of thousands of
/// nanotesla are clearer in microtesla.
struct Shown {
    unit: Unit,
    /// Drawn numbers in one of the calibration's.
    factor: f64,
    radius: f64,
}

impl Shown {
    fn new(data: &CalibrationData<'_>) -> Self {
        let large = data.unit == Unit::Nanotesla && data.radius >= 2_000.0;
        let (unit, factor) = if large { (Unit::Microtesla, 1e-3) } else { (data.unit, 1.0) };
        Self { unit, factor, radius: data.radius * factor }
    }
}

/// The widest y label the squares could carry, to leave room for.
fn widest_label(reach: f64) -> String {
    let decimals = (1.0 - libm::floor(libm::log10(reach))).clamp(0.0, 9.0) as usize;
    print::fixed(-reach, if reach >= 5.0 { 0 } else { decimals })
}

/// One projection with both clouds, the ellipse and the circle.
fn projection(
    sheet: &mut Sheet,
    shown: &Shown,
    cloud: &Cloud,
    (a, b): (usize, usize),
    rect: Rect,
    reach: f64,
) {
    let em = sheet.em();
    let along = Room { length_px: rect.width, font_px: em, upright: false };
    let spec = |name: &str| Spec::new(Kind::Even, (-reach, reach), name, shown.unit);
    let x = spec(NAMES[a]).ready(along);
    let y = spec(NAMES[b]).ready(Room { upright: true, ..along });
    let mut layers = Vec::new();
    for (at, upright) in [(0.0, true), (0.0, false)] {
        let (name, colour, dash) = (String::new(), Colour::Hairline, Dash::Solid);
        layers.push(Layer::Rule(Rule { name, at, upright, colour, dash }));
    }
    layers.push(Layer::Points(points(word("before"), &cloud.before, (a, b), Colour::Faint)));
    layers.push(Layer::Points(points(word("after"), &cloud.after, (a, b), Colour::Channel(0))));
    if !cloud.rejected.is_empty() {
        let rejected = points("rejected", &cloud.rejected, (a, b), Colour::Marked(6));
        layers.push(Layer::Points(Points { shape: Shape::Cross, size_px: 5.0, ..rejected }));
    }
    if let Some(outline) = cloud.outline((a, b)) {
        layers.push(outlined(word("fitted ellipse"), outline, Colour::Ink, Dash::Dashed));
    }
    layers.push(outlined("circle", cloud::circle(shown.radius), Colour::Ink, Dash::Solid));
    sheet.left(rect, &y.axis, 0.0);
    sheet.bottom(rect, &x);
    let name = say!("{}{} projection", NAMES[a], NAMES[b]);
    sheet.panel(&name, rect, x.axis, y.axis, layers);
}

fn points(name: &str, all: &[Vec3], (a, b): (usize, usize), colour: Colour) -> Points {
    Points {
        name: name.to_owned(),
        colour,
        shape: Shape::Dot,
        size_px: 2.0,
        x: all.iter().map(|v| v[a]).collect(),
        y: all.iter().map(|v| v[b]).collect(),
        samples: all.len() as u64,
        data: true,
    }
}

fn outlined(name: &str, (x, y): (Vec<f64>, Vec<f64>), colour: Colour, dash: Dash) -> Layer {
    let line = data_line(name, colour, x, y);
    Layer::Line(Line { dash, width_px: 1.0, data: false, ..line })
}

fn key_entries(cloud: &Cloud) -> Vec<Entry> {
    let entry = |text: &str, colour, dash, shape: Option<Shape>| Entry {
        runs: line(text),
        colour,
        dash,
        width_px: 1.0,
        marker: shape,
        line: shape.is_none(),
    };
    let before = if cloud.moved {
        word("before, moved to the centre")
    } else {
        word("before, mean scale only")
    };
    let mut entries = vec![
        entry(before, Colour::Faint, Dash::Solid, Some(Shape::Dot)),
        entry(word("after"), Colour::Channel(0), Dash::Solid, Some(Shape::Dot)),
    ];
    if !cloud.rejected.is_empty() {
        let text = say!("rejected ({})", print::count(cloud.n_rejected));
        entries.push(entry(&text, Colour::Marked(6), Dash::Solid, Some(Shape::Cross)));
    }
    entries.push(entry(word("fit"), Colour::Ink, Dash::Dashed, None));
    entries
}

/// |B| against the sample, before and after, with the length aimed at.
fn lengths(sheet: &mut Sheet, shown: &Shown, cloud: &Cloud, rect: Rect) {
    let before: Vec<f64> = cloud.lengths_before.iter().map(|(_, v)| *v).collect();
    let after: Vec<f64> = cloud.lengths_after.iter().map(|(_, v)| *v).collect();
    let all = before.iter().chain(&after).copied();
    let span = range::joined(range::of(all), range::of([shown.radius]));
    let layers = vec![
        line_of(word("before"), &cloud.lengths_before, Colour::Faint),
        aim(shown.radius, "aim"),
        line_of(word("after"), &cloud.lengths_after, Colour::Channel(0)),
    ];
    strip(sheet, rect, "|B|", shown.unit, (span, cloud.samples), layers);
}

/// |B| less the length aimed at, after.
fn residuals(sheet: &mut Sheet, unit: Unit, shown: &Shown, cloud: &Cloud, rect: Rect) {
    let rest = |(k, v): &(f64, f64)| (*k, (v - shown.radius) / shown.factor);
    let rest: Vec<(f64, f64)> = cloud.lengths_after.iter().map(rest).collect();
    let span = range::joined(range::of(rest.iter().map(|(_, v)| *v)), range::of([0.0]));
    let layers =
        vec![line_of(word("residual"), &rest, Colour::Channel(0)), aim(0.0, word("no residual"))];
    strip(sheet, rect, word("residual"), unit, (span, cloud.samples), layers);
}

fn line_of(name: &str, points: &[(f64, f64)], colour: Colour) -> Layer {
    let (x, y) = cloud::broken(points);
    Layer::Line(Line { width_px: 1.0, ..data_line(name, colour, x, y) })
}

fn aim(at: f64, name: &str) -> Layer {
    let (name, colour, dash) = (name.to_owned(), Colour::Ink, Dash::Dashed);
    Layer::Rule(Rule { name, at, upright: false, colour, dash })
}

fn strip(
    sheet: &mut Sheet,
    rect: Rect,
    name: &str,
    unit: Unit,
    (span, samples): (Option<(f64, f64)>, usize),
    layers: Vec<Layer>,
) {
    let em = sheet.em();
    let last = samples.max(2) as f64;
    let x = Spec::new(Kind::Even, (1.0, last), word("sample"), Unit::None);
    let x: Ready = x.ready(Room { length_px: rect.width, font_px: em, upright: false });
    let upright = Room { length_px: rect.height, font_px: em, upright: true };
    let y = Spec::new(Kind::Even, range::aired(span, 0.06), name, unit).ready(upright);
    sheet.left(rect, &y.axis, 0.0);
    sheet.bottom(rect, &x);
    if samples == 0 {
        say(sheet, rect, word("No samples here"));
    }
    sheet.panel(name, rect, x.axis, y.axis, layers);
}
