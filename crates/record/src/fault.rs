//! What went wrong, said so that a student can act on it.

use crate::words::of;
use std::fmt;

/// Something that stopped a step or a reading.
///
/// Every stage has its own error enum; this is the plain form in which they
/// all reach the page, the command line and the hand-in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Stable name for tests and links, `stage/what`, such as `intake/empty`.
    pub code: &'static str,
    /// What happened, with the numbers that show it.
    pub message: String,
    /// Where: a line and column, a sample, a time; empty when it is everywhere.
    pub place: String,
    /// What to do next.
    pub remedy: String,
}

impl Fault {
    /// A fault without a place.
    pub fn new(code: &'static str, message: impl Into<String>, remedy: impl Into<String>) -> Self {
        let (message, remedy) = (of(message.into()), of(remedy.into()));
        Self { code, message, place: String::new(), remedy }
    }

    /// The same fault, at a place.
    #[must_use]
    pub fn at(mut self, place: impl Into<String>) -> Self {
        self.place = of(place.into());
        self
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.message)?;
        if !self.place.is_empty() {
            write!(f, " ({})", self.place)?;
        }
        if !self.remedy.is_empty() {
            write!(f, " {}", self.remedy)?;
        }
        Ok(())
    }
}

impl std::error::Error for Fault {}

/// Something a student should know that did not stop the step.
///
/// The fields mean what they mean in [`Fault`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warning {
    /// Stable name, `stage/what`.
    pub code: &'static str,
    /// What was noticed, and what the result still means.
    pub message: String,
    /// Where it was noticed; empty when it is everywhere.
    pub place: String,
    /// What to do about it.
    pub remedy: String,
}

impl Warning {
    /// A warning without a place.
    pub fn new(code: &'static str, message: impl Into<String>, remedy: impl Into<String>) -> Self {
        let (message, remedy) = (of(message.into()), of(remedy.into()));
        Self { code, message, place: String::new(), remedy }
    }

    /// The same warning, at a place.
    #[must_use]
    pub fn at(mut self, place: impl Into<String>) -> Self {
        self.place = of(place.into());
        self
    }
}
