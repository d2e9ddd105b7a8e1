//! Whether 95 % intervals hold the truth 95 % of the time, for white and for
//! red noise whose densities are known exactly.
//!
//! Closed forms: white noise of variance s² has the one-sided density
//! 2 s² / rate; a first-order autoregressive series x_n = r x_(n-1) + e_n has
//! 2 s² / (rate |1 - r exp(-2 pi i f / rate)|²) (G. E. P. Box and G. M.
//! Jenkins, Time Series Analysis, section 3.2.3).  A count of `n` draws of
//! which 95 % should be inside lies in the stated band by far more than its
//! own scatter allows.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::Seeded;
use signal::allan::{Kind, deviation};
use signal::chi2;
use signal::coherence::coherence;
use signal::detrend::Detrend;
use signal::multitaper::{Tapers, Weighting, multitaper};
use signal::slope::power_law;
use signal::spectrum::{Segments, Spectrum, periodogram, welch};
use signal::window::Window;

const RED: f64 = 0.7;

/// A settled series of `n` values that remembers the share `r` of the last.
fn series(seeded: &mut Seeded, n: usize, r: f64) -> Vec<f64> {
    let mut last = seeded.normal() / (1.0 - r * r).sqrt();
    let mut next = || {
        last = r * last + seeded.normal();
        last
    };
    (0..n).map(|_| next()).collect()
}

/// The density that such a series has at 1 sample a second.
fn truth(r: f64, f: f64) -> f64 {
    2.0 / (1.0 + r * r - 2.0 * r * (std::f64::consts::TAU * f).cos())
}

/// Counts of estimates whose interval holds the truth, and of all; some bins
/// away from both ends, far enough apart to be independent.
fn held(found: &Spectrum, r: f64, apart: usize) -> (u32, u32) {
    let (low, high) = found.interval(0.95);
    let bins = found.density.len();
    let mut counts = (0, 0);
    for bin in (bins / 16 + 4..bins - 4).step_by(apart) {
        let true_density = truth(r, found.frequency_hz[bin]);
        let (a, b) = (low * found.density[bin], high * found.density[bin]);
        counts.0 += u32::from(a <= true_density && true_density <= b);
        counts.1 += 1;
    }
    counts
}

/// The share of intervals that hold the truth over many records.
fn share(records: u64, r: f64, apart: usize, estimate: impl Fn(&[f64]) -> Spectrum) -> f64 {
    let mut sums = (0, 0);
    for seed in 0..records {
        let x = series(&mut Seeded(1000 + seed), 4096, r);
        let (inside, all) = held(&estimate(&x), r, apart);
        sums = (sums.0 + inside, sums.1 + all);
    }
    assert!(sums.1 > 4000, "{} intervals are too few to judge", sums.1);
    f64::from(sums.0) / f64::from(sums.1)
}

fn covers(name: &str, found: f64) {
    assert!((0.93..=0.97).contains(&found), "{name}: {found}");
}

fn by_welch(x: &[f64]) -> Spectrum {
    let cut = Segments { len: 256, overlap: 128, window: Window::Hann, detrend: Detrend::Mean };
    welch(x, 1.0, &cut).unwrap()
}

#[test]
fn intervals_of_welch_spectra_hold_white_and_red_truth() {
    for r in [0.0, RED] {
        covers("welch", share(150, r, 4, by_welch));
    }
}

#[test]
fn intervals_of_periodograms_hold_white_and_red_truth() {
    for r in [0.0, RED] {
        let one = |x: &[f64]| periodogram(x, 1.0, Window::Hann, Detrend::Mean).unwrap();
        covers("periodogram", share(40, r, 16, one));
    }
}

#[test]
fn intervals_of_multitaper_spectra_hold_white_and_red_truth() {
    for weighting in [Weighting::Concentration, Weighting::Adaptive] {
        for r in [0.0, RED] {
            let tapers = Tapers::Dpss { nw: 4.0, count: 7 };
            let one = |x: &[f64]| multitaper(x, 1.0, tapers, weighting).unwrap().spectrum();
            covers("multitaper", share(40, r, 16, one));
        }
    }
}

#[test]
fn intervals_of_allan_deviations_hold_the_truth_of_white_noise() {
    // White noise of variance 1 averaged over m: 1 / √m (IEEE 1139, white FM).
    for m in [1, 8, 64] {
        let mut inside = 0;
        let records = 1000;
        for seed in 0..records {
            let x = series(&mut Seeded(5000 + seed), 1024, 0.0);
            let (low, high) = deviation(&x, 1.0, m, Kind::Overlapping).unwrap().interval(0.95);
            let expected = 1.0 / (m as f64).sqrt();
            inside += u32::from(low <= expected && expected <= high);
        }
        covers(&format!("allan, m = {m}"), f64::from(inside) / f64::from(records as u32));
    }
}

#[test]
fn slopes_of_red_noise_scatter_as_their_uncertainty_says() {
    // White noise has slope 0 at all frequencies; over 1.96 sigma one in twenty.
    let records = 600;
    let mut inside = 0;
    for seed in 0..records {
        let law = power_law(&by_welch(&series(&mut Seeded(9000 + seed), 4096, 0.0)), 0.02, 0.45);
        let law = law.unwrap();
        inside += u32::from(law.slope.abs() <= 1.96 * law.slope_sigma);
    }
    let found = f64::from(inside) / f64::from(records as u32);
    assert!((0.93..=0.985).contains(&found), "slope: {found}");
}

#[test]
fn unrelated_red_series_pass_the_zero_level_of_coherence_once_in_twenty() {
    let cut = Segments { len: 256, overlap: 128, window: Window::Hann, detrend: Detrend::Mean };
    let (mut above, mut all) = (0, 0);
    for seed in 0..200 {
        let x = series(&mut Seeded(20_000 + seed), 4096, RED);
        let y = series(&mut Seeded(40_000 + seed), 4096, RED);
        let found = coherence(&x, &y, 1.0, &cut).unwrap();
        let level = found.zero_level(0.95);
        for bin in (8..124).step_by(4) {
            above += u32::from(found.coherence[bin] > level);
            all += 1;
        }
    }
    covers("coherence", 1.0 - f64::from(above) / f64::from(all));
}

#[test]
fn the_interval_itself_is_that_of_chi_squared() {
    // 95 % of chi-squared with 10 degrees of freedom lies between its quantiles.
    let (low, high) = (chi2::quantile(0.025, 10.0), chi2::quantile(0.975, 10.0));
    assert!((chi2::cdf(high, 10.0) - chi2::cdf(low, 10.0) - 0.95).abs() < 1e-12);
}
