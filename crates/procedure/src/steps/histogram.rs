//! `histogram`: how often each value was read, and whether the digitiser's
//! steps show.

use super::daily::words;
use super::even::kept;
use super::spectrum::chosen;
use crate::outcome::{Figure, Outcome, State};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use figure::plan::histogram::{Bins, histogram as plan};
use record::{
    Fault, Unit, Warning, print, say,
    words::{word, worded},
};
use signal::quantum::{Quantum, quantum};
use signal::robust::{MAD_TO_SIGMA, mad, median};
use signal::stats::{Histogram, effective_count, histogram, mean, sd};

/// Counts values.
pub static STEP: Step = Step {
    id: "histogram",
    stage: Stage::Spectrum,
    title: "Histogram",
    params: &[
        Param::channel(
            "channel",
            "Channel",
            &[("components", "the first component")],
            "components",
            "",
        ),
        Param::whole(
            "bins",
            "Bins",
            (5.0, 500.0, 5.0),
            false,
            60.0,
            "More bins show finer detail.",
        ),
    ],
    sentence: |_| "Count the values of {channel} in {bins} bins, and look for the steps of the digitiser.",
    why: Why {
        what: "The range is cut into equal bins and the kept samples in each are counted; beside them stands the \
               normal curve of the same mean and spread.",
        why: "A bell says many small causes, two humps say two states, such as a van that came and went, \
              and a comb says that the sensor's steps are coarse.",
        wrong: "Calibration, averages and filters wash the steps out, so look for them before these.",
        picture: "Bars with two humps, and the single normal curve that fits neither.",
    },
    run,
    repeatable: true,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let channel = chosen(context, state)?.swap_remove(0);
    let values = kept(&channel, state.record.marks());
    let step = quantum(&values);
    let counted = binned(&values, context.whole("bins"), step.as_ref());
    let (Some(found), Some(middle), Some(spread)) = (counted, mean(&values), sd(&values)) else {
        return Err(Fault::new(
            "histogram/too-few",
            say!("{} holds fewer than two values.", channel.name),
            "Choose another channel.",
        ));
    };
    let unit = channel.unit;
    let shown = |v: f64| print::with_unit(&print::significant(v, 3), unit);
    let robust = mad(&values).map_or(f64::NAN, |m| m * MAD_TO_SIGMA);
    let n: u64 = found.counts.iter().sum();
    // Neighbours resemble each other, so the mean is known less well than by n of them.
    let independent = effective_count(&values);
    let remark = say!(
        "{} of {}: mean {}, standard deviation {}, robust {}; {}.",
        print::counted(n as usize, "value", "values"),
        channel.name,
        print::with_unit(&print::with_sigma(middle, spread / independent.sqrt()), unit),
        shown(spread),
        shown(robust),
        told(step.as_ref(), spread, &shown)
    );
    let outcome = Outcome::new(state.clone(), remark.clone())
        .number("mean", middle, unit)
        .number("median", median(&values).unwrap_or(f64::NAN), unit)
        .number("sd", spread, unit)
        .number("robust_sd", robust, unit);
    let outcome = stepped(outcome, step.as_ref(), spread, (unit, &shown));
    let text = words(
        "histogram",
        say!(
            "Values of {}, and the normal curve of their mean and standard deviation.",
            channel.name
        ),
        remark,
    );
    Ok(outcome.figure(Figure::new("histogram", "Histogram", move |frame, view| {
        let bins = Bins {
            quantity: &channel.name,
            unit,
            edges: &found.edges,
            counts: &found.counts,
            behind: &[],
            normal: Some((middle, spread)).filter(|_| spread > 0.0),
        };
        plan(&bins, *frame, *view, &text)
    })))
}

fn stepped(
    outcome: Outcome,
    step: Option<&Quantum>,
    spread: f64,
    (unit, shown): (Unit, &dyn Fn(f64) -> String),
) -> Outcome {
    let Some(q) = step else { return outcome };
    let outcome = outcome
        .number("quantum", q.step, unit)
        .number("levels", q.levels as f64, Unit::None)
        .line("quantum", word("Step of the digitiser"), shown(q.step))
        .line("rounding", word("Rounding noise, step / √12"), shown(q.rounding_sigma()));
    if spread >= 0.5 * q.step {
        return outcome;
    }
    outcome.warn(Warning::new(
        "histogram/coarse",
        "The values hardly leave one step, so rounding is not noise here: averaging will not help.",
        "Use a finer range of the sensor, or let the field vary more.",
    ))
}

// Bins as wide as a whole number of steps, with the steps in their middles:
// other widths would beat with the steps and make a false comb.
fn binned(values: &[f64], bins: usize, step: Option<&Quantum>) -> Option<Histogram> {
    let plain = histogram(values, bins)?;
    let Some(q) = step else { return Some(plain) };
    let (low, high) = (plain.edges[0], *plain.edges.last()?);
    let steps = ((high - low) / q.step).round() + 1.0;
    let wide = (steps / bins as f64).ceil().max(1.0);
    let count = (steps / wide).ceil().max(1.0) as usize;
    let edge = |k: usize| low - q.step / 2.0 + k as f64 * wide * q.step;
    let mut counts = vec![0; count];
    for v in values.iter().filter(|v| v.is_finite()) {
        let bin = ((v - edge(0)) / (wide * q.step)).max(0.0) as usize;
        counts[bin.min(count - 1)] += 1;
    }
    Some(Histogram { edges: (0..=count).map(edge).collect(), counts, missing: plain.missing })
}

fn told(step: Option<&Quantum>, spread: f64, shown: &dyn Fn(f64) -> String) -> String {
    match step {
        Some(q) => say!(
            "they stand on steps of {}, the spread being {} of them",
            shown(q.step),
            print::significant(spread / q.step, 2)
        ),
        None => worded("no steps of a digitiser show"),
    }
}
