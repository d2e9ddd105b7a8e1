//! The logs that were opened, and what each is used for.

use intake::{Choices, Reading};
use record::{Record, print};
use std::sync::Arc;

/// What an opened file is used for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use {
    /// The log the procedure works on.
    Log,
    /// The sensor turned through all directions, for calibration.
    Turning,
    /// An observatory's record.
    Reference,
    /// Opened, and not used.
    Aside,
}

impl Use {
    /// Stable name.
    pub fn id(self) -> &'static str {
        match self {
            Self::Log => "log",
            Self::Turning => "turning",
            Self::Reference => "reference",
            Self::Aside => "aside",
        }
    }
}

/// One opened file.
#[derive(Clone)]
pub struct Input {
    /// What was read from it.
    pub reading: Arc<Reading>,
    /// Decisions of the reading that the student changed.
    pub choices: Choices,
    /// What it is used for.
    pub used: Use,
}

impl Input {
    /// The file's name.
    pub fn name(&self) -> &str {
        &self.reading.report.name
    }

    /// Rows and span, for reading.
    pub fn facts(&self) -> String {
        let record = &self.reading.record;
        let rows = print::counted(record.len(), "sample", "samples");
        match (record.start(), record.end()) {
            (Some(start), Some(end)) if self.reading.report.time.kind != "none" => {
                format!("{rows}, {}", print::span(start, end))
            }
            _ => format!("{rows}, no times in the file"),
        }
    }
}

/// All opened files.
#[derive(Clone, Default)]
pub struct Inputs {
    /// In the order in which they were opened.
    pub files: Vec<Input>,
}

impl Inputs {
    /// Adds a file and decides what each file is used for.
    pub fn add(&mut self, reading: Reading, choices: Choices) {
        self.files.push(Input { reading: Arc::new(reading), choices, used: Use::Aside });
        self.assign();
    }

    /// Takes a file out.
    pub fn remove(&mut self, place: usize) {
        if place < self.files.len() {
            self.files.remove(place);
            self.assign();
        }
    }

    /// The newest file with a use.
    pub fn used(&self, used: Use) -> Option<&Input> {
        self.files.iter().rev().find(|input| input.used == used)
    }

    // The newest file of each kind serves.  A turning log is told by its
    // vectors: they move by a good part of their own length.  A turning log
    // that came alone is the log itself.
    pub(crate) fn assign(&mut self) {
        let kinds: Vec<Use> = self.files.iter().map(kind_of).collect();
        let has_log = kinds.contains(&Use::Log);
        let mut taken: Vec<Use> = Vec::new();
        for (input, kind) in self.files.iter_mut().zip(&kinds).rev() {
            let kind = match kind {
                Use::Turning | Use::Reference if !has_log && kinds.iter().all(|k| k == kind) => {
                    Use::Log
                }
                other => *other,
            };
            input.used = if taken.contains(&kind) { Use::Aside } else { kind };
            taken.push(kind);
        }
        self.fall_back_on_the_newest();
    }

    fn fall_back_on_the_newest(&mut self) {
        if self.used(Use::Log).is_none()
            && let Some(input) = self.files.iter_mut().rev().find(|i| i.used != Use::Reference)
        {
            input.used = Use::Log;
        }
    }
}

fn kind_of(input: &Input) -> Use {
    if input.reading.report.format == "iaga-2002" {
        Use::Reference
    } else if turns(&input.reading.record) {
        Use::Turning
    } else {
        Use::Log
    }
}

/// Whether the field vector of a record turns: on two axes or more its middle
/// 98 % spans more than 0.3 of its median length.  A sensor that stands still
/// moves by a hundredth of that even in a great storm.
pub fn turns(record: &Record) -> bool {
    let Some(axes) = record.vector() else { return false };
    let lengths: Vec<f64> = (0..record.len())
        .map(|k| record::vector::norm([axes[0].values[k], axes[1].values[k], axes[2].values[k]]))
        .collect();
    let Some(length) = signal::robust::median(&lengths).filter(|l| *l > 0.0) else {
        return false;
    };
    let moving = axes.iter().filter(|axis| middle_span(&axis.values) > 0.3 * length).count();
    moving >= 2
}

fn middle_span(values: &[f64]) -> f64 {
    let mut finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    if finite.len() < 2 {
        return 0.0;
    }
    let last = finite.len() - 1;
    let low = *finite.select_nth_unstable_by(last / 100, f64::total_cmp).1;
    let high = *finite.select_nth_unstable_by(last - last / 100, f64::total_cmp).1;
    high - low
}
