//! Several series in one panel over time: a station and its reference, the
//! field and its quiet day, with stretches such as storms shaded behind them.

use super::common::{LINE_PX, SHAPES, crowd, y_span};
use super::series::{Clock, Trace, Window};
use crate::layout::axes::{Kind, Spec};
use crate::layout::ends::{self, End};
use crate::layout::key::{self, Entry};
use crate::layout::range;
use crate::layout::sheet::Sheet;
use crate::layout::stack::{Margins, Stack, stacked};
use crate::metrics::{CAP, run_width_px, text_width_px};
use crate::model::{Anchor, Colour, Duty, Layer, Line, Panel, Plan, Span};
use crate::request::{Frame, View, Words};
use crate::thin::Samples;
use crate::writing::{line, quantity, title, unit_in_label};
use record::Unit;

/// A panel with several series.
#[derive(Clone, Copy, Debug)]
pub struct Overlay<'a> {
    /// The quantity they share.
    pub quantity: &'a str,
    /// Their unit.
    pub unit: Unit,
    /// The series; `faint` is not heeded.
    pub traces: &'a [Trace<'a>],
}

/// A stretch of time with a name.
#[derive(Clone, Copy, Debug)]
pub struct Stretch<'a> {
    /// From, nanoseconds of UTC since 1970.
    pub start_ns: i64,
    /// To.
    pub end_ns: i64,
    /// What it is; may be empty.
    pub name: &'a str,
}

/// A figure of panels with several series each, over one axis of UTC.
pub fn overlay(
    panels: &[Overlay<'_>],
    stretches: &[Stretch<'_>],
    frame: Frame,
    view: View,
    words: &Words,
) -> Plan {
    let mut sheet = Sheet::new(frame);
    let clocks: Vec<Vec<Clock<'_>>> = panels
        .iter()
        .map(|panel| panel.traces.iter().map(|t| Clock::new(t.times_ns)).collect())
        .collect();
    let window = Window::new(&clocks.concat(), view);
    let columns = sheet.frame.width_px.ceil() as usize;
    let lines: Vec<Vec<Line>> = panels
        .iter()
        .zip(&clocks)
        .map(|(panel, clocks)| through(panel, clocks, &window, columns))
        .collect();
    let asked = if panels.len() == 1 { view.y_span() } else { None };
    let spec = |(panel, lines): (&Overlay<'_>, &Vec<Line>)| {
        let spans = lines.iter().map(|line| range::of(window.inside(line)));
        let span = y_span(asked, spans.fold(None, range::joined));
        let angle = panel.unit == Unit::Degree;
        let kind = if angle { Kind::Angle(None) } else { Kind::Even };
        Spec::new(kind, span, panel.quantity, panel.unit)
    };
    let specs: Vec<Spec> = panels.iter().zip(&lines).map(spec).collect();
    let x = Spec::time(window.origin_ns, (window.lo, window.hi));
    let naming = naming(panels, &sheet);
    let stack = stacked(&sheet, &x, &specs, Margins { right_px: naming.right_px, top_px: 0.0 });
    place(&mut sheet, panels, lines, &shaded(stretches, &window), stack, &naming);
    sheet.finish(words)
}

fn through(
    panel: &Overlay<'_>,
    clocks: &[Clock<'_>],
    window: &Window,
    columns: usize,
) -> Vec<Line> {
    let one = |(k, (trace, clock)): (usize, (&Trace<'_>, &Clock<'_>))| {
        let values = clock.sorted(trace.values);
        let marks = trace.marks.map(|marks| clock.sorted_marks(marks));
        let samples = Samples::new(&values, marks.as_ref());
        Line {
            name: trace.name.to_owned(),
            colour: Colour::Channel((k % 8) as u8),
            width_px: LINE_PX,
            marker: k.checked_sub(1).map(|k| SHAPES[k % SHAPES.len()]),
            ..clock.line(samples, window, columns)
        }
    };
    panel.traces.iter().zip(clocks).enumerate().map(one).collect()
}

/// Names at the ends of lines take at most this share of the sheet; longer ones go into a key.
const ENDS: f64 = 0.15;

/// Where the series of a panel are named: at the ends of their lines or in the row above, and how.
struct Naming {
    at_ends: bool,
    named: fn(&str) -> &str,
    right_px: f64,
}

/// A name without what stands in brackets.
fn short(name: &str) -> &str {
    name.split(" (").next().unwrap_or(name)
}

fn naming(panels: &[Overlay<'_>], sheet: &Sheet) -> Naming {
    let whole: fn(&str) -> &str = |name| name;
    let ends = |named: fn(&str) -> &str| {
        let several = panels.iter().filter(|panel| panel.traces.len() > 1);
        let names: Vec<_> =
            several.flat_map(|panel| panel.traces).map(|t| vec![quantity(named(t.name))]).collect();
        let right_px = ends::margin_px(names.iter().map(Vec::as_slice), sheet.em());
        Naming { at_ends: true, named, right_px }
    };
    let at_ends = ends(whole);
    if at_ends.right_px <= ENDS * sheet.frame.width_px {
        return at_ends;
    }
    let key = [whole, short].into_iter().find(|named| keys_fit(panels, sheet, *named));
    key.map_or_else(|| ends(short), |named| Naming { at_ends: false, named, right_px: 0.0 })
}

/// Whether the names of every panel fit into the row above it, beside its title.
fn keys_fit(panels: &[Overlay<'_>], sheet: &Sheet, named: fn(&str) -> &str) -> bool {
    let em = sheet.em();
    let fits = |panel: &Overlay<'_>| {
        let names = panel.traces.iter().map(|t| 3.4 * em + 1.06 * text_width_px(named(t.name), em));
        let unit = unit_in_label(panel.unit.symbol());
        let title = run_width_px(&title(panel.quantity, &unit, 0), em);
        // Beside them the labels of the left axis, and air.
        1.1 * title + names.sum::<f64>() + 5.2 * em < sheet.frame.width_px
    };
    panels.iter().filter(|panel| panel.traces.len() > 1).all(fits)
}

fn shaded(stretches: &[Stretch<'_>], window: &Window) -> Vec<Span> {
    let seconds = |ns| crate::axis::seconds_from(window.origin_ns, ns);
    let span = |s: &Stretch<'_>| Span {
        name: s.name.to_owned(),
        x0: seconds(s.start_ns),
        x1: seconds(s.end_ns),
        colour: Colour::Wash,
    };
    let inside = |s: &Span| s.x1 >= window.lo && s.x0 <= window.hi;
    stretches.iter().map(span).filter(inside).collect()
}

fn place(
    sheet: &mut Sheet,
    panels: &[Overlay<'_>],
    lines: Vec<Vec<Line>>,
    spans: &[Span],
    stack: Stack,
    naming: &Naming,
) {
    let Stack { rects, ys, x } = stack;
    for (k, (((panel, lines), y), rect)) in panels.iter().zip(lines).zip(ys).zip(&rects).enumerate()
    {
        sheet.left(*rect, &y.axis, 0.0);
        let several = lines.len() > 1;
        let mut layers: Vec<Layer> = spans.iter().cloned().map(Layer::Span).collect();
        layers.extend(lines.into_iter().map(Layer::Line));
        sheet.panel(panel.quantity, *rect, x.axis.clone(), y.axis.clone(), layers);
        let Some(done) = sheet.panels.pop() else { return };
        if several && naming.at_ends {
            write_ends(sheet, &done, naming.named);
        } else if several {
            write_key(sheet, &done, naming.named);
        }
        if k == 0 {
            write_spans(sheet, &done, spans);
        }
        sheet.panels.push(done);
    }
    if let Some(rect) = rects.last() {
        sheet.bottom(*rect, &x);
    }
}

fn write_ends(sheet: &mut Sheet, panel: &Panel, named: fn(&str) -> &str) {
    let one = |layer: &Layer| {
        let mut end = ends::of_layer(panel, layer)?;
        end.runs.iter_mut().for_each(|run| run.text = named(&run.text).to_owned());
        Some(end)
    };
    let found: Vec<End> = panel.layers.iter().filter_map(one).collect();
    ends::write(sheet, panel.rect, &found);
}

/// Names in the row above a panel.
fn write_key(sheet: &mut Sheet, panel: &Panel, named: fn(&str) -> &str) {
    let entry = |layer: &Layer| match layer {
        Layer::Line(line) => Some(Entry {
            runs: vec![quantity(named(&line.name))],
            colour: line.colour,
            dash: line.dash,
            width_px: line.width_px,
            marker: line.marker,
            line: true,
        }),
        _ => None,
    };
    let entries: Vec<Entry> = panel.layers.iter().filter_map(entry).collect();
    let title_px = run_width_px(&panel.y.title, sheet.em());
    key::write(sheet, panel.rect, title_px, &entries);
}

/// Names stretches at the top of the first panel, where they keep apart.
fn write_spans(sheet: &mut Sheet, panel: &Panel, spans: &[Span]) {
    let (em, rect) = (sheet.em(), panel.rect);
    let crowd = crowd(panel);
    for span in spans.iter().filter(|span| !span.name.is_empty()) {
        let x = panel.x_px(span.x0).max(rect.x) + 0.3 * em;
        let rows = (0..3).map(|row| rect.y + (0.6 + CAP + 1.3 * f64::from(row)) * em);
        let places = rows.map(|y| ((x, y), Anchor::Start));
        sheet.write_free(&line(span.name.clone()), rect, places, &crowd, Duty::Note);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_series_is_named_at_any_width() {
        let (times, values) = ([0, 1_000_000_000, 2_000_000_000], [-300.0, 3.0, 100.0]);
        let trace = |name| Trace {
            name,
            unit: Unit::Nanotesla,
            times_ns: &times,
            values: &values,
            marks: None,
            faint: None,
        };
        let traces =
            ["station (log)", "Kelda Head (variation)", "Gull Ness (definitive)"].map(trace);
        for of in 2..=3 {
            let panel =
                Overlay { quantity: "disturbance", unit: Unit::Nanotesla, traces: &traces[..of] };
            for width in 26..110 {
                let frame =
                    Frame { width_px: f64::from(width) * 10.0, height_px: 300.0, font_px: 13.0 };
                let plan = overlay(&[panel], &[], frame, View::ALL, &Words::default());
                for name in ["station", "Kelda Head", "Gull Ness"].iter().take(of) {
                    let named = |l: &crate::model::Label| l.plain().starts_with(name);
                    assert!(plan.labels.iter().any(named), "{name} at {width}");
                }
            }
        }
    }
}
