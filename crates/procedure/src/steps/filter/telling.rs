//! What a filter does to waves, in words and as a curve.

use super::Counts;
use super::kernel::{self, Kernel};
use crate::outcome::Outcome;
use crate::plates;
use crate::step::Context;
use record::{
    Unit, print, say,
    words::{word, worded},
};
use signal::response::{self, decibels, half_power_hz};

/// What is worth saying of a filter.
pub(super) struct Told {
    cut_offs_hz: Vec<f64>,
    gain_db: Option<f64>,
    half_power_s: Option<f64>,
    delay_s: f64,
    sentences: Vec<String>,
}

/// Works out what a filter does at its cut-offs and elsewhere.
pub(super) fn of(context: &Context<'_>, kernel: &Kernel, rate_hz: f64) -> Told {
    let is_running = matches!(kernel, Kernel::Running { .. });
    let cut_offs_hz =
        if is_running { Vec::new() } else { kernel::cut_offs_hz(context).unwrap_or_default() };
    let centre = cut_offs_hz.first().copied().unwrap_or(f64::NAN);
    let gain = |f: f64| kernel.gain(f, rate_hz);
    let linear = gain(rate_hz / 4.0).is_some();
    let half_power_s =
        half_power_hz(|f| gain(f).unwrap_or(0.0), span_hz(kernel, rate_hz, centre), centre)
            .filter(|_| linear)
            .map(|f| 1.0 / f);
    let gain_db = kernel.gain(centre, rate_hz).filter(|g| g.is_finite()).map(decibels);
    let delay_s = kernel.delay_s(late_at_hz(context, &cut_offs_hz, rate_hz), rate_hz);
    let mut told = Told { cut_offs_hz, gain_db, half_power_s, delay_s, sentences: Vec::new() };
    told.sentences = match kernel {
        Kernel::Butterworth { both, .. } => told.butterworth(*both),
        Kernel::Weights(weights) => told.weights(weights.len()),
        Kernel::Running { median: true, half, .. } => {
            vec![say!(
                "A median is not linear: it has no frequency response, keeps steps, and drops whatever is \
                 shorter than half its length ({}). Read no spectrum from what it leaves.",
                print::duration(*half as f64 / rate_hz)
            )]
        }
        Kernel::Running { half, rest, .. } => told.mean(*half, *rest, rate_hz),
    };
    told
}

// Where what is kept lies, for the delay.
fn late_at_hz(context: &Context<'_>, cuts: &[f64], rate_hz: f64) -> f64 {
    match (context.text("kind"), cuts) {
        ("band", [low, high]) => (low * high).sqrt(),
        ("high", [cut]) => (3.0 * cut).min((cut + rate_hz / 2.0) / 2.0),
        (_, [cut, ..]) => cut / 10.0,
        _ => f64::NAN,
    }
}

/// The frequencies worth looking at: from thirty times the slowest period of
/// the filter to half the rate.
fn span_hz(kernel: &Kernel, rate_hz: f64, cut_hz: f64) -> (f64, f64) {
    let slowest = match kernel {
        Kernel::Running { half, .. } => rate_hz / (2 * half + 1) as f64,
        _ => cut_hz,
    };
    ((slowest / 30.0).min(rate_hz / 8.0), rate_hz / 2.0)
}

fn percent(gain: f64) -> String {
    format!("{} %", print::significant(100.0 * gain.abs(), 3))
}

fn db(value: f64) -> String {
    format!("{} dB", print::fixed(value, 2))
}

impl Told {
    fn at_cut_off(&self) -> String {
        let each: Vec<String> =
            self.cut_offs_hz.iter().rev().map(|f| print::duration(1.0 / f)).collect();
        let gain_db = self.gain_db.unwrap_or(f64::NAN);
        let gain = response::gain(gain_db);
        say!(
            "A wave of {} comes through at {} ({})",
            each.join(word(" or ")),
            percent(gain),
            db(gain_db)
        )
    }

    fn butterworth(&self, both: bool) -> Vec<String> {
        let cut = self.at_cut_off();
        if both {
            let once = db(self.gain_db.unwrap_or(f64::NAN) / 2.0);
            let text = say!(
                "{cut}: each of the two passes takes {once}, for a filter cut at −3 dB and run twice would \
                 stand at −6 dB."
            );
            return vec![text];
        }
        let late = print::duration(self.delay_s);
        vec![format!("{cut}."), say!("What is kept comes out about {late} late.")]
    }

    fn weights(&self, taps: usize) -> Vec<String> {
        let cut = self.at_cut_off();
        let half = self.half_power_s.map_or(String::new(), |s| {
            say!("; half the power, −3 dB, is left at {}", print::duration(s))
        });
        vec![say!(
            "{cut}: a tapered sinc is cut at half the amplitude, −6 dB{half}. It has {}.",
            print::counted(taps, "weight", "weights")
        )]
    }

    fn mean(&self, half: usize, rest: bool, rate_hz: f64) -> Vec<String> {
        let length_s = (2 * half + 1) as f64 / rate_hz;
        let power = self.half_power_s.map_or_else(
            || worded("none of its waves"),
            |s| say!("a wave of {}", print::duration(s)),
        );
        let first = say!("Half the power, −3 dB, is left of {power}.");
        if rest {
            return vec![first];
        }
        // The first side lobe of sin(x) / x: 1.4303 windows long, −13.26 dB.
        let lobe_hz = 1.4303 / length_s;
        let gain = signal::smooth::mean_response(2 * half + 1, lobe_hz / rate_hz);
        let second = say!(
            "A wave as long as the window, {}, is gone; one of {} comes through upside down at {} ({}).",
            print::duration(length_s),
            print::duration(1.0 / lobe_hz),
            percent(gain),
            db(decibels(gain))
        );
        vec![first, second]
    }

    /// The figures of the filter among the results.
    pub(super) fn reported(&self, mut outcome: Outcome) -> Outcome {
        if let Some(gain_db) = self.gain_db {
            outcome = outcome.number("gain_at_cutoff_db", gain_db, Unit::None);
            outcome = outcome.line("gain_at_cutoff_db", word("Gain at the cut-off"), db(gain_db));
        }
        if let Some(s) = self.half_power_s {
            outcome = outcome.number("half_power_min", s / 60.0, Unit::None);
            outcome = outcome.line(
                "half_power_min",
                word("Half the power (−3 dB) at"),
                print::duration(s),
            );
        }
        if self.delay_s > 0.0 {
            outcome = outcome.number("delay_s", self.delay_s, Unit::Second);
            outcome =
                outcome.line("delay_s", word("Comes out late by"), print::duration(self.delay_s));
        }
        outcome
    }
}

/// What was done to how many samples, and what that means for waves.
pub(super) fn remark(counts: &Counts, told: &Told) -> String {
    let mut text = say!(
        "Filtered {}",
        print::counted(counts.runs, word("unbroken run"), word("unbroken runs"))
    );
    if counts.too_short > 0 {
        text.push_str(&say!(
            "; {} in runs too short for the filter are left out",
            print::counted(counts.too_short, "sample", "samples")
        ));
    }
    text.push_str(&say!(
        "; {} near ends and gaps are marked as not to be trusted.",
        print::counted(counts.edge, "sample", "samples")
    ));
    for sentence in &told.sentences {
        text.push(' ');
        text.push_str(sentence);
    }
    text
}

/// Adds the frequency response; a median has none.
pub(super) fn with_response(
    outcome: Outcome,
    kernel: &Kernel,
    told: &Told,
    rate_hz: f64,
) -> Outcome {
    let cut = told.cut_offs_hz.first().copied().unwrap_or(f64::NAN);
    let span = span_hz(kernel, rate_hz, cut);
    let gain = |f: f64| kernel.gain(f, rate_hz);
    plates::with_response(outcome, gain, span, &told.cut_offs_hz, told.sentences.join(" "))
}
