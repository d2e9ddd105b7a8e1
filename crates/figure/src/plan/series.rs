//! Series over time: a panel for each channel above one axis of UTC.
//!
//! Kept samples are drawn strongly; the values before faintly behind
//! them; left-out samples carry a marker for their reason, long stretches of
//! them a shade, and those beyond the frame a caret at its edge.

mod marked;
mod prepared;
mod times;

use super::common::{LINE_PX, THIN_PX, say, y_span};
use crate::layout::axes::{Kind, Ready, Spec};
use crate::layout::key::{self, Entry};
use crate::layout::range;
use crate::layout::sheet::Sheet;
use crate::layout::stack::{Margins, Stack, stacked};
use crate::model::{Colour, Dash, Layer, Line, Plan};
use crate::request::{Frame, View, Words};
use crate::thin::Samples;
use crate::writing::line;
pub use prepared::Prepared;
use record::{Marks, Reason, Unit, say, words::word};
pub(crate) use times::{Clock, Window, step_ns};

/// A channel over time.
#[derive(Clone, Copy, Debug)]
pub struct Trace<'a> {
    /// Its name.
    pub name: &'a str,
    /// Unit of its values.
    pub unit: Unit,
    /// When its samples were taken, nanoseconds of UTC since 1970.  Times
    /// that step back are drawn in their true order.
    pub times_ns: &'a [i64],
    /// One value a sample; NaN where there is none.
    pub values: &'a [f64],
    /// Which samples are left out.
    pub marks: Option<&'a Marks>,
    /// The values before the step, drawn faintly behind; marked samples are
    /// shown at these.
    pub faint: Option<&'a [f64]>,
}

/// A figure of channels over time, one panel each.
///
/// `view.x` is in seconds since 1970; `view.y` is heeded when there is one
/// trace.  The upright span of a panel is that of its kept samples, widened
/// for left-out ones that lie near.
///
/// ```
/// use figure::{Frame, View, Words, plan};
///
/// let times: Vec<i64> = (0..100).map(|k| k * 30_000_000_000).collect();
/// let values: Vec<f64> = (0..100).map(|k| f64::from(k % 7)).collect();
/// let trace = plan::Trace {
///     name: "H", unit: record::Unit::Nanotesla, times_ns: &times, values: &values,
///     marks: None, faint: None,
/// };
/// let frame = Frame { width_px: 640.0, height_px: 300.0, font_px: 13.0 };
/// let plan = plan::series(&[trace], frame, View::ALL, &Words::default());
/// assert_eq!(plan.panels.len(), 1);
/// ```
pub fn series(traces: &[Trace<'_>], frame: Frame, view: View, words: &Words) -> Plan {
    series_prepared(traces, &[], frame, view, words)
}

/// The same figure from traces looked through before: a view of millions of
/// samples then takes a few milliseconds.
///
/// `prepared` holds what [`Prepared::new`] made of each trace, in their order;
/// traces beyond its end are looked through now.
pub fn series_prepared(
    traces: &[Trace<'_>],
    prepared: &[Prepared],
    frame: Frame,
    view: View,
    words: &Words,
) -> Plan {
    let mut sheet = Sheet::new(frame);
    let fresh: Vec<Prepared> = traces.iter().skip(prepared.len()).map(Prepared::brief).collect();
    let all: Vec<&Prepared> = prepared.iter().chain(&fresh).collect();
    let clocks: Vec<Clock<'_>> =
        traces.iter().zip(&all).map(|(trace, made)| made.clock(trace)).collect();
    let window = Window::new(&clocks, view);
    let columns = sheet.frame.width_px.ceil() as usize;
    let drawn: Vec<Drawn> = traces
        .iter()
        .zip(&all)
        .zip(&clocks)
        .enumerate()
        .map(|(k, ((trace, made), clock))| drawn(k, trace, made, clock, &window, columns))
        .collect();
    let asked = if traces.len() == 1 { view.y_span() } else { None };
    let specs: Vec<Spec> = traces
        .iter()
        .zip(&drawn)
        .map(|(t, d)| Spec::new(kind(t.unit), y_span(asked, d.span), t.name, t.unit))
        .collect();
    let x = Spec::time(window.origin_ns, (window.lo, window.hi));
    let stack = stacked(&sheet, &x, &specs, Margins::default());
    place(&mut sheet, traces, drawn, stack);
    sheet.finish(words)
}

/// What one panel shows.
struct Drawn {
    span: Option<(f64, f64)>,
    line: Line,
    faint: Option<Line>,
    marked: marked::Marked,
}

fn kind(unit: Unit) -> Kind {
    if unit == Unit::Degree { Kind::Angle(None) } else { Kind::Even }
}

fn drawn(
    k: usize,
    trace: &Trace<'_>,
    made: &Prepared,
    clock: &Clock<'_>,
    window: &Window,
    columns: usize,
) -> Drawn {
    let values = clock.sorted(trace.values);
    let marks = trace.marks.map(|marks| clock.sorted_marks(marks));
    let samples = Samples { values: &values, marks: marks.as_ref(), blocks: made.kept.as_ref() };
    let line = Line {
        name: trace.name.to_owned(),
        colour: Colour::Channel((k % 8) as u8),
        width_px: LINE_PX,
        ..clock.line(samples, window, columns)
    };
    let before = trace.faint.map(|faint| clock.sorted(faint));
    let faint = before.as_ref().map(|values| Line {
        name: say!("{} before", trace.name),
        colour: Colour::Faint,
        width_px: THIN_PX,
        ..clock.line(Samples { values, marks: None, blocks: made.before.as_ref() }, window, columns)
    });
    let raw = before.as_deref().unwrap_or(&values);
    let kept = range::of(window.inside(&line));
    let marked = marked::marked(trace.name, raw, &made.runs, clock, window, columns);
    Drawn { span: marked.widened(kept), line, faint, marked }
}

fn place(sheet: &mut Sheet, traces: &[Trace<'_>], drawn: Vec<Drawn>, stack: Stack) {
    let Stack { rects, ys, x } = stack;
    let mut told = Vec::new();
    for (k, ((one, y), rect)) in drawn.into_iter().zip(ys).zip(&rects).enumerate() {
        let title_px = crate::run_width_px(&y.axis.title, sheet.em());
        // What the panel above has told need not be told again.
        let entries = entries(&one, k == 0, &told);
        told = one.marked.tally().to_vec();
        key::write(sheet, *rect, title_px, &entries);
        sheet.left(*rect, &y.axis, 0.0);
        if one.line.samples == 0 && one.faint.as_ref().is_none_or(|f| f.samples == 0) {
            say(sheet, *rect, word("No samples here"));
        }
        sheet.panel(traces[k].name, *rect, x.axis.clone(), y.axis.clone(), layers(one, &y));
    }
    match rects.last() {
        Some(rect) => sheet.bottom(*rect, &x),
        None => say_nothing(sheet),
    }
}

fn say_nothing(sheet: &mut Sheet) {
    let (width, height) = (sheet.frame.width_px, sheet.frame.height_px);
    let rect = crate::model::Rect { x: 0.0, y: 0.0, width, height };
    say(sheet, rect, word("Nothing to draw"));
}

fn layers(one: Drawn, y: &Ready) -> Vec<Layer> {
    let mut out: Vec<Layer> = one.marked.spans.iter().cloned().map(Layer::Span).collect();
    out.extend(one.faint.map(Layer::Line));
    out.push(Layer::Line(one.line));
    let carets = one.marked.carets(y.axis.lo, y.axis.hi);
    out.extend(one.marked.points.into_iter().map(Layer::Points));
    out.extend(carets.into_iter().map(Layer::Points));
    out
}

fn entries(one: &Drawn, first: bool, told: &[(Reason, usize)]) -> Vec<Entry> {
    let mut out = Vec::new();
    if first && let Some(faint) = &one.faint {
        out.push(Entry {
            runs: line(word("before")),
            colour: Colour::Faint,
            dash: Dash::Solid,
            width_px: faint.width_px,
            marker: None,
            line: true,
        });
    }
    if one.marked.tally() != told {
        out.extend(one.marked.entries());
    }
    out
}
