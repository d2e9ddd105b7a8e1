//! `spectrum`: how the power of a channel spreads over periods, with its
//! interval and its peaks.

mod estimate;
mod telling;

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use figure::plan::spectrum::Height;
use record::{Channel, Fault, Unit, say};

/// Estimates spectra.
pub static STEP: Step = Step {
    id: "spectrum",
    stage: Stage::Spectrum,
    title: "Spectrum",
    params: &[
        Param::choice(
            "scale",
            "Scaling",
            &[("density", "power spectral density"), ("amplitude", "amplitude spectrum")],
            "density",
            "Density for noise: its level does not depend on the segment. Amplitude for lines: their \
             height does not.",
        ),
        Param::channel(
            "channel",
            "Channel",
            &[("components", "the three components")],
            "components",
            "",
        ),
        Param::choice(
            "method",
            "Method",
            &[
                ("welch", "Welch's method"),
                ("periodogram", "one periodogram"),
                ("multitaper", "the multitaper method"),
                ("lomb-scargle", "the Lomb–Scargle method"),
            ],
            "welch",
            "Welch averages segments; multitaper keeps the whole run and tests for steady lines; \
             Lomb–Scargle needs no even times and no filling.",
        ),
        Param::choice(
            "window",
            "Window",
            &[
                ("hann", "Hann"),
                ("hamming", "Hamming"),
                ("blackman-harris", "Blackman–Harris"),
                ("flat-top", "flat-top"),
                ("rectangle", "rectangular"),
            ],
            "hann",
            "Hann suits nearly everything; flat-top reads the height of a line best.",
        ),
        Param::number(
            "segment_h",
            "Segment length",
            Unit::Hour,
            (1e-5, 1e5, 24.0),
            240.0,
            "Longer segments separate closer periods, shorter ones average more.",
        ),
        Param::number(
            "overlap",
            "Overlap",
            Unit::Percent,
            (0.0, 90.0, 5.0),
            50.0,
            "Half is usual with a Hann window.",
        ),
        Param::number(
            "bandwidth",
            "Time–bandwidth product",
            Unit::None,
            (1.5, 20.0, 0.5),
            4.0,
            "Half the smoothing in bins; twice this less one tapers are used. 4 is usual.",
        ),
        Param::choice(
            "tapers",
            "Tapers",
            &[("slepian", "Slepian tapers"), ("sine", "sine tapers")],
            "slepian",
            "Slepian tapers leak least from far away, sine tapers from close by.",
        ),
        Param::choice(
            "slope",
            "Slope over",
            &[("all", "over all periods"), ("between", "over periods between")],
            "all",
            "A slope holds only where the spectrum is straight: leave out lines and the floor.",
        ),
        Param::number("slope_from_h", "Shortest period", Unit::Hour, (1e-6, 1e5, 1.0), 1.0, ""),
        Param::number("slope_to_h", "Longest period", Unit::Hour, (1e-6, 1e5, 1.0), 12.0, ""),
    ],
    sentence,
    why: Why {
        what: "The fluctuation is shared out among periods: a density says how much power lies in each hertz, \
               an amplitude spectrum how tall a steady sine would have to be.",
        why: "A period that repeats stands out as a peak and noise spreads out as a floor, and both can \
              be given in units: nT²/Hz for noise, nT for the height of a line.",
        wrong: "The height of a line in a density plot depends on the length of the segments, and that of a \
                floor in an amplitude plot does too: use density for noise, amplitude for lines.",
        picture: "A wave with noise on the left; on the right its one peak stands above a floor.",
    },
    run,
    repeatable: true,
    removable: true,
};

/// A sentence, and how it goes on about the slope.
macro_rules! and_slope {
    ($context:expr, $text:literal) => {
        match $context.text("slope") {
            "between" => {
                concat!($text, "; fit its slope {slope} {slope_from_h} and {slope_to_h}.")
            }
            _ => concat!($text, "; fit its slope {slope}."),
        }
    };
}

fn sentence(context: &Context<'_>) -> &'static str {
    match context.text("method") {
        "periodogram" => and_slope!(
            context,
            "Estimate the {scale} of {channel} by {method} with a {window} window, over the longest \
             unbroken run"
        ),
        "multitaper" => and_slope!(
            context,
            "Estimate the {scale} of {channel} by {method} with {tapers} and a time–bandwidth product \
             of {bandwidth}, over the longest unbroken run"
        ),
        "lomb-scargle" => and_slope!(
            context,
            "Estimate the {scale} of {channel} by {method}, from the measured samples alone"
        ),
        _ => and_slope!(
            context,
            "Estimate the {scale} of {channel} by {method}, with {window} windows of {segment_h} \
             overlapping by {overlap}"
        ),
    }
}

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let rate_hz = super::even::rate_hz(&state.record)?;
    let channels = chosen(context, state)?;
    let estimates = channels
        .iter()
        .enumerate()
        .map(|(k, channel)| {
            let mut tell = |share| (context.tell)((k as f64 + share) / channels.len() as f64);
            estimate::of(context, &state.record, channel, rate_hz, &mut tell)
        })
        .collect::<Result<Vec<_>, _>>()?;
    let lines = estimate::strongest(&estimates);
    let outcome = Outcome::new(state.clone(), telling::remark(context, &estimates[0], &lines));
    let outcome = telling::reported(outcome, context, &estimates, &lines);
    let spectra: Vec<plates::Drawn> =
        estimates.into_iter().map(estimate::Estimate::drawn).collect();
    let amplitude = context.text("scale") == "amplitude";
    let height = if amplitude { Height::Amplitude } else { Height::Density };
    Ok(plates::with_spectrum(outcome, spectra, &lines, height))
}

/// The channels that a step's slot names.
pub(super) fn chosen(context: &Context<'_>, state: &State) -> Result<Vec<Channel>, Fault> {
    let name = context.text("channel");
    if name == "components" {
        if let Some(axes) = state.record.vector() {
            return Ok(axes.into_iter().cloned().collect());
        }
        let first = state.record.channels().iter().find(|c| c.values.iter().any(|v| v.is_finite()));
        return first.cloned().map(|c| vec![c]).ok_or_else(|| {
            Fault::new(
                "spectrum/no-channel",
                "There is no channel with numbers.",
                "Look at the reading report.",
            )
        });
    }
    named(state, name).map(|channel| vec![channel])
}

/// The channel of that name.
pub(super) fn named(state: &State, name: &str) -> Result<Channel, Fault> {
    state.record.named(name).cloned().ok_or_else(|| {
        let known: Vec<&str> = state.record.channels().iter().map(|c| c.name.as_str()).collect();
        Fault::new(
            "spectrum/no-such-channel",
            say!("There is no channel called “{name}” at this step."),
            say!("Choose one of: {}.", known.join(", ")),
        )
    })
}
