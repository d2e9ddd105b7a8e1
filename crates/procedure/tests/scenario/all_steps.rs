//! Every step at work on the scenario at once.

use crate::common::{add, report, session};
use specimen::{DEFAULT_SEED, Scenario};

#[test]
fn every_step_runs_on_the_demo_and_writes_its_figures() {
    let mut session = session(&Scenario::with_seed(DEFAULT_SEED), true);
    for id in ["temperature", "match-reference", "harmonics", "allan", "spectrogram", "storms"] {
        add(&mut session, id);
    }
    let (report, files) = report(&mut session, true);
    for name in [
        "match-reference-match",
        "compare-comparison",
        "storms-disturbance",
        "storms-storm-1",
        "storms-storm-2",
        "storms-rotations",
        "quiet-day-day-stack",
        "k-index-k-index",
        "k-index-sight",
    ] {
        assert!(files.iter().any(|(file, _)| *file == format!("{name}.svg")), "{name}");
    }
    let days = ["quiet-day", "k-index", "storms", "compare"];
    for figure in report["figures"].as_array().unwrap() {
        let name = figure["name"].as_str().unwrap();
        if days.iter().any(|id| name.starts_with(id)) {
            let told = sentences(figure["alt"].as_str().unwrap());
            assert!((2..=4).contains(&told), "{name} tells {told}: {}", figure["alt"]);
        }
    }
}

/// How many sentences: a point that a blank or the end follows.
fn sentences(text: &str) -> usize {
    text.split(". ").filter(|part| !part.trim().is_empty()).count()
}
