//! Two series compared band by band: what is slow in both, what is quick.
//!
//! A band is the difference of two running means, so gaps are passed over and nothing is filled;
//! coherence is of the common unbroken runs.

use super::{Agreement, agreement};
use signal::coherence::{Coherence, coherence_runs};
use signal::detrend::Detrend;
use signal::smooth::running_mean;
use signal::spectrum::Segments;
use signal::window::Window;

/// Edges of the bands, periods in seconds: twenty minutes, an hour, six hours, a day.
const EDGES_S: [f64; 4] = [1_200.0, 3_600.0, 21_600.0, 86_400.0];

/// Share of a running mean that must be there.
const FEWEST: f64 = 0.5;

/// One band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Shortest and longest period, seconds, about: running means cut softly.
    pub periods_s: [f64; 2],
    /// Root mean square of the series in it, nT.
    pub rms_nt: f64,
    /// Of the reference.
    pub reference_rms_nt: f64,
    /// How they agree in it.
    pub agreement: Agreement,
    /// Mean magnitude-squared coherence, 0 to 1; NaN where no run is long enough.
    pub coherence: f64,
    /// What the coherence of unrelated series stays below at each frequency in 95 of 100 cases.
    pub unrelated: f64,
}

/// Compares two series with a step of `step_s` seconds in every band that they can show.
pub fn bands(series: &[f64], reference: &[f64], step_s: f64) -> Vec<Band> {
    let n = series.len().min(reference.len());
    if step_s.is_nan() || step_s <= 0.0 || n < 8 {
        return Vec::new();
    }
    // Where one is missing, both are: the running means then see the same samples.
    let both = |k: &usize| series[*k].is_finite() && reference[*k].is_finite();
    let masked = |list: &[f64]| -> Vec<f64> {
        (0..n).map(|k| if both(&k) { list[k] } else { f64::NAN }).collect()
    };
    let (a, b) = (masked(series), masked(reference));
    let coherence = coherence_of(&a, &b, step_s);
    let span_s = n as f64 * step_s;
    let mut shorter = [a.clone(), b.clone()];
    let mut from_s = 2.0 * step_s;
    let mut out = Vec::new();
    for to_s in EDGES_S {
        if to_s < 2.0 * from_s && to_s <= 4.0 * step_s || to_s > span_s {
            continue;
        }
        // A running mean of half the period leaves 64 % of that period and less of shorter ones.
        let half = (to_s / 4.0 / step_s).round().max(1.0) as usize;
        let smooth = [&a, &b].map(|list| {
            let mut smooth = running_mean(list, half, FEWEST);
            smooth
                .iter_mut()
                .zip(list)
                .filter(|(_, v)| v.is_nan())
                .for_each(|(s, _)| *s = f64::NAN);
            smooth
        });
        let [x, y] = [0, 1].map(|k| -> Vec<f64> {
            shorter[k].iter().zip(&smooth[k]).map(|(u, v)| u - v).collect()
        });
        let mean = coherence.as_ref().map_or(f64::NAN, |c| mean_between(c, from_s, to_s));
        out.push(Band {
            periods_s: [from_s, to_s],
            rms_nt: rms(&x),
            reference_rms_nt: rms(&y),
            agreement: agreement(&x, &y, |_| true),
            coherence: mean,
            unrelated: coherence.as_ref().map_or(f64::NAN, |c| c.zero_level(0.95)),
        });
        shorter = smooth;
        from_s = to_s;
    }
    out
}

fn rms(list: &[f64]) -> f64 {
    let known = || list.iter().filter(|v| v.is_finite());
    (known().map(|v| v * v).sum::<f64>() / known().count() as f64).sqrt()
}

/// Coherence of the common runs in segments of a day, or of a quarter of the series.
fn coherence_of(a: &[f64], b: &[f64], step_s: f64) -> Option<Coherence> {
    let len = ((86_400.0 / step_s) as usize).min(a.len() / 4);
    let segments = Segments { len, overlap: len / 2, window: Window::Hann, detrend: Detrend::Line };
    let mut runs: Vec<(&[f64], &[f64])> = Vec::new();
    let mut start = None;
    for k in 0..=a.len() {
        let there = a.get(k).is_some_and(|v| v.is_finite());
        match (start, there) {
            (None, true) => start = Some(k),
            (Some(from), false) => {
                if k - from >= len {
                    runs.push((&a[from..k], &b[from..k]));
                }
                start = None;
            }
            _ => {}
        }
    }
    coherence_runs(&runs, 1.0 / step_s, &segments).ok()
}

fn mean_between(found: &Coherence, from_s: f64, to_s: f64) -> f64 {
    let inside = found.frequency_hz.iter().zip(&found.coherence).filter(|(f, c)| {
        let period = 1.0 / **f;
        c.is_finite() && (from_s..to_s).contains(&period)
    });
    let (sum, n) = inside.fold((0.0, 0.0), |(sum, n), (_, c)| (sum + c, n + 1.0));
    sum / n
}
