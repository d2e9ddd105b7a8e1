//! Filters of finite length: symmetric weights slid along a series.
//!
//! In: weights, or what they should pass; a series with gaps as NaN.  Out: a
//! series of the same length without lag, or every n-th sample of it.  Half a
//! filter length at each edge and gap is known only in part: it is kept where
//! enough weight falls on samples that are there, and missing elsewhere.

mod apply;
mod design;

pub use apply::{Filtered, decimate, smooth, strict};
pub use design::{Shape, kaiser_beta, kaiser_taps, response, taps};

use record::{Fault, say, words::word};
use std::fmt;

/// Why there is no filter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FirError {
    /// The sampling rate is not a positive number.
    Rate(f64),
    /// A frequency is not between 0 and half the rate, or edges are reversed.
    CutOff {
        /// The frequency, hertz.
        cutoff_hz: f64,
        /// Half the rate, hertz.
        limit_hz: f64,
    },
    /// The transition is not wider than 0, or needs too many weights.
    Transition {
        /// Width of the transition, hertz.
        width_hz: f64,
        /// Weights it would need.
        taps: f64,
    },
    /// Attenuation is not a number from 0 to 200 dB.
    Attenuation(f64),
    /// Keeping every 0th sample.
    Factor,
}

/// The longest filter that is made.
pub const MOST_TAPS: usize = 1_000_001;

impl fmt::Display for FirError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Rate(rate_hz) => {
                f.write_str(&say!("The sampling rate is {rate_hz} Hz; it must be more than 0."))
            }
            Self::CutOff { cutoff_hz, limit_hz } => f.write_str(&say!("The cut-off {cutoff_hz} Hz does not lie between 0 and half the sampling rate, \
                 {limit_hz} Hz, below the upper edge of its band."
            )),
            Self::Transition { width_hz, taps } => f.write_str(&say!("A transition {width_hz} Hz wide needs {taps} weights; at most {MOST_TAPS} are made."
            )),
            Self::Attenuation(db) => {
                f.write_str(&say!("An attenuation of {db} dB cannot be had; 20 to 120 dB are usual."))
            }
            Self::Factor => f.write_str(&say!("Every 0th sample cannot be kept.")),
        }
    }
}

impl std::error::Error for FirError {}

impl From<FirError> for Fault {
    fn from(error: FirError) -> Self {
        let (code, remedy) = match error {
            FirError::Rate(_) => {
                ("signal/rate", word("Give the log's cadence, or let it be found from the times."))
            }
            FirError::CutOff { .. } => (
                "signal/cut-off",
                word("Choose a period longer than two sampling steps, or use data sampled faster."),
            ),
            FirError::Transition { .. } => (
                "signal/transition",
                word("Allow a wider transition, or thin the series out first."),
            ),
            FirError::Attenuation(_) => ("signal/attenuation", word("60 dB serves most purposes.")),
            FirError::Factor => ("signal/factor", word("Keep every 2nd sample, or every 60th.")),
        };
        Self::new(code, error.to_string(), remedy)
    }
}
