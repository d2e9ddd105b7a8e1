//! `filter`: zero-phase Butterworth low, high or band pass.

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use record::gaps::runs;
use record::{Channel, Fault, NANOS_PER_SECOND, Reason, Record, Role, Unit, print};
use signal::butterworth::{self, Band, Section};

/// Keeps some periods and takes off others.
pub static STEP: Step = Step {
    id: "filter",
    stage: Stage::Spectrum,
    title: "Filter",
    params: &[
        Param::choice(
            "kind",
            "Kind of filter",
            &[("low", "longer than"), ("high", "shorter than"), ("band", "between")],
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
            (1.0, 10.0, 1.0),
            false,
            4.0,
            "Higher is steeper and rings more.",
        ),
    ],
    sentence: |context| {
        if context.text("kind") == "band" {
            "Keep periods {kind} {period_min} and {longest_min} minutes with a Butterworth filter of \
             order {order}, run forward and backward."
        } else {
            "Keep periods {kind} {period_min} minutes with a Butterworth filter of order {order}, run \
             forward and backward."
        }
    },
    why: Why {
        what: "A Butterworth filter is run once forward and once backward, so that nothing is \
               shifted in time; its half-power point after both passes lies at the period you asked for.",
        why: "Separating slow change from fast makes each of them visible.",
        wrong: "Running backward smears a sudden start into the time before it, so never read the \
                moment of a storm's onset from a filtered record.",
    },
    run,
    repeatable: true,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let step_ns = record.cadence().step_ns;
    if step_ns <= 0 {
        return Err(Fault::new(
            "filter/no-step",
            "The record has fewer than two times, so it has no sampling rate.",
            "Look at the reading report.",
        ));
    }
    let rate_hz = NANOS_PER_SECOND as f64 / step_ns as f64;
    let order = context.whole("order");
    let sections = butterworth::design(order, band(context, order)?, rate_hz)?;
    let (next, counts) = filtered(record, &sections, step_ns)?;
    let mut remark =
        format!("Filtered {}", print::counted(counts.runs, "unbroken run", "unbroken runs"));
    if counts.too_short > 0 {
        remark.push_str(&format!(
            "; {} in runs too short for the filter are left out",
            print::counted(counts.too_short, "sample", "samples")
        ));
    }
    remark.push_str(&format!(
        "; {} near ends and gaps are marked as not to be trusted.",
        print::counted(counts.edge, "sample", "samples")
    ));
    if counts.runs == 0 {
        return Err(Fault::new(
            "filter/too-short",
            "No unbroken run of the record is long enough for this filter.",
            "Fill short gaps first, choose a shorter period, or a lower order.",
        ));
    }
    let mut after = state.clone();
    after.record = next.clone();
    let outcome = Outcome::new(after, remark)
        .number("marked", counts.edge as f64, Unit::None)
        .number("left_out", counts.too_short as f64, Unit::None);
    let caption = "The record before (faint) and after the filter; samples near ends are marked.";
    Ok(plates::with_series(outcome, &next, Some(record), "series", "Filtered", caption))
}

fn band(context: &Context<'_>, order: usize) -> Result<Band, Fault> {
    let factor = butterworth::zero_phase_cutoff_factor(order);
    let hz = |minutes: f64| 1.0 / (minutes * 60.0);
    let (short, long) = (context.number("period_min"), context.number("longest_min"));
    match context.text("kind") {
        "high" => Ok(Band::High(hz(short) / factor)),
        "band" if short >= long => Err(Fault::new(
            "filter/periods",
            format!(
                "The shorter period ({} min) is not shorter than the longer one ({} min).",
                print::trimmed(short, 6),
                print::trimmed(long, 6)
            ),
            "Change one of the two.",
        )),
        "band" => Ok(Band::Pass(hz(long) / factor, hz(short) * factor)),
        _ => Ok(Band::Low(hz(short) * factor)),
    }
}

#[derive(Default)]
struct Counts {
    runs: usize,
    too_short: usize,
    edge: usize,
}

fn filtered(
    record: &Record,
    sections: &[Section],
    step_ns: i64,
) -> Result<(Record, Counts), Fault> {
    let marks = record.marks();
    let settle = butterworth::settle_samples(sections);
    let mut edge = vec![false; record.len()];
    let mut counts = Counts::default();
    let mut next = record.clone();
    let main: Vec<&Channel> = record.channels().iter().filter(|c| filterable(c)).collect();
    for (place, channel) in main.iter().enumerate() {
        let values = &channel.values;
        let mut out = vec![f64::NAN; values.len()];
        for run in runs(record.times_ns(), step_ns, |k| marks.keeps(k) && values[k].is_finite()) {
            let (start, end) = (run.start, run.end);
            match butterworth::zero_phase(sections, &values[run]) {
                Ok(smooth) => {
                    out[start..end].copy_from_slice(&smooth);
                    counts.runs += usize::from(place == 0);
                    let reach = settle.min((end - start).div_ceil(2));
                    edge[start..start + reach].fill(true);
                    edge[end - reach..end].fill(true);
                }
                Err(_) => counts.too_short += if place == 0 { end - start } else { 0 },
            }
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
