//! Sessions with the scenario's logs opened, and ways into what they report.

use procedure::auto::{Hints, Stand};
use procedure::replay;
use procedure::session::{Edit, Session};
use record::Station;
use serde_json::{Value, json};
use specimen::Scenario;

/// The sixty days and the turning log, with the reference beside them if asked for.
pub fn session(scenario: &Scenario, reference: bool) -> Session {
    let place = &scenario.garden;
    let (azimuth_deg, azimuth_sigma_deg) = scenario.notebook_azimuth_deg;
    let mut session = Session::default();
    session.set_hints(Hints {
        station: Station::new(place.name, place.latitude_deg, place.longitude_deg, place.height_m)
            .ok(),
        stand: Some(Stand { azimuth_deg, azimuth_sigma_deg, tilt_sigma_deg: 0.5 }),
    });
    let mut logs = vec![specimen::sixty_days_of(scenario), specimen::turning_of(scenario)];
    if reference {
        logs.push(specimen::kelda_head_reference_of(scenario));
    }
    for log in logs {
        session.open(&log.name, &log.bytes, &Default::default()).unwrap();
    }
    session
}

/// Adds a step, unless the procedure has it.
pub fn add(session: &mut Session, id: &str) {
    if session.procedure().steps.iter().any(|choice| choice.step.id == id) {
        return;
    }
    session.edit(Edit::from_json(&json!({"kind": "add", "id": id})).unwrap()).unwrap();
}

/// Sets a parameter of a step.
pub fn set(session: &mut Session, id: &str, param: &str, value: &str) {
    let at = session.procedure().steps.iter().position(|c| c.step.id == id).unwrap();
    let edit = json!({"kind": "set", "step": at, "param": param, "value": value});
    session.edit(Edit::from_json(&edit).unwrap()).unwrap();
}

/// Runs all and gives the report; every step must have run.
pub fn report(session: &mut Session, write: bool) -> (Value, Vec<(String, Vec<u8>)>) {
    let outcome = replay::report(session, write);
    let report: Value = serde_json::from_str(&outcome.json).unwrap();
    for step in report["steps"].as_array().unwrap() {
        assert_eq!(step["status"], "ok", "{}: {}", step["step"], step["fault"]);
    }
    (report, outcome.files)
}

/// A step's part of a report.
pub fn step<'a>(report: &'a Value, id: &str) -> &'a Value {
    report["steps"].as_array().unwrap().iter().find(|s| s["step"] == id).unwrap()
}

/// The numbers of a value, and of its sigma.
pub fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap_or(f64::NAN)).collect()
}

/// An ISO time, seconds.
pub fn seconds(text: &str) -> f64 {
    let civil: Vec<f64> = text
        .split(['-', 'T', ':', 'Z'])
        .filter(|p| !p.is_empty())
        .map(|p| p.parse().unwrap())
        .collect();
    let day =
        record::Instant::from_date(civil[0] as i32, civil[1] as u32, civil[2] as u32).unwrap();
    day.seconds() + civil[3] * 3600.0 + civil[4] * 60.0 + civil[5]
}

/// The words of a text value, one for each thing listed.
pub fn words(value: &Value) -> Vec<&str> {
    value["value"].as_str().unwrap().split(' ').filter(|w| !w.is_empty()).collect()
}
