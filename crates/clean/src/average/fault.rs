//! Why a record cannot be averaged, and what to do about it.

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
            Self::Cadence(ns) => write!(f, "Averages over {} cannot be.", seconds(*ns)),
            Self::Coverage(share) => write!(f, "A share of {share} lies outside 0 to 1."),
            Self::Finer { cadence_ns, step_ns } => write!(
                f,
                "Averages over {} are finer than the record, which has a sample every {}.",
                seconds(*cadence_ns),
                seconds(*step_ns)
            ),
            Self::Unordered(sample) => write!(f, "Time steps back at sample {}.", sample + 1),
            Self::Empty => write!(f, "There are no samples to average."),
        }
    }
}

impl std::error::Error for AverageError {}

impl From<AverageError> for record::Fault {
    fn from(error: AverageError) -> Self {
        let (code, remedy) = match error {
            AverageError::Cadence(_) => ("clean/average-cadence", "Give a length above zero."),
            AverageError::Coverage(_) => ("clean/average-coverage", "Give a share such as 0.9."),
            AverageError::Finer { .. } => {
                ("clean/average-finer", "Choose a longer average, or switch this step off.")
            }
            AverageError::Unordered(_) => {
                ("clean/average-order", "Switch on the step that puts the rows in order.")
            }
            AverageError::Empty => ("clean/average-empty", "Open a log with at least one row."),
        };
        record::Fault::new(code, error.to_string(), remedy)
    }
}
