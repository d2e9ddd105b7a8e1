//! Why a spectrum cannot be made, and what to do about it.

use record::{Fault, say, words::word};
use std::fmt;

/// Why a spectrum cannot be made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SpectrumError {
    /// A sample is missing; the place is counted through all runs.
    Gap(usize),
    /// Not one segment fits.
    TooShort {
        /// Samples in the longest run.
        samples: usize,
        /// Samples a segment needs.
        needed: usize,
    },
    /// Segments of fewer than two samples, or an overlap as long as they.
    Segments {
        /// Samples in a segment.
        len: usize,
        /// Samples shared with the next.
        overlap: usize,
    },
    /// The sampling rate is not a positive number.
    Rate(f64),
    /// The window has no weight at this length.
    Window,
}

impl fmt::Display for SpectrumError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Gap(sample) => f.write_str(&say!("Sample {} has no value.", sample + 1)),
            Self::TooShort { samples, needed } => f.write_str(&say!(
                "The longest stretch without a gap has {samples} samples; a segment takes {needed}."
            )),
            Self::Segments { len, overlap } => f.write_str(&say!(
                "Segments of {len} samples that share {overlap} cannot be cut: a segment has at \
                 least 2 samples and shares fewer than it has."
            )),
            Self::Rate(rate_hz) => {
                f.write_str(&say!("The sampling rate is {rate_hz} Hz; it must be more than 0."))
            }
            Self::Window => f.write_str(&say!("A segment this short leaves the window no weight.")),
        }
    }
}

impl std::error::Error for SpectrumError {}

impl From<SpectrumError> for Fault {
    fn from(error: SpectrumError) -> Self {
        let (code, remedy) = match error {
            SpectrumError::Gap(_) => (
                "signal/gap",
                word(
                    "A spectrum needs an unbroken series. Fill short gaps, or use a method for \
                 uneven times.",
                ),
            ),
            SpectrumError::TooShort { .. } => (
                "signal/too-short",
                word(
                    "Use shorter segments (the slowest frequency seen rises), or a longer record.",
                ),
            ),
            SpectrumError::Segments { .. } | SpectrumError::Window => (
                "signal/segments",
                word("Take longer segments, or let them share half their length."),
            ),
            SpectrumError::Rate(_) => {
                ("signal/rate", word("Give the log's cadence, or let it be found from the times."))
            }
        };
        let fault = Self::new(code, error.to_string(), remedy);
        match error {
            SpectrumError::Gap(sample) => fault.at(say!("sample {}", sample + 1)),
            _ => fault,
        }
    }
}
