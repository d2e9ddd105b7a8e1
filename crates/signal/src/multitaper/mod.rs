//! Multitaper spectra: the mean of several periodograms of one series, each
//! through another taper.
//!
//! In: an evenly spaced series without gaps, a family of tapers.  Out:
//! one-sided densities with degrees of freedom, and for each frequency Thomson's
//! F ratio for a steady line.  Needs no segments, so that slow waves are kept.

mod dpss;
mod estimate;
mod sums;

pub use dpss::{Dpss, MOST_NW, dpss};
pub use estimate::{Multitaper, Tapers, Weighting, given, multitaper, sine_tapers};

use crate::spectrum::SpectrumError;
use record::{Fault, say, words::word};
use std::fmt;

/// Why tapers or a multitaper spectrum cannot be made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TaperError {
    /// No taper, or more than samples.
    Count {
        /// Tapers wanted.
        count: usize,
        /// Samples.
        samples: usize,
    },
    /// A time-bandwidth product that cannot be.
    Bandwidth {
        /// The product.
        nw: f64,
        /// Samples.
        samples: usize,
    },
    /// The series cannot be used.
    Series(SpectrumError),
}

impl fmt::Display for TaperError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Count { count, samples } => {
                f.write_str(&say!("{count} tapers cannot be made for {samples} samples."))
            }
            Self::Bandwidth { nw, samples } => f.write_str(&say!(
                "The time-bandwidth product {nw} does not suit {samples} samples: it lies above \
                 0, below half the number of samples, and at most {MOST_NW}."
            )),
            Self::Series(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for TaperError {}

impl From<TaperError> for Fault {
    fn from(error: TaperError) -> Self {
        match error {
            TaperError::Series(inner) => inner.into(),
            _ => Self::new(
                "signal/tapers",
                error.to_string(),
                word("A product of 4 with 7 tapers suits most records; take fewer for short ones."),
            ),
        }
    }
}
