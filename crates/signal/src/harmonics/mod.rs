//! Sines of given periods, fitted by least squares with a mean.
//!
//! In: readings at even steps (gaps as NaN) or at any times, and periods in
//! seconds.  Out: amplitude and phase of each with standard uncertainties that
//! allow for serially correlated residuals.  Finds no periods: it measures the
//! ones it is told.

mod even;
mod periods;
mod solve;
mod times;

pub use even::fit_even;
pub use periods::{Named, PERIODS, record_to_part_s};
pub use times::fit;

use record::{Fault, say, words::word};
use std::f64::consts::PI;
use std::fmt;

/// One sine, y = amplitude cos(2 pi t / period - phase).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Term {
    /// Period, seconds.
    pub period_s: f64,
    /// Coefficient of the cosine.
    pub cos: f64,
    /// Coefficient of the sine.
    pub sin: f64,
    /// Amplitude, in the unit of the readings.
    pub amplitude: f64,
    /// Its standard uncertainty.
    pub amplitude_sigma: f64,
    /// Phase, radians, -pi to pi.
    pub phase_rad: f64,
    /// Its standard uncertainty, at most pi: larger ones mean nothing.
    pub phase_sigma_rad: f64,
}

impl Term {
    /// Time of the first maximum after the origin of times, seconds.
    pub fn maximum_s(&self) -> f64 {
        let turns = self.phase_rad / (2.0 * PI);
        (turns - libm::floor(turns)) * self.period_s
    }
}

/// A mean and sines, fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct Harmonics {
    /// The mean under the sines.
    pub level: f64,
    /// Its standard uncertainty.
    pub level_sigma: f64,
    /// The sines, in the order of the periods given.
    pub terms: Vec<Term>,
    /// Residual standard deviation.
    pub residual_sd: f64,
    /// Readings used.
    pub samples_used: usize,
    /// Readings left out: missing, or at a missing time.
    pub samples_left_out: usize,
    /// Independent values that the residuals are worth.
    pub effective_count: f64,
}

impl Harmonics {
    /// The fit at a time, seconds from the origin of times.
    pub fn at(&self, time_s: f64) -> f64 {
        let wave = |term: &Term| {
            let (c, s) = crate::rotor::pair(time_s / term.period_s);
            term.cos * c + term.sin * s
        };
        self.level + self.terms.iter().map(wave).sum::<f64>()
    }
}

/// Why there is no fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HarmonicError {
    /// Times and values differ in number.
    Length {
        /// Times.
        times: usize,
        /// Values.
        values: usize,
    },
    /// The sampling interval is not a positive number of seconds.
    Interval(f64),
    /// A period is not a positive number of seconds, or none is given.
    Period(f64),
    /// Fewer readings than unknowns.
    TooFew {
        /// Readings that can be used.
        samples: usize,
        /// Unknowns.
        unknowns: usize,
    },
    /// The record is too short, or too gappy, to tell a period from the mean
    /// or from another.
    Alike {
        /// The period, seconds.
        period_s: f64,
        /// From the first to the last reading, seconds.
        span_s: f64,
    },
}

impl fmt::Display for HarmonicError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Length { times, values } => {
                f.write_str(&say!("There are {times} times, but {values} values."))
            }
            Self::Interval(s) => {
                f.write_str(&say!("The sampling interval is {s} s; it must be more than 0."))
            }
            Self::Period(s) => {
                f.write_str(&say!("A period of {s} s cannot be fitted; periods exceed 0 s."))
            }
            Self::TooFew { samples, unknowns } => {
                f.write_str(&say!("{samples} readings cannot settle {unknowns} unknowns."))
            }
            Self::Alike { period_s, span_s } => f.write_str(&say!(
                "In a record of {span_s} s the period {period_s} s cannot be told from the mean \
                 or from another period."
            )),
        }
    }
}

impl std::error::Error for HarmonicError {}

impl From<HarmonicError> for Fault {
    fn from(error: HarmonicError) -> Self {
        let (code, remedy) = match error {
            HarmonicError::Length { .. } => ("signal/length", word("Read the log again.")),
            HarmonicError::Interval(_) => {
                ("signal/rate", word("Give the log's cadence, or let it be found from the times."))
            }
            HarmonicError::Period(_) => {
                ("signal/period", word("Give periods in seconds, such as 86400."))
            }
            HarmonicError::TooFew { .. } => {
                ("signal/too-short", word("Fit fewer periods, or use a longer record."))
            }
            HarmonicError::Alike { .. } => (
                "signal/alike",
                word(
                    "Two periods P and Q need a record of P Q / |P − Q|; fit one of them, or use a \
                 longer record.",
                ),
            ),
        };
        Self::new(code, error.to_string(), remedy)
    }
}

/// Periods must be positive numbers, at least one.
fn check_periods(periods_s: &[f64]) -> Result<(), HarmonicError> {
    let wrong = periods_s.iter().find(|p| !(**p > 0.0 && p.is_finite()));
    match wrong {
        Some(period_s) => Err(HarmonicError::Period(*period_s)),
        None if periods_s.is_empty() => Err(HarmonicError::Period(0.0)),
        None => Ok(()),
    }
}
