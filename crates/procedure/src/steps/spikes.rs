//! `spikes`: single samples that stand off from their neighbours (Hampel).

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use clean::spikes::{Options, spikes};
use record::{Channel, Fault, Instant, Reason, Role, Unit, print, say, words::word};

/// Marks samples far from the median of their neighbours.
pub static STEP: Step = Step {
    id: "spikes",
    stage: Stage::Clean,
    title: "Spikes",
    params: &[
        Param::number(
            "threshold",
            "Spike threshold",
            Unit::None,
            (2.0, 50.0, 0.5),
            6.0,
            "Below 3, ordinary noise is marked; above 20, real spikes stay.",
        ),
        Param::whole(
            "neighbours",
            "Neighbours compared",
            (3.0, 301.0, 2.0),
            true,
            11.0,
            "More than twice the longest spike, fewer than the fastest real change.",
        ),
    ],
    sentence: |_| {
        "Mark as spikes the samples more than {threshold} robust deviations from the median of \
         {neighbours} neighbours."
    },
    why: Why {
        what: "Each sample is compared with the median of the samples around it; the spread is \
               measured by the median absolute deviation, which a few wild values cannot move.",
        why: "A loose wire or a passing key ring makes single wild samples that would spoil \
              averages and spectra.",
        wrong: "A threshold too low, or a window longer than a real rise, marks the sudden start \
                of a magnetic storm as if it were a fault.",
        picture: "Dots wander along in a band about their median; three that stand far off are \
                  crossed out.",
    },
    run,
    repeatable: true,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let channels = checked_channels(state);
    if channels.is_empty() {
        return Err(Fault::new(
            "spikes/no-channel",
            "There is no channel with numbers to look through.",
            "Look at the reading report: a column may have been taken for text.",
        ));
    }
    let columns: Vec<&[f64]> = channels.iter().map(|c| c.values.as_slice()).collect();
    let marks = record.marks();
    let options = Options {
        threshold: context.number("threshold"),
        neighbours: context.whole("neighbours"),
        floor: None,
    };
    let found = spikes(&columns, &|k| marks.keeps(k), &options);
    let mut marks = marks.clone();
    marks.add(Reason::Spike, &found.which);
    let mut next = state.clone();
    next.record = record.marked(marks).map_err(super::internal)?;
    let n = record.len();
    let share = print::percent(found.marked, n);
    let mut remark = say!(
        "Marked {} of {} ({share})",
        print::count(found.marked),
        print::counted(n, "sample", "samples")
    );
    let mut largest = 0.0;
    let mut unit = channels[0].unit;
    if let Some((sample, off, place)) = found.largest {
        let channel = &channels[place];
        largest = off.abs();
        unit = channel.unit;
        let size = print::with_unit(&print::significant(largest, 3), unit);
        let when = Instant(record.times_ns()[sample]).readable();
        remark.push_str(&say!("; the largest stood {size} off in {}, on {when} UTC", channel.name));
    }
    remark.push('.');
    let after = next.record.clone();
    let mut outcome = Outcome::new(next, remark)
        .number("marked", found.marked as f64, Unit::None)
        .number("largest", largest, unit);
    if found.marked * 50 > n {
        outcome = outcome.warn(record::Warning::new(
            "spikes/many",
            say!("{share} of the record was marked: more than faults usually make."),
            "Raise the threshold, or widen the neighbours, and see whether real changes were marked.",
        ));
    }
    let caption = say!(
        "The record with {} marked (crosses); the samples kept are drawn strong.",
        print::counted(found.marked, "spike", "spikes")
    );
    Ok(plates::with_series(outcome, &after, None, "series", word("Spikes marked"), &caption))
}

// The field where there is one; else every channel with numbers.
fn checked_channels(state: &State) -> Vec<Channel> {
    match state.record.vector() {
        Some(axes) => axes.into_iter().cloned().collect(),
        None => {
            let mut all = state.record.channels().to_vec();
            all.retain(|c| c.role != Role::Counts && c.values.iter().any(|v| v.is_finite()));
            all
        }
    }
}
