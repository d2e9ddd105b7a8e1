//! Turnings that are refused, those that are accepted, and calibrations that
//! are kept and given to another log.
#![allow(clippy::unwrap_used, reason = "a test may stop where it finds nothing")]

use procedure::auto::{Hints, Stand};
use procedure::session::{Edit, Session};
use record::Station;
use serde_json::{Value, json};
use specimen::{DEFAULT_SEED, Log, Poor};

fn hints() -> Hints {
    let scenario = specimen::default_scenario();
    let place = &scenario.garden;
    Hints {
        station: Station::new(place.name, place.latitude_deg, place.longitude_deg, place.height_m)
            .ok(),
        stand: Some(Stand { azimuth_deg: 12.5, azimuth_sigma_deg: 0.3, tilt_sigma_deg: 0.5 }),
    }
}

fn opened(logs: &[&Log]) -> Session {
    let mut session = Session::default();
    session.set_hints(hints());
    for log in logs {
        session.open(&log.name, &log.bytes, &Default::default()).unwrap();
    }
    session
}

fn edit(session: &mut Session, edit: impl Into<Value>) {
    session.edit(Edit::from_json(&edit.into()).unwrap()).unwrap();
}

fn set(session: &mut Session, param: &str, value: &str) {
    let step = session.procedure().steps.iter().position(|c| c.step.id == "calibrate").unwrap();
    edit(session, json!({"kind": "set", "step": step, "param": param, "value": value}));
}

fn calibrate(session: &mut Session) -> Value {
    step(session, "calibrate")
}

fn step(session: &mut Session, id: &str) -> Value {
    let view: Value = serde_json::from_str(&session.view()).unwrap();
    view["steps"].as_array().unwrap().iter().find(|s| s["id"] == id).unwrap().clone()
}

fn has_figure(step: &Value, name: &str) -> bool {
    step["figures"].as_array().unwrap().iter().any(|figure| figure["name"] == name)
}

#[test]
fn poor_turnings_are_refused_with_remedy_and_map_and_a_good_one_is_then_accepted() {
    let log = specimen::ten_days(DEFAULT_SEED);
    for poor in [Poor::Level, Poor::Cap, Poor::OneFace] {
        let turned = specimen::poor_turning(DEFAULT_SEED, poor);
        let mut session = opened(&[&log, &turned]);
        let step = calibrate(&mut session);
        assert_eq!(step["status"], "refused", "{poor:?} {}", step["remark"]);
        let remedy = step["fault"]["remedy"].as_str().unwrap();
        assert!(remedy.contains("onto another face"), "{poor:?} {}", step["fault"]);
        assert!(remedy.contains("arrow towards magnetic"), "{poor:?} {remedy}");
        assert!(has_figure(&step, "directions"), "{poor:?}");
        let place = step["index"].as_u64().unwrap() as usize;
        let frame = figure::Frame { width_px: 700.0, height_px: 420.0, font_px: 13.0 };
        let plan = session.plan(place, "directions", &frame, &figure::View::ALL).unwrap();
        assert!(plan.caption.starts_with("Why the turning was refused"), "{}", plan.caption);

        let good = specimen::turning(DEFAULT_SEED);
        session.open(&good.name, &good.bytes, &Default::default()).unwrap();
        let step = calibrate(&mut session);
        assert_eq!(step["status"], "ok", "{poor:?} {}", step["fault"]);
        assert!(has_figure(&step, "calibration") && has_figure(&step, "directions"));
    }
}

#[test]
fn a_level_turn_gives_a_circle_or_an_ellipse_its_offsets_and_honest_words() {
    let log = specimen::ten_days(DEFAULT_SEED);
    let turned = specimen::poor_turning(DEFAULT_SEED, Poor::Level);
    let truth: Value = serde_json::from_str(&turned.truth).unwrap();
    let mut session = opened(&[&log, &turned]);
    let mut residuals = Vec::new();
    // What soft iron makes of the vertical field is part of a level turn's offset: a part in a
    // hundred or two of the field.
    for (model, near) in [("circle", 800.0), ("ellipse", 800.0)] {
        set(&mut session, "model", model);
        let step = calibrate(&mut session);
        assert_eq!(step["status"], "ok", "{}", step["fault"]);
        let report: Value =
            serde_json::from_str(&procedure::replay::report(&mut session, false).json).unwrap();
        let all = report["steps"].as_array().unwrap();
        let values = &all.iter().find(|s| s["step"] == "calibrate").unwrap()["values"];
        let offset = values["offset"]["value"].as_array().unwrap();
        for (axis, found) in offset.iter().map(|v| v.as_f64().unwrap()).take(2).enumerate() {
            let wanted = truth["sensor"]["offset_during_turning_ut"][axis].as_f64().unwrap();
            let off = found - 1000.0 * wanted;
            println!("{model} {axis}: {off:.1} nT off, of {}", values["offset"]["sigma"]);
            assert!(off.abs() < near, "{model} {axis}: {found}, in truth {wanted} µT");
        }
        residuals.push(values["residual_rms"]["value"].as_f64().unwrap());
        println!("{model} {}", step["remark"]);
        let warned = step["warnings"].as_array().unwrap();
        assert!(warned.iter().any(|w| w["code"] == "calibrate/flat"));
    }
    assert!(residuals[1] < 0.9 * residuals[0], "{residuals:?}");
}

#[test]
fn a_kept_calibration_gives_another_log_the_same_field() {
    let log = specimen::ten_days(DEFAULT_SEED);
    let turned = specimen::turning(DEFAULT_SEED);
    let mut first = opened(&[&log, &turned]);
    for form in ["symmetric", "tied"] {
        set(&mut first, "convention", form);
        first.finish();
        let wanted = step(&mut first, "elements");
        let kept: Value = serde_json::from_str(&first.calibration_json().unwrap()).unwrap();
        assert_eq!(kept["from"]["name"], turned.name.as_str());

        let mut second = opened(&[&log]);
        assert!(second.calibration_json().is_none());
        edit(&mut second, json!({"kind": "load", "procedure": kept}));
        let used = calibrate(&mut second);
        assert_eq!(used["status"], "ok", "{}", used["fault"]);
        assert!(used["prose"].as_str().unwrap().contains(&turned.name), "{}", used["prose"]);
        let found = step(&mut second, "elements");
        assert_eq!(found["results"], wanted["results"], "{form}");
        edit(&mut second, json!({"kind": "undo"}));
        assert!(second.calibration_json().is_none());
    }
}

#[test]
fn replay_takes_a_kept_calibration_among_the_logs() {
    let log = specimen::ten_days(DEFAULT_SEED);
    let turned = specimen::turning(DEFAULT_SEED);
    let mut session = opened(&[&log, &turned]);
    session.finish();
    let kept = session.calibration_json().unwrap();
    let request = procedure::replay::Request {
        files: vec![
            (log.name.clone(), log.bytes.clone()),
            ("calibration.json".to_owned(), kept.into_bytes()),
        ],
        ..Default::default()
    };
    let report: Value =
        serde_json::from_str(&procedure::replay::run(&request).unwrap().json).unwrap();
    let step = |id: &str| {
        report["steps"].as_array().unwrap().iter().find(|s| s["step"] == id).unwrap().clone()
    };
    assert_eq!(step("calibrate")["status"], "ok", "{}", step("calibrate"));
    assert!(step("elements")["values"]["total_nt"]["sigma"].as_f64().unwrap() > 10.0);
}

#[test]
fn a_known_calibration_without_numbers_or_of_another_unit_is_refused() {
    let log = specimen::ten_days(DEFAULT_SEED);
    let turned = specimen::turning(DEFAULT_SEED);
    let mut session = opened(&[&log, &turned]);
    set(&mut session, "model", "given");
    assert_eq!(calibrate(&mut session)["fault"]["code"], "calibrate/nothing-given");
    set(&mut session, "offset", "100 200 300");
    set(&mut session, "matrix", "1 0 0 0 1 0 0 1 0");
    assert_eq!(calibrate(&mut session)["fault"]["code"], "calibrate/singular");
    set(&mut session, "matrix", "1 0 0 0 1 0 0 0 1");
    let typed = calibrate(&mut session);
    assert_eq!(typed["status"], "ok", "{}", typed["fault"]);
    let warned = typed["warnings"].as_array().unwrap();
    assert!(warned.iter().any(|w| w["code"] == "calibrate/no-uncertainty"));
    set(&mut session, "raw_unit", "count");
    assert_eq!(calibrate(&mut session)["fault"]["code"], "calibrate/units");
}
