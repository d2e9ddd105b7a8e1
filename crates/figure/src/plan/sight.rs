//! What a sensor can see: the size that a wave must have to stand out of its noise, against the
//! period, and the sizes of known signals as boxes.

use super::common::{LINE_PX, THIN_PX, crowd, data_line};
use crate::layout::axes::{Kind, Spec};
use crate::layout::range;
use crate::layout::sheet::Sheet;
use crate::layout::stack::{Margins, stacked};
use crate::metrics::CAP;
use crate::model::{Anchor, Band, Colour, Dash, Duty, Layer, Line, Panel, Plan};
use crate::request::{Frame, View, Words};
use crate::writing::line;
use record::{Unit, words::word};

/// Whether a signal is seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seen {
    /// All of its usual sizes.
    Always,
    /// The large ones.
    Large,
    /// Not in a single wave.
    Never,
}

/// A known signal.
#[derive(Clone, Copy, Debug)]
pub struct Signal<'a> {
    /// What it is.
    pub name: &'a str,
    /// Shortest and longest period, seconds.
    pub periods_s: (f64, f64),
    /// Smallest and largest usual size, largest less smallest value.
    pub sizes: (f64, f64),
    /// Whether it is seen.
    pub seen: Seen,
}

/// What the figure shows.
#[derive(Clone, Copy, Debug)]
pub struct Sight<'a> {
    /// Unit of the sizes.
    pub unit: Unit,
    /// Periods at which the noise is known, rising, seconds.
    pub periods_s: &'a [f64],
    /// The size that stands out there.
    pub noise: &'a [f64],
    /// Its interval.
    pub interval: (&'a [f64], &'a [f64]),
    /// Known signals.
    pub signals: &'a [Signal<'a>],
}

/// A figure of what is seen.
pub fn sight(data: &Sight<'_>, frame: Frame, view: View, words: &Words) -> Plan {
    let mut sheet = Sheet::new(frame);
    let ends = |f: fn(&Signal<'_>) -> (f64, f64)| {
        range::of(data.signals.iter().map(f).flat_map(|(a, b)| [a, b]))
    };
    let known = range::joined(range::of(data.periods_s.to_vec()), ends(|s| s.periods_s));
    let x = view.x_span().unwrap_or_else(|| range::aired_log(known, 0.03));
    let sizes = range::joined(range::of(data.noise.to_vec()), ends(|s| s.sizes));
    let y = view.y_span().unwrap_or_else(|| range::aired_log(sizes, 0.06));
    let y = if y.0 > 0.0 { y } else { (y.1.abs() * 1e-4, y.1) };
    let ys = [Spec::new(Kind::Log, y, word("size"), data.unit)];
    let x = Spec::new(Kind::Durations, x, word("period"), Unit::Second);
    let mut stack = stacked(&sheet, &x, &ys, Margins::default());
    let (Some(rect), Some(y)) = (stack.rects.pop(), stack.ys.pop()) else {
        return sheet.finish(words);
    };
    sheet.left(rect, &y.axis, 0.0);
    sheet.bottom(rect, &stack.x);
    let mut layers: Vec<Layer> = data.signals.iter().flat_map(boxed).collect();
    let name = || "noise".to_owned();
    let xs = data.periods_s.to_vec();
    let (lo, hi) = (data.interval.0.to_vec(), data.interval.1.to_vec());
    let (colour, own) =
        (Colour::Ink, data_line("noise", Colour::Ink, xs.clone(), data.noise.to_vec()));
    layers.push(Layer::Band(Band { name: name(), colour, x: xs, lo, hi, data: true }));
    layers.push(Layer::Line(Line { width_px: 1.6 * LINE_PX, ..own }));
    sheet.panel("sight", rect, stack.x.axis, y.axis, layers);
    let Some(panel) = sheet.panels.pop() else { return sheet.finish(words) };
    name_all(&mut sheet, &panel, data);
    sheet.panels.push(panel);
    sheet.finish(words)
}

fn pen(seen: Seen) -> (Colour, Dash) {
    match seen {
        Seen::Always => (Colour::Channel(0), Dash::Solid),
        Seen::Large => (Colour::Channel(1), Dash::Dashed),
        Seen::Never => (Colour::Soft, Dash::Dotted),
    }
}

/// A signal as a box; its edges tell whether it is seen.
fn boxed(signal: &Signal<'_>) -> [Layer; 2] {
    let ((p0, p1), (s0, s1)) = (signal.periods_s, signal.sizes);
    let (colour, dash) = pen(signal.seen);
    let name = signal.name.to_owned();
    let (x, lo, hi) = (vec![p0, p1], vec![s0; 2], vec![s1; 2]);
    let (xs, ys) = (vec![p0, p1, p1, p0, p0], vec![s0, s0, s1, s1, s0]);
    let edge = data_line(signal.name, colour, xs, ys);
    [
        Layer::Band(Band { name, colour, x, lo, hi, data: true }),
        Layer::Line(Line { width_px: THIN_PX, dash, data: false, ..edge }),
    ]
}

fn name_all(sheet: &mut Sheet, panel: &Panel, data: &Sight<'_>) {
    let (em, rect) = (sheet.em(), panel.rect);
    let crowd = crowd(panel);
    for signal in data.signals {
        let ((p0, p1), (s0, s1)) = (signal.periods_s, signal.sizes);
        let x = |p: f64| panel.x_px(p);
        let middle = (x(p0) + x(p1)) / 2.0;
        let (top, foot) = (panel.y_px(s1), panel.y_px(s0));
        let mut places = Vec::new();
        for y in [(top + foot + CAP * em) / 2.0, top + 1.1 * em, foot - 0.35 * em] {
            places.push(((middle, y), Anchor::Middle));
        }
        for y in [top - 0.4 * em, foot + (0.4 + CAP) * em] {
            places.push(((middle, y), Anchor::Middle));
            places.push(((x(p0), y), Anchor::Start));
            places.push(((x(p1), y), Anchor::End));
        }
        for y in [top + 1.1 * em, foot - 0.35 * em, (top + foot + CAP * em) / 2.0] {
            places.push(((x(p1) + 0.4 * em, y), Anchor::Start));
            places.push(((x(p0) - 0.4 * em, y), Anchor::End));
        }
        sheet.write_free(&line(signal.name), rect, places, &crowd, Duty::Direct);
    }
    let known = data.periods_s.iter().zip(data.noise);
    let mut places = Vec::new();
    for (period, size) in known.rev() {
        let (x, y) = (panel.x_px(*period), panel.y_px(*size));
        for anchor in [Anchor::End, Anchor::Middle, Anchor::Start] {
            places.push(((x, y + (0.8 + CAP) * em), anchor));
            places.push(((x, y - 0.8 * em), anchor));
        }
    }
    sheet.write_free(&line(word("this sensor")), rect, places, &crowd, Duty::Direct);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_signal_is_a_box_and_the_noise_a_line_with_its_interval() {
        let signals = [Signal {
            name: "Pc5",
            periods_s: (150.0, 600.0),
            sizes: (1.0, 50.0),
            seen: Seen::Large,
        }];
        let data = Sight {
            unit: Unit::Nanotesla,
            periods_s: &[60.0, 600.0, 6000.0],
            noise: &[30.0, 10.0, 3.0],
            interval: (&[29.0, 9.0, 2.5], &[31.0, 11.0, 3.8]),
            signals: &signals,
        };
        let frame = Frame { width_px: 500.0, height_px: 320.0, font_px: 12.0 };
        let plan = sight(&data, frame, View::ALL, &Words::default());
        let csv = crate::table::csv(&plan);
        assert!(csv.contains("Pc5 lower (nT),Pc5 upper (nT),noise lower (nT)"), "{csv}");
        assert!(csv.contains("\n600,1,50,9,11,10\r"), "{csv}");
        assert!(plan.labels.iter().any(|l| l.plain() == "Pc5"));
    }
}
