//! Why a log could not be read at all, and what to do about it.

use record::print::{count, counted};
use record::{
    Fault, say,
    words::{word, worded},
};
use std::fmt;

/// Something that leaves no record to work with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReadError {
    /// The file holds no bytes, or only blanks.
    Empty {
        /// Bytes received.
        bytes: u64,
    },
    /// A kind of file that is not a log, told by its first bytes.
    NotALog(Kind),
    /// A packed file that ends early or is damaged.
    Packed {
        /// Bytes unpacked before the fault.
        bytes: u64,
    },
    /// JSON that breaks its own rules.
    Json {
        /// Line, from 1.
        line: u64,
        /// What was expected there.
        expected: &'static str,
    },
    /// Every line holds one cell, and it is not a number.
    OneColumn {
        /// Line looked at, from 1.
        line: u64,
        /// The line, cut.
        text: String,
    },
    /// No line holds numbers.
    NoNumbers {
        /// Lines looked at.
        lines: u64,
        /// The first line, cut.
        text: String,
    },
    /// Lines looked like rows, but not one could be read.
    AllRejected {
        /// Rows refused.
        rows: usize,
        /// Line of the first one, from 1.
        line: u64,
        /// Why it was refused.
        reason: String,
    },
    /// Rows were read, but not one value stands in them.
    AllMissing {
        /// Rows read.
        rows: usize,
    },
    /// An answer to a decision that is none of its alternatives.
    Choice {
        /// The decision.
        id: String,
        /// The answer given.
        given: String,
        /// The answers known.
        known: String,
    },
}

/// Kinds of file that are not logs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A zip folder, or a spreadsheet or document kept in one.
    Spreadsheet,
    /// A zip folder of other files.
    Zip,
    /// A spreadsheet or document in the old binary form.
    OldDocument,
    /// A PDF page.
    Pdf,
    /// A picture.
    Image,
    /// A web page.
    WebPage,
    /// A database file.
    Database,
    /// An archive packed otherwise than with gzip.
    Archive,
    /// Any other binary file.
    Binary,
}

impl Kind {
    fn noun(self) -> &'static str {
        match self {
            Self::Spreadsheet => word("a spreadsheet file"),
            Self::Zip => word("a zip folder"),
            Self::OldDocument => word("a spreadsheet or document in a binary form"),
            Self::Pdf => word("a PDF document"),
            Self::Image => word("a picture"),
            Self::WebPage => word("a web page, not the log itself"),
            Self::Database => word("a database file"),
            Self::Archive => word("a packed archive"),
            Self::Binary => word("not text: its bytes are no letters and digits"),
        }
    }

    fn remedy(self) -> &'static str {
        match self {
            Self::Spreadsheet | Self::OldDocument => {
                word("Open it in the spreadsheet, save the sheet as CSV, and drop that file.")
            }
            Self::Zip | Self::Archive => word("Unpack it and drop the log that is inside."),
            Self::Pdf | Self::Image => word(
                "Numbers cannot be taken from it safely. Ask for the log as a text file (CSV).",
            ),
            Self::WebPage => word(
                "The site probably asked for a sign-in or showed an error in place of the file. \
                 Sign in, download the log again, and drop that file.",
            ),
            Self::Database => word("Export the table as CSV and drop that file."),
            Self::Binary => word(
                "Export the log as text (CSV) with the program that wrote it, and drop that file.",
            ),
        }
    }

    fn code(self) -> &'static str {
        match self {
            Self::Spreadsheet | Self::OldDocument => "intake/spreadsheet",
            Self::Zip | Self::Archive => "intake/archive",
            Self::Pdf => "intake/pdf",
            Self::Image => "intake/image",
            Self::WebPage => "intake/web-page",
            Self::Database => "intake/database",
            Self::Binary => "intake/binary",
        }
    }
}

impl From<ReadError> for Fault {
    fn from(error: ReadError) -> Self {
        match error {
            ReadError::Empty { bytes } => empty(bytes),
            ReadError::NotALog(kind) => {
                Fault::new(kind.code(), say!("The file is {}.", kind.noun()), kind.remedy())
            }
            ReadError::Packed { bytes } => Fault::new(
                "intake/packed",
                say!("The packed file breaks off after {} unpacked bytes.", count_u64(bytes)),
                "It was probably cut while downloading or copying. Fetch it again.",
            ),
            ReadError::Json { line, expected } => Fault::new(
                "intake/json",
                say!("The file starts as JSON, but {expected} was expected on line {line}."),
                "It was probably cut off while being written. Save it again from its source, or \
                 close its brackets by hand.",
            )
            .at(say!("line {line}")),
            ReadError::OneColumn { line, text } => Fault::new(
                "intake/one-column",
                say!("Every line holds a single cell, such as “{text}” on line {line}."),
                "A log needs at least one column of numbers. Check that commas, semicolons, tabs \
                 or blanks stand between the values.",
            )
            .at(say!("line {line}")),
            ReadError::NoNumbers { lines, text } => Fault::new(
                "intake/no-numbers",
                say!(
                    "No row of numbers was found in {}; the first reads “{text}”.",
                    counted(lines as usize, "line", "lines")
                ),
                "Drop the file that the sensor's logger wrote. If this is the one, its rows are \
                 missing: the logger may have been switched off before it saved any.",
            ),
            ReadError::AllRejected { rows, line, reason } => Fault::new(
                "intake/all-rejected",
                say!("Not one of {} could be read: {reason}", counted(rows, "row", "rows")),
                "Look at that line in a text editor. If its columns are in order, change the \
                 decisions about separator and time.",
            )
            .at(say!("line {line}")),
            ReadError::AllMissing { rows } => Fault::new(
                "intake/all-missing",
                say!(
                    "{} were read, but every value in them is missing.",
                    counted(rows, "row", "rows")
                ),
                "The file is well formed and empty of measurements. Choose another day or file, \
                 or check that the sensor was connected.",
            ),
            ReadError::Choice { id, given, known } => Fault::new(
                "intake/choice",
                say!("“{given}” is no answer to the decision “{id}”."),
                say!("The answers are: {known}."),
            ),
        }
    }
}

fn empty(bytes: u64) -> Fault {
    let message = if bytes == 0 {
        worded("The file holds 0 bytes.")
    } else {
        say!(
            "The file holds no letters or digits, only blanks or padding: {} bytes.",
            count_u64(bytes)
        )
    };
    Fault::new(
        "intake/empty",
        message,
        "If it lies in a cloud folder, open that folder and wait until the file is on this \
         computer. Otherwise the logger probably lost its power before it closed its file.",
    )
}

fn count_u64(n: u64) -> String {
    usize::try_from(n).map_or_else(|_| n.to_string(), count)
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        Fault::from(self.clone()).fmt(f)
    }
}

impl std::error::Error for ReadError {}
