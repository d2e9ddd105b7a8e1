//! Why a station and a reference cannot be matched.

use super::FEWEST;
use record::{Fault, print, say, words::word};
use std::fmt;

/// Why two records cannot be matched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MatchError {
    /// Too few samples at which both have all three components.
    TooFew {
        /// Usable samples.
        usable: usize,
    },
    /// The reference hardly changes in one direction, or two of its components always change
    /// together, so that one column of the matrix is anything.
    NoVariety {
        /// Root-mean-square changes of the reference's components, nT.
        spread_nt: [f64; 3],
    },
    /// The station does not follow the reference: the matrix cannot be inverted with any meaning.
    Unrelated {
        /// Reliability of the three station components.
        reliability: [f64; 3],
    },
}

impl fmt::Display for MatchError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fault = Fault::from(*self);
        write!(f, "{} {}", fault.message, fault.remedy)
    }
}

impl std::error::Error for MatchError {}

impl From<MatchError> for Fault {
    fn from(error: MatchError) -> Self {
        match error {
            MatchError::TooFew { usable } => Self::new(
                "match-reference/too-few",
                say!(
                    "Station and reference share {}; a match needs at least {FEWEST}.",
                    print::counted(usable, "sample", "samples")
                ),
                word("Give a reference file of the same days."),
            ),
            MatchError::NoVariety { spread_nt } => {
                let [x, y, z] = spread_nt.map(|v| print::significant(v, 2));
                Self::new(
                    "match-reference/no-variety",
                    say!(
                        "The reference changes by {x}, {y} and {z} nT in its three components; \
                         that does not fix nine entries of a matrix."
                    ),
                    word("Use a longer record with a disturbed day in it."),
                )
            }
            MatchError::Unrelated { reliability } => {
                let [x, y, z] = reliability.map(|v| print::fixed(v.max(0.0), 2));
                Self::new(
                    "match-reference/unrelated",
                    say!(
                        "Only {x}, {y} and {z} of the variance of the three station components \
                         goes with the reference."
                    ),
                    word(
                        "Clean the station's record and take out its temperature first, check that \
                     both clocks run on UTC, and use disturbed days.",
                    ),
                )
            }
        }
    }
}
