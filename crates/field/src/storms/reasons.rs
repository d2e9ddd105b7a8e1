//! What speaks for the Sun and what for something nearby, in words.

use record::{Unit, print, words::word};

/// What a stretch of low field, or a jump, is held to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// A magnetic storm.
    Storm,
    /// A bay: a substorm's dip of an hour or some.
    Bay,
    /// Something near the sensor, or the sensor itself.
    Local,
    /// The record does not say.
    Undecided,
}

impl Verdict {
    /// Stable name for files.
    pub fn id(self) -> &'static str {
        match self {
            Self::Storm => "storm",
            Self::Bay => "bay",
            Self::Local => "local",
            Self::Undecided => "undecided",
        }
    }

    /// For reading.
    pub fn words(self) -> &'static str {
        match self {
            Self::Storm => word("a storm"),
            Self::Bay => word("a bay, not a storm"),
            Self::Local => word("local, not a storm"),
            Self::Undecided => word("not decided"),
        }
    }
}

/// One piece of evidence.
#[derive(Clone, Debug, PartialEq)]
pub struct Reason {
    /// Above nought for the outside field, below for a local cause; 3 decides alone.
    pub weight: i32,
    /// In words, a clause that follows a colon or a semicolon.
    pub text: String,
}

impl Reason {
    pub(super) fn new(weight: i32, text: impl Into<String>) -> Self {
        Self { weight, text: text.into() }
    }
}

/// A number of nanotesla for reading.
pub(super) fn nt(value: f64) -> String {
    print::with_unit(&print::significant(value, 2), Unit::Nanotesla)
}
