//! The invented scenario, sixty days of it, worked through by every step and
//! held against its truth.
#![allow(clippy::unwrap_used, reason = "a test may stop where it finds nothing")]

use procedure::auto::{Hints, Stand};
use procedure::replay;
use procedure::session::{Edit, Session};
use record::Station;
use serde_json::{Value, json};

fn session() -> Session {
    let scenario = specimen::default_scenario();
    let place = &scenario.garden;
    let mut session = Session::default();
    session.set_hints(Hints {
        station: Station::new(place.name, place.latitude_deg, place.longitude_deg, place.height_m)
            .ok(),
        stand: Some(Stand { azimuth_deg: 12.5, azimuth_sigma_deg: 0.3, tilt_sigma_deg: 0.5 }),
    });
    for log in [
        specimen::sixty_days(specimen::DEFAULT_SEED),
        specimen::turning(specimen::DEFAULT_SEED),
        specimen::kelda_head_reference(specimen::DEFAULT_SEED, 60),
    ] {
        session.open(&log.name, &log.bytes, &Default::default()).unwrap();
    }
    session
}

fn add(session: &mut Session, id: &str) {
    session
        .edit(serde_json::from_value::<Edit>(json!({"kind": "add", "id": id})).unwrap())
        .unwrap();
}

fn set(session: &mut Session, id: &str, param: &str, value: &str) {
    let at = session.procedure().steps.iter().position(|c| c.step.id == id).unwrap();
    let edit = json!({"kind": "set", "step": at, "param": param, "value": value});
    session.edit(serde_json::from_value::<Edit>(edit).unwrap()).unwrap();
}

fn step<'a>(report: &'a Value, id: &str) -> &'a Value {
    report["steps"].as_array().unwrap().iter().find(|s| s["step"] == id).unwrap()
}

/// Instants of a text of ISO times, seconds.
fn seconds(text: &str) -> f64 {
    let civil: Vec<f64> = text
        .split(['-', 'T', ':', 'Z'])
        .filter(|p| !p.is_empty())
        .map(|p| p.parse().unwrap())
        .collect();
    let day =
        record::Instant::from_date(civil[0] as i32, civil[1] as u32, civil[2] as u32).unwrap();
    day.seconds() + civil[3] * 3600.0 + civil[4] * 60.0 + civil[5]
}

#[test]
fn every_step_runs_on_the_demo_and_tells_the_truth() {
    let mut session = session();
    for id in ["temperature", "harmonics", "allan", "spectrogram", "storms"] {
        add(&mut session, id);
    }
    set(&mut session, "shifts", "action", "mend");
    set(&mut session, "temperature", "hours", "night");
    let outcome = replay::report(&mut session, true);
    let report: Value = serde_json::from_str(&outcome.json).unwrap();
    for step in report["steps"].as_array().unwrap() {
        assert_eq!(step["status"], "ok", "{}: {}", step["step"], step["fault"]);
    }
    let truth: Value =
        serde_json::from_str(&specimen::sixty_days(specimen::DEFAULT_SEED).truth).unwrap();
    storms_are_those_of_the_truth(step(&report, "storms"), &truth);
    let compare = &step(&report, "compare")["values"];
    for k in 0..3 {
        assert!(compare["correlation"]["value"][k].as_f64().unwrap() > 0.5, "{compare}");
    }
    let z = &step(&report, "temperature")["values"]["coefficient_nt_per_degc"];
    let (got, sigma) = (z["value"][2].as_f64().unwrap(), z["sigma"][2].as_f64().unwrap());
    // The truth's coefficient of z, seen through the matrix that calibrates.
    let wanted = truth["temperature"]["coefficient_nt_per_degc"][2].as_f64().unwrap();
    assert!((got - wanted).abs() < 3.0 * sigma, "{got} ± {sigma}, in truth about {wanted}");
    assert!(outcome.files.iter().any(|(name, _)| name == "compare-comparison.svg"));
}

// The hours of deepest field, within half a day: bays of the night ride on the
// ring current's own minimum.
fn storms_are_those_of_the_truth(storms: &Value, truth: &Value) {
    let deepest: Vec<f64> =
        storms["values"]["deepest"]["value"].as_str().unwrap().split(' ').map(seconds).collect();
    for storm in truth["storms"].as_array().unwrap() {
        let wanted = seconds(storm["lowest_x"].as_str().unwrap());
        let off = deepest.iter().map(|d| (d - wanted).abs()).fold(f64::INFINITY, f64::min);
        assert!(off < 43_200.0, "{storm}: {off} s off, among {}", storms["values"]);
    }
}
