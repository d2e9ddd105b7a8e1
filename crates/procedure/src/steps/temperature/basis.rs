//! What is regressed on the temperature, so that the Sun's daily variation,
//! which comes round with it, is not taken for it.

use crate::outcome::{Reference, State};
use crate::step::Context;
use crate::steps::match_reference::observatory;
use record::{Fault, Record, Warning, say, words::word};

/// What stands beside the temperature, and what is said of it.
pub(super) struct Basis {
    /// Whether field and temperature are taken about their mean day.
    pub mean_day: bool,
    /// The reference's three components at the log's times, or none.
    pub beside: Vec<Vec<f64>>,
    /// Beginning of the remark.
    pub words: String,
    /// Where the daily variation may have been taken for temperature.
    pub warning: Option<Warning>,
}

/// Fewer days than this make no mean day.
const FEWEST_DAYS: f64 = 3.0;
/// Fewer samples than this beside a reference are no overlap.
const FEWEST: usize = 1_000;

/// The basis asked for or, where the procedure leaves it open, the safest one
/// that the log allows.
pub(super) fn chosen(context: &Context<'_>, state: &State) -> Result<Basis, Fault> {
    let asked = context.text("basis");
    let days = days(&state.record);
    let reference = match asked {
        "reference" => Some(state.reference.as_deref().ok_or_else(no_reference)?),
        "safe" => state.reference.as_deref(),
        _ => None,
    };
    if let Some(reference) = reference {
        let beside = beside(&state.record, reference);
        let overlap = beside.first().map_or(0, |x| x.iter().filter(|v| v.is_finite()).count());
        if overlap >= FEWEST {
            let words = say!("Beside what {} shows: ", reference.name);
            return Ok(Basis { mean_day: false, beside, words, warning: None });
        }
        if asked == "reference" {
            return Err(no_overlap(reference));
        }
    }
    let mean_day = asked == "mean-day" || asked == "safe" && days >= FEWEST_DAYS;
    if mean_day && days < FEWEST_DAYS {
        return Err(too_short());
    }
    let words = if mean_day { word("About the mean day: ") } else { "" };
    let warning = (!mean_day).then(shares_the_day);
    Ok(Basis { mean_day, beside: Vec::new(), words: words.to_owned(), warning })
}

fn days(record: &Record) -> f64 {
    let times = record.times_ns();
    let ends = times.first().zip(times.last());
    ends.map_or(0.0, |(first, last)| (last - first) as f64 / 86_400e9)
}

fn shares_the_day() -> Warning {
    Warning::new(
        "temperature/shares-the-day",
        "Temperature and the Sun's daily variation share a period: part of the one is taken for \
         the other.",
        "Open an observatory's record of the same days, log for three days or more and take each \
         component about its mean day, or try the night hours.",
    )
}

fn no_reference() -> Fault {
    Fault::new(
        "temperature/no-reference",
        "No reference has been opened.",
        "Drop an observatory's record of the same days here too, or take each component about its \
         mean day.",
    )
}

fn no_overlap(reference: &Reference) -> Fault {
    Fault::new(
        "temperature/no-overlap",
        say!("{} has too few vectors at the times of the log.", reference.name),
        "Open a record of the same days with three components, or take each component about its \
         mean day.",
    )
}

fn too_short() -> Fault {
    Fault::new(
        "temperature/no-mean-day",
        "The log is shorter than three days; one or two days have no mean that could be told from \
         themselves.",
        "Log for longer, or regress each component as it is in the night hours.",
    )
}

/// North, east and down of the reference at the log's times; none where its
/// elements fix no vector.
fn beside(record: &Record, reference: &Reference) -> Vec<Vec<f64>> {
    let Some(lists) = observatory::vector(&reference.record) else { return Vec::new() };
    lists.iter().map(|list| at_times(&reference.record, list, record.times_ns())).collect()
}

/// Values between samples run straight, across no more than three steps.
fn at_times(record: &Record, values: &[f64], times_ns: &[i64]) -> Vec<f64> {
    let (times, widest) = (record.times_ns(), 3 * record.cadence().step_ns);
    let mut next = 0;
    let mut at = |t: &i64| {
        // Times of a log that steps back are found anew.
        if next > 0 && times[next - 1] > *t {
            next = times.partition_point(|other| other < t);
        }
        while next < times.len() && times[next] < *t {
            next += 1;
        }
        match (times.get(next), next.checked_sub(1)) {
            (Some(time), _) if time == t => values[next],
            (Some(time), Some(before)) if time - times[before] <= widest => {
                let share = (t - times[before]) as f64 / (time - times[before]) as f64;
                values[before] * (1.0 - share) + values[next] * share
            }
            _ => f64::NAN,
        }
    };
    times_ns.iter().map(&mut at).collect()
}
