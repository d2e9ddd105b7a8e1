//! Figures of the step Storms: the local disturbance by hour, and each storm
//! close up with its phases named.

use super::daily::{self, Panel, words};
use super::storm_words;
use crate::outcome::Outcome;
use field::storms::{Found, Local, Storm};
use record::{NANOS_PER_SECOND, Unit, print};

const HOUR_NS: i64 = 3_600 * NANOS_PER_SECOND;

/// Names of the close-ups, and so how many there are.
const CLOSE: [(&str, &str); 4] = [
    ("storm-1", "Storm 1"),
    ("storm-2", "Storm 2"),
    ("storm-3", "Storm 3"),
    ("storm-4", "Storm 4"),
];

pub(super) fn with_plates(outcome: Outcome, found: &Found, reference: Option<&str>) -> Outcome {
    let outcome = by_hour(outcome, found, reference);
    found
        .storms()
        .zip(CLOSE)
        .fold(outcome, |o, (storm, names)| close_up(o, found, storm, names, reference))
}

fn by_hour(outcome: Outcome, found: &Found, reference: Option<&str>) -> Outcome {
    let local = &found.local;
    let times = (0..local.hours.len()).map(|h| local.hour(h).0 + HOUR_NS / 2).collect();
    let stretches = found
        .storms()
        .enumerate()
        .map(|(k, s)| {
            let end = s.end.map_or(s.deepest.0, |e| e.0);
            (s.onset.0, end, format!("{}", k + 1))
        })
        .collect();
    let mut series = vec![("station".to_owned(), local.hours.clone())];
    if let (Some(theirs), Some(name)) = (&found.reference, reference) {
        series.push((name.to_owned(), theirs.hours.clone()));
    }
    let panels = vec![Panel { quantity: "local disturbance", unit: Unit::Nanotesla, series }];
    let text = words(
        "disturbance",
        "Local disturbance by hour: the horizontal field less its quiet day and its slow level; \
         storms are shaded and numbered.",
        storm_words::remark(found),
    );
    daily::with_overlay(outcome, "disturbance", "Local disturbance", times, panels, stretches, text)
}

fn close_up(
    outcome: Outcome,
    found: &Found,
    storm: &Storm,
    (name, title): (&'static str, &'static str),
    reference: Option<&str>,
) -> Outcome {
    let last = storm.end.map_or(i64::MAX, |e| e.0).min(storm.deepest.0 + 36 * HOUR_NS);
    let from = storm.onset.0 - 4 * HOUR_NS;
    let cut = |local: &Local| -> (Vec<i64>, Vec<f64>) {
        let time = |k: usize| local.first.0 + k as i64 * local.bin_ns + local.bin_ns / 2;
        (0..local.bins.len())
            .filter(|k| (from..=last).contains(&time(*k)))
            .map(|k| (time(k), local.bins[k]))
            .unzip()
    };
    let (times, here) = cut(&found.local);
    if times.len() < 2 {
        return outcome;
    }
    let mut series = vec![("station".to_owned(), here)];
    if let (Some(theirs), Some(name)) = (&found.reference, reference) {
        let there = cut(theirs).1;
        if there.len() == times.len() {
            series.push((name.to_owned(), there));
        }
    }
    let caption = format!(
        "The storm of {}, its phases shaded: {}deepest hour {}.",
        storm.onset.readable(),
        if storm.jump.is_some() { "a sudden rise, the initial phase, " } else { "" },
        print::with_unit(&print::with_sigma(storm.depth_nt, storm.depth_sigma_nt), Unit::Nanotesla)
    );
    let summary = storm_words::of_storm(storm);
    let panels = vec![Panel { quantity: "local disturbance", unit: Unit::Nanotesla, series }];
    let text = words(name, caption, summary);
    daily::with_overlay(outcome, name, title, times, panels, phases(storm, last), text)
}

/// The phases as stretches; every other one is shaded, so that neighbours keep apart.
fn phases(storm: &Storm, last: i64) -> Vec<(i64, i64, String)> {
    let mut out = Vec::new();
    if storm.jump.is_some() && storm.main_phase > storm.onset {
        out.push((storm.onset.0, storm.main_phase.0, "initial phase".to_owned()));
    }
    // A hair of ground between them shows where one ends.
    let gap = (last - storm.onset.0) / 300;
    out.push((storm.main_phase.0 + gap, storm.deepest.0, "main phase".to_owned()));
    out.push((storm.deepest.0 + gap, last, "recovery".to_owned()));
    out
}
