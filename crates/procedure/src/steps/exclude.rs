//! `exclude`: a span of time left out by hand.

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use record::{Fault, Reason, Unit, print, say, words::word};

/// Marks a span that the student does not trust.
pub static STEP: Step = Step {
    id: "exclude",
    stage: Stage::Clean,
    title: "Leave out a span",
    params: &[
        Param::span("span", "Span left out", "Drag it on the figure, or type it."),
        Param::text("reason", "Reason", "it was disturbed", "Goes into the methods."),
    ],
    sentence: |_| "Leave out {span}, because {reason}.",
    why: Why {
        what: "Samples in the span are marked and take no part in anything after this step.",
        why: "A van parked beside the sensor or a cable being moved is no geophysics, and you \
              know about it when no rule can.",
        wrong: "Leaving out what does not suit a hypothesis is the oldest way to fool oneself, so \
                the reason stands in the methods for all to read.",
        picture: "A stretch of the trace that sags while a van stands by is fenced off by two \
                  lines.",
    },
    run,
    repeatable: true,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let Some((start, end)) = context.span("span") else {
        return Ok(Outcome::new(
            state.clone(),
            word("No span chosen yet, so nothing was left out."),
        )
        .number("marked", 0.0, Unit::None)
        .number("largest", 0.0, Unit::Second));
    };
    let places = state.record.places_between(start, end);
    let which: Vec<bool> = (0..state.record.len()).map(|k| places.contains(&k)).collect();
    let mut marks = state.record.marks().clone();
    marks.add(Reason::Excluded, &which);
    let mut next = state.clone();
    next.record = state.record.marked(marks).map_err(super::internal)?;
    let n = next.record.len();
    let remark = say!(
        "Left out {} of {} ({}).",
        print::count(places.len()),
        print::counted(n, "sample", "samples"),
        print::percent(places.len(), n)
    );
    let record = next.record.clone();
    let outcome = Outcome::new(next, remark)
        .number("marked", places.len() as f64, Unit::None)
        .number("largest", (end.0 - start.0) as f64 * 1e-9, Unit::Second);
    let caption = word("The record with the span left out marked.");
    Ok(plates::with_series(outcome, &record, None, "series", word("Left out"), caption))
}
