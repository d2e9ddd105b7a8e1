//! Transforms, densities and intervals against closed forms and published figures.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::{Seeded, rows};
use signal::detrend::Detrend;
use signal::spectrum::{Segments, Spectrum, periodogram, rounding_density, welch};
use signal::window::Window;
use signal::{chi2, fft};

fn table(id: &str) -> common::Row {
    rows(include_str!("figures/welch.csv"))[id].clone()
}

/// Real parts, then imaginary parts, of all bins, the upper half by symmetry.
fn whole(x: &[f64]) -> Vec<f64> {
    let half = fft::real(x);
    let all = |part: fn(&fft::Complex) -> f64, sign: f64| {
        let upper = (half.len()..x.len()).map(move |k| (x.len() - k, sign));
        let places: Vec<(usize, f64)> = (0..half.len()).map(|k| (k, 1.0)).chain(upper).collect();
        places.into_iter().map(|(k, s)| s * part(&half[k])).collect::<Vec<f64>>()
    };
    [all(|v| v.re, 1.0), all(|v| v.im, -1.0)].concat()
}

#[test]
fn transforms_of_four_samples_are_the_closed_ones() {
    table("dft-impulse").check_all(&whole(&[1.0, 0.0, 0.0, 0.0])[..4]);
    table("dft-ramp4").check_all(&whole(&[1.0, 2.0, 3.0, 4.0]));
    table("dft-shift").check_all(&whole(&[0.0, 1.0, 0.0, 0.0]));
    let found = whole(&[1.0, 2.0, 3.0, 4.0]);
    table("parseval").check(found.iter().map(|v| v * v).sum::<f64>() / 4.0);
}

#[test]
fn a_cosine_on_a_bin_has_one_line_and_nothing_else() {
    let turn = 2.0 * std::f64::consts::PI / 16.0;
    let x: Vec<f64> = (0..16).map(|n| 2.5 * (turn * 3.0 * f64::from(n)).cos()).collect();
    for (k, value) in fft::real(&x).iter().enumerate() {
        let size = value.norm();
        if k == 3 { table("dft-cos").check(size) } else { assert!(size < 1e-12, "{k} {size}") }
    }
}

fn hann(x: &[f64], rate_hz: f64, len: usize) -> Spectrum {
    let cut = Segments { len, overlap: len / 2, window: Window::Hann, detrend: Detrend::Mean };
    welch(x, rate_hz, &cut).unwrap()
}

#[test]
fn the_power_of_a_sine_is_half_its_squared_amplitude() {
    let turn = 2.0 * std::f64::consts::PI / 1024.0;
    let x: Vec<f64> = (0..1024).map(|n| 3.0 * (turn * 50.0 * f64::from(n)).sin()).collect();
    for window in [Window::Rectangle, Window::Hann, Window::FlatTop116d] {
        let found = periodogram(&x, 8.0, window, Detrend::Mean).unwrap();
        table("psd-sine-power").check(found.variance_between(0.0, 4.0));
    }
}

#[test]
fn white_noise_has_twice_its_variance_over_the_rate() {
    let mut seeded = Seeded(7);
    let x: Vec<f64> = (0..400_000).map(|_| 2.0 * seeded.normal()).collect();
    let found = hann(&x, 10.0, 512);
    let bins = &found.density[2..255];
    let level = bins.iter().sum::<f64>() / bins.len() as f64;
    let expected = table("psd-white").numbers()[0];
    // 400,000 values: the level is known to sqrt(2 / 400,000) = 0.22 %.
    assert!((level / expected - 1.0).abs() < 0.01, "{level}");
}

/// The program test of Heinzel, Ruediger and Schilling 2002, section 13.
fn two_tones() -> Spectrum {
    let turn = 2.0 * std::f64::consts::PI;
    let signal = |n: u32| {
        let t = f64::from(n) / 10_000.0;
        let u = 2.828_427_124_746_19 * (turn * 1234.0 * t).sin() + (turn * 2500.2157 * t).sin();
        (u / 1e-3).round() * 1e-3
    };
    let x: Vec<f64> = (0..1_000_000).map(signal).collect();
    let cut = Segments {
        len: 3328,
        overlap: (3328.0_f64 * 0.782).round() as usize,
        window: Window::FlatTop116d,
        detrend: Detrend::None,
    };
    welch(&x, 10_000.0, &cut).unwrap()
}

#[test]
fn the_published_program_test_is_met() {
    let found = two_tones();
    let near = |low: f64, high: f64| {
        let inside = found.frequency_hz.iter().zip(&found.density);
        inside.filter(|(f, _)| (low..high).contains(*f)).map(|(_, d)| *d).collect::<Vec<f64>>()
    };
    let peak = near(1200.0, 1270.0).into_iter().fold(0.0, f64::max);
    table("heinzel-tone1").check((peak * found.noise_bandwidth_hz).sqrt());
    let second = near(2470.0, 2530.0).into_iter().fold(0.0, f64::max);
    // The same test's second tone, 1 V amplitude; flat to 0.0028 dB.
    let volts = (second * found.noise_bandwidth_hz).sqrt();
    assert!((volts / std::f64::consts::FRAC_1_SQRT_2 - 1.0).abs() < 6e-4);
    let floor = near(3000.0, 4500.0);
    let mean = floor.iter().sum::<f64>() / floor.len() as f64;
    table("heinzel-floor").check(mean.sqrt());
    table("psd-quant").check(rounding_density(1e-3, 10_000.0).sqrt());
}

#[test]
fn overlapped_segments_have_the_published_variance() {
    let x: Vec<f64> = (0..9 * 2048).map(|n| f64::from(n % 17)).collect();
    let found = hann(&x, 1.0, 4096);
    assert_eq!(found.segments, 8);
    table("welch-var-8").check(2.0 / found.degrees_of_freedom);
}

#[test]
fn intervals_are_those_of_the_chi_squared_table() {
    let mut found = hann(&vec![1.0; 64], 1.0, 64);
    for row in rows(include_str!("figures/welch.csv")).values() {
        let Some(rest) = row.id.strip_prefix("ci-") else { continue };
        let (nu, end) = rest.split_once('-').unwrap();
        found.degrees_of_freedom = nu.parse().unwrap();
        let (low, high) = found.interval(0.95);
        row.check(if end == "lo" { low } else { high });
    }
    assert!((chi2::cdf(20.483_177_350, 10.0) - 0.975).abs() < 1e-9);
}
