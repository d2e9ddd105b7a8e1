//! The turning log calibrated as a student would, held against its truth.

#![allow(clippy::unwrap_used, reason = "a test that cannot read has failed")]

use field::calibration::{Calibration, Model, Options, fit};
use serde_json::Value;
use specimen::{DEFAULT_SEED, Log};

fn columns(log: &Log) -> [Vec<f64>; 3] {
    let text = std::str::from_utf8(&log.bytes).unwrap();
    [1, 2, 3].map(|k| {
        let cells = text.lines().skip(1).map(|line| line.split(',').nth(k).unwrap());
        cells.map(|cell| cell.parse::<f64>().unwrap() * 1e3).collect()
    })
}

fn calibrated(log: &Log, truth: &Value, total_known: bool) -> Calibration {
    let raw = columns(log);
    let total = truth["field"]["during_turning"]["total_nt"].as_f64().unwrap();
    // WMM2025 at the place and date, and its stated uncertainty.
    let field = if total_known { (total, 0.0) } else { (50_579.0, 138.0) };
    let options = Options {
        model: Model::Ellipsoid,
        field: Some(field),
        robust: true,
        reject_beyond: 6.0,
        tied_to_x: false,
    };
    fit([&raw[0], &raw[1], &raw[2]], |_| true, &options).unwrap()
}

/// Deviations from the truth in stated standard uncertainties: three offsets,
/// then the upper half of the matrix.
fn deviations(found: &Calibration, truth: &Value) -> Vec<f64> {
    let sensor = &truth["sensor"];
    let mut out = Vec::new();
    for k in 0..3 {
        let want = sensor["offset_during_turning_ut"][k].as_f64().unwrap() * 1e3;
        out.push((found.offset[k] - want) / found.offset_sigma[k]);
    }
    for row in 0..3 {
        for column in row..3 {
            let want = sensor["matrix_symmetric"][row][column].as_f64().unwrap();
            // The uncertainty of the field scaled to stands apart.
            let sigma = found.matrix_sigma[row][column].hypot(found.radius_sigma * want);
            out.push((found.matrix[row][column] - want) / sigma);
        }
    }
    out
}

#[test]
fn a_calibration_finds_offset_and_matrix_within_three_of_its_sigmas() {
    let log = specimen::turning(DEFAULT_SEED);
    let truth: Value = serde_json::from_str(&log.truth).unwrap();
    for total_known in [true, false] {
        let found = calibrated(&log, &truth, total_known);
        let deviations = deviations(&found, &truth);
        assert!(deviations.iter().all(|d| d.abs() < 3.0), "{total_known} {deviations:?}");
        assert!(found.residual_rms < 14.0 && found.coverage > 0.8);
    }
}

#[test]
fn bad_readings_are_rejected_and_hardly_any_other() {
    let log = specimen::turning(DEFAULT_SEED);
    let truth: Value = serde_json::from_str(&log.truth).unwrap();
    let found = calibrated(&log, &truth, true);
    let bad = truth["bad_rows"].as_array().unwrap();
    assert!(bad.len() > 3 && found.rejected.len() <= bad.len() + 3);
    // A spike across the field hardly changes its length and may stay.
    let missed = bad.iter().filter(|row| {
        let row = row.as_u64().unwrap() as usize - 1;
        !found.rejected.contains(&row)
    });
    assert!(missed.count() <= bad.len() / 3);
}

#[test]
fn over_twenty_seeds_the_stated_sigmas_are_the_scatter() {
    let mut squares = 0.0;
    let mut count = 0.0;
    for seed in 1..=20 {
        let log = specimen::turning(seed);
        let truth: Value = serde_json::from_str(&log.truth).unwrap();
        for deviation in deviations(&calibrated(&log, &truth, true), &truth) {
            squares += deviation * deviation;
            count += 1.0;
        }
    }
    let ratio: f64 = squares / count;
    // 180 deviations know their mean square to about 11 %, were they
    // independent; the sigmas themselves are rounded up for serial correlation.
    assert!((0.5..1.5).contains(&ratio), "{ratio}");
}
