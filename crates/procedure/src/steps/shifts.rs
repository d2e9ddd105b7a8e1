//! `shifts`: places where the level jumps and stays, listed, and mended or
//! marked only on request.

use crate::outcome::{Named, Outcome, State, Value};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use clean::shifts::{Options, Shift, mark_between, mend, shifts};
use record::{
    Channel, Fault, Reason, Unit, print, say,
    words::{word, worded},
};

/// Lists level shifts and does what is asked with them.
pub static STEP: Step = Step {
    id: "shifts",
    stage: Stage::Clean,
    title: "Level shifts",
    params: &[
        Param::number(
            "threshold",
            "Shift threshold",
            Unit::None,
            (3.0, 100.0, 1.0),
            10.0,
            "In robust deviations of what neighbouring stretches usually differ by.",
        ),
        Param::whole(
            "window",
            "Samples compared",
            (3.0, 2_000.0, 5.0),
            false,
            60.0,
            "On each side of the jump.",
        ),
        Param::number(
            "smallest",
            "Smallest shift listed",
            Unit::None,
            (0.0, 1e6, 5.0),
            0.0,
            "In the unit of the record; 0 lists all that stand out.",
        ),
        Param::choice(
            "action",
            "Done with them",
            &[
                ("list", "only list them"),
                ("mark", "leave out the stretch between a jump and the one that undoes it"),
                ("mend", "take the jumps off the samples after them"),
            ],
            "list",
            "Mending is a claim that the jump was not the Earth.",
        ),
    ],
    sentence: |_| {
        "Look for sudden jumps of the level by more than {threshold} robust deviations between the \
         {window} samples before and after, at least {smallest} large, and {action}."
    },
    why: Why {
        what: "The median of the samples after each moment is compared with the median before; a \
               sharp and lasting difference is listed with its size and uncertainty.",
        why: "A nudged sensor or a van parked next to it moves the level at once and for hours, \
              which no spike rule sees.",
        wrong: "The sudden start of a storm is a level shift too: never mend a jump during a \
                disturbed time without an observatory's record beside it.",
        picture: "The level of a trace drops at once and stays down; its later part is lifted \
                  back by the measured step.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let axes: Vec<&Channel> = match record.vector() {
        Some(axes) => axes.to_vec(),
        None => record.channels().iter().take(3).collect(),
    };
    if axes.is_empty() {
        return Err(Fault::new(
            "shifts/no-channel",
            "There is no channel with numbers to look through.",
            "Look at the reading report.",
        ));
    }
    let columns: Vec<&[f64]> = axes.iter().map(|c| c.values.as_slice()).collect();
    let names: Vec<&str> = axes.iter().map(|c| c.name.as_str()).collect();
    let options = Options {
        window: context.whole("window"),
        threshold: context.number("threshold"),
        smallest: context.number("smallest"),
    };
    let marks = record.marks();
    let found = shifts(record.times_ns(), &columns, &|k| marks.keeps(k), &options);
    let mut next = state.clone();
    match context.text("action") {
        "mend" => next.record = mend(record, &names, &found.list),
        "mark" => next.record = mark_between(record, &found.list).0,
        _ => {}
    }
    let marked = next.record.marks().count(Reason::Shift);
    let unit = axes[0].unit;
    let largest = found.largest.map_or(0.0, |(_, size, _)| size.abs());
    let after = next.record.clone();
    let mut outcome = Outcome::new(next, remark(context, &found.list, &names, unit, marked))
        .number("marked", marked as f64, Unit::None)
        .number("largest", largest, unit)
        .value(Named {
            name: "sizes",
            value: Value::Rows(found.list.iter().map(|s| s.size.clone()).collect()),
            unit,
            sigma: Some(Value::Rows(found.list.iter().map(|s| s.sigma.clone()).collect())),
        })
        .value(Named {
            name: "times",
            value: Value::Text(
                found.list.iter().map(|s| s.time.iso()).collect::<Vec<_>>().join(" "),
            ),
            unit: Unit::None,
            sigma: None,
        });
    for (k, shift) in found.list.iter().take(12).enumerate() {
        let label = format!("{} UTC", shift.time.readable());
        outcome = outcome.line(&format!("shift_{}", k + 1), &label, sizes(shift, &names, unit));
    }
    let caption = word("The record with its level shifts treated as the sentence says.");
    Ok(plates::with_series(outcome, &after, Some(record), "series", word("Level shifts"), caption))
}

fn sizes(shift: &Shift, names: &[&str], unit: Unit) -> String {
    let each = names.iter().zip(&shift.size).zip(&shift.sigma).map(|((name, size), sigma)| {
        format!("{name} {}", print::with_unit(&print::with_sigma(*size, *sigma), unit))
    });
    each.collect::<Vec<_>>().join(", ")
}

fn remark(
    context: &Context<'_>,
    list: &[Shift],
    names: &[&str],
    unit: Unit,
    marked: usize,
) -> String {
    let Some(first) = list.first() else {
        return worded("No jump stands out.");
    };
    let mut text = say!(
        "Found {}, the first on {} UTC ({})",
        print::counted(list.len(), "jump", "jumps"),
        first.time.readable(),
        sizes(first, names, unit)
    );
    match context.text("action") {
        "mark" => {
            text.push_str(&say!("; {} left out", print::counted(marked, "sample", "samples")));
        }
        "mend" => text.push_str(word("; taken off the samples after them")),
        _ => text.push_str(word("; nothing was changed")),
    }
    text.push('.');
    text
}
