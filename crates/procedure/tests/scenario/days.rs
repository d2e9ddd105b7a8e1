//! The figures of the days against the truth of the scenario.

use crate::common::{report, session, step};
use serde_json::Value;
use specimen::{DEFAULT_SEED, Scenario};

/// The rows of a file of results without its block of provenance, the heads first.
fn rows(files: &[(String, Vec<u8>)], name: &str) -> Vec<Vec<String>> {
    let (_, bytes) = files.iter().find(|(file, _)| file == name).unwrap();
    let text = String::from_utf8(bytes.clone()).unwrap();
    let body = text.lines().filter(|line| !line.starts_with('#'));
    body.map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

fn figure<'a>(report: &'a Value, name: &str) -> &'a Value {
    report["figures"].as_array().unwrap().iter().find(|f| f["name"] == name).unwrap()
}

#[test]
fn the_days_of_the_demo_say_what_is_quiet_what_is_stormy_and_what_is_seen() {
    let scenario = Scenario::with_seed(DEFAULT_SEED);
    let mut session = session(&scenario, false);
    let (report, files) = report(&mut session, true);
    every_day_has_a_row(&report, &rows(&files, "quiet-day-day-stack.csv"));
    the_noise_is_the_sensor_s_own(&scenario, &rows(&files, "sight.csv"));
    classes_of_noise_are_not_resolved(&report, &rows(&files, "k-index-k-index.csv"));
}

/// Both storms fall on days marked D; none of the quiet ones is one of theirs.
fn every_day_has_a_row(report: &Value, stack: &[Vec<String>]) {
    let heads = &stack[0];
    assert_eq!(heads.len(), 61, "{heads:?}");
    assert_eq!(heads.iter().filter(|h| h.contains(" Q ")).count(), 5, "{heads:?}");
    for day in ["6 May D (nT)", "10 June D (nT)"] {
        assert!(heads.iter().any(|h| h == day), "{heads:?}");
    }
    let text = figure(report, "quiet-day-day-stack");
    assert!(text["alt"].as_str().unwrap().contains("Disturbed: "), "{text}");
    assert!(text["caption"].as_str().unwrap().contains("local noons in line"), "{text}");
}

/// At the shortest period nothing but the sensor is left: its white noise and its rounding.
fn the_noise_is_the_sensor_s_own(scenario: &Scenario, sight: &[Vec<String>]) {
    let first: Vec<f64> = sight[1].iter().map(|v| v.parse().unwrap()).collect();
    let rounding = 1_000.0 / scenario.sensor.counts_per_ut / 12f64.sqrt();
    let one = scenario.sensor.noise_nt.hypot(rounding);
    let wanted = 2f64.sqrt() * std::f64::consts::PI * one;
    assert_eq!(first[0], 60.0);
    assert!((first[1] / wanted - 1.0).abs() < 0.06, "{first:?}, in truth {wanted}");
    assert!(first[2] < first[1] && first[1] < first[3]);
    // Averaging helps until the slow noise and the field itself take over.
    let sizes = sight[1..].iter().map(|row| row[1].parse::<f64>().unwrap());
    assert!(sizes.fold(f64::INFINITY, f64::min) < 0.3 * first[1]);
}

/// What the noise reads is drawn apart, and caption, summary and remark say so.
fn classes_of_noise_are_not_resolved(report: &Value, bars: &[Vec<String>]) {
    let found = step(report, "k-index");
    let floor = found["values"]["noise_floor_k"]["value"].as_f64().unwrap();
    assert!((1.0..5.0).contains(&floor), "{floor}");
    assert_eq!(bars[0][1..], ["K", "K (not resolved)"]);
    let column = |k: usize| bars[1..].iter().filter_map(move |row| row[k].parse::<f64>().ok());
    assert!(column(1).all(|k| k > floor) && column(1).count() > 10);
    assert!(column(2).all(|k| k <= floor) && column(2).count() > 100);
    let text = figure(report, "k-index-k-index");
    for part in ["caption", "alt"] {
        assert!(text[part].as_str().unwrap().contains("not resolved"), "{text}");
    }
    let remark = found["remark"].as_str().unwrap();
    assert!(
        remark.contains("At a dipole latitude of 60.4° the limit of K 9 is about 920"),
        "{remark}"
    );
    let warnings = report["warnings"].as_array().unwrap();
    assert!(warnings.iter().any(|w| w["code"] == "k-index/local"), "never planetary");
}
