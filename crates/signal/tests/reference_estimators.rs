//! Agreement of multitaper, Lomb-Scargle, Allan, coherence, harmonic and finite
//! filter results with scipy, astropy, allantools and numpy on seeded series.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::Seeded;
use common::kept::{cases, close, close_every, count, floats, reference, series};
use serde_json::Value;
use signal::allan::{Kind, deviation, total_deviation};
use signal::coherence::coherence;
use signal::detrend::Detrend;
use signal::fir::{Shape, strict, taps};
use signal::harmonics::{fit, fit_even};
use signal::lomb_scargle::{Grid, Mean, direct, lomb_scargle};
use signal::multitaper::{Tapers, Weighting, dpss, multitaper};
use signal::spectrogram::spectrogram;
use signal::spectrum::Segments;
use signal::stats::autocorrelation;
use signal::window::Window;

#[test]
fn multitaper_spectra_and_line_ratios_agree() {
    for case in cases("multitaper") {
        let (x, nw) = (series(&case["series"]), case["nw"].as_f64().unwrap());
        let many = count(&case["count"]);
        let family = dpss(x.len(), nw, many).unwrap();
        close(&family.concentration, &floats(&case["concentration"]), &case["series"]);
        close_every(&family.tapers[many - 1], &case["last_taper"], &case["series"]);
        let tapers = Tapers::Dpss { nw, count: many };
        let found = multitaper(&x, 2.5, tapers, Weighting::Concentration).unwrap();
        // 0 Hz holds only the rounding of the mean.
        close_every(&found.density, &case["density"], &case["series"]);
        let ratios: Vec<f64> = found.line_f[1..].to_vec();
        let step = count(&case["line_f"]["step"]);
        for (a, b) in ratios.iter().step_by(step).zip(floats(&case["line_f"]["values"])) {
            assert!((a / b - 1.0).abs() < 1e-7, "{a}, but {b}");
        }
    }
}

#[test]
fn lomb_scargle_powers_and_chances_agree() {
    for case in cases("lomb") {
        let y = series(&case["series"]);
        let mut seeded = Seeded(y.len() as u64);
        let mut now = 0.0;
        let mut next = |sum: bool| {
            let value = 0.5 + seeded.uniform();
            now += value;
            if sum { now } else { value }
        };
        let t: Vec<f64> = y.iter().map(|_| next(true)).collect();
        let sigma: Option<Vec<f64>> =
            (case["errors"] == true).then(|| y.iter().map(|_| next(false)).collect());
        let grid = Grid { first_hz: 0.0002, step_hz: 0.0002, count: 1200 };
        let found = lomb_scargle(&t, &y, sigma.as_deref(), grid).unwrap();
        let step = count(&case["power"]["step"]);
        for (place, expected) in floats(&case["power"]["values"]).iter().enumerate() {
            let fast = found.power[place * step];
            assert!((fast - expected).abs() < 1e-9, "{fast}, but {expected}");
        }
        let slow = direct(&t, &y, sigma.as_deref(), &grid.frequencies(), Mean::Floating).unwrap();
        close_every(&slow, &case["power"], &case["series"]);
        let chance = case["false_alarm_of_0.02"].as_f64().unwrap();
        let found = found.false_alarm(0.02);
        assert!((found / chance - 1.0).abs() < 1e-9, "{found}, but {chance}");
    }
}

#[test]
fn deviations_and_their_numbers_of_terms_agree() {
    let kinds = [
        ("allan", Kind::Allan),
        ("overlapping", Kind::Overlapping),
        ("modified", Kind::Modified),
        ("time", Kind::Time),
        ("hadamard", Kind::Hadamard),
        ("overlapping_hadamard", Kind::OverlappingHadamard),
    ];
    for case in cases("allan") {
        let y = series(&case["series"]);
        let factors: Vec<usize> = case["m"].as_array().unwrap().iter().map(count).collect();
        for (name, kind) in kinds {
            let all: Vec<_> =
                factors.iter().map(|m| deviation(&y, 0.25, *m, kind).unwrap()).collect();
            let found: Vec<f64> = all.iter().map(|point| point.deviation).collect();
            close(&found, &floats(&case[name]["deviation"]), &case["series"]);
            if kind != Kind::Allan && kind != Kind::Hadamard {
                let terms: Vec<f64> = all.iter().map(|point| point.terms as f64).collect();
                assert_eq!(terms, floats(&case[name]["terms"]), "{name}");
            }
        }
        let total: Vec<f64> =
            factors.iter().map(|m| total_deviation(&y, 0.25, *m).unwrap().deviation).collect();
        close(&total, &floats(&case["total"]["deviation"]), &case["series"]);
    }
}

#[test]
fn coherence_transfer_and_spectrogram_agree() {
    let case = reference()["pair"].clone();
    let name = |text: &str| Value::String(text.to_owned());
    let x = series(&name("white-1000-1"));
    let red = series(&name("red-1000-3"));
    let y: Vec<f64> = red.iter().zip(&x).map(|(r, w)| r + 3.0 * w).collect();
    let cut = Segments { len: 64, overlap: 32, window: Window::Hann, detrend: Detrend::Mean };
    let found = coherence(&x, &y, 2.0, &cut).unwrap();
    assert_eq!(found.segments, count(&case["segments"]));
    close_every(&found.coherence, &case["coherence"], &name("coherence"));
    close_every(&found.gain, &case["gain"], &name("gain"));
    let turn = 2.0 * std::f64::consts::PI;
    for (a, b) in found.lag_rad.iter().zip(floats(&case["lag"]["values"])) {
        let off = (a - b) / turn;
        assert!((off - off.round()).abs() < 1e-10, "{a}, but {b}");
    }
    let density = spectrogram(&x, 2.0, &cut).unwrap().density;
    close_every(&density, &case["spectrogram"], &name("spectrogram"));
}

#[test]
fn harmonic_coefficients_agree_for_even_steps_and_for_times() {
    for case in cases("harmonics") {
        let (y, periods) = (series(&case["series"]), floats(&case["periods"]));
        let times: Vec<f64> = (0..y.len()).map(|i| 2.0 * i as f64).collect();
        for found in [fit(&times, &y, &periods).unwrap(), fit_even(&y, 2.0, &periods).unwrap()] {
            let all: Vec<f64> = std::iter::once(found.level)
                .chain(found.terms.iter().flat_map(|term| [term.cos, term.sin]))
                .collect();
            close(&all, &floats(&case["coefficients"]), &case["series"]);
            close(&[found.residual_sd], &[case["residual_sd"].as_f64().unwrap()], &case["series"]);
        }
    }
}

#[test]
fn finite_filters_and_autocorrelation_agree() {
    let case = reference()["fir"].clone();
    let weights = taps(Shape::Low(0.1), 0.05, 70.0, 1.0).unwrap();
    close_every(&weights, &case["weights"], &case["weights"]["sum"]);
    let x = series(&Value::String("red-1000-3".to_owned()));
    let whole: Vec<f64> =
        strict(&weights, &x).values.into_iter().filter(|v| v.is_finite()).collect();
    close_every(&whole, &case["whole"], &case["whole"]["sum"]);
    let r = autocorrelation(&x, 300);
    close_every(&r, &reference()["autocorrelation"], &case["whole"]["sum"]);
}
