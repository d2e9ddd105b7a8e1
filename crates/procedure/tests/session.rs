//! A session driven as the page drives it: files in, edits, results out.
#![allow(clippy::unwrap_used, reason = "a test may stop where it finds nothing")]

use procedure::auto::{Hints, Stand};
use procedure::session::{Edit, Session};
use record::Station;
use serde_json::{Value, json};

/// A turning and a log of one sensor whose truth is known: hard iron
/// (300, −200, 150) nT·100, a field of 50,000 nT that dips 70 degrees.
struct Made {
    turning: String,
    log: String,
}

const OFFSET: [f64; 3] = [12_000.0, -8_000.0, 5_000.0];

// Deterministic scatter of about one: the sum of twelve uniform numbers less six.
fn scatter(state: &mut u64) -> f64 {
    (0..12)
        .map(|_| {
            *state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (*state >> 11) as f64 / (1u64 << 53) as f64
        })
        .sum::<f64>()
        - 6.0
}

fn made(days: usize) -> Made {
    let mut seed = 7;
    let mut turning = String::from("time,bx_nT,by_nT,bz_nT\n");
    for k in 0..1500u32 {
        // A spiral over the whole sphere.
        let z = 1.0 - 2.0 * (f64::from(k) + 0.5) / 1500.0;
        let (s, a) = ((1.0 - z * z).sqrt(), f64::from(k) * 2.399_963);
        let b = [s * a.cos(), s * a.sin(), z];
        let v: Vec<f64> =
            (0..3).map(|i| 50_000.0 * b[i] + OFFSET[i] + 60.0 * scatter(&mut seed)).collect();
        turning.push_str(&format!(
            "2026-05-01T10:{:02}:{:02}.{}Z,{:.1},{:.1},{:.1}\n",
            k / 600,
            k / 10 % 60,
            k % 10,
            v[0],
            v[1],
            v[2]
        ));
    }
    let (h, z) = (50_000.0 * 70f64.to_radians().cos(), 50_000.0 * 70f64.to_radians().sin());
    let mut log = String::from("time,bx_nT,by_nT,bz_nT\n");
    for k in 0..days * 1440 {
        let t = k as f64 / 1440.0 * std::f64::consts::TAU;
        let day = 30.0 * t.cos();
        let spike = if k == 700 { 900.0 } else { 0.0 };
        let v = [h + day + spike, 0.5 * day, z + 0.3 * day];
        let v: Vec<f64> = (0..3).map(|i| v[i] + OFFSET[i] + 5.0 * scatter(&mut seed)).collect();
        let (d, hh, mm) = (1 + k / 1440, k / 60 % 24, k % 60);
        log.push_str(&format!(
            "2026-05-{d:02}T{hh:02}:{mm:02}:00Z,{:.1},{:.1},{:.1}\n",
            v[0], v[1], v[2]
        ));
    }
    Made { turning, log }
}

fn opened(days: usize) -> Session {
    let made = made(days);
    let mut session = Session::default();
    session.set_hints(Hints {
        station: Some(Station::new("Tern Skerry", 57.4, -9.9, 24.0).unwrap()),
        stand: Some(Stand { azimuth_deg: 0.0, azimuth_sigma_deg: 1.0, tilt_sigma_deg: 0.5 }),
    });
    session.open("log.csv", made.log.as_bytes(), &Default::default()).unwrap();
    session.open("turn.csv", made.turning.as_bytes(), &Default::default()).unwrap();
    session
}

fn view(session: &mut Session) -> Value {
    serde_json::from_str(&session.view()).unwrap()
}

fn step<'a>(view: &'a Value, id: &str) -> &'a Value {
    view["steps"].as_array().unwrap().iter().find(|s| s["id"] == id).unwrap_or(&Value::Null)
}

fn place(view: &Value, id: &str) -> usize {
    step(view, id)["index"].as_u64().unwrap() as usize
}

fn edit(session: &mut Session, edit: impl Into<Value>) {
    session.edit(Edit::from_json(&edit.into()).unwrap()).unwrap();
}

#[test]
fn a_log_and_a_turning_are_told_apart_and_every_step_runs() {
    let mut session = opened(8);
    let view = view(&mut session);
    assert_eq!(view["inputs"][0]["use"], "log");
    assert_eq!(view["inputs"][1]["use"], "turning");
    for step in view["steps"].as_array().unwrap() {
        assert_eq!(step["status"], "ok", "{}: {}", step["id"], step["fault"]);
        assert!(!step["remark"].as_str().unwrap().is_empty());
        assert!(!step["figures"].as_array().unwrap().is_empty() || step["id"] == "station");
    }
    let spikes = step(&view, "spikes")["remark"].as_str().unwrap();
    assert!(spikes.contains("1 May 2026 11:40"), "{spikes}");
}

#[test]
fn offsets_lie_within_three_sigmas_of_the_truth() {
    let mut session = opened(2);
    session.finish();
    let at = (0..20).find(|k| session.procedure().steps[*k].step.id == "calibrate").unwrap();
    let outcome = procedure::replay::report(&mut session, false);
    let json: Value = serde_json::from_str(&outcome.json).unwrap();
    let values = &json["steps"][at]["values"];
    for (axis, truth) in OFFSET.iter().enumerate() {
        let got = values["offset"]["value"][axis].as_f64().unwrap();
        let sigma = values["offset"]["sigma"][axis].as_f64().unwrap();
        assert!((got - truth).abs() < 3.0 * sigma, "{axis}: {got} ± {sigma}");
        assert!(sigma > 0.5 && sigma < 20.0, "{sigma}");
    }
}

#[test]
fn the_daily_line_is_found_in_the_spectrum() {
    let mut session = opened(20);
    let view = view(&mut session);
    let spectrum = step(&view, "spectrum");
    let found = spectrum["results"].as_array().unwrap().iter().any(|r| {
        r["label"].as_str().unwrap().contains("period 24 h")
            || r["label"].as_str().unwrap().contains("period 23 h")
    });
    assert!(found, "{}", spectrum["results"]);
}

#[test]
fn a_view_halfway_holds_what_was_run_and_the_rest_waits() {
    let mut session = opened(2);
    let before = view(&mut session);
    let at = place(&before, "spikes");
    edit(&mut session, json!({"kind": "set", "step": at, "param": "threshold", "value": "9"}));
    assert!(!session.reached(at) && session.reached(at - 1));
    assert!(!session.advance());
    assert!(session.reached(at) && !session.reached(at + 1));
    let halfway: Value = serde_json::from_str(&session.view_so_far()).unwrap();
    assert_eq!(step(&halfway, "spikes")["status"], "ok");
    assert_eq!(step(&halfway, "shifts")["status"], "waiting");
    let runs = session.runs();
    let frame = figure::Frame { width_px: 640.0, height_px: 360.0, font_px: 13.0 };
    session.plan(at, "series", &frame, &figure::View::ALL).unwrap();
    assert_eq!(session.runs(), runs);
}

#[test]
fn a_change_of_a_step_of_days_leaves_the_others_as_they_are() {
    let mut session = opened(8);
    let before = view(&mut session);
    let (quiet, k) = (place(&before, "quiet-day"), place(&before, "k-index"));
    let runs = session.runs();
    edit(&mut session, json!({"kind": "set", "step": quiet, "param": "days", "value": "3"}));
    let after = view(&mut session);
    assert_eq!(session.runs() - runs, 1);
    assert_ne!(after["steps"][quiet]["remark"], before["steps"][quiet]["remark"]);
    assert_eq!(after["steps"][k], before["steps"][k]);
    // What stands before them changes all of them.
    let runs = session.runs();
    let at = place(&after, "spikes");
    edit(&mut session, json!({"kind": "switch", "step": at, "on": false}));
    let steps = view(&mut session)["steps"].as_array().unwrap().len();
    assert_eq!(session.runs() - runs, (steps - at - 1) as u64);
}

#[test]
fn an_edit_runs_only_what_follows_it() {
    let mut session = opened(4);
    let before = view(&mut session);
    let runs = session.runs();
    let steps = before["steps"].as_array().unwrap().len();
    let at = place(&before, "spikes");
    edit(&mut session, json!({"kind": "set", "step": at, "param": "threshold", "value": "9,5"}));
    let after = view(&mut session);
    assert_eq!(session.runs() - runs, (steps - at) as u64);
    assert_eq!(step(&after, "spikes")["slots"][0]["value"], "9.5");
    assert_eq!(after["undo"], "spike threshold 6 → 9.5");
}

#[test]
fn a_number_out_of_range_keeps_the_last_good_result() {
    let mut session = opened(2);
    let before = view(&mut session);
    let at = place(&before, "spikes");
    edit(&mut session, json!({"kind": "set", "step": at, "param": "threshold", "value": "900"}));
    let after = view(&mut session);
    let slot = &step(&after, "spikes")["slots"][0];
    assert_eq!(slot["value"], "900");
    assert!(slot["error"].as_str().unwrap().contains("From 2 to 50"));
    assert_eq!(step(&after, "spikes")["remark"], step(&before, "spikes")["remark"]);
    edit(&mut session, json!({"kind": "restore", "step": at, "param": "threshold"}));
    assert_eq!(step(&view(&mut session), "spikes")["slots"][0]["value"], "6");
}

#[test]
fn live_typing_makes_one_undo_entry_and_undo_brings_the_procedure_back() {
    let mut session = opened(2);
    let before = view(&mut session);
    let at = place(&before, "spikes");
    for text in ["7", "7.", "7.5"] {
        edit(
            &mut session,
            json!({"kind": "set", "step": at, "param": "threshold", "value": text, "live": true}),
        );
    }
    edit(&mut session, json!({"kind": "set", "step": at, "param": "threshold", "value": "7.5"}));
    let typed = view(&mut session);
    assert_eq!(typed["undo"], "spike threshold 6 → 7.5");
    edit(&mut session, json!({"kind": "undo"}));
    let undone = view(&mut session);
    assert_eq!(undone["procedure"], before["procedure"]);
    assert_eq!(undone["undo"], Value::Null);
    edit(&mut session, json!({"kind": "redo"}));
    assert_eq!(view(&mut session)["procedure"], typed["procedure"]);
}

#[test]
fn a_refused_step_says_why_and_the_rest_goes_on() {
    let made = made(2);
    let mut session = Session::default();
    session.open("log.csv", made.log.as_bytes(), &Default::default()).unwrap();
    view(&mut session);
    edit(&mut session, json!({"kind": "add", "id": "calibrate"}));
    let view = view(&mut session);
    let refused = step(&view, "calibrate");
    assert_eq!(refused["status"], "refused");
    assert_eq!(refused["fault"]["code"], "calibrate/no-turning");
    assert_eq!(step(&view, "spectrum")["status"], "ok");
}

#[test]
fn a_turning_of_one_face_is_refused_with_the_remedy() {
    let made = made(1);
    let face: String = made
        .turning
        .lines()
        .enumerate()
        .filter(|(k, _)| *k == 0 || *k < 120)
        .map(|(_, line)| format!("{line}\n"))
        .collect();
    let mut session = Session::default();
    session.open("turn.csv", face.as_bytes(), &Default::default()).unwrap();
    edit_model(&mut session);
    let view = view(&mut session);
    let refused = step(&view, "calibrate");
    assert_eq!(refused["status"], "refused", "{refused}");
    assert!(refused["fault"]["remedy"].as_str().unwrap().to_lowercase().contains("turn"));
}

fn edit_model(session: &mut Session) {
    let first = view(session);
    if step(&first, "calibrate").is_null() {
        edit(session, json!({"kind": "add", "id": "calibrate"}));
        let at = place(&view(session), "calibrate");
        edit(session, json!({"kind": "set", "step": at, "param": "source", "value": "log"}));
        edit(session, json!({"kind": "set", "step": at, "param": "scale", "value": "sensor"}));
    }
}

#[test]
fn a_switched_off_step_does_nothing_and_says_nothing() {
    let mut session = opened(2);
    let before = view(&mut session);
    let at = place(&before, "spikes");
    edit(&mut session, json!({"kind": "switch", "step": at, "on": false}));
    let after = view(&mut session);
    assert_eq!(step(&after, "spikes")["status"], "off");
    assert_eq!(after["undo"], "switch spikes off");
    assert!(!after["methods"].as_str().unwrap().contains("Mark as spikes"));
}

#[test]
fn the_methods_are_the_sentences_on_the_page_word_for_word() {
    let mut session = opened(2);
    let view = view(&mut session);
    let methods = view["methods"].as_str().unwrap();
    for step in view["steps"].as_array().unwrap() {
        assert!(methods.contains(step["prose"].as_str().unwrap()), "{}", step["prose"]);
    }
}

#[test]
fn the_procedure_file_replays_to_the_same_numbers() {
    let made = made(3);
    let mut session = opened(3);
    let here = procedure::replay::report(&mut session, false);
    let here: Value = serde_json::from_str(&here.json).unwrap();
    let request = procedure::replay::Request {
        files: vec![
            ("log.csv".to_owned(), made.log.into_bytes()),
            ("turn.csv".to_owned(), made.turning.into_bytes()),
        ],
        procedure: Some(here["procedure"].to_string()),
        write: true,
        ..Default::default()
    };
    let there = procedure::replay::run(&request).unwrap();
    let json: Value = serde_json::from_str(&there.json).unwrap();
    assert_eq!(json["steps"], here["steps"]);
    let names: Vec<&str> = there.files.iter().map(|(name, _)| name.as_str()).collect();
    for wanted in
        ["processed.csv", "spectrum.csv", "spectrum-spectrum.svg", "calibrate-calibration.svg"]
    {
        assert!(names.contains(&wanted), "{names:?}");
    }
}
