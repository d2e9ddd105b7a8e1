//! Power spectral densities: two logarithmic axes, periods along the top, the
//! 95 % interval of every estimate as a bar, peaks named by their period.

use super::common::{LINE_PX, SHAPES, crowd};
use crate::layout::axes::{Kind, Ready, Spec};
use crate::layout::ends::{self, End};
use crate::layout::range;
use crate::layout::sheet::Sheet;
use crate::layout::stack::{Margins, Stack, stacked};
use crate::metrics::{CAP, DEPTH, run_width_px, text_width_px};
use crate::model::{
    Anchor, Colour, Dash, Duty, Layer, Line, Panel, Plan, Points, Rect, Shape, Stroke, Whiskers,
};
use crate::request::{Frame, View, Words};
use crate::thin::{Samples, thin};
use crate::ticks::{Room, period};
use crate::writing::{density_unit, line, quantity};
use record::{
    Unit, print,
    words::{word, worded},
};

/// What the heights of a spectrum are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Height {
    /// Power spectral densities, u²/Hz.
    #[default]
    Density,
    /// Amplitudes of the sines that would stand as high, u.
    Amplitude,
}

/// The spectrum of a channel.
#[derive(Clone, Copy, Debug)]
pub struct SpectrumTrace<'a> {
    /// The channel's name.
    pub name: &'a str,
    /// The channel's unit u, or that of the density itself (u²/Hz).
    pub unit: Unit,
    /// Frequencies in hertz, rising.
    pub frequency_hz: &'a [f64],
    /// Densities, or amplitudes; what is not positive has no place and is left out.
    pub density: &'a [f64],
    /// Which of the two.
    pub height: Height,
}

/// A figure of spectra.
///
/// * `interval` - the 95 % interval of an estimate, as multiples of it
/// * `peaks` - frequency in hertz and period in seconds of peaks to name, the
///   most important first; those whose names would collide are passed over
/// * `view` - hertz along x, density along y
pub fn spectrum(
    traces: &[SpectrumTrace<'_>],
    interval: (f64, f64),
    peaks: &[(f64, f64)],
    frame: Frame,
    view: View,
    words: &Words,
) -> Plan {
    let mut sheet = Sheet::new(frame);
    let span = x_span(traces, view);
    let lines: Vec<Line> =
        traces.iter().enumerate().map(|(k, t)| one(k, t, traces.len(), span, &sheet)).collect();
    let inside = |l: &Line| {
        let pairs = l.x.iter().zip(&l.y).filter(|(x, _)| (span.0..=span.1).contains(*x));
        range::of(pairs.map(|(_, y)| *y))
    };
    let data = lines.iter().map(inside).fold(None, range::joined);
    let y = view.y_span().filter(|(lo, _)| *lo > 0.0);
    let y = y.unwrap_or_else(|| with_headroom(range::aired_log(data, 0.05), peaks, &sheet));
    let spec = y_spec(traces, y, &sheet);
    let stack = stacked(&sheet, &x_spec(span), &[spec], margins(traces, &sheet));
    place(&mut sheet, stack, lines, interval, peaks);
    sheet.finish(words)
}

fn x_span(traces: &[SpectrumTrace<'_>], view: View) -> (f64, f64) {
    let usable = |t: &SpectrumTrace<'_>| {
        let pairs = t.frequency_hz.iter().zip(t.density).filter(|(f, d)| **f > 0.0 && **d > 0.0);
        range::of(pairs.map(|(f, _)| *f))
    };
    let all = traces.iter().map(usable).fold(None, range::joined);
    view.x_span().filter(|(lo, _)| *lo > 0.0).unwrap_or_else(|| range::aired_log(all, 0.0))
}

fn x_spec(span: (f64, f64)) -> Spec {
    Spec::new(Kind::Log, span, word("frequency"), Unit::Hertz)
}

/// Room above the highest line for the name of a peak.
fn with_headroom((lo, hi): (f64, f64), peaks: &[(f64, f64)], sheet: &Sheet) -> (f64, f64) {
    if peaks.is_empty() {
        return (lo, hi);
    }
    let share = (3.4 * sheet.em() / sheet.frame.height_px).min(0.3);
    (lo, hi * libm::pow(hi / lo, share))
}

fn y_spec(traces: &[SpectrumTrace<'_>], span: (f64, f64), sheet: &Sheet) -> Spec {
    let first = traces.first().map_or(Unit::None, |t| t.unit);
    if traces.first().is_some_and(|t| t.height == Height::Amplitude) {
        return Spec::new(Kind::Log, span, word("amplitude of a sine"), first);
    }
    let (unit, unit_ascii) = density_unit(first);
    let full = word("power spectral density");
    let width = text_width_px(&format!("{full} / ({unit})"), sheet.em());
    let fits = width * 1.12 + 5.0 * sheet.em() < sheet.frame.width_px;
    let spec = Spec::new(Kind::Log, span, if fits { full } else { "PSD" }, Unit::None);
    Spec { unit, unit_ascii, ..spec }
}

fn margins(traces: &[SpectrumTrace<'_>], sheet: &Sheet) -> Margins {
    let names: Vec<_> = traces.iter().map(|t| vec![quantity(t.name)]).collect();
    let right_px = ends::margin_px(names.iter().map(Vec::as_slice), sheet.em());
    Margins { right_px, top_px: 1.35 * sheet.em() }
}

/// A trace thinned to columns of the logarithmic axis.
fn one(
    k: usize,
    trace: &SpectrumTrace<'_>,
    of: usize,
    (lo, hi): (f64, f64),
    sheet: &Sheet,
) -> Line {
    let len = trace.frequency_hz.len().min(trace.density.len());
    let frequency = &trace.frequency_hz[..len];
    let positive: Vec<f64> = frequency
        .iter()
        .zip(trace.density)
        .map(|(f, d)| if *f > 0.0 && *d > 0.0 { *d } else { f64::NAN })
        .collect();
    let columns = sheet.frame.width_px.ceil() as usize;
    let place = |f: f64| frequency.partition_point(|other| *other < f);
    let edge = |c: usize| place(lo * libm::pow(hi / lo, c as f64 / columns as f64));
    let end = frequency.partition_point(|f| *f <= hi);
    let samples = Samples::new(&positive, None);
    // A frequency without a density is a break.
    let broken = |a: usize, b: usize| b > a + 1 && positive[a + 1..b].iter().all(|d| d.is_nan());
    let found = thin(samples, place(lo)..end, columns, edge, broken);
    let at = |from: &[f64]| {
        found.places.iter().map(|k| k.map_or(f64::NAN, |k| from[k])).collect::<Vec<f64>>()
    };
    Line {
        name: trace.name.to_owned(),
        colour: Colour::Channel((k % 8) as u8),
        width_px: LINE_PX,
        dash: Dash::Solid,
        marker: (of > 1).then(|| SHAPES[k % SHAPES.len()]),
        x: at(frequency),
        y: at(&positive),
        lift: 0.0,
        samples: found.samples,
        data: true,
    }
}

fn place(
    sheet: &mut Sheet,
    stack: Stack,
    lines: Vec<Line>,
    interval: (f64, f64),
    peaks: &[(f64, f64)],
) {
    let Stack { rects, mut ys, x } = stack;
    let (Some(rect), Some(y)) = (rects.first().copied(), ys.pop()) else { return };
    let layers = lines.into_iter().map(Layer::Line).collect();
    sheet.panel("spectrum", rect, x.axis.clone(), y.axis.clone(), layers);
    let Some(mut panel) = sheet.panels.pop() else { return };
    write_axes(sheet, rect, &x, &y, &mut panel);
    write_ends(sheet, &panel);
    let mut taken = Vec::new();
    let crowd = crowd(&panel);
    for peak in peaks {
        name_peak(sheet, (&panel, &crowd), *peak, &mut taken);
    }
    bar(sheet, &mut panel, interval, &taken);
    sheet.panels.push(panel);
}

/// Left and bottom as always; periods along the top, above them the titles.
fn write_axes(sheet: &mut Sheet, rect: Rect, x: &Ready, y: &Ready, panel: &mut Panel) {
    let em = sheet.em();
    let room = Room { length_px: rect.width, font_px: em, upright: false };
    let top = period::along_frequency(x.axis.lo, x.axis.hi, room);
    let rise = if top.is_empty() { 0.0 } else { 1.35 * em };
    sheet.left(rect, &y.axis, rise);
    sheet.bottom(rect, x);
    if top.is_empty() {
        return;
    }
    sheet.top(rect, &x.axis, &top);
    let y_title = run_width_px(&y.axis.title, em);
    if y_title * 1.12 + text_width_px(word("period"), em) * 1.12 + em < rect.width {
        let at = (rect.right(), rect.y - 0.5 * em - rise);
        sheet.write(line(word("period")), at, Anchor::End, Duty::Title);
    }
    panel.top = Some(top);
}

fn write_ends(sheet: &mut Sheet, panel: &Panel) {
    let found: Vec<End> = panel.layers.iter().filter_map(|l| ends::of_layer(panel, l)).collect();
    ends::write(sheet, panel.rect, &found);
}

/// Names a peak above the highest line near it, unless the name would meet
/// another or the frame.
fn name_peak(
    sheet: &mut Sheet,
    (panel, crowd): (&Panel, &[(f64, f64)]),
    (at_hz, period_s): (f64, f64),
    taken: &mut Vec<Rect>,
) {
    let em = sheet.em();
    let text = print::duration(period_s);
    let x = panel.x_px(at_hz);
    let half = text_width_px(&text, em) / 2.0 + 0.2 * em;
    let near = |reach: f64| {
        let within = crowd.iter().filter(|(a, _)| (a - x).abs() <= reach);
        within.map(|(_, b)| *b).fold(f64::INFINITY, f64::min)
    };
    // The places of the lines stand a few pixels apart.
    let (peak, top) = (near(5.0), near(half));
    if !peak.is_finite() {
        return;
    }
    let y = top - 0.9 * em;
    let height = (CAP + DEPTH) * em;
    let area = Rect { x: x - half, y: y - CAP * em, width: 2.0 * half, height };
    let rect = panel.rect;
    let inside = area.x > rect.x + 2.0 && area.right() < rect.right() - 2.0;
    if !inside || area.y < rect.y + 0.5 * em || taken.iter().any(|other| other.meets(&area)) {
        return;
    }
    let path = vec![(x, y + 0.25 * em), (x, peak - 0.2 * em)];
    let (colour, dash) = (Colour::Soft, Dash::Solid);
    sheet.strokes.push(Stroke { path, colour, width_px: 1.0, dash, marker: None });
    sheet.write(line(text), (x, y), Anchor::Middle, Duty::Direct);
    taken.push(area);
}

fn lines(panel: &Panel) -> impl Iterator<Item = &Line> {
    panel.layers.iter().filter_map(|layer| match layer {
        Layer::Line(line) => Some(line),
        _ => None,
    })
}

/// The interval's bar, in the corner that the lines leave freest.
fn bar(sheet: &mut Sheet, panel: &mut Panel, (low, high): (f64, f64), taken: &[Rect]) {
    let em = sheet.em();
    if !(low > 0.0 && high > low && high.is_finite()) {
        return;
    }
    let decades = libm::log10(panel.y.hi) - libm::log10(panel.y.lo);
    let height = libm::log10(high / low) / decades * panel.rect.height;
    let words = text_width_px("95 %", em) + 0.9 * em;
    let wide = words + 0.8 * em;
    let tall = height.max(em) + 0.8 * em;
    let Some(corner) = freest(panel, wide, tall, em, taken) else { return };
    let x_px = corner.x + words + 0.4 * em;
    let top = corner.y + (tall - height) / 2.0;
    let estimate = panel.y_at(top) / high;
    let x = panel.x_at(x_px);
    let at = (x_px - 0.6 * em, top + height / 2.0 + CAP / 2.0 * em);
    sheet.write(line("95 %"), at, Anchor::End, Duty::Note);
    let (name, colour) = (worded("95 % interval of an estimate"), Colour::Ink);
    panel.layers.push(Layer::Whiskers(Whiskers {
        name,
        x: vec![x],
        lo: vec![estimate * low],
        hi: vec![estimate * high],
        colour,
        data: false,
    }));
    panel.layers.push(Layer::Points(Points {
        name: String::new(),
        colour,
        shape: Shape::Dot,
        size_px: 4.0,
        x: vec![x],
        y: vec![estimate],
        samples: 0,
        data: false,
    }));
}

/// The corner of the frame with the fewest points of lines in it; `None` when
/// the frame is too small or every corner holds a named peak.
fn freest(panel: &Panel, wide: f64, tall: f64, em: f64, taken: &[Rect]) -> Option<Rect> {
    let r = panel.rect;
    let inset = 0.7 * em;
    if wide + 2.0 * inset > r.width || tall + 2.0 * inset > r.height {
        return None;
    }
    let (right, bottom) = (r.right() - wide - inset, r.bottom() - tall - inset);
    let corners = [
        (right, r.y + inset),
        (r.x + inset, bottom),
        (r.x + inset, r.y + inset),
        (right, bottom),
        (r.x + r.width / 2.0, r.y + inset),
    ];
    let places: Vec<(f64, f64)> = lines(panel)
        .flat_map(|l| l.x.iter().zip(&l.y))
        .map(|(x, y)| (panel.x_px(*x), panel.y_px(*y)))
        .collect();
    let area = |(x, y): (f64, f64)| Rect { x, y, width: wide, height: tall };
    corners
        .into_iter()
        .map(area)
        .filter(|a| taken.iter().all(|other| !other.meets(a)))
        .min_by_key(|a| places.iter().filter(|(x, y)| a.holds(*x, *y)).count())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(plan: &Plan, duty: Duty) -> Vec<String> {
        plan.labels.iter().filter(|l| l.duty == duty).map(|l| l.plain()).collect()
    }

    fn flat(len: usize) -> (Vec<f64>, Vec<f64>) {
        let frequency: Vec<f64> = (0..len).map(|k| k as f64 * 1e-5).collect();
        let density = frequency.iter().map(|f| if *f > 0.0 { 1e-2 / f } else { 0.0 }).collect();
        (frequency, density)
    }

    fn planned(peaks: &[(f64, f64)]) -> Plan {
        of(peaks, Height::Density)
    }

    fn of(peaks: &[(f64, f64)], height: Height) -> Plan {
        let (f, d) = flat(2000);
        let trace = SpectrumTrace {
            name: "X",
            unit: Unit::Nanotesla,
            frequency_hz: &f,
            density: &d,
            height,
        };
        let frame = Frame { width_px: 640.0, height_px: 400.0, font_px: 12.0 };
        spectrum(&[trace], (0.6, 1.8), peaks, frame, View::ALL, &Words::default())
    }

    #[test]
    fn zero_frequency_and_zero_density_have_no_place_on_the_axes() {
        let plan = planned(&[]);
        assert!((plan.panels[0].x.lo - 1e-5).abs() < 1e-17);
        let Layer::Line(line) = &plan.panels[0].layers[0] else { panic!() };
        assert!(line.y.iter().all(|y| *y > 0.0));
    }

    #[test]
    fn a_density_of_nanotesla_is_labelled_in_their_square_to_the_hertz() {
        let plan = planned(&[]);
        let titles = written(&plan, Duty::Title);
        assert_eq!(titles, ["power spectral density / (nT²/Hz)", "frequency / Hz", "period"]);
    }

    #[test]
    fn amplitudes_are_labelled_in_the_unit_itself() {
        let titles = written(&of(&[], Height::Amplitude), Duty::Title);
        assert_eq!(titles[0], "amplitude of a sine / nT");
    }

    #[test]
    fn the_bar_is_as_long_as_the_interval_on_the_axis() {
        let plan = planned(&[]);
        let found = plan.panels[0].layers.iter().find_map(|layer| match layer {
            Layer::Whiskers(w) => Some(w.hi[0] / w.lo[0]),
            _ => None,
        });
        assert!((found.unwrap() - 3.0).abs() < 1e-9);
    }

    #[test]
    fn peaks_too_close_to_be_named_twice_are_named_once() {
        let plan = planned(&[(1e-3, 1000.0), (1.01e-3, 990.0), (1e-2, 100.0)]);
        assert_eq!(written(&plan, Duty::Direct), ["X", "16.7 min", "100 s"]);
    }
}
