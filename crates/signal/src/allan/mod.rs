//! Allan deviation and its kin: how steady a reading is, by averaging time.
//!
//! In: evenly spaced readings y (a field in nT is read as what the standards
//! call frequency).  Out: the deviation at each averaging time m tau0, in the
//! unit of the readings, with the number of terms and its interval.
//!
//! Missing readings (not finite) break only the terms that touch them; they
//! are never filled or closed up.
//!
//! Slopes against tau on logarithmic axes: -1 quantisation, -1/2 white noise,
//! 0 flicker (its floor is 0.664 of the bias instability), +1/2 random walk,
//! +1 drift (IEEE Std 952-1997, annex C).

mod confidence;
mod deviation;
mod regimes;
mod total;

pub use confidence::{Noise, degrees_of_freedom};
pub use deviation::{Kind, curve, curve_telling, deviation};
pub use regimes::{Meaning, Regime, regimes};
pub use total::total_deviation;

use crate::chi2;
use record::{Fault, say, words::word};
use std::fmt;

/// A deviation at one averaging time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Averaging time, seconds.
    pub tau_s: f64,
    /// Averaging time in samples.
    pub m: usize,
    /// The deviation, in the unit of the readings (seconds times it for the
    /// time deviation).
    pub deviation: f64,
    /// Terms in its mean.
    pub terms: usize,
    /// Terms left out because a reading in them is missing.
    pub terms_left_out: usize,
    /// Degrees of freedom.
    pub degrees_of_freedom: f64,
}

impl Point {
    /// The interval that holds the true deviation with this probability.
    pub fn interval(&self, probability: f64) -> (f64, f64) {
        let nu = self.degrees_of_freedom;
        let tail = (1.0 - probability) / 2.0;
        let end = |p: f64| self.deviation * (nu / chi2::quantile(p, nu)).sqrt();
        (end(1.0 - tail), end(tail))
    }
}

/// The lowest point of a curve: the averaging time beyond which more
/// averaging no longer helps.  Points with fewer than 3 degrees of freedom
/// are not trusted with it.
pub fn minimum(points: &[Point]) -> Option<Point> {
    let trusted = points.iter().filter(|p| p.degrees_of_freedom >= 3.0 && p.deviation > 0.0);
    trusted.min_by(|a, b| a.deviation.total_cmp(&b.deviation)).copied()
}

/// Why there is no deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AllanError {
    /// The sampling interval is not a positive number of seconds.
    Interval(f64),
    /// The averaging factor is 0, or not one term fits.
    TooShort {
        /// Readings there are.
        samples: usize,
        /// Averaging factor.
        m: usize,
    },
}

impl fmt::Display for AllanError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Interval(s) => {
                f.write_str(&say!("The sampling interval is {s} s; it must be more than 0."))
            }
            Self::TooShort { samples, m } => f.write_str(&say!(
                "{samples} readings do not hold unbroken neighbouring means of {m} each."
            )),
        }
    }
}

impl std::error::Error for AllanError {}

impl From<AllanError> for Fault {
    fn from(error: AllanError) -> Self {
        let remedy = word("Choose a shorter averaging time, or a longer stretch of the record.");
        Self::new("signal/allan", error.to_string(), remedy)
    }
}
