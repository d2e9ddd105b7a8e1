//! What a reading says about itself: counts, times, columns, decisions.
//!
//! Plain data, made by [`crate::Reader`], in the words a student reads.
//! Nothing here computes.

use record::{Instant, Record, Role, Station, Unit, Warning, words::word};
use std::collections::BTreeMap;

/// The student's own answers to decisions: decision id to alternative id.
/// Ids are those of [`Decision::id`] and [`Decision::alternatives`]; an answer
/// to a decision that does not come up is left unused.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choices {
    /// Decision id to the id of the alternative chosen.
    pub set: BTreeMap<String, String>,
}

impl Choices {
    /// The answer to a decision, when there is one.
    pub fn get(&self, id: &str) -> Option<&str> {
        self.set.get(id).map(String::as_str)
    }

    /// The same choices with one more answer.
    #[must_use]
    pub fn with(mut self, id: &str, alternative: &str) -> Self {
        self.set.insert(id.to_owned(), alternative.to_owned());
        self
    }
}

/// A log read to its end.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The numbers, in inside units, in file order.
    pub record: Record,
    /// How they were read.
    pub report: Report,
    /// Notes written among the rows, each with its time.
    pub events: Vec<(Instant, String)>,
    /// Where the sensor stood, when the log says so.
    pub station: Option<Station>,
    /// Comment and preamble lines, at most the first 200.
    pub comments: Vec<String>,
}

/// How a log was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// Name of the file.
    pub name: String,
    /// SHA-256 of the raw bytes, hexadecimal.
    pub sha256: String,
    /// Number of raw bytes.
    pub bytes: u64,
    /// `csv`, `tsv`, `semicolon`, `space`, `pipe`, `labelled`, `sentences`,
    /// `json`, `jsonl` or `iaga-2002`.
    pub format: &'static str,
    /// `utf-8`, `utf-8 with mark`, `utf-16le`, `utf-16be` or `latin-1`.
    pub encoding: &'static str,
    /// Data type that an observatory's file states, such as "Definitive"; empty for other logs.
    pub data_type: String,
    /// Rows that became samples.
    pub rows_read: usize,
    /// Rows that could not be read.
    pub rows_rejected: usize,
    /// The first 200 of them.
    pub rejected: Vec<RejectedRow>,
    /// The time axis.
    pub time: TimeReport,
    /// Every column of the log, in its order.
    pub columns: Vec<ColumnReport>,
    /// Everything that was decided about the log.
    pub decisions: Vec<Decision>,
    /// What the student should know before trusting the numbers.
    pub warnings: Vec<Warning>,
}

impl Report {
    /// Whether the log holds times, but nothing that says of which day.
    pub fn undated(&self) -> bool {
        let unknown = |d: &Decision| {
            (d.id == "start" && d.chosen == "unknown")
                || (d.id == "date" && d.chosen == "1970-01-01")
        };
        self.decisions.iter().any(unknown)
    }
}

/// A row that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RejectedRow {
    /// Line in the file, from 1.
    pub line: u64,
    /// The line, at most 120 characters of it.
    pub text: String,
    /// Why it could not be read.
    pub reason: String,
}

/// The time axis as it was found, before anything is marked.
#[derive(Clone, Debug, PartialEq)]
pub struct TimeReport {
    /// `iso8601`, `epoch`, `uptime`, `date+time`, `serial` or `none`.
    pub kind: &'static str,
    /// Earliest time; uptimes count from 1970 began.
    pub start: Option<Instant>,
    /// Latest time.
    pub end: Option<Instant>,
    /// Median step, seconds; 0 when fewer than two times differ.
    pub cadence_s: f64,
    /// Half the spread of the middle 90 % of the steps, seconds.
    pub jitter_s: f64,
    /// Steps longer than 1.5 cadences.
    pub gaps: usize,
    /// The longest of them, seconds; 0 without gaps.
    pub longest_gap_s: f64,
    /// Rows whose time an earlier row already has.
    pub duplicates: usize,
    /// Steps back in time.
    pub backward: usize,
    /// Whether the file ran newest first and was turned round.
    pub reversed: bool,
    /// Restarts of the logger: headers met again, uptimes begun again.
    pub restarts: usize,
}

/// One column of the log.
#[derive(Clone, Debug, PartialEq)]
pub struct ColumnReport {
    /// Name of its channel, or of the column when it has none.
    pub name: String,
    /// The header as written; empty when there is none.
    pub header: String,
    /// What it measures; `None` for times and text.
    pub role: Option<Role>,
    /// `time`, `text`, or the stable name of the role.
    pub role_id: String,
    /// Unit of the channel, inside.
    pub unit: Unit,
    /// Unit as the log writes it; empty when it does not.
    pub unit_written: String,
    /// Why it was taken for what it is.
    pub evidence: String,
    /// Samples with a value.
    pub values: usize,
    /// Samples without.
    pub missing: usize,
    /// Smallest value, in `unit`; NaN without values.
    pub minimum: f64,
    /// Largest value, in `unit`; NaN without values.
    pub maximum: f64,
    /// Step between neighbouring levels, in `unit`, when the values stand on levels.
    pub quantum: Option<f64>,
    /// Samples at the sensor's code for "too large" or piled up at an end of its range.
    pub saturated: usize,
    /// Longest run of one repeated value.
    pub stuck_longest: usize,
}

/// Something decided about the log that could have been decided otherwise.
///
/// Most answers are one of the alternatives.  Four take any value of their
/// kind: `cadence` a number of seconds, `start` a date and time, `date` a date,
/// and `zone` `UTC`, an offset such as `+01:00`, or offsets and the instants from
/// which they hold by turns, with the zone's name before them if it has one
/// (`Europe/London +00:00 2026-03-29T01:00:00Z +01:00`).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decision {
    /// Stable name: `delimiter`, `time-order`, `unit:bx`, ...
    pub id: String,
    /// What was decided.
    pub sentence: String,
    /// What it was decided from.
    pub evidence: String,
    /// Id of the alternative in force.
    pub chosen: String,
    /// Every alternative: id and what it means.
    pub alternatives: Vec<(String, String)>,
    /// Whether the evidence leaves it open, so that the student should be asked.
    pub ambiguous: bool,
}

impl Decision {
    /// What may be typed as an answer beside the alternatives; `None` when only
    /// they will do.
    pub fn typed(&self) -> Option<&'static str> {
        match self.id.as_str() {
            "zone" if !self.alternatives.is_empty() => {
                Some(word("a place's time zone, or an offset from UTC such as +01:00"))
            }
            "cadence" => Some(word("seconds from one row to the next")),
            "start" => Some(word("date and time of the first row, such as 2026-05-03T14:20:00Z")),
            "date" => Some(word("the day of the first row, such as 2026-05-03")),
            _ => None,
        }
    }
}
