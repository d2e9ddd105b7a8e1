//! `clock`: a logger's clock that was off or ran fast.

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use clean::clock::{Correction, correct};
use record::{
    Fault, Unit, print, say,
    words::{word, worded},
};

/// Corrects the times.
pub static STEP: Step = Step {
    id: "clock",
    stage: Stage::Clean,
    title: "Clock",
    params: &[
        Param::number(
            "offset",
            "Added to times",
            Unit::Second,
            (-1e9, 1e9, 1.0),
            0.0,
            "Negative when the clock was ahead. An hour is 3600 s.",
        ),
        Param::number(
            "drift",
            "Clock runs fast",
            Unit::None,
            (-100_000.0, 100_000.0, 1.0),
            0.0,
            "In parts per million; one second a day is 11.6.",
        ),
    ],
    sentence: |_| "Add {offset} to every time, for a clock that runs fast by {drift} parts per million.",
    why: Why {
        what: "Every time is shifted by the offset, and stretched about the first sample for a clock \
               that ran too fast or too slow.",
        why: "A clock an hour off moves noon by fifteen degrees of longitude, and a drift of a few \
              seconds a day spoils the comparison with an observatory.",
        wrong: "The correction is only as good as the note of when the clock was compared with true \
                time, so write that down at both ends of a log.",
        picture: "The hand of a clock is set back, and slanting lines lead from its ticks to \
                  those of true time.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let correction = Correction {
        offset_s: context.number("offset"),
        drift_ppm: context.number("drift"),
        reference: None,
    };
    let found = correct(&state.record, &correction)?;
    let mut next = state.clone();
    next.record = found.record;
    let remark = if found.marked == 0 {
        worded("No time changed.")
    } else {
        say!(
            "Moved {}: the first by {}, the last by {}.",
            print::counted(found.marked, "sample", "samples"),
            print::duration(found.first_s),
            print::duration(found.last_s)
        )
    };
    let after = next.record.clone();
    let outcome = Outcome::new(next, remark)
        .number("marked", found.marked as f64, Unit::None)
        .number("largest", found.largest.unwrap_or(0.0), Unit::Second);
    let caption = word("The record at corrected times.");
    Ok(plates::with_series(outcome, &after, None, "series", "Corrected", caption))
}
