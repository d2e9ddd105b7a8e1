//! The plan of a log: what each cell of a row is, settled from its first rows.

use crate::dialect::Dialect;
use crate::names::Named;
use crate::pivot::Pivot;
pub(crate) use scan::row::Task;

/// What stands around the cells of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Wrap {
    /// Nothing.
    Bare,
    /// `14:03:22.123 -> ` before them, put there by a terminal.
    Arrow,
    /// `b'...\r\n'`, put there by a script that printed bytes.
    Bytes,
    /// `$TAG,...*hh`: a sentence with a checksum.
    Sentence,
    /// Records of an observatory file; those that end with `|` are header.
    Observatory,
}

/// Where the times come from.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Source {
    /// `iso8601`, `epoch`, `uptime`, `date+time`, `serial` or `none`.
    pub kind: &'static str,
    /// What that was decided from.
    pub evidence: String,
    /// Seconds of the unit that an uptime counts in; 0 for other kinds.
    pub unit_s: f64,
    /// Seconds east of UTC, when a header says so.
    pub offset_s: Option<i32>,
    /// Whether the rows hold times of day without a date.
    pub undated: bool,
    /// Seconds between samples, when a comment says so.
    pub cadence_s: Option<f64>,
}

/// A column as the plan sees it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Planned {
    /// Its header, taken apart.
    pub named: Named,
    /// What is done with its cells.
    pub task: Task,
}

/// The plan of a log.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Plan {
    /// How cells are told apart.
    pub dialect: Dialect,
    /// What stands around them.
    pub wrap: Wrap,
    /// Every column, in file order.
    pub columns: Vec<Planned>,
    /// The fewest cells that a row may have.
    pub least: usize,
    /// The header line, to know it again.
    pub header: Option<Vec<u8>>,
    /// Where the times come from.
    pub source: Source,
    /// How a long log becomes a wide one.
    pub pivot: Option<Pivot>,
}

impl Plan {
    /// Name of the format, for the report.
    pub(crate) fn format(&self) -> &'static str {
        if self.wrap == Wrap::Sentence { "sentences" } else { self.dialect.format() }
    }

    /// Number of number columns.
    pub(crate) fn n_numbers(&self) -> usize {
        if let Some(pivot) = &self.pivot {
            return pivot.width();
        }
        self.columns.iter().filter(|c| matches!(c.task, Task::Number(_))).count()
    }
}
