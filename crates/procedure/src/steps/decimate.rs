//! `decimate`: fewer samples, without fast waves coming back as slow ones.

use super::even;
use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use record::{
    Channel, Fault, NANOS_PER_SECOND, Reason, Record, Role, Unit, print, say, words::word,
};
use signal::fir::{self, decimate};
use signal::minute::{minute_values, weights};
use signal::response::decibels;

/// Thins a record out.
pub static STEP: Step = Step {
    id: "decimate",
    stage: Stage::Spectrum,
    title: "Thin out",
    params: &[
        Param::choice(
            "how",
            "Thinned to",
            &[("minute", "minutes by the observatories' Gaussian"), ("factor", "one sample in")],
            "factor",
            "The Gaussian takes readings every 1, 5 or 10 s and is 90 s wide.",
        ),
        Param::whole(
            "factor",
            "Factor",
            (2.0, 10_000.0, 1.0),
            false,
            10.0,
            "The low-pass before it ends at half the new rate.",
        ),
    ],
    sentence: |context| {
        if context.text("how") == "minute" {
            "Thin the record out to {how}, wherever 90 % of its weight is there."
        } else {
            "Thin the record out to {how} {factor}, after a low-pass that ends at half the new rate."
        }
    },
    why: Why {
        what: "A low-pass takes off what the new, slower sampling could not show, and then only the samples \
               on the new grid are kept, each at the middle of what went into it.",
        why: "A lighter record is quicker to work with, and observatories publish minutes, so minutes made the \
              same way can be compared with theirs.",
        wrong: "Without the low-pass a fast wave, such as mains, would come back as a slow one that was \
                never there.",
        picture: "Few samples of a fast wave draw a slow one that is false; smoothed first, few \
                  samples stay true.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let rate_hz = even::rate_hz(record)?;
    let step_ns = record.cadence().step_ns;
    let minute = context.text("how") == "minute";
    let factor = if minute {
        (60 * NANOS_PER_SECOND / step_ns).max(1) as usize
    } else {
        context.whole("factor")
    };
    let taps = if minute { weights(interval_s(step_ns))? } else { low_pass(factor)? };
    let next = thinned(record, minute, factor)?;
    let missing = next.marks().count(Reason::Sparse);
    let cut_hz = if minute { 1.0 / 120.0 } else { 0.45 * rate_hz / factor as f64 };
    let nyquist_hz = rate_hz / factor as f64 / 2.0;
    let gain = |f: f64| fir::response(&taps, f, rate_hz);
    let mut remark = say!(
        "{} became {}, one every {}; {} wide is the filter, and {} held too little of its weight.",
        print::counted(record.len(), "sample", "samples"),
        print::count(next.len()),
        print::duration(factor as f64 / rate_hz),
        print::duration((taps.len() - 1) as f64 / rate_hz),
        print::counted(missing, "sample", "samples")
    );
    let tell = say!(
        " A wave of {} comes through at {} dB, one of {}, the shortest that the new samples can show, at \
         {} dB.",
        print::duration(1.0 / cut_hz),
        print::fixed(decibels(gain(cut_hz)), 2),
        print::duration(1.0 / nyquist_hz),
        print::fixed(decibels(gain(nyquist_hz)), 1)
    );
    remark.push_str(&tell);
    let mut after = state.clone();
    after.record = next.clone();
    after.before = next.clone();
    let outcome = Outcome::new(after, remark)
        .number("marked", missing as f64, Unit::None)
        .number("samples", next.len() as f64, Unit::None)
        .number("weights", taps.len() as f64, Unit::None)
        .number("gain_at_cutoff_db", decibels(gain(cut_hz)), Unit::None);
    let caption = word("The record after it was thinned out.");
    let outcome = plates::with_series(outcome, &next, None, "series", word("Thinned out"), caption);
    let span = (cut_hz / 30.0, rate_hz / 2.0);
    Ok(plates::with_response(outcome, |f| Some(gain(f)), span, &[cut_hz, nyquist_hz], tell))
}

fn interval_s(step_ns: i64) -> u32 {
    let seconds = (step_ns as f64 / NANOS_PER_SECOND as f64).round();
    let exact = (seconds * NANOS_PER_SECOND as f64 - step_ns as f64).abs() < 0.01 * step_ns as f64;
    if exact { seconds.clamp(0.0, 1e6) as u32 } else { 0 }
}

// The weights that `decimate` uses, to draw them.
fn low_pass(factor: usize) -> Result<Vec<f64>, Fault> {
    let new = 1.0 / factor as f64;
    Ok(fir::taps(fir::Shape::Low(0.45 * new), 0.1 * new, 80.0, 1.0)?)
}

fn thinned(record: &Record, minute: bool, factor: usize) -> Result<Record, Fault> {
    let step_ns = record.cadence().step_ns;
    let start_ns = record.start().map_or(0, |s| s.0);
    let minute_ns = 60 * NANOS_PER_SECOND;
    let first_ns = if minute { start_ns.div_euclid(minute_ns) * minute_ns } else { start_ns };
    let mut channels: Vec<Channel> = Vec::new();
    for channel in record.channels() {
        let grid = even::grid_from(record, channel, first_ns, step_ns).values;
        let values = if channel.role == Role::Other && channel.unit == Unit::Degree {
            // An angle that runs through 360° has no weighted mean.
            grid.iter().step_by(factor).copied().collect()
        } else if minute {
            minute_values(&grid, interval_s(step_ns), 0)?
        } else {
            decimate(&grid, factor)?.values
        };
        channels.push(channel.with_values(channel.unit, values));
    }
    let n = channels.first().map_or(0, |c| c.values.len());
    let times = (0..n as i64).map(|k| first_ns + k * factor as i64 * step_ns).collect();
    let next = Record::new(times, channels).map_err(super::internal)?;
    let mut marks = next.marks().clone();
    marks.add(Reason::Sparse, &empty_rows(&next));
    next.marked(marks).map_err(super::internal)
}

// Rows in which a component of the field, or every channel, is missing.
fn empty_rows(record: &Record) -> Vec<bool> {
    let missing = |channel: &Channel, k: usize| channel.values[k].is_nan();
    let row = |k: usize| match record.vector() {
        Some(axes) => axes.iter().any(|axis| missing(axis, k)),
        None => record.channels().iter().all(|c| missing(c, k)),
    };
    (0..record.len()).map(row).collect()
}
