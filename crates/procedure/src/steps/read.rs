//! `read`: the log as it was read.

use crate::export;
use crate::inputs::Use;
use crate::outcome::{Outcome, State};
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use record::{Fault, Unit, print};

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
    let mut remark = format!(
        "{} of {}; channels {}",
        input.facts(),
        report.name,
        if names.is_empty() { "none".to_owned() } else { names.join(", ") },
    );
    if report.rows_rejected > 0 {
        remark.push_str(&format!(
            "; {} could not be read",
            print::counted(report.rows_rejected, "row", "rows")
        ));
    }
    remark.push('.');
    let mut outcome = Outcome::new(state.clone(), remark)
        .number("rows_read", report.rows_read as f64, Unit::None)
        .number("rows_rejected", report.rows_rejected as f64, Unit::None)
        .number("cadence_s", report.time.cadence_s, Unit::Second);
    outcome.warnings.clone_from(&report.warnings);
    let labels = ["Times", "Gaps and repeats"];
    for (label, line) in labels.into_iter().zip(export::reading_prose(report).into_iter().skip(1)) {
        outcome = outcome.line("times", label, line);
    }
    let caption = format!("The log {} as it was read. {}.", report.name, input.facts());
    Ok(plates::with_series(outcome, record, None, "series", "The log as read", &caption))
}

fn unit_in_brackets(unit: Unit) -> String {
    if unit == Unit::None { String::new() } else { format!(" ({})", unit.symbol()) }
}
