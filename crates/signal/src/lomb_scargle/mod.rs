//! Lomb-Scargle: least-squares sines at uneven times.
//!
//! In: times in seconds in any order, values, optionally their uncertainties.
//! Out: for each frequency the share of the scatter that one sine and a free
//! mean explain, 0 to 1, and that sine's amplitude.  Needs no filling; gaps
//! and duplicates are no matter, but red noise is: it makes peaks that the
//! false alarm figures, which suppose white noise, call significant.

mod false_alarm;
mod fast;
mod sums;

pub use false_alarm::{baluev, baluev_level, independent_frequencies, single};
pub use fast::lomb_scargle;
pub use sums::{Mean, direct};

use record::{Fault, say, words::word};
use std::fmt;

/// Evenly spaced frequencies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// The first, hertz; more than 0.
    pub first_hz: f64,
    /// Step, hertz.
    pub step_hz: f64,
    /// How many.
    pub count: usize,
}

impl Grid {
    /// From one step up to `most_hz`, `per_peak` steps in the width 1 / span of
    /// a peak.  5 is usual: fewer miss the tops.
    pub fn up_to(most_hz: f64, span_s: f64, per_peak: f64) -> Self {
        let step_hz = 1.0 / (per_peak * span_s);
        let count = (most_hz / step_hz + 1e-9).clamp(0.0, MOST_FREQUENCIES as f64) as usize;
        Self { first_hz: step_hz, step_hz, count }
    }

    /// The frequencies.
    pub fn frequencies(&self) -> Vec<f64> {
        (0..self.count).map(|k| self.at(k)).collect()
    }

    fn at(&self, k: usize) -> f64 {
        self.first_hz + k as f64 * self.step_hz
    }
}

/// The most frequencies that one call answers.
pub const MOST_FREQUENCIES: usize = 1 << 21;

/// How a power is expressed, from the explained share P of the scatter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Normalisation {
    /// P, 0 to 1.
    Standard,
    /// P / (1 - P): explained over left.
    Model,
    /// -ln(1 - P).
    Log,
    /// Half the drop in chi-squared; needs uncertainties to mean something.
    ChiSquared,
}

/// A periodogram at uneven times.
#[derive(Clone, Debug, PartialEq)]
pub struct Periodogram {
    /// Frequencies, hertz.
    pub frequency_hz: Vec<f64>,
    /// Explained share of the scatter at each, 0 to 1.
    pub power: Vec<f64>,
    /// Amplitude of the sine at each, in the unit of the values.
    pub amplitude: Vec<f64>,
    /// Values used.
    pub samples_used: usize,
    /// Values left out: missing, or with a missing time or uncertainty.
    pub samples_left_out: usize,
    /// From the first to the last time used, seconds.
    pub span_s: f64,
    /// Chi-squared about the mean: sum of (value - mean)^2 / sigma^2.
    pub chi2_about_mean: f64,
    /// W of Baluev's formula for the highest frequency of the grid.
    pub bandwidth_times_spread: f64,
}

/// A peak of a periodogram.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinePeak {
    /// Frequency, from a parabola through three powers, hertz.
    pub frequency_hz: f64,
    /// Standard uncertainty of the frequency of a steady line in white noise,
    /// hertz (M. H. Montgomery and D. O'Donoghue, Delta Scuti Star Newsl. 13
    /// (1999) 28: sqrt(6 / N) sigma / (pi T a)).
    pub frequency_sigma_hz: f64,
    /// Period, seconds.
    pub period_s: f64,
    /// Amplitude, in the unit of the values.
    pub amplitude: f64,
    /// Standard uncertainty of the amplitude, sqrt(2 / N) sigma.
    pub amplitude_sigma: f64,
    /// Explained share of the scatter.
    pub power: f64,
    /// Chance that white noise has so high a peak anywhere on the grid.
    pub false_alarm: f64,
    /// Its place in the grid.
    pub place: usize,
}

impl Periodogram {
    /// Powers in another normalisation.
    pub fn normalised(&self, how: Normalisation) -> Vec<f64> {
        let convert = |p: &f64| match how {
            Normalisation::Standard => *p,
            Normalisation::Model => p / (1.0 - p),
            Normalisation::Log => -libm::log1p(-p),
            Normalisation::ChiSquared => 0.5 * p * self.chi2_about_mean,
        };
        self.power.iter().map(convert).collect()
    }

    /// One-sided density that even sampling at the mean step would give,
    /// a^2 T / 2, (unit of the values)^2 / Hz.
    pub fn density(&self) -> Vec<f64> {
        let n = self.samples_used as f64;
        let duration = self.span_s * n / (n - 1.0).max(1.0);
        self.amplitude.iter().map(|a| a * a * duration / 2.0).collect()
    }

    /// Chance that white noise has a peak of this power anywhere on the grid.
    pub fn false_alarm(&self, power: f64) -> f64 {
        baluev(power, self.bandwidth_times_spread, self.samples_used)
    }

    /// The power that white noise passes with this chance.
    pub fn false_alarm_level(&self, chance: f64) -> f64 {
        baluev_level(chance, self.bandwidth_times_spread, self.samples_used)
    }

    /// The highest peaks, none within 1 / span of a higher one.
    pub fn peaks(&self, how_many: usize) -> Vec<LinePeak> {
        let p = &self.power;
        let top = |k: &usize| {
            let before = k.checked_sub(1).map_or(f64::NEG_INFINITY, |j| p[j]);
            let after = p.get(k + 1).copied().unwrap_or(f64::NEG_INFINITY);
            p[*k] > before && p[*k] >= after
        };
        let mut tops: Vec<usize> = (0..p.len()).filter(top).collect();
        record::sort::by(&mut tops, |a, b| p[*b].total_cmp(&p[*a]));
        let mut kept: Vec<usize> = Vec::new();
        for place in tops {
            let apart = |other: &usize| {
                (self.frequency_hz[place] - self.frequency_hz[*other]).abs() * self.span_s >= 1.0
            };
            if kept.len() < how_many && kept.iter().all(apart) {
                kept.push(place);
            }
        }
        kept.into_iter().map(|place| self.measure(place)).collect()
    }

    fn measure(&self, place: usize) -> LinePeak {
        let (power, amplitude) = (self.power[place], self.amplitude[place]);
        let mut frequency_hz = self.frequency_hz[place];
        if place > 0 && place + 1 < self.power.len() {
            let (before, after) = (self.power[place - 1], self.power[place + 1]);
            let bend = before - 2.0 * power + after;
            let step = self.frequency_hz[place + 1] - self.frequency_hz[place];
            if bend < 0.0 {
                frequency_hz += 0.5 * (before - after) / bend * step;
            }
        }
        let n = self.samples_used as f64;
        // With a = amplitude, the sine explains a^2 / 2 = P of the variance.
        let left = amplitude * amplitude / 2.0 * (1.0 - power) / power;
        let sigma = (left * n / (n - 3.0).max(1.0)).sqrt();
        LinePeak {
            frequency_hz,
            frequency_sigma_hz: (6.0 / n).sqrt() * sigma
                / (std::f64::consts::PI * self.span_s * amplitude),
            period_s: 1.0 / frequency_hz,
            amplitude,
            amplitude_sigma: (2.0 / n).sqrt() * sigma,
            power,
            false_alarm: self.false_alarm(power),
            place,
        }
    }
}

/// Why there is no periodogram.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LombError {
    /// Times, values and uncertainties differ in number.
    Length {
        /// Times.
        times: usize,
        /// Values, or uncertainties.
        values: usize,
    },
    /// Too few values are there, or all are the same, or at one time.
    TooFew(usize),
    /// Frequencies that cannot be.
    Grid(Grid),
}

impl fmt::Display for LombError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Length { times, values } => {
                f.write_str(&say!("There are {times} times, but {values} values."))
            }
            Self::TooFew(used) => f.write_str(&say!(
                "{used} values can be used; at least 4 at different times, not all equal, are \
                 needed for a sine and a mean."
            )),
            Self::Grid(grid) => f.write_str(&say!(
                "Frequencies from {} Hz in {} steps of {} Hz cannot be tried: they start above 0, \
                 rise, and number 1 to {MOST_FREQUENCIES}.",
                grid.first_hz,
                grid.count,
                grid.step_hz
            )),
        }
    }
}

impl std::error::Error for LombError {}

impl From<LombError> for Fault {
    fn from(error: LombError) -> Self {
        let (code, remedy) = match error {
            LombError::Length { .. } => ("signal/length", word("Read the log again.")),
            LombError::TooFew(_) => {
                ("signal/too-short", word("Choose a longer stretch of the record."))
            }
            LombError::Grid(_) => (
                "signal/frequencies",
                word(
                    "Choose a longest period no longer than the record, and a shortest one above 0.",
                ),
            ),
        };
        Self::new(code, error.to_string(), remedy)
    }
}
