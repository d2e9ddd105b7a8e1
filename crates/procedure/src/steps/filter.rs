//! `filter`: keeps some periods and takes off others.
//!
//! Butterworth, tapered sinc, running mean and running median; what each does
//! to a wave is worked out and drawn beside the data.

mod kernel;
mod telling;

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use kernel::Kernel;
use record::gaps::runs;
use record::{Channel, Fault, Reason, Record, Role, Unit, Warning, print, say, words::word};

/// Keeps some periods and takes off others.
pub static STEP: Step = Step {
    id: "filter",
    stage: Stage::Spectrum,
    title: "Filter",
    params: &[
        Param::choice(
            "method",
            "Filter",
            &[
                ("butterworth", "a Butterworth filter"),
                ("kaiser", "a tapered sinc"),
                ("mean", "a running mean"),
                ("median", "a running median"),
            ],
            "butterworth",
            "Butterworth suits nearly everything; a tapered sinc is flat where it keeps, and cuts at \
             half the amplitude; a mean is simple and leaky; a median keeps steps.",
        ),
        Param::choice(
            "kind",
            "Kind of filter",
            &[
                ("low", "longer than"),
                ("high", "shorter than"),
                ("band", "between"),
                ("stop", "outside"),
            ],
            "low",
            "Longer periods are slow change, shorter ones are fast.",
        ),
        Param::number(
            "period_min",
            "Period",
            Unit::None,
            (1e-4, 1e6, 10.0),
            120.0,
            "In minutes; longer than two samples, shorter than the record.",
        ),
        Param::number(
            "longest_min",
            "Longest period",
            Unit::None,
            (1e-4, 1e6, 60.0),
            1440.0,
            "In minutes; longer than the other one.",
        ),
        Param::whole(
            "order",
            "Filter order",
            (1.0, 40.0, 1.0),
            false,
            4.0,
            "1 to 40; higher is steeper and rings more: 2 to 8 serve almost every purpose.",
        ),
        Param::choice(
            "passes",
            "Direction",
            &[("both", "forward and backward"), ("forward", "forward only")],
            "both",
            "Both ways shifts nothing in time but knows the future; forward only comes out late.",
        ),
        Param::number(
            "transition",
            "Transition",
            Unit::Percent,
            (2.0, 100.0, 5.0),
            50.0,
            "From keeping to stopping, as a share of the lowest cut-off frequency; narrower needs \
             longer unbroken runs.",
        ),
        Param::number(
            "attenuation_db",
            "Attenuation",
            Unit::None,
            (21.0, 120.0, 10.0),
            60.0,
            "In decibels: 60 leaves a thousandth of the amplitude.",
        ),
        Param::number(
            "length_min",
            "Window length",
            Unit::None,
            (1e-4, 1e6, 10.0),
            60.0,
            "In minutes; three samples or more, shorter than the unbroken runs.",
        ),
        Param::choice(
            "part",
            "Part kept",
            &[("smooth", "what is smooth"), ("rest", "what it takes away")],
            "smooth",
            "The two add up to the record.",
        ),
    ],
    sentence,
    why: Why {
        what: "A filter lets waves of some periods through and holds others back; how much of each, the \
               curve beside the data says.",
        why: "Separating slow change from fast makes each of them visible.",
        wrong: "Run backward too, it smears a sudden start into the time before it, so never read the \
                moment of a storm's onset from a filtered record.",
        picture: "One trace is parted into its slow wave and its fast ripple.",
    },
    run,
    repeatable: true,
    removable: true,
};

fn sentence(context: &Context<'_>) -> &'static str {
    let banded = matches!(context.text("kind"), "band" | "stop");
    match (context.text("method"), banded) {
        ("mean" | "median", _) => word("Run {method} over {length_min} minutes, and keep {part}."),
        ("kaiser", false) => word(
            "Keep periods {kind} {period_min} minutes with {method} that passes over within {transition} \
             of the cut-off and holds back {attenuation_db} dB.",
        ),
        ("kaiser", true) => word(
            "Keep periods {kind} {period_min} and {longest_min} minutes with {method} that passes over \
             within {transition} of the lower cut-off and holds back {attenuation_db} dB.",
        ),
        (_, false) => word(
            "Keep periods {kind} {period_min} minutes with {method} of order {order}, run {passes}.",
        ),
        (_, true) => word(
            "Keep periods {kind} {period_min} and {longest_min} minutes with {method} of order {order}, \
             run {passes}.",
        ),
    }
}

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let rate_hz = super::even::rate_hz(record)?;
    let kernel = kernel::chosen(context, rate_hz)?;
    let (next, counts) = filtered(record, &kernel, context.tell)?;
    if counts.runs == 0 {
        return Err(Fault::new(
            "filter/too-short",
            "No unbroken run of the record is long enough for this filter.",
            "Fill short gaps first, choose a shorter period, or a lower order.",
        ));
    }
    let told = telling::of(context, &kernel, rate_hz);
    let kept = record.marks().kept();
    let mut after = state.clone();
    after.record = next.clone();
    let outcome = Outcome::new(after, telling::remark(&counts, &told))
        .number("marked", counts.edge as f64, Unit::None)
        .number("left_out", counts.too_short as f64, Unit::None);
    let outcome = mostly_edge(told.reported(outcome), counts.edge, kept);
    let outcome = plates::with_before_after(outcome, record, &next, rate_hz);
    let caption = word(
        "The record before (faint) and after the filter; samples near ends and gaps are marked \
                   and shaded.",
    );
    let outcome = plates::with_series(outcome, &next, Some(record), "series", "Filtered", caption);
    Ok(telling::with_response(outcome, &kernel, &told, rate_hz))
}

fn mostly_edge(outcome: Outcome, edge: usize, kept: usize) -> Outcome {
    if 2 * edge <= kept {
        return outcome;
    }
    outcome.warn(Warning::new(
        "filter/mostly-edge",
        say!(
            "{} of the samples lie so near to an end or a gap that the filter is still settling there.",
            print::percent(edge, kept)
        ),
        "Choose a shorter period or a lower order, fill short gaps first, or log longer.",
    ))
}

/// What became of the samples.
#[derive(Default)]
struct Counts {
    runs: usize,
    too_short: usize,
    edge: usize,
}

fn filtered(
    record: &Record,
    kernel: &Kernel,
    tell: &dyn Fn(f64),
) -> Result<(Record, Counts), Fault> {
    let marks = record.marks();
    let step_ns = record.cadence().step_ns;
    let (before, behind) = kernel.reach();
    let mut edge = vec![false; record.len()];
    let mut counts = Counts::default();
    let mut next = record.clone();
    let main: Vec<&Channel> = record.channels().iter().filter(|c| filterable(c)).collect();
    for (place, channel) in main.iter().enumerate() {
        let values = &channel.values;
        let mut out = vec![f64::NAN; values.len()];
        for run in runs(record.times_ns(), step_ns, |k| marks.keeps(k) && values[k].is_finite()) {
            let (start, end) = (run.start, run.end);
            let share = |done: f64| {
                let samples = start as f64 + done * (end - start) as f64;
                tell((place as f64 + samples / values.len() as f64) / main.len() as f64);
            };
            share(0.0);
            let Some(made) = kernel.apply(&values[run], &mut { share }) else {
                counts.too_short += if place == 0 { end - start } else { 0 };
                continue;
            };
            out[start..end].copy_from_slice(&made);
            counts.runs += usize::from(place == 0);
            edge[start..(start + before).min(end)].fill(true);
            edge[end.saturating_sub(behind).max(start)..end].fill(true);
        }
        next =
            next.with_channel(channel.with_values(channel.unit, out)).map_err(super::internal)?;
    }
    let mut marked = marks.clone();
    counts.edge = marked.add(Reason::Edge, &edge);
    Ok((next.marked(marked).map_err(super::internal)?, counts))
}

// Angles that run through 360° and text-like channels are left as they are.
fn filterable(channel: &Channel) -> bool {
    !(channel.role == Role::Other && channel.unit == Unit::Degree)
}
