//! What became of the lines that are no samples: comments, restarts, rejected
//! rows, hollow rows.  Everything is counted; the first of each are kept.

use crate::RejectedRow;
use crate::decode::{excerpt, text};
use record::words::worded;

const KEPT: usize = 200;

/// Counts and first examples.
#[derive(Clone, Debug, Default)]
pub(crate) struct Tally {
    /// Rows that could not be read.
    pub n_rejected: usize,
    /// The first 200.
    pub rejected: Vec<RejectedRow>,
    /// The first 200 comment lines.
    pub comments: Vec<String>,
    /// All comment lines.
    pub n_comments: usize,
    /// Rows before each header met again.
    pub restarts: Vec<usize>,
    /// The first line that names other columns than the header.
    pub renamed: Option<u64>,
    /// Rows of separators without values.
    pub hollow: usize,
    /// Rows that only hold a note.
    pub noted: usize,
}

impl Tally {
    /// Counts a row that could not be read.
    pub(crate) fn reject(&mut self, line: u64, bytes: &[u8], reason: String) {
        self.n_rejected += 1;
        if self.rejected.len() < KEPT {
            self.rejected.push(RejectedRow { line, text: excerpt(bytes, 120), reason });
        }
    }

    /// Counts a line that names other columns than the header.
    pub(crate) fn rename(&mut self, line: u64, bytes: &[u8]) {
        self.renamed = self.renamed.or(Some(line));
        self.reject(line, bytes, worded("gives the columns other names"));
    }

    /// Counts a comment line.
    pub(crate) fn comment(&mut self, bytes: &[u8]) {
        self.n_comments += 1;
        if self.comments.len() < KEPT {
            self.comments.push(text(&bytes[..bytes.len().min(1000)]).trim().to_owned());
        }
    }

    /// Counts a header met again after so many rows.
    pub(crate) fn restart(&mut self, rows: usize) {
        if rows > 0 {
            self.restarts.push(rows);
        }
    }
}

/// Cells of a number column that hold no number.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Unread {
    /// How many.
    pub count: usize,
    /// Line and text of the first.
    pub first: Option<(u64, String)>,
}

impl Unread {
    /// Counts one more.
    pub(crate) fn add(&mut self, line: u64, text: &str) {
        self.count += 1;
        if self.first.is_none() {
            self.first = Some((line, text.to_owned()));
        }
    }
}
