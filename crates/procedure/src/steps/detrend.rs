//! `detrend`: the mean, a line or a curve taken off.

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use record::{
    Channel, Fault, Role, Unit, print, say,
    words::{word, worded},
};
use signal::detrend::{Detrend, polynomial, remove};

/// Takes slow change off the record.
pub static STEP: Step = Step {
    id: "detrend",
    stage: Stage::Spectrum,
    title: "Detrend",
    params: &[
        Param::choice(
            "what",
            "Taken off",
            &[("mean", "the mean"), ("line", "a straight line"), ("curve", "a polynomial")],
            "line",
            "A line also takes off steady drift, a polynomial slow bending.",
        ),
        Param::whole(
            "degree",
            "Degree",
            (2.0, 12.0, 1.0),
            false,
            3.0,
            "2 to 12; the higher, the shorter the periods it takes off too.",
        ),
    ],
    sentence: |context| match context.text("what") {
        "curve" => "Take {what} of degree {degree} off each channel.",
        _ => "Take {what} off each channel.",
    },
    why: Why {
        what: "The mean, or the straight line or curve that fits best, is subtracted from each channel.",
        why: "What you look for in a spectrum is change, and a large mean or a drift leaks into \
              all low frequencies.",
        wrong: "Over a record of few days a line also takes off part of the daily variation or of a \
                storm's slow recovery.",
        picture: "A trace that wanders about a sloping line becomes one about a level line.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let curved = context.text("what") == "curve";
    let how = if context.text("what") == "mean" { Detrend::Mean } else { Detrend::Line };
    let record = &state.record;
    let step_s = record.cadence().step_ns as f64 * 1e-9;
    let mut next = record.clone();
    let mut steepest: Option<(String, f64, Unit)> = None;
    for channel in record.channels().iter().filter(|c| !is_angle(c)) {
        let marks = record.marks();
        let kept: Vec<f64> = channel
            .values
            .iter()
            .enumerate()
            .map(|(k, v)| if marks.keeps(k) { *v } else { f64::NAN })
            .collect();
        let (mut values, fitted) = remove(&kept, how);
        if curved {
            values = polynomial(&kept, context.whole("degree"))?.0;
        }
        let slope = if step_s > 0.0 { fitted.slope_per_sample / step_s * 86_400.0 } else { 0.0 };
        if steepest.as_ref().is_none_or(|(_, s, _)| slope.abs() > s.abs())
            && channel.unit == record.channels()[0].unit
        {
            steepest = Some((channel.name.clone(), slope, channel.unit));
        }
        next = next
            .with_channel(channel.with_values(channel.unit, values))
            .map_err(super::internal)?;
    }
    let remark = match (how, &steepest) {
        _ if curved => worded("Each channel now bends about zero."),
        (Detrend::Line, Some((name, slope, unit))) => say!(
            "The steepest line was that of {name}: {} per day.",
            print::with_unit(&print::significant(*slope, 2), *unit)
        ),
        _ => worded("The mean of each channel is now zero."),
    };
    let (slope, unit) = steepest.map_or((0.0, Unit::None), |(_, s, u)| (s, u));
    let mut after = state.clone();
    after.record = next.clone();
    let outcome = Outcome::new(after, remark).number("slope_per_day", slope, unit);
    let caption = word("The record with slow change taken off.");
    Ok(plates::with_series(outcome, &next, None, "series", "Detrended", caption))
}

// An angle that runs through 360° has no line.
fn is_angle(channel: &Channel) -> bool {
    channel.role == Role::Other && channel.unit == Unit::Degree
}
