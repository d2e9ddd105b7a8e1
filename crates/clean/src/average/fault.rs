//! Why a record cannot be averaged, and what to do about it.

use record::{say, words::word};

/// Why a record cannot be averaged.
#[derive(Clone, Debug, PartialEq)]
pub enum AverageError {
    /// The cadence is zero or negative.
    Cadence(i64),
    /// The coverage is not a share.
    Coverage(f64),
    /// The new cadence is finer than the record's.
    Finer {
        /// Asked for, nanoseconds.
        cadence_ns: i64,
        /// The record's, nanoseconds.
        step_ns: i64,
    },
    /// Time steps back at this sample.
    Unordered(usize),
    /// There are no samples.
    Empty,
}

impl std::fmt::Display for AverageError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let seconds = |ns: i64| record::print::duration(ns as f64 * 1e-9);
        match self {
            Self::Cadence(ns) => f.write_str(&say!("Averages over {} cannot be.", seconds(*ns))),
            Self::Coverage(share) => f.write_str(&say!("A share of {share} lies outside 0 to 1.")),
            Self::Finer { cadence_ns, step_ns } => f.write_str(&say!(
                "Averages over {} are finer than the record, which has a sample every {}.",
                seconds(*cadence_ns),
                seconds(*step_ns)
            )),
            Self::Unordered(sample) => {
                f.write_str(&say!("Time steps back at sample {}.", sample + 1))
            }
            Self::Empty => f.write_str(&say!("There are no samples to average.")),
        }
    }
}

impl std::error::Error for AverageError {}

impl From<AverageError> for record::Fault {
    fn from(error: AverageError) -> Self {
        let (code, remedy) = match error {
            AverageError::Cadence(_) => {
                ("clean/average-cadence", word("Give a length above zero."))
            }
            AverageError::Coverage(_) => {
                ("clean/average-coverage", word("Give a share such as 0.9."))
            }
            AverageError::Finer { .. } => {
                ("clean/average-finer", word("Choose a longer average, or switch this step off."))
            }
            AverageError::Unordered(_) => {
                ("clean/average-order", word("Switch on the step that puts the rows in order."))
            }
            AverageError::Empty => {
                ("clean/average-empty", word("Open a log with at least one row."))
            }
        };
        record::Fault::new(code, error.to_string(), remedy)
    }
}
