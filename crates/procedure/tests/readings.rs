//! Decisions of the reading travel with the procedure, and files of one logger
//! become one record.
#![allow(clippy::unwrap_used, reason = "a test may stop where it finds nothing")]

use procedure::Choices;
use procedure::replay::{Request, run};
use procedure::session::{Edit, Session};
use serde_json::Value;

// Half-hour steps over a day, in a clock's own time; no zone is named.
fn log(day: u32, clock: std::ops::Range<u32>) -> Vec<u8> {
    let mut text = String::from("time,bx_nt,by_nt,bz_nt\n");
    for k in clock {
        let (h, m) = (k / 2, k % 2 * 30);
        text += &format!("2026-03-{day:02} {h:02}:{m:02}:00,16632.{k},-1002.{k},47743.{k}\n");
    }
    text.into_bytes()
}

fn replayed(procedure: Option<String>, files: &[(&str, Vec<u8>)]) -> Value {
    let files = files.iter().map(|(name, bytes)| ((*name).to_owned(), bytes.clone())).collect();
    let outcome = run(&Request { files, procedure, ..Request::default() }).unwrap();
    serde_json::from_str(&outcome.json).unwrap()
}

const LONDON: &str = "Europe/London +00:00 2026-03-29T01:00:00Z +01:00";

#[test]
fn a_zone_that_was_chosen_is_in_the_procedure_and_in_its_replay() {
    let mut session = Session::default();
    let chosen = Choices::default().with("zone", LONDON);
    session.open("garden.csv", &log(30, 0..48), &chosen).unwrap();
    let file = session.whole_procedure().to_json().to_string();
    let found = replayed(Some(file.clone()), &[("garden.csv", log(30, 0..48))]);
    assert_eq!(found["inputs"][0]["time"]["start"], "2026-03-29T23:00:00Z");
    assert_eq!(found["procedure"]["readings"][0]["set"]["zone"], LONDON);
    // A class has one logger's settings, whatever its files are called.
    let other = replayed(Some(file), &[("ann.csv", log(31, 0..48))]);
    assert_eq!(other["inputs"][0]["time"]["start"], "2026-03-30T23:00:00Z");
}

// checks-stats-time, dst-gap: UK clocks 2024-03-31, local 01:30 exists? no
// (01:00-02:00 skipped).  Source: IANA time zone data, which the page looks up by
// name; `page-logic.test.mjs` holds it to the same instant.
#[test]
fn half_past_one_does_not_exist_on_the_day_the_clocks_of_london_go_forward() {
    let zone = "Europe/London +00:00 2024-03-31T01:00:00Z +01:00";
    let warned = |clock: &str| {
        let text = format!(
            "time,bx_nt\n2024-03-31 00:30:00,16632\n2024-03-31 {clock},16633\n2024-03-31 02:30:00,16634\n"
        );
        let mut session = Session::default();
        session.open("log.csv", text.as_bytes(), &Choices::default().with("zone", zone)).unwrap();
        session.view().contains("no clock in this zone showed")
    };
    assert!(warned("01:30:00"));
    assert!(!warned("00:59:59") && !warned("02:00:00"));
}

#[test]
fn a_procedure_that_is_opened_asks_for_its_logs_to_be_read_again() {
    let mut session = Session::default();
    session.open("garden.csv", &log(30, 0..48), &Choices::default()).unwrap();
    let mut file = session.whole_procedure().to_json();
    file["readings"] = serde_json::json!([{ "log": "garden.csv", "set": { "zone": "+01:00" } }]);
    session.edit(Edit::Load { procedure: file }).unwrap();
    let view: Value = serde_json::from_str(&session.view()).unwrap();
    assert_eq!(view["rereads"][0]["set"]["zone"], "+01:00");
    let again: Value = serde_json::from_str(&session.view()).unwrap();
    assert_eq!(again["rereads"].as_array().unwrap().len(), 0);
}

#[test]
fn the_zone_is_asked_for_once() {
    let mut session = Session::default();
    let open = |session: &mut Session, name: &str, bytes: &[u8], given: &Choices| {
        let choices = session.choices_for(name, given);
        session.open(name, bytes, &choices).unwrap();
    };
    open(&mut session, "a.csv", &log(28, 0..48), &Choices::default().with("zone", LONDON));
    open(&mut session, "b.csv", &log(30, 0..48), &Choices::default());
    let view: Value = serde_json::from_str(&session.view()).unwrap();
    let zone = |input: usize| {
        let decisions = view["inputs"][input]["report"]["decisions"].as_array().unwrap();
        decisions.iter().find(|d| d["id"] == "zone").unwrap().clone()
    };
    assert_eq!((&zone(1)["chosen"], &zone(1)["ambiguous"]), (&LONDON.into(), &false.into()));
    let utc = b"time,bx_nt,by_nt,bz_nt\n2026-03-30T00:00:00Z,1,2,3\n2026-03-30T00:30:00Z,1,2,4\n";
    open(&mut session, "c.csv", utc, &Choices::default());
    let start = session.inputs().files[2].reading.report.time.start.unwrap();
    assert_eq!(start.iso(), "2026-03-30T00:00:00Z");
}

#[test]
fn files_of_one_logger_are_replayed_as_one_record_in_order_of_time() {
    let files = [("b.csv", log(4, 0..48)), ("a.csv", log(3, 0..48)), ("c.csv", log(5, 0..24))];
    let found = replayed(None, &files);
    let read = &found["steps"][0];
    assert_eq!(read["values"]["rows_read"]["value"], 120.0);
    assert!(read["remark"].as_str().unwrap().contains("b.csv, a.csv, c.csv"), "{read}");
    let uses: Vec<&str> =
        found["inputs"].as_array().unwrap().iter().map(|i| i["use"].as_str().unwrap()).collect();
    assert_eq!(uses, ["joined", "joined", "log"]);
    let order = &found["steps"].as_array().unwrap().iter().find(|s| s["step"] == "order").unwrap();
    assert_eq!(order["values"]["marked"]["value"], 0.0);
}

#[test]
fn an_overlap_of_joined_files_is_told_and_its_second_rows_are_marked() {
    let mut session = Session::default();
    session.open("a.csv", &log(3, 0..30), &Choices::default()).unwrap();
    session.open("b.csv", &log(3, 24..48), &Choices::default()).unwrap();
    session.set_use(0, procedure::Use::Joined);
    let view: Value = serde_json::from_str(&session.view()).unwrap();
    let steps = view["steps"].as_array().unwrap();
    let warning =
        &steps[0]["warnings"].as_array().unwrap().iter().find(|w| w["code"] == "read/overlap");
    let message = warning.unwrap()["message"].as_str().unwrap().to_owned();
    assert!(message.starts_with("a.csv and b.csv overlap over 3 March 2026"), "{message}");
    assert!(message.contains("12 samples"), "{message}");
    let order = steps.iter().find(|step| step["id"] == "order").unwrap();
    assert!(order["remark"].as_str().unwrap().contains('6'), "{}", order["remark"]);
}
