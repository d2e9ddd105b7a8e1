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
use crate::model::{Anchor, Colour, Dash, Duty, Layer, Line, Panel, Plan, Rect, Span};
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
    let stack = stacked(&sheet, &x, &specs, naming.margins);
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

/// Where the series of a panel are named.
#[derive(Clone, Copy, PartialEq)]
enum Place {
    /// At the ends of their lines.
    Ends,
    /// In the row of the panel's title.
    Row,
    /// In rows above the first panel, whose series all name alike.
    Above,
}

/// Where the series of each panel are named, and how.
struct Naming {
    places: Vec<Place>,
    named: fn(&str) -> &str,
    margins: Margins,
}

/// A name without what stands in brackets.
fn short(name: &str) -> &str {
    name.split(" (").next().unwrap_or(name)
}

fn naming(panels: &[Overlay<'_>], sheet: &Sheet) -> Naming {
    let whole: fn(&str) -> &str = |name| name;
    let all = |place| vec![place; panels.len()];
    let right_px = ends_px(panels, &all(Place::Ends), whole, sheet);
    if right_px <= ENDS * sheet.frame.width_px {
        let margins = Margins { right_px, top_px: 0.0 };
        return Naming { places: all(Place::Ends), named: whole, margins };
    }
    let fit = |named: &fn(&str) -> &str| panels.iter().all(|panel| key_fits(panel, sheet, *named));
    match [whole, short].into_iter().find(fit) {
        Some(named) => Naming { places: all(Place::Row), named, margins: Margins::default() },
        None => naming_above(panels, sheet),
    }
}

/// On a narrow sheet: once, above the panels, for those that name as the first does.
fn naming_above(panels: &[Overlay<'_>], sheet: &Sheet) -> Naming {
    let place = |panel: &Overlay<'_>| match (panel.traces.first(), panels[0].traces.first()) {
        (Some(one), Some(first)) if one.name == first.name => Place::Above,
        _ => Place::Ends,
    };
    let places: Vec<Place> = panels.iter().map(place).collect();
    let right_px = ends_px(panels, &places, short, sheet);
    let entries: Vec<Entry> = panels[0].traces.iter().map(|t| plain_entry(short(t.name))).collect();
    let rows = key::rows(&entries, above(sheet, 0.0).width, sheet.em()).len() as f64;
    Naming {
        places,
        named: short,
        margins: Margins { right_px, top_px: rows * key::ROW * sheet.em() },
    }
}

/// Where rows above a panel at this height end: at the sheet's edge.
fn above(sheet: &Sheet, y: f64) -> Rect {
    Rect { x: 0.0, y, width: sheet.frame.width_px - 0.5 * sheet.em(), height: 0.0 }
}

fn plain_entry(name: &str) -> Entry {
    let (colour, dash, marker) = (Colour::Ink, Dash::Solid, None);
    Entry { runs: vec![quantity(name)], colour, dash, width_px: LINE_PX, marker, line: true }
}

/// Room at the right for the names of those panels that have them there.
fn ends_px(
    panels: &[Overlay<'_>],
    places: &[Place],
    named: fn(&str) -> &str,
    sheet: &Sheet,
) -> f64 {
    let there =
        |(panel, place): &(&Overlay<'_>, &Place)| **place == Place::Ends && panel.traces.len() > 1;
    let several = panels.iter().zip(places).filter(there);
    let runs: Vec<_> = several
        .flat_map(|(panel, _)| panel.traces)
        .map(|t| vec![quantity(named(t.name))])
        .collect();
    ends::margin_px(runs.iter().map(Vec::as_slice), sheet.em())
}

/// Whether the names of a panel fit into the row above it, beside its title.
fn key_fits(panel: &Overlay<'_>, sheet: &Sheet, named: fn(&str) -> &str) -> bool {
    let em = sheet.em();
    let keys = panel.traces.iter().map(|t| 3.4 * em + 1.06 * text_width_px(named(t.name), em));
    let unit = unit_in_label(panel.unit.symbol());
    let title = run_width_px(&title(panel.quantity, &unit, 0), em);
    // Beside them the labels of the left axis, and air.
    panel.traces.len() < 2 || 1.1 * title + keys.sum::<f64>() + 5.2 * em < sheet.frame.width_px
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
        if several {
            write_names(sheet, &done, naming, k);
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

fn write_names(sheet: &mut Sheet, panel: &Panel, naming: &Naming, k: usize) {
    let named = naming.named;
    match naming.places[k] {
        Place::Ends => write_ends(sheet, panel, named),
        Place::Row => {
            let title_px = run_width_px(&panel.y.title, sheet.em());
            key::write(sheet, panel.rect, title_px, &entries(panel, named));
        }
        Place::Above if naming.places[..k].contains(&Place::Above) => {}
        Place::Above => key::above(sheet, &entries(panel, named), above(sheet, panel.rect.y)),
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

/// What a key says of the series of a panel.
fn entries(panel: &Panel, named: fn(&str) -> &str) -> Vec<Entry> {
    let entry = |layer: &Layer| match layer {
        Layer::Line(line) => {
            let Line { colour, dash, marker, width_px, .. } = *line;
            Some(Entry { colour, dash, marker, width_px, ..plain_entry(named(&line.name)) })
        }
        _ => None,
    };
    panel.layers.iter().filter_map(entry).collect()
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
    #[test]
    fn on_a_phone_the_names_leave_the_panels_their_width() {
        let (times, values) = ([0, 1_000_000_000, 2_000_000_000], [-300.0, 3.0, 100.0]);
        let unit = Unit::Nanotesla;
        let trace = |name| Trace {
            name,
            unit,
            times_ns: &times,
            values: &values,
            marks: None,
            faint: None,
        };
        let both = ["station (log)", "Kelda Head (variation)"].map(trace);
        let axes = ["X", "Y", "Z"].map(trace);
        let panel = |quantity, traces| Overlay { quantity, unit, traces };
        let panels = [panel("X", &both[..]), panel("Y", &both[..]), panel("difference", &axes[..])];
        let frame = Frame { width_px: 290.0, height_px: 340.0, font_px: 13.0 };
        let plan = overlay(&panels, &[], frame, View::ALL, &Words::default());
        for panel in &plan.panels {
            assert!(panel.rect.width > 0.65 * frame.width_px, "{}", panel.rect.width);
        }
        let times_named = |name: &str| plan.labels.iter().filter(|l| l.plain() == name).count();
        assert_eq!((times_named("station"), times_named("Kelda Head")), (1, 1), "once for all");
        assert_eq!(times_named("Z"), 1);
    }

    #[test]
    fn names_of_neighbouring_stretches_keep_apart() {
        let (times, values) = ([0, 1_000_000_000, 2_000_000_000], [-300.0, 3.0, 100.0]);
        let unit = Unit::Nanotesla;
        let trace =
            Trace { name: "x", unit, times_ns: &times, values: &values, marks: None, faint: None };
        let panel = Overlay { quantity: "disturbance", unit, traces: &[trace] };
        let stretch = |start_ns, end_ns, name| Stretch { start_ns, end_ns, name };
        let stretches = [
            stretch(0, 600_000_000, "main phase"),
            stretch(600_000_000, 2_000_000_000, "recovery"),
        ];
        for width in 200..800 {
            let frame = Frame { width_px: f64::from(width), height_px: 300.0, font_px: 13.0 };
            let plan = overlay(&[panel], &stretches, frame, View::ALL, &Words::default());
            let area =
                |name: &str| plan.labels.iter().find(|l| l.plain() == name).map(|l| l.area());
            let (Some(first), Some(second)) = (area("main phase"), area("recovery")) else {
                continue;
            };
            let beside = first.y < second.bottom() && second.y < first.bottom();
            assert!(!beside || second.x - first.right() > 4.0, "{first:?} {second:?} at {width}");
        }
    }
}
