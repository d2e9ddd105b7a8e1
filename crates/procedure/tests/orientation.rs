//! Orienting by hand, in plain words, and by an accelerometer.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test may stop where it finds nothing"
)]

use procedure::replay::report;
use procedure::session::{Edit, Session};
use record::vector::{Mat3, Vec3, apply, multiply, transpose};
use serde_json::{Value, json};
use std::fmt::Write;

const FIELD: Vec3 = [17_000.0, -1_500.0, 47_000.0];

/// From the sensor's axes (forward, right, down) to north, east and down.
fn stand(azimuth_deg: f64, roll_deg: f64, pitch_deg: f64) -> Mat3 {
    multiply(
        &field::orientation::about_down(azimuth_deg),
        &field::orientation::tilt(roll_deg, pitch_deg),
    )
}

/// A log of field and acceleration (+1 on the axis that points up) in the
/// sensor's axes, the accelerometer's own axes turned by a matrix.
fn log(stands: &[Mat3], to_accelerometer: &Mat3) -> String {
    let mut text = "time,mag_x_nT,mag_y_nT,mag_z_nT,acc_x_g,acc_y_g,acc_z_g\n".to_owned();
    for (k, stand) in stands.iter().enumerate() {
        let b = apply(&transpose(stand), FIELD);
        let up = apply(&transpose(stand), [0.0, 0.0, -1.0]);
        let a = apply(to_accelerometer, up);
        let wobble = 0.3 * ((k * 7919 % 100) as f64 / 50.0 - 1.0);
        writeln!(
            text,
            "2026-05-01T{:02}:{:02}:{:02}Z,{:.1},{:.1},{:.1},{:.5},{:.5},{:.5}",
            k / 3600,
            k / 60 % 60,
            k % 60,
            b[0] + wobble,
            b[1] - wobble,
            b[2] + wobble,
            a[0],
            a[1],
            a[2]
        )
        .unwrap();
    }
    text
}

fn opened(text: &str, settings: &[(&str, &str)]) -> Value {
    let mut session = Session::default();
    session.open("pose.csv", text.as_bytes(), &Default::default()).unwrap();
    let steps = json!({"schema": 1, "steps": [
        {"step": "read"}, {"step": "order"}, {"step": "orient"}, {"step": "elements"},
    ]});
    edit(&mut session, json!({"kind": "load", "procedure": steps}));
    for (param, value) in settings {
        edit(&mut session, json!({"kind": "set", "step": 2, "param": param, "value": value}));
    }
    serde_json::from_str(&report(&mut session, false).json).unwrap()
}

fn edit(session: &mut Session, edit: impl Into<Value>) {
    session.edit(Edit::from_json(&edit.into()).unwrap()).unwrap();
}

fn value(report: &Value, step: usize, name: &str) -> f64 {
    let found = &report["steps"][step]["values"][name]["value"];
    found.as_f64().expect(name)
}

fn has_warning(report: &Value, code: &str) -> bool {
    report["warnings"].as_array().unwrap().iter().any(|w| w["code"] == code)
}

fn still(azimuth_deg: f64, roll_deg: f64, pitch_deg: f64) -> Vec<Mat3> {
    vec![stand(azimuth_deg, roll_deg, pitch_deg); 300]
}

#[test]
fn a_tilted_sensor_is_levelled_by_its_accelerometer() {
    let identity = record::vector::IDENTITY;
    let text = log(&still(40.0, 8.0, -5.0), &identity);
    let declination = FIELD[1].atan2(FIELD[0]).to_degrees();
    let heading = (40.0 - declination).rem_euclid(360.0);
    let by_hand = opened(&text, &[]);
    assert!((value(&by_hand, 3, "heading_deg") - heading).abs() > 5.0);
    for way in ["gravity", "each"] {
        let found = opened(&text, &[("level", way)]);
        assert!((value(&found, 3, "heading_deg") - heading).abs() < 0.01, "{way}");
        assert!((value(&found, 2, "roll_deg") - 8.0).abs() < 0.01);
        assert!((value(&found, 2, "pitch_deg") + 5.0).abs() < 0.01);
        // One pose tells nothing of how the two sets of axes stand.
        assert!(has_warning(&found, "orient/not-aligned"), "{found}");
    }
}

#[test]
fn poses_of_all_kinds_give_the_alignment_and_tell_a_left_handed_triple() {
    let poses: Vec<Mat3> = (0..1200)
        .map(|k| {
            let part = f64::from(k / 10) / 120.0;
            stand(part * 1440.0, 80.0 * (part * 40.0).sin(), 60.0 * (part * 23.0).cos())
        })
        .collect();
    let askew = field::orientation::tilt(2.0, -3.0);
    let mirror: Mat3 = [[1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0]];
    for (mirrored, turn) in [(false, askew), (true, multiply(&mirror, &askew))] {
        let found = opened(&log(&poses, &turn), &[("level", "each")]);
        let askew_deg = value(&found, 2, "alignment_deg");
        assert!((askew_deg - 3.6).abs() < 0.2, "{mirrored} {askew_deg}");
        assert_eq!(has_warning(&found, "orient/left-handed"), mirrored, "{}", found["steps"][2]);
    }
}

#[test]
fn the_door_by_eye_gives_a_declination_with_its_honest_uncertainty() {
    let text = log(&still(90.0, 0.0, 0.0), &record::vector::IDENTITY);
    let settings = [("north", "words"), ("landmark", "the door"), ("point", "90")];
    let found = opened(&text, &settings);
    let declination = FIELD[1].atan2(FIELD[0]).to_degrees();
    assert!((value(&found, 3, "declination_deg") - declination).abs() < 0.01);
    let sigma = found["steps"][3]["values"]["declination_deg"]["sigma"].as_f64().unwrap();
    assert!((6.4..6.8).contains(&sigma), "{sigma}");
    let methods = found["methods"].as_str().unwrap();
    assert!(
        methods.contains("forward points to the door, which is by eye to the east."),
        "{methods}"
    );
}

#[test]
fn without_an_accelerometer_levelling_by_it_is_refused() {
    let text = log(&still(0.0, 0.0, 0.0), &record::vector::IDENTITY);
    let short: String = text
        .lines()
        .map(|line| line.split(',').take(4).collect::<Vec<_>>().join(",") + "\n")
        .collect();
    let found = opened(&short, &[("level", "gravity")]);
    assert_eq!(found["steps"][2]["fault"]["code"], "orient/no-accelerometer");
}
