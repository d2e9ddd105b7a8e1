//! Why a command stopped: what happened, and what to do next.
//!
//! Every command returns this; only `main` prints it.

use std::fmt;

/// What stopped a command.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Halt {
    /// What happened, with the names and figures that show it.
    pub message: String,
    /// What to do next; empty when the message says it.
    pub remedy: String,
}

impl Halt {
    /// A halt with a next step.
    pub fn new(message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { message: message.into(), remedy: remedy.into() }
    }

    /// A failed reading or writing of a file.
    pub fn file(path: &std::path::Path, what: &str, error: &std::io::Error) -> Self {
        Self::new(
            format!("{} cannot be {what}: {error}.", path.display()),
            "Check that the path exists and that this user may use it.",
        )
    }
}

impl fmt::Display for Halt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.message)?;
        if !self.remedy.is_empty() {
            write!(f, "\n{}", self.remedy)?;
        }
        Ok(())
    }
}

impl std::error::Error for Halt {}
