//! Each estimator on five seeded series: even, odd, gappy, tiny, red.
//!
//! The figures and the script that computes them, `series_reference.py`, are in
//! the workspace's `tests/reference`; series are made here and there by the same
//! generator.  Tolerance: 1e-10 of each value.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::Seeded;
use common::kept::{close, close_every, count, floats, of_series, series};
use serde_json::Value;
use signal::allan::{Kind, deviation};
use signal::butterworth::{Band, causal_from_rest, design, response, zero_phase};
use signal::coherence::coherence_runs;
use signal::detrend::{Detrend, remove};
use signal::lomb_scargle::{Grid, Mean, direct, lomb_scargle};
use signal::multitaper::{Tapers, Weighting, multitaper};
use signal::spectrogram::spectrogram;
use signal::spectrum::Segments;
use signal::window::Window;
use signal::{fir, harmonics, minute, rate, robust, smooth, stats};

/// Missing values as 0, as the script writes them.
fn bare(x: &[f64]) -> Vec<f64> {
    x.iter().map(|v| if v.is_nan() { 0.0 } else { *v }).collect()
}

fn present(x: &[f64]) -> Vec<f64> {
    x.iter().copied().filter(|v| v.is_finite()).collect()
}

#[test]
fn what_needs_no_frequencies_agrees() {
    for case in of_series("plain") {
        let (name, x) = (&case["series"], series(&case["series"]));
        let numbers = [
            ("mean", stats::mean(&x)),
            ("sd", stats::sd(&x)),
            ("median", robust::median(&x)),
            ("mad", robust::mad(&x)),
            ("quantile_0.3", robust::quantile(&x, 0.3)),
            ("effective_count", Some(stats::effective_count(&x))),
        ];
        for (key, found) in numbers {
            close(&[found.unwrap()], &[case[key].as_f64().unwrap()], name);
        }
        let histogram = stats::histogram(&x, 7).unwrap();
        let counts: Vec<f64> = histogram.counts.iter().map(|c| *c as f64).collect();
        assert_eq!(counts, floats(&case["histogram"]["counts"]), "{name}");
        close(&histogram.edges, &floats(&case["histogram"]["edges"]), name);
        let blocks = smooth::block_means(&x, 60, 0.8);
        let lists = [
            ("correlation", stats::autocorrelation(&x, 300.min(x.len() - 1))),
            ("rate", rate::rate_of_change(&x, 0.5, 1)),
            ("rate_3", rate::rate_of_change(&x, 0.5, 3)),
            ("thinned_4", fir::decimate(&x, 4).unwrap().values),
            ("minutes", minute::minute_values(&x, 1, 0).unwrap()),
            ("block_means", blocks.iter().map(|b| b.mean).collect()),
            ("block_errors", blocks.iter().map(|b| b.sigma).collect()),
            ("running_mean", smooth::running_mean(&x, 5, 0.5)),
            ("running_median", robust::running_median(&x, 5)),
            ("running_quantile", robust::running_quantile(&x, 5, 0.3)),
            ("mean_taken_off", present(&remove(&x, Detrend::Mean).0)),
            ("line_taken_off", present(&remove(&x, Detrend::Line).0)),
        ];
        for (key, found) in lists {
            let what = Value::String(format!("{key} of {name}"));
            close_every(&bare(&found), &case[key], &what);
        }
    }
}

/// The second series of the script: follows the first by a sample.
fn partner(name: &Value) -> Vec<f64> {
    let parts: Vec<&str> = name.as_str().unwrap().split('-').collect();
    let mut seeded = Seeded(parts[2].parse::<u64>().unwrap() + 50);
    let x = series(name);
    let late = |k: usize| k.checked_sub(1).map(|p| x[p]).filter(|v| v.is_finite()).unwrap_or(0.0);
    let value = |k: usize| 0.5 * (seeded.uniform() - 0.5) + late(k);
    let y: Vec<f64> = (0..x.len()).map(value).collect();
    y.iter().zip(&x).map(|(y, x)| if x.is_nan() { f64::NAN } else { *y }).collect()
}

#[test]
fn coherence_phase_and_spectrogram_agree() {
    for case in of_series("frequency") {
        let (name, x) = (&case["series"], series(&case["series"]));
        let y = partner(name);
        let (len, overlap) = (count(&case["len"]), count(&case["overlap"]));
        let cut = Segments { len, overlap, window: Window::Hann, detrend: Detrend::Mean };
        let runs: Vec<(&[f64], &[f64])> =
            x.split(|v| v.is_nan()).zip(y.split(|v| v.is_nan())).collect();
        let found = coherence_runs(&runs, 2.0, &cut).unwrap();
        assert_eq!(found.segments, count(&case["segments"]), "{name}");
        close_every(&found.coherence[1..], &case["coherence"], name);
        close_every(&found.gain[1..], &case["gain"], name);
        let step = count(&case["lag"]["step"]);
        let lags = found.lag_rad[1..].iter().step_by(step);
        for (a, b) in lags.zip(floats(&case["lag"]["values"])) {
            let turns = (a - b) / (2.0 * std::f64::consts::PI);
            assert!((turns - turns.round()).abs() < 1e-10, "{name}: {a}, but {b}");
        }
        let density = spectrogram(&x, 2.0, &cut).unwrap().density;
        close_every(&bare(&density), &case["spectrogram"], name);
    }
}

#[test]
fn sine_tapers_and_adaptive_weights_agree() {
    for case in of_series("tapers") {
        let (name, x) = (&case["series"], series(&case["series"]));
        let sine = multitaper(&x, 2.5, Tapers::Sine { count: 5 }, Weighting::Equal).unwrap();
        close_every(&sine.density[1..], &case["sine"], name);
        let slepian = Tapers::Dpss { nw: 3.0, count: 5 };
        let found = multitaper(&x, 2.5, slepian, Weighting::Adaptive).unwrap();
        close_every(&found.density[1..], &case["adaptive"], name);
        close_every(&found.degrees_of_freedom[1..], &case["freedom"], name);
    }
}

#[test]
fn powers_at_uneven_times_agree() {
    for case in of_series("uneven") {
        let (name, y) = (&case["series"], series(&case["series"]));
        let (mut seeded, mut now) = (Seeded(y.len() as u64), 0.0);
        let mut next = || {
            now += 0.5 + seeded.uniform();
            now
        };
        let t: Vec<f64> = y.iter().map(|_| next()).collect();
        let step_hz = case["step"].as_f64().unwrap();
        let grid = Grid { first_hz: step_hz, step_hz, count: count(&case["count"]) };
        let slow = direct(&t, &y, None, &grid.frequencies(), Mean::Floating).unwrap();
        close_every(&slow, &case["power"], name);
        let fast = lomb_scargle(&t, &y, None, grid).unwrap();
        for (a, b) in fast.power.iter().zip(&slow) {
            assert!((a - b).abs() < 1e-9, "{name}: {a}, but {b}");
        }
    }
}

#[test]
fn deviations_with_and_without_gaps_agree() {
    for case in of_series("stability") {
        let (name, y) = (&case["series"], series(&case["series"]));
        let factors: Vec<usize> = case["m"].as_array().unwrap().iter().map(count).collect();
        let at = |m: &usize| deviation(&y, 0.25, *m, Kind::Overlapping).unwrap();
        let all: Vec<_> = factors.iter().map(at).collect();
        let found: Vec<f64> = all.iter().map(|point| point.deviation).collect();
        let terms: Vec<f64> = all.iter().map(|point| point.terms as f64).collect();
        close(&found, &floats(&case["deviation"]), name);
        assert_eq!(terms, floats(&case["terms"]), "{name}");
    }
}

#[test]
fn waves_agree() {
    for case in of_series("waves") {
        let (name, y) = (&case["series"], series(&case["series"]));
        let found = harmonics::fit_even(&y, 2.0, &floats(&case["periods"])).unwrap();
        let terms = found.terms.iter().flat_map(|term| [term.cos, term.sin]);
        let all: Vec<f64> = std::iter::once(found.level).chain(terms).collect();
        close(&all, &floats(&case["coefficients"]), name);
    }
}

#[test]
fn filters_of_high_order_have_the_gain_of_their_sections() {
    for case in of_series("steep") {
        let edges = floats(&case["edges"]);
        let band = match case["kind"].as_str().unwrap() {
            "low" => Band::Low(edges[0]),
            "high" => Band::High(edges[0]),
            "pass" => Band::Pass(edges[0], edges[1]),
            _ => Band::Stop(edges[0], edges[1]),
        };
        let order = count(&case["order"]);
        let sections = design(order, band, 1.0).unwrap();
        let gains = floats(&case["gain"]);
        for (f, gain) in floats(&case["frequency"]).iter().zip(gains) {
            let found = response(&sections, *f, 1.0).0;
            assert!((found - gain).abs() < 1e-10, "{band:?} {order} {f}: {found}, but {gain}");
        }
        // Stable: what a pulse leaves fades to nothing.
        let mut pulse = vec![0.0; 20_000];
        pulse[0] = 1.0;
        let rest = causal_from_rest(&sections, &pulse);
        assert!(rest.iter().all(|v| v.abs() < 2.0), "{band:?} {order}");
        assert!(rest[19_000..].iter().all(|v| v.abs() < 1e-12), "{band:?} {order}");
    }
}

#[test]
fn filters_run_along_each_series_alike() {
    for case in of_series("one_way") {
        let (name, x) = (&case["series"], series(&case["series"]));
        let sections = design(if x.len() < 10 { 1 } else { 3 }, Band::Low(0.1), 1.0).unwrap();
        close_every(&bare(&causal_from_rest(&sections, &x)), &case["from_rest"], name);
        if let Some(both) = case.get("both_ways") {
            close_every(&zero_phase(&sections, &x).unwrap(), both, name);
        }
    }
}
