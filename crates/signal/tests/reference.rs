//! Agreement with scipy and numpy on seeded series.
//!
//! The figures and the script that computes them are in the workspace's
//! `tests/reference`; series are made here and there by the same generator.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::kept::{cases, close, close_every, count, floats, reference, series};
use serde_json::Value;
use signal::butterworth::{Band, causal, causal_from_rest, design, response, zero_phase};
use signal::chi2;
use signal::detrend::{self, Detrend};
use signal::robust::hampel;
use signal::spectrum::{Segments, welch, welch_runs};
use signal::window::Window;

fn window(name: &Value) -> Window {
    match name.as_str().unwrap() {
        "boxcar" => Window::Rectangle,
        "blackmanharris" => Window::BlackmanHarris,
        other => Window::from_id(other).unwrap(),
    }
}

#[test]
fn welch_densities_agree() {
    for case in cases("welch") {
        let cut = Segments {
            len: count(&case["len"]),
            overlap: count(&case["overlap"]),
            window: window(&case["window"]),
            detrend: match case["detrend"].as_str().unwrap() {
                "constant" => Detrend::Mean,
                "linear" => Detrend::Line,
                _ => Detrend::None,
            },
        };
        let found = welch(&series(&case["series"]), 2.5, &cut).unwrap();
        close_every(&found.frequency_hz, &case["frequency"], &case["series"]);
        close_every(&found.density, &case["density"], &case["series"]);
    }
}

#[test]
fn densities_over_unbroken_runs_agree() {
    let case = reference()["runs"].clone();
    let x = series(&case["series"]);
    let runs: Vec<&[f64]> = x.split(|v| v.is_nan()).collect();
    let cut = Segments { len: 16, overlap: 8, window: Window::Hann, detrend: Detrend::Mean };
    let found = welch_runs(&runs, 1.0, &cut).unwrap();
    assert_eq!(found.segments, count(&case["segments"]));
    close_every(&found.density, &case["density"], &case["series"]);
    let present = x.iter().filter(|v| v.is_finite()).count();
    assert_eq!(found.samples_used + found.samples_left_out, present);
}

#[test]
fn windows_agree() {
    for case in cases("windows") {
        let (w, n) = (window(&case["window"]), count(&case["n"]));
        close_every(&w.values(n), &case["periodic"], &case["window"]);
        close_every(&w.symmetric(n), &case["symmetric"], &case["window"]);
    }
}

#[test]
fn filters_agree_in_response_and_output() {
    for case in cases("filters") {
        let edges = floats(&case["edges"]);
        let band = match case["kind"].as_str().unwrap() {
            "low" => Band::Low(edges[0]),
            "high" => Band::High(edges[0]),
            "pass" => Band::Pass(edges[0], edges[1]),
            _ => Band::Stop(edges[0], edges[1]),
        };
        let sections = design(count(&case["order"]), band, 1.0).unwrap();
        let at = floats(&case["response"]["frequency"]);
        let found: Vec<_> = at.iter().map(|f| response(&sections, *f, 1.0)).collect();
        let gains = floats(&case["response"]["gain"]);
        let phases = floats(&case["response"]["phase"]);
        for ((gain, phase), (g, p)) in found.iter().zip(gains.iter().zip(&phases)) {
            // A stopped frequency is the rest of a cancellation: its phase is noise.
            assert!((gain - g).abs() <= 1e-10, "{case}");
            let turns = (phase - p) / (2.0 * std::f64::consts::PI);
            let off = turns - turns.round();
            assert!(*g < 1e-6 || off.abs() < 1e-8, "{phase} {p} {g}");
        }
        let x = series(&case["series"]);
        close_level(&zero_phase(&sections, &x).unwrap(), &case["zero_phase"]);
        close_level(&causal(&sections, &x), &case["causal"]);
        close_level(&causal_from_rest(&sections, &x), &case["from_rest"]);
    }
}

/// Filter outputs: 1e-10 of the input's level of 100.
fn close_level(found: &[f64], expected: &Value) {
    let step = count(&expected["step"]);
    for (a, b) in found.iter().step_by(step).zip(floats(&expected["values"])) {
        assert!((a - b).abs() < 1e-8, "{a}, but {b}");
    }
    assert!((found.iter().sum::<f64>() - expected["sum"].as_f64().unwrap()).abs() < 1e-5);
}

#[test]
fn distributions_agree() {
    let all = reference()["distributions"].clone();
    let (ps, nus) = (floats(&all["p"]), floats(&all["nu"]));
    for (row, nu) in nus.iter().enumerate() {
        let chi2: Vec<f64> = ps.iter().map(|p| chi2::quantile(*p, *nu)).collect();
        close(&chi2, &floats(&all["chi2"][row]), &all["nu"]);
        let student: Vec<f64> = ps.iter().map(|p| chi2::student_quantile(*p, *nu)).collect();
        close(&student, &floats(&all["student"][row]), &all["nu"]);
    }
    let normal: Vec<f64> = ps.iter().map(|p| chi2::normal_quantile(*p)).collect();
    close(&normal, &floats(&all["normal"]), &all["p"]);
    let pairs = [(1.0, 5.0), (2.0, 12.0), (7.5, 33.0), (100.0, 40.0)];
    for (row, (a, b)) in pairs.iter().enumerate() {
        let at = [0.01, 0.5, 1.0, 4.0, 30.0];
        let found: Vec<f64> = at.iter().map(|f| chi2::f_survival(*f, *a, *b)).collect();
        close(&found, &floats(&all["f_survival"][row]), &all["f_survival"]);
    }
    let survival: Vec<f64> = [1.0, 30.0, 400.0]
        .iter()
        .flat_map(|x| nus[1..6].iter().map(|nu| chi2::survival(*x, *nu)))
        .collect();
    close(&survival, &floats(&all["chi2_survival"]), &all["nu"]);
}

#[test]
fn the_exact_identifier_agrees_with_one_made_window_by_window() {
    let zero =
        |x: &[f64]| -> Vec<f64> { x.iter().map(|v| if v.is_nan() { 0.0 } else { *v }).collect() };
    for case in cases("robust") {
        let x = series(&case["series"]);
        let found = hampel(&x, count(&case["half"]), 2.0, 0.0);
        close_every(&zero(&found.median), &case["median"], &case["series"]);
        close_every(&zero(&found.spread), &case["spread"], &case["series"]);
        let spikes: Vec<usize> = (0..x.len()).filter(|place| found.spike[*place]).collect();
        let expected: Vec<usize> = case["spikes"].as_array().unwrap().iter().map(count).collect();
        assert_eq!(spikes, expected);
    }
}

#[test]
fn trends_and_their_uncertainties_agree() {
    for case in cases("trends") {
        let x = series(&case["series"]);
        let fitted = detrend::fit(&x, Detrend::Line);
        let found = [fitted.level, fitted.slope_per_sample, fitted.level_sigma, fitted.slope_sigma];
        let names = ["level", "slope", "level_sigma", "slope_sigma"];
        for (a, name) in found.iter().zip(names) {
            close(&[*a], &[case[name].as_f64().unwrap()], &case["series"]);
        }
        let (_, quartic) = detrend::polynomial(&x, 4).unwrap();
        close(&quartic.chebyshev, &floats(&case["chebyshev"]), &case["series"]);
    }
}
