//! Spectra against time: shades of decibels over time and frequency.
//!
//! Neighbouring estimates that share a few pixels are drawn as their mean
//! density.  Gaps stay blank.  Beside the panel stands the scale of shades.

use crate::axis::seconds_from;
use crate::layout::axes::{Kind, Spec};
use crate::layout::range;
use crate::layout::sheet::{BELOW, Sheet};
use crate::layout::stack::{Margins, stacked};
use crate::metrics::text_width_px;
use crate::model::{Cells, Colour, Layer, Panel, Plan, Rect};
use crate::plan::series::{Clock, Window, step_ns};
use crate::request::{Frame, View, Words};
use crate::ticks::Room;
use crate::writing::density_unit;
use record::{Unit, words::word};
use std::ops::Range;

/// Least side of a drawn patch in pixels.
const PATCH_PX: f64 = 4.0;
/// Shades told apart.
const SHADES: f64 = 40.0;

/// Power spectral densities of successive stretches.
#[derive(Clone, Copy, Debug)]
pub struct Spectrogram<'a> {
    /// Unit u of the channel; densities are in u²/Hz.
    pub unit: Unit,
    /// Middles of the stretches, nanoseconds of UTC since 1970, rising.
    pub times_ns: &'a [i64],
    /// Frequencies in hertz, rising.
    pub frequency_hz: &'a [f64],
    /// Densities, stretch by stretch: as many as frequencies for each time;
    /// NaN where there is none.
    pub density: &'a [f64],
}

/// A figure of a spectrogram.
///
/// `view.y` is in hertz.
pub fn spectrogram(data: &Spectrogram<'_>, frame: Frame, view: View, words: &Words) -> Plan {
    let mut sheet = Sheet::new(frame);
    let em = sheet.em();
    let clock = Clock::new(data.times_ns);
    let step = step_ns(data.times_ns).max(1);
    let window = widened(Window::new(std::slice::from_ref(&clock), view), step, view);
    let positive = range::of(data.frequency_hz.iter().copied().filter(|f| *f > 0.0));
    let y = view.y_span().filter(|(lo, _)| *lo > 0.0);
    let y = y.unwrap_or_else(|| range::aired_log(positive, 0.0));
    let spec = Spec::new(Kind::Log, y, word("frequency"), Unit::Hertz);
    let x = Spec::time(window.origin_ns, (window.lo, window.hi));
    let scale_px = text_width_px("−100", em) * 1.1 + 3.4 * em;
    let margins = Margins { right_px: scale_px, top_px: 0.0 };
    let mut stack = stacked(&sheet, &x, &[spec], margins);
    let (Some(rect), Some(y)) = (stack.rects.pop(), stack.ys.pop()) else {
        return sheet.finish(words);
    };
    sheet.left(rect, &y.axis, 0.0);
    sheet.bottom(rect, &stack.x);
    sheet.panel("spectrogram", rect, stack.x.axis, y.axis, vec![]);
    let Some(mut panel) = sheet.panels.pop() else { return sheet.finish(words) };
    let patches = patches(data, &panel, &window, step);
    let span = shades(&patches);
    panel.layers.push(Layer::Cells(cells(data.unit, &patches, span)));
    sheet.panels.push(panel);
    scale(&mut sheet, rect, span, data.unit);
    sheet.finish(words)
}

/// A patch of time and frequency with its level in decibels.
struct Patch {
    x: (f64, f64),
    y: (f64, f64),
    decibel: f64,
}

/// Half a stretch more on either side, when all is shown.
fn widened(window: Window, step_ns: i64, view: View) -> Window {
    if view.x_span().is_some() {
        return window;
    }
    let half = step_ns / 2;
    let (lo_ns, hi_ns) = (window.lo_ns.saturating_sub(half), window.hi_ns.saturating_add(half));
    let seconds = |ns| seconds_from(window.origin_ns, ns);
    Window { lo_ns, hi_ns, lo: seconds(lo_ns), hi: seconds(hi_ns), ..window }
}

fn patches(data: &Spectrogram<'_>, panel: &Panel, window: &Window, step: i64) -> Vec<Patch> {
    let n = data.frequency_hz.len();
    let columns = columns(data.times_ns, panel, window, step);
    let mut out = Vec::new();
    for (bins, y) in rows(data.frequency_hz, panel) {
        for (times, x) in &columns {
            let all = times.clone().flat_map(|t| {
                bins.clone().filter_map(move |b| data.density.get(t * n + b)).copied()
            });
            let (sum, count) = all
                .filter(|d| d.is_finite() && *d > 0.0)
                .fold((0.0, 0u32), |(sum, count), d| (sum + d, count + 1));
            if count > 0 {
                let decibel = 10.0 * libm::log10(sum / f64::from(count));
                out.push(Patch { x: *x, y, decibel });
            }
        }
    }
    out
}

/// Stretches that share a patch, and its edges along x; a gap parts patches.
fn columns(
    times_ns: &[i64],
    panel: &Panel,
    window: &Window,
    step: i64,
) -> Vec<(Range<usize>, (f64, f64))> {
    let half = step as f64 / 2e9;
    let middle = |k: usize| seconds_from(window.origin_ns, times_ns[k]);
    let mut out: Vec<(Range<usize>, (f64, f64))> = Vec::new();
    for k in 0..times_ns.len() {
        let (from, to) = (middle(k) - half, middle(k) + half);
        if to < window.lo || from > window.hi {
            continue;
        }
        match out.last_mut() {
            Some((times, edges))
                if panel.x_px(edges.1) - panel.x_px(edges.0) < PATCH_PX
                    && from - edges.1 < half =>
            {
                times.end = k + 1;
                edges.1 = to;
            }
            Some((_, edges)) if from - edges.1 < half => {
                let from = edges.1;
                out.push((k..k + 1, (from, to)));
            }
            _ => out.push((k..k + 1, (from, to))),
        }
    }
    out
}

/// Frequencies that share a patch, and its edges along y.
fn rows(frequency_hz: &[f64], panel: &Panel) -> Vec<(Range<usize>, (f64, f64))> {
    let mut out: Vec<(Range<usize>, (f64, f64))> = Vec::new();
    for (k, f) in frequency_hz.iter().enumerate().filter(|(_, f)| **f > 0.0) {
        let below = k.checked_sub(1).map_or(0.0, |b| frequency_hz[b]);
        let above = frequency_hz.get(k + 1).copied().unwrap_or(2.0 * f - below);
        let from = if below > 0.0 { (below * f).sqrt() } else { f * f / (f * above).sqrt() };
        let to = (f * above).sqrt();
        if to < panel.y.lo || from > panel.y.hi {
            continue;
        }
        match out.last_mut() {
            Some((bins, edges)) if panel.y_px(edges.0) - panel.y_px(edges.1) < PATCH_PX => {
                bins.end = k + 1;
                edges.1 = to;
            }
            _ => out.push((k..k + 1, (from, to))),
        }
    }
    out
}

/// The levels from the first shade to the last: all but the outermost of a
/// hundred, so that one loud patch does not hide the rest.
fn shades(patches: &[Patch]) -> (f64, f64) {
    let mut levels: Vec<f64> = patches.iter().map(|p| p.decibel).collect();
    record::sort::ascending(&mut levels);
    let at = |share: f64| levels.get(((levels.len().max(1) - 1) as f64 * share) as usize).copied();
    range::aired(at(0.02).zip(at(0.995)), 0.0)
}

fn shade(level: f64, (lo, hi): (f64, f64)) -> Colour {
    let share = ((level - lo) / (hi - lo)).clamp(0.0, 1.0);
    Colour::Ramp(((share * (SHADES - 1.0)).round() * 255.0 / (SHADES - 1.0)) as u8)
}

fn cells(unit: Unit, patches: &[Patch], span: (f64, f64)) -> Cells {
    let (unit, ascii) = density_unit(unit);
    let corners = |p: &Patch| vec![(p.x.0, p.y.0), (p.x.1, p.y.0), (p.x.1, p.y.1), (p.x.0, p.y.1)];
    Cells {
        name: "density".to_owned(),
        unit: format!("dB re 1 {unit}"),
        unit_ascii: format!("dB re 1 {ascii}"),
        edged: false,
        data: true,
        outlines: patches.iter().map(corners).collect(),
        values: patches.iter().map(|p| p.decibel).collect(),
        colours: patches.iter().map(|p| shade(p.decibel, span)).collect(),
    }
}

/// The scale of shades, at the right of the panel.
fn scale(sheet: &mut Sheet, beside: Rect, span: (f64, f64), unit: Unit) {
    let em = sheet.em();
    let rect = Rect { x: (beside.right() + 1.6 * em).floor() + 0.5, width: em.floor(), ..beside };
    let room = Room { length_px: rect.height, font_px: em, upright: true };
    let y = Spec::new(Kind::Even, span, "density", Unit::None).ready(room);
    let x = Spec::new(Kind::Even, (0.0, 1.0), "", Unit::None);
    let x = x.ready(Room { length_px: 0.0, font_px: em, upright: false });
    let step = (span.1 - span.0) / SHADES;
    let edges = |k: f64| (span.0 + k * step, span.0 + (k + 1.0) * step);
    let level = |k: u32| {
        let (lo, hi) = edges(f64::from(k));
        vec![(0.0, lo), (1.0, lo), (1.0, hi), (0.0, hi)]
    };
    let count = SHADES as u32;
    let layer = Layer::Cells(Cells {
        name: String::new(),
        unit: String::new(),
        unit_ascii: String::new(),
        edged: false,
        data: false,
        outlines: (0..count).map(level).collect(),
        values: vec![],
        colours: (0..count).map(|k| shade(edges(f64::from(k) + 0.5).0, span)).collect(),
    });
    sheet.right(rect, &y.axis);
    let (name, _) = density_unit(unit);
    let title = format!("dB re 1 {name}");
    // A little higher where the scale's own topmost number stands in the way.
    let places = [0.5, 0.7].map(|rise| {
        let at = (sheet.frame.width_px - 0.4 * em, beside.y - rise * em);
        (at, crate::Anchor::End)
    });
    let runs = crate::writing::line(title);
    sheet.write_free(&runs, whole(sheet), places, &[], crate::Duty::Title);
    sheet.panel("scale", rect, x.axis, y.axis, vec![layer]);
}

fn whole(sheet: &Sheet) -> Rect {
    let (width, height) = (sheet.frame.width_px, sheet.frame.height_px - BELOW * sheet.em());
    Rect { x: 0.0, y: 0.0, width, height }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_says_its_unit_whatever_its_topmost_number_is() {
        let times: Vec<i64> = (0..9).map(|h| h * 3_600_000_000_000).collect();
        for k in 0..60 {
            let loud = libm::exp10(0.01 * f64::from(k));
            let density: Vec<f64> = (0..27u32).map(|j| loud * f64::from(j * j + 1)).collect();
            let data = Spectrogram {
                unit: Unit::Nanotesla,
                times_ns: &times,
                frequency_hz: &[0.0, 0.001, 0.002],
                density: &density,
            };
            for width_px in [280.0, 350.0, 640.0] {
                let frame = Frame { width_px, height_px: 300.0, font_px: 13.0 };
                let plan = spectrogram(&data, frame, View::ALL, &Words::default());
                let says = |label: &crate::Label| label.runs.iter().any(|r| r.text.contains("dB"));
                assert!(plan.labels.iter().any(says), "{k} at {width_px}");
            }
        }
    }

    #[test]
    fn a_gap_between_stretches_stays_blank_and_levels_are_ten_times_the_logarithm() {
        let hour = 3_600_000_000_000i64;
        let times: Vec<i64> = [0, 1, 2, 6, 7].map(|h| h * hour).to_vec();
        let data = Spectrogram {
            unit: Unit::Nanotesla,
            times_ns: &times,
            frequency_hz: &[0.0, 0.001, 0.002],
            density: &[1.0, 100.0, 1000.0].repeat(5),
        };
        let frame = Frame { width_px: 500.0, height_px: 240.0, font_px: 12.0 };
        let plan = spectrogram(&data, frame, View::ALL, &Words::default());
        let Layer::Cells(cells) = &plan.panels[0].layers[0] else { panic!() };
        assert_eq!(cells.values.len(), 10);
        assert!(cells.values.iter().all(|v| (v - 20.0).abs() < 1e-9 || (v - 30.0).abs() < 1e-9));
        let edge = |corners: &Vec<(f64, f64)>| (corners[0].0, corners[1].0);
        let mut spans: Vec<(f64, f64)> = cells.outlines.iter().map(edge).collect();
        spans.truncate(5);
        assert_eq!(spans[2].1, 2.5 * 3600.0);
        assert_eq!(spans[3].0, 5.5 * 3600.0);
    }
}
