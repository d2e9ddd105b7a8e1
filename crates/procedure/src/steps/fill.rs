//! `fill`: short holes bridged by straight lines, and marked as such.

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use record::{Fault, Reason, Unit, print, say, words::word};

/// Fills short gaps for what needs unbroken series.
pub static STEP: Step = Step {
    id: "fill",
    stage: Stage::Spectrum,
    title: "Fill short gaps",
    params: &[Param::number(
        "longest_min",
        "Longest gap filled",
        Unit::None,
        (0.001, 1440.0, 5.0),
        30.0,
        "In minutes. Longer gaps stay open.",
    )],
    sentence: |_| "Fill gaps of up to {longest_min} minutes with straight lines, and mark what was filled.",
    why: Why {
        what: "Holes up to the stated length, where samples are missing or were marked, are bridged \
               from neighbour to neighbour; every filled sample carries a mark.",
        why: "Filters and spectra need an even series without holes, and a few bridged samples do \
              no harm to periods much longer than the hole.",
        wrong: "A straight line is smoother than nature: fill too much and the spectrum loses power \
                at short periods that was there.",
        picture: "A short hole in a row of dots is bridged with hollow ones; a long one stays \
                  open.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let found = clean::fill::fill(&state.record, context.number("longest_min") * 60.0)?;
    let mut next = state.clone();
    next.record = found.record;
    let n = next.record.len();
    let filled = next.record.marks().count(Reason::Filled);
    let remark = say!(
        "Filled {} of {} ({}); {} stay missing, in gaps of up to {}.",
        print::count(filled),
        print::counted(n, "sample", "samples"),
        print::percent(filled, n),
        print::count(found.still_missing),
        print::duration(found.longest_left_s),
    );
    let after = next.record.clone();
    let outcome = Outcome::new(next, remark).number("filled", filled as f64, Unit::None).number(
        "still_missing",
        found.still_missing as f64,
        Unit::None,
    );
    let caption = word("The record on an even grid; filled samples are marked.");
    Ok(plates::with_series(outcome, &after, None, "series", "Filled", caption))
}
