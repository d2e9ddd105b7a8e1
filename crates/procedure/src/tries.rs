//! Three things to try on the demo log: what to do, where, and what to look for.
//!
//! They speak of what was put into that log, so they stand beside it alone; any
//! other log, a part of it or one that was changed has none.

use crate::inputs::{Inputs, Use};
use crate::param::Value;
use crate::procedure::Procedure;
use record::words::word;
use serde_json::{Value as Json, json};

/// SHA-256 of the demo log of sixty days.
const DEMO: &str = "df36c5e23bc39d86073f8000e0b84f23174b9d9412f25bd7bffdbdd342b050d6";

/// One thing to try.
struct Try {
    step: &'static str,
    /// What shows that it was done.
    goal: Goal,
    act: &'static str,
    look: &'static str,
}

enum Goal {
    /// This parameter was brought to this value or below.
    Lowered(&'static str, f64),
    /// The step's figure was looked at, which the page knows.
    Seen,
    /// The step was switched off.
    Off,
}

const TRIES: [Try; 3] = [
    Try {
        step: "spikes",
        goal: Goal::Lowered("threshold", 2.0),
        act: "Lower the spike threshold from 6 to 2.",
        look: "216 spikes were put into this log. What the step marks beyond them are honest samples, lost.",
    },
    Try {
        step: "shifts",
        goal: Goal::Seen,
        act: "Is it the Sun or a van?",
        look: "The level jumps on 5 May at 08:41 and again at 15:27. Compare the two sizes, axis by axis: what \
               comes and takes the same away with it?",
    },
    Try {
        step: "calibrate",
        goal: Goal::Off,
        act: "Switch the calibration off.",
        look: "A declination of −3.5° was put into this log. Under Elements, see where the bare sensor puts it; \
               then switch the calibration on again.",
    },
];

/// Those that the procedure at hand still has the steps for, as the page takes them.
pub(crate) fn of(inputs: &Inputs, procedure: &Procedure) -> Vec<Json> {
    let log = inputs.used(Use::Log);
    if log.is_none_or(|log| log.reading.report.sha256 != DEMO) {
        return Vec::new();
    }
    let told = |one: &Try| {
        let choice = procedure.steps.iter().find(|choice| choice.step.id == one.step)?;
        let value = |key: &str| {
            let place = choice.step.params.iter().position(|param| param.key == key)?;
            choice.values.get(place)
        };
        let (part, done) = match one.goal {
            Goal::Lowered(key, to) => {
                (key, matches!(value(key), Some(Value::Number(x)) if *x <= to))
            }
            Goal::Seen => ("plate", false),
            Goal::Off => ("switch", !choice.on),
        };
        let (act, look) = (word(one.act), word(one.look));
        Some(json!({ "step": one.step, "part": part, "act": act, "look": look, "done": done }))
    };
    TRIES.iter().filter_map(told).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::{Edit, Session};

    fn demo() -> Session {
        let mut session = Session::default();
        for log in [
            specimen::sixty_days(specimen::DEFAULT_SEED),
            specimen::turning(specimen::DEFAULT_SEED),
        ] {
            session.open(&log.name, &log.bytes, &Default::default()).expect("read");
        }
        session
    }

    fn shown(session: &mut Session) -> Json {
        serde_json::from_str(&session.view()).expect("JSON")
    }

    fn done(view: &Json) -> Vec<bool> {
        let tries = view["tries"].as_array().expect("a list");
        tries.iter().map(|one| one["done"].as_bool().expect("known")).collect()
    }

    fn step<'a>(view: &'a Json, id: &str) -> &'a Json {
        let steps = view["steps"].as_array().expect("a list");
        steps.iter().find(|step| step["id"] == id).expect("a step of the demo")
    }

    fn edit(session: &mut Session, change: &Json) {
        session.edit(Edit::from_json(change).expect("an edit")).expect("taken");
    }

    #[test]
    fn what_is_said_of_the_demo_log_is_what_was_put_into_it() {
        let log = specimen::sixty_days(specimen::DEFAULT_SEED);
        let truth: Json = serde_json::from_str(&log.truth).expect("JSON");
        assert_eq!(truth["faults"]["spikes"]["count"], 216);
        assert!(TRIES[0].look.starts_with("216 spikes"));
        let van = &truth["faults"]["van"];
        assert!(van["from"].as_str().expect("a time").starts_with("2026-05-05T08:41"));
        assert!(van["to"].as_str().expect("a time").starts_with("2026-05-05T15:27"));
        let declination = truth["field"]["mean"]["declination_deg"].as_f64().expect("an angle");
        assert_eq!(format!("{declination:.1}"), "-3.5");
        assert!(TRIES[2].look.contains("−3.5°"));
    }

    #[test]
    fn each_thing_ticks_off_when_done_and_shows_what_it_promises() {
        let mut session = demo();
        let view = shown(&mut session);
        assert_eq!(done(&view), [false, false, false]);
        let jumps = step(&view, "shifts")["results"].to_string();
        assert!(
            jumps.contains("5 May 2026 08:41") && jumps.contains("5 May 2026 15:27"),
            "{jumps}"
        );
        let place = |id: &str| step(&view, id)["index"].clone();
        edit(
            &mut session,
            &json!({ "kind": "set", "step": place("spikes"), "param": "threshold",
            "value": "2", "live": false }),
        );
        let lowered = shown(&mut session);
        assert_eq!(done(&lowered), [true, false, false]);
        let remark = step(&lowered, "spikes")["remark"].as_str().expect("a remark");
        let marked: usize = remark
            .split(' ')
            .nth(1)
            .and_then(|count| count.replace(',', "").parse().ok())
            .expect("a count");
        assert!(marked > 2_000, "thousands of honest samples: {remark}");
        let before = step(&view, "elements")["remark"].to_string();
        edit(&mut session, &json!({ "kind": "switch", "step": place("calibrate"), "on": false }));
        let bare = shown(&mut session);
        assert_eq!(done(&bare), [true, false, true]);
        assert_ne!(step(&bare, "elements")["remark"].to_string(), before);
    }

    #[test]
    fn a_log_that_is_not_the_demo_has_nothing_to_try() {
        let mut session = Session::default();
        let log = specimen::ten_days(specimen::DEFAULT_SEED);
        session.open(&log.name, &log.bytes, &Default::default()).expect("read");
        assert_eq!(shown(&mut session)["tries"], json!([]));
    }
}
