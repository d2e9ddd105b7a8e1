//! The filters behind the one step: how they are made, applied and answered for.

use crate::step::Context;
use record::{Fault, print, say};
use signal::butterworth::{self, Band, Section};
use signal::{fir, robust, smooth};

/// A filter ready for use.
pub(super) enum Kernel {
    /// Second-order sections, run one way or both.
    Butterworth {
        /// The sections.
        sections: Vec<Section>,
        /// Whether they are run backward too.
        both: bool,
    },
    /// Symmetric weights.
    Weights(Vec<f64>),
    /// The mean or the median of the samples around each one.
    Running {
        /// Samples on either side.
        half: usize,
        /// The median in place of the mean.
        median: bool,
        /// What it takes away in place of what it leaves.
        rest: bool,
    },
}

/// The filter that the sentence states.
pub(super) fn chosen(context: &Context<'_>, rate_hz: f64) -> Result<Kernel, Fault> {
    match context.text("method") {
        "mean" => running(context, rate_hz, false),
        "median" => running(context, rate_hz, true),
        "kaiser" => {
            let cuts = cut_offs_hz(context)?;
            let transition_hz = cuts[0] * context.number("transition") / 100.0;
            let shape = match (context.text("kind"), &cuts[..]) {
                ("band", [low, high]) => fir::Shape::Pass(*low, *high),
                ("stop", [low, high]) => fir::Shape::Stop(*low, *high),
                ("high", _) => fir::Shape::High(cuts[0]),
                _ => fir::Shape::Low(cuts[0]),
            };
            let attenuation_db = context.number("attenuation_db");
            Ok(Kernel::Weights(fir::taps(shape, transition_hz, attenuation_db, rate_hz)?))
        }
        _ => butterworth(context, rate_hz),
    }
}

fn butterworth(context: &Context<'_>, rate_hz: f64) -> Result<Kernel, Fault> {
    let cuts = cut_offs_hz(context)?;
    let band = match (context.text("kind"), &cuts[..]) {
        ("band", [low, high]) => Band::Pass(*low, *high),
        ("stop", [low, high]) => Band::Stop(*low, *high),
        ("high", _) => Band::High(cuts[0]),
        _ => Band::Low(cuts[0]),
    };
    let order = context.whole("order");
    let both = context.text("passes") != "forward";
    let band = if both { butterworth::for_zero_phase(order, band, rate_hz)? } else { band };
    Ok(Kernel::Butterworth { sections: butterworth::design(order, band, rate_hz)?, both })
}

fn running(context: &Context<'_>, rate_hz: f64, median: bool) -> Result<Kernel, Fault> {
    let samples = context.number("length_min") * 60.0 * rate_hz;
    let half = ((samples - 1.0) / 2.0).round();
    if !(1.0..1e8).contains(&half) {
        return Err(Fault::new(
            "filter/window",
            say!(
                "A window of {} min is {} samples; at least 3 are needed.",
                print::trimmed(context.number("length_min"), 6),
                print::significant(samples, 2)
            ),
            "Choose a longer window.",
        ));
    }
    Ok(Kernel::Running { half: half as usize, median, rest: context.text("part") == "rest" })
}

/// The cut-off frequencies that the sentence states, rising.
pub(super) fn cut_offs_hz(context: &Context<'_>) -> Result<Vec<f64>, Fault> {
    let hz = |minutes: f64| 1.0 / (minutes * 60.0);
    let (short, long) = (context.number("period_min"), context.number("longest_min"));
    if !matches!(context.text("kind"), "band" | "stop") {
        return Ok(vec![hz(short)]);
    }
    if short < long {
        return Ok(vec![hz(long), hz(short)]);
    }
    Err(Fault::new(
        "filter/periods",
        say!(
            "The shorter period ({} min) is not shorter than the longer one ({} min).",
            print::trimmed(short, 6),
            print::trimmed(long, 6)
        ),
        "Change one of the two.",
    ))
}

impl Kernel {
    /// The filtered run, NaN where the filter does not reach; `None` for a run
    /// that is too short.  `tell` hears the share that is done where that takes long.
    pub(super) fn apply(&self, run: &[f64], tell: &mut dyn FnMut(f64)) -> Option<Vec<f64>> {
        let out = match self {
            Self::Butterworth { sections, both: true } => {
                butterworth::zero_phase_telling(sections, run, tell).ok()?
            }
            Self::Butterworth { sections, both: false } => butterworth::causal(sections, run),
            Self::Weights(weights) => fir::strict(weights, run).values,
            Self::Running { half, median, rest } => {
                let smooth = if *median {
                    robust::running_median(run, *half)
                } else {
                    smooth::running_mean(run, *half, 1.0)
                };
                let whole = *half..run.len().saturating_sub(*half);
                let value = |(k, (x, s)): (usize, (&f64, f64))| match whole.contains(&k) {
                    true if *rest => x - s,
                    true => s,
                    false => f64::NAN,
                };
                run.iter().zip(smooth).enumerate().map(value).collect()
            }
        };
        out.iter().any(|v| v.is_finite()).then_some(out)
    }

    /// Samples after a start, and before an end, that are not to be trusted.
    pub(super) fn reach(&self) -> (usize, usize) {
        match self {
            Self::Butterworth { sections, both } => {
                let settle = butterworth::settle_samples(sections);
                (settle, if *both { settle } else { 0 })
            }
            Self::Weights(weights) => (weights.len() / 2, weights.len() / 2),
            Self::Running { half, .. } => (*half, *half),
        }
    }

    /// What it makes of the amplitude of a wave, with sign; `None` for a
    /// median, which treats no wave as a wave.
    pub(super) fn gain(&self, frequency_hz: f64, rate_hz: f64) -> Option<f64> {
        match self {
            Self::Butterworth { sections, both } => {
                let once = butterworth::response(sections, frequency_hz, rate_hz).0;
                Some(if *both { once * once } else { once })
            }
            Self::Weights(weights) => Some(fir::response(weights, frequency_hz, rate_hz)),
            Self::Running { median: true, .. } => None,
            Self::Running { half, rest, .. } => {
                let smooth = smooth::mean_response(2 * half + 1, frequency_hz / rate_hz);
                Some(if *rest { 1.0 - smooth } else { smooth })
            }
        }
    }

    /// By how much a slow change about a frequency comes out late, seconds.
    pub(super) fn delay_s(&self, frequency_hz: f64, rate_hz: f64) -> f64 {
        let Self::Butterworth { sections, both: false } = self else { return 0.0 };
        let apart = frequency_hz * 1e-3;
        let phase = |f: f64| butterworth::response(sections, f, rate_hz).1;
        let turn = phase(frequency_hz - apart) - phase(frequency_hz + apart);
        let turn = turn - (turn / std::f64::consts::TAU).round() * std::f64::consts::TAU;
        turn / (2.0 * std::f64::consts::TAU * apart)
    }
}
