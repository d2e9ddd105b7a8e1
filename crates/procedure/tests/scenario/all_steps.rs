//! Every step at work on the scenario at once.

use crate::common::{add, report, session};
use specimen::{DEFAULT_SEED, Scenario};

#[test]
fn every_step_runs_on_the_demo_and_writes_its_figures() {
    let mut session = session(&Scenario::with_seed(DEFAULT_SEED), true);
    for id in ["temperature", "match-reference", "harmonics", "allan", "spectrogram", "storms"] {
        add(&mut session, id);
    }
    let (_, files) = report(&mut session, true);
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
}
