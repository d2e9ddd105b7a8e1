//! `read`: the log as it was read.

use crate::export;
use crate::inputs::{Input, Inputs, Use};
use crate::outcome::{Outcome, State};
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use intake::Report;
use record::{Fault, Instant, Record, Unit, Warning, print, say, words::word, words::worded};

/// Says what was read, with the record as it stands in the file.
pub static STEP: Step = Step {
    id: "read",
    stage: Stage::Log,
    title: "Read the log",
    params: &[],
    sentence: |_| "Read the log as it stands.",
    why: Why {
        what: "The file is turned into one time axis with named channels beside it; every \
               decision taken on the way is listed in the reading report.",
        why: "A result can only be defended if anyone can see which rows, columns, units and \
              times it was made from.",
        wrong: "A column taken for another one, a day read as a month or microtesla taken for \
                nanotesla spoils everything after it, so check the report first.",
        picture: "Rows of text, one of them struck out, become three traces over one axis of \
                  time.",
    },
    run,
    repeatable: false,
    removable: false,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let input = context.inputs.used(Use::Log).ok_or_else(|| {
        Fault::new(
            "read/no-log",
            "No log has been opened.",
            "Drop one on the page, or try the demo.",
        )
    })?;
    let report = &input.reading.report;
    let record = &state.record;
    let names: Vec<String> = record
        .channels()
        .iter()
        .map(|c| print::with_unit(&c.name, Unit::None) + &unit_in_brackets(c.unit))
        .collect();
    let parts = context.inputs.parts(Use::Log);
    let sum = |rows: fn(&Report) -> usize| -> usize {
        parts.iter().map(|part| rows(&part.reading.report)).sum()
    };
    let (read, rejected) = (sum(|r| r.rows_read), sum(|r| r.rows_rejected));
    let files: Vec<&str> = parts.iter().map(|part| part.name()).collect();
    let facts = facts_of(record, input);
    let mut remark = say!(
        "{facts} of {}; channels {}",
        files.join(", "),
        if names.is_empty() { worded("none") } else { names.join(", ") },
    );
    if rejected > 0 {
        let rows = print::counted(rejected, "row", "rows");
        remark.push_str(&say!("; {rows} could not be read"));
    }
    remark.push('.');
    let mut outcome = Outcome::new(state.clone(), remark)
        .number("rows_read", read as f64, Unit::None)
        .number("rows_rejected", rejected as f64, Unit::None)
        .number("cadence_s", report.time.cadence_s, Unit::Second);
    outcome.warnings = parts.iter().flat_map(|part| part.reading.report.warnings.clone()).collect();
    outcome.warnings.extend(context.inputs.idle());
    outcome.warnings.extend(overlaps(context.inputs, &files));
    let labels = ["Times", word("Gaps and repeats")];
    for (label, line) in labels.into_iter().zip(export::reading_prose(report).into_iter().skip(1)) {
        outcome = outcome.line("times", label, line);
    }
    let caption = match files.as_slice() {
        [one] => say!("The log {one} as it was read. {facts}."),
        several => say!("The logs {}, joined in order of time. {facts}.", several.join(", ")),
    };
    Ok(plates::with_series(outcome, record, None, "series", word("The log as read"), &caption))
}

// Of one file its own facts; of several those of the record they make.
fn facts_of(record: &Record, input: &Input) -> String {
    match (record.len() == input.reading.record.len(), record.start(), record.end()) {
        (false, Some(start), Some(end)) => {
            let samples = print::counted(record.len(), "sample", "samples");
            format!("{samples}, {}", print::span(start, end))
        }
        _ => input.facts(),
    }
}

// Stretches that two files have in common, each with what becomes of it.
fn overlaps(inputs: &Inputs, files: &[&str]) -> Vec<Warning> {
    let found = inputs.joined(Use::Log).map(|joined| joined.overlaps).unwrap_or_default();
    found
        .into_iter()
        .map(|overlap| {
            let name = |place: usize| files.get(place).copied().unwrap_or("");
            let span = print::span(Instant(overlap.span_ns.0), Instant(overlap.span_ns.1));
            Warning::new(
                "read/overlap",
                say!(
                    "{} and {} overlap over {span}: {} stand there, of both files.",
                    name(overlap.records.0),
                    name(overlap.records.1),
                    print::counted(overlap.samples, "sample", "samples"),
                ),
                "The step Order marks the second of each pair of rows with one time. If one \
                 file is a copy of the other, close it.",
            )
        })
        .collect()
}

fn unit_in_brackets(unit: Unit) -> String {
    if unit == Unit::None { String::new() } else { format!(" ({})", unit.symbol()) }
}
