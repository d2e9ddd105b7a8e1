//! `rate`: how fast each channel changes.

use super::even;
use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use record::gaps::runs;
use record::{
    Channel, Fault, Instant, Reason, Record, Unit, print, say,
    words::{word, worded},
};
use signal::rate::{rate_of_change, rate_response};

/// Turns channels into their rates of change.
pub static STEP: Step = Step {
    id: "rate",
    stage: Stage::Spectrum,
    title: "Rate of change",
    params: &[Param::number(
        "over_min",
        "Taken over",
        Unit::None,
        (1e-4, 1e5, 1.0),
        10.0,
        "In minutes; two samples or more. Longer is less noisy and blunter.",
    )],
    sentence: |_| "Take the rate of change of each channel over {over_min} minutes, centred.",
    why: Why {
        what: "For each sample, the value half the stated time before is taken off the value half of it after, \
               and divided by the time between.",
        why: "How fast the field changes drives currents in the ground and in wires, and a fast change is how \
              a storm's start or a passing car first shows.",
        wrong: "Differences make noise larger and slow change smaller: a rate over one or two samples is \
                mostly noise.",
        picture: "Where the trace rises, the slope between two samples is drawn; below it, the \
                  rate of change has its peak.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let rate_hz = even::rate_hz(record)?;
    let step_s = 1.0 / rate_hz;
    let half = (context.number("over_min") * 30.0 * rate_hz).round().clamp(1.0, 1e8) as usize;
    let (next, edge) = changed(record, step_s, half)?;
    let over_s = 2.0 * half as f64 * step_s;
    let fastest = fastest(&next);
    let mut remark = match &fastest {
        Some(f) => say!(
            "The fastest change is {} in {}, at {}",
            print::with_unit(&print::significant(f.rate, 3), f.unit),
            f.name,
            Instant(f.time_ns).readable()
        ),
        None => worded("No unbroken run is long enough for a rate"),
    };
    // sin(x) / x is 0.9 at x = 0.787.
    let kept = over_s * std::f64::consts::PI / 0.787;
    remark.push_str(&say!(
        "; differences are over {}, so waves shorter than {} show less than 90 % of their rate, and {} near \
         ends and gaps have none.",
        print::duration(over_s),
        print::duration(kept),
        print::counted(edge, "sample", "samples")
    ));
    let mut after = state.clone();
    after.record = next.clone();
    after.before = next.clone();
    let mut outcome = Outcome::new(after, remark)
        .number("marked", edge as f64, Unit::None)
        .number("over_s", over_s, Unit::Second)
        .number("share_at_twice", rate_response(0.5 / over_s, step_s, half), Unit::None);
    if let Some(f) = fastest {
        outcome = outcome.number("largest", f.rate, f.unit);
    }
    let caption = word("Rates of change; where a neighbour is missing there is none.");
    Ok(plates::with_series(outcome, &next, None, "series", word("Rate of change"), caption))
}

fn changed(record: &Record, step_s: f64, half: usize) -> Result<(Record, usize), Fault> {
    let marks = record.marks();
    let step_ns = record.cadence().step_ns;
    let mut edge = vec![false; record.len()];
    let mut channels = Vec::new();
    for channel in record.channels().iter().filter(|c| has_rate(c)) {
        let values = &channel.values;
        let mut out = vec![f64::NAN; values.len()];
        for run in runs(record.times_ns(), step_ns, |k| marks.keeps(k) && values[k].is_finite()) {
            let (start, end) = (run.start, run.end);
            // Per minute, as the trade gives rates of the field.
            let rates = rate_of_change(&values[run], step_s / 60.0, half);
            for (k, rate) in (start..end).zip(rates) {
                out[k] = rate;
                edge[k] |= rate.is_nan();
            }
        }
        channels.push(renamed(channel, out));
    }
    let mut marked = marks.clone();
    let edges = marked.add(Reason::Edge, &edge);
    let next = Record::with_marks(record.shared_times(), channels, marked);
    Ok((next.map_err(super::internal)?, edges))
}

// An angle that runs through 360° would jump.
fn has_rate(channel: &Channel) -> bool {
    channel.unit != Unit::Degree && channel.values.iter().any(|v| v.is_finite())
}

fn renamed(channel: &Channel, values: Vec<f64>) -> Channel {
    let (name, unit) = match channel.unit {
        Unit::Nanotesla => (format!("d{}/dt", channel.name), Unit::NanoteslaPerMinute),
        Unit::None => (format!("d{}/dt per minute", channel.name), Unit::None),
        other => (format!("d{}/dt in {}/min", channel.name, other.symbol()), Unit::None),
    };
    Channel::new(name, channel.role, unit, values)
}

struct Fastest {
    name: String,
    unit: Unit,
    rate: f64,
    time_ns: i64,
}

// Of the channels in the unit of the first.
fn fastest(record: &Record) -> Option<Fastest> {
    let unit = record.channels().first()?.unit;
    let mut best: Option<Fastest> = None;
    for channel in record.channels().iter().filter(|c| c.unit == unit) {
        for (k, rate) in channel.values.iter().enumerate().filter(|(_, v)| v.is_finite()) {
            if best.as_ref().is_none_or(|b| rate.abs() > b.rate.abs()) {
                let (name, time_ns) = (channel.name.clone(), record.times_ns()[k]);
                best = Some(Fastest { name, unit, rate: *rate, time_ns });
            }
        }
    }
    best
}
