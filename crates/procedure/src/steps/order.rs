//! `order`: samples into the order of their times, repeats marked.

use crate::outcome::{Outcome, State};
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use record::{
    Fault, Unit, print, say,
    words::{word, worded},
};

/// Sorts by time and marks repeated times.
pub static STEP: Step = Step {
    id: "order",
    stage: Stage::Clean,
    title: "Order",
    params: &[],
    sentence: |_| "Put the samples in order of time and mark repeated times.",
    why: Why {
        what: "Samples are sorted by their times; a second row for a time that is already there \
               is marked and left out of computations.",
        why: "Every later step takes it that time runs forward and that each moment is counted \
              once.",
        wrong: "A clock set back in autumn also makes repeated times, and sorting would weave two \
                different hours together, so look where the repeats stand.",
        picture: "A line of samples that steps back in time becomes one that only rises; a sample \
                  that came twice is crossed out.",
    },
    run,
    repeatable: false,
    removable: false,
};

fn run(_: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let found = clean::order::order(&state.record);
    let repeats = found.repeats_same + found.repeats_other;
    let mut next = state.clone();
    next.record = found.record.clone();
    next.before = found.record;
    let n = next.record.len();
    let mut remark = match (found.moved, repeats) {
        (0, 0) => worded("Times already ran forward and none was repeated"),
        (moved, 0) => say!("{} changed places; no time was repeated", samples(moved)),
        (moved, _) => say!(
            "{} changed places; {} of {} repeat a time ({}): {} with the same values, {} with \
             others",
            samples(moved),
            print::count(repeats),
            print::counted(n, "sample", "samples"),
            print::percent(repeats, n),
            print::count(found.repeats_same),
            print::count(found.repeats_other),
        ),
    };
    let gaps = next.record.gaps();
    if let Some(longest) = gaps.iter().max_by_key(|gap| gap.end_ns - gap.start_ns) {
        remark.push_str(&say!(
            "; {}, the longest {} from {} UTC",
            print::counted(gaps.len(), "gap", "gaps"),
            print::duration(longest.seconds()),
            record::Instant(longest.start_ns).readable(),
        ));
    }
    remark.push('.');
    let record = next.record.clone();
    let outcome = Outcome::new(next, remark)
        .number("marked", repeats as f64, Unit::None)
        .number(
            "largest",
            gaps.iter().map(record::gaps::Gap::seconds).fold(0.0, f64::max),
            Unit::Second,
        )
        .number("moved", found.moved as f64, Unit::None)
        .number("gaps", gaps.len() as f64, Unit::None);
    let caption =
        word("The log in order of time; gaps are left open and marked samples stand apart.");
    Ok(plates::with_series(outcome, &record, None, "series", word("In order"), caption))
}

fn samples(n: usize) -> String {
    if n == 0 { worded("No sample") } else { print::counted(n, "sample", "samples") }
}
