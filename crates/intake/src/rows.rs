//! Rows into columns: what becomes of each line.
//!
//! A row becomes a sample, a note, a restart mark, a comment or a rejected row
//! with its reason; nothing is passed over uncounted.  Rows like the ones
//! before are read the quick way ([`crate::quick`]), the rest the careful way
//! ([`crate::careful`]).

use crate::decode::excerpt;
use crate::dialect::{Cells, Separator, slice};
use crate::joined::Held;
use crate::moment::{Moment, NoTime, Times};
use crate::plan::{Plan, Planned, Task, Wrap};
use crate::quick::cut_of;
use crate::tally::{Tally, Unread};
use crate::wrap;
use record::{say, words::worded};
use scan::blocks::Blocks;
use scan::row::Cut;
use scan::stamp::IsoClock;

/// A note among the rows.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Note {
    /// Its time, as rows keep it.
    pub ns: i64,
    /// Its date, where that is open.
    pub open: Option<[u16; 3]>,
    /// Rows before it.
    pub row: usize,
    /// The words.
    pub text: String,
}

/// Notes kept at most.
const NOTES: usize = 10_000;

/// Reads rows by a plan.
#[derive(Debug)]
pub(crate) struct Rows {
    /// The plan.
    pub plan: Plan,
    /// The time axis.
    pub times: Times,
    /// One column for each number.
    pub numbers: Vec<Blocks<f64>>,
    /// Cells that should be numbers and are not, by column.
    pub unread: Vec<Unread>,
    /// What became of the lines.
    pub tally: Tally,
    /// Notes among the rows.
    pub notes: Vec<Note>,
    /// What is done with the cells, close together for the quick way.
    pub(crate) tasks: Vec<Task>,
    /// The numbers of the row at hand.
    pub(crate) values: Vec<f64>,
    /// The time of the row at hand.
    pub(crate) moment: Moment,
    pub(crate) cells: Cells,
    pub(crate) iso: IsoClock,
    pub(crate) quick: Option<Cut>,
    pub(crate) timed: bool,
    /// A sample of a long log that may still gain values.
    pub(crate) waiting: Option<Waiting>,
    /// Lines that wait for a quotation mark.
    pub(crate) held: Option<Held>,
}

/// A sample that may still gain values.
#[derive(Clone, Debug)]
pub(crate) struct Waiting {
    pub(crate) moment: Moment,
    pub(crate) ns: i64,
    pub(crate) open: Option<[u16; 3]>,
    pub(crate) values: Vec<f64>,
}

/// What became of a row.
pub(crate) enum Fate {
    /// A sample, a note, or nothing to keep.
    Kept,
    /// Refused, with the reason.
    Rejected(String),
    /// Held until a quotation mark closes.
    Open,
}

/// The numbers and words of a row read the careful way.
#[derive(Debug, Default)]
pub(crate) struct Found {
    /// Words for people.
    pub(crate) note: String,
    /// Numbers read.
    pub(crate) seen: usize,
    /// Columns and texts of cells that hold no number.
    pub(crate) faults: Vec<(usize, String)>,
}

impl Rows {
    /// No rows yet, and about so many to come; 0 when that is not known.
    pub(crate) fn expecting(plan: Plan, rows: usize) -> Self {
        let n = plan.n_numbers();
        Self {
            times: Times::expecting(rows),
            numbers: (0..n).map(|_| Blocks::expecting(rows)).collect(),
            unread: vec![Unread::default(); n],
            tally: Tally::default(),
            notes: Vec::new(),
            tasks: plan.columns.iter().map(|column| column.task).collect(),
            values: vec![f64::NAN; n],
            moment: Moment::default(),
            cells: Cells::new(),
            iso: IsoClock::default(),
            quick: cut_of(&plan),
            timed: plan.source.kind != "none",
            waiting: None,
            held: None,
            plan,
        }
    }

    /// Reads one line.
    #[inline]
    pub(crate) fn line(&mut self, number: u64, line: &[u8]) {
        if let Some(held) = self.held.take() {
            return self.join(held, number, line);
        }
        if let Some(cut) = self.quick
            && !matches!(line.first(), None | Some(b'#' | b'%' | b'/'))
            && self.quickly(line, cut).is_some()
        {
            return;
        }
        self.carefully(number, line);
    }

    /// Takes note of a line before the data.
    pub(crate) fn before(&mut self, line: &[u8]) {
        let bare = line.trim_ascii();
        if wrap::is_comment(bare, self.plan.wrap) {
            self.tally.comment(bare);
        }
    }

    /// The columns as the report lists them: those of the file, or the ones
    /// that a long log makes.
    pub(crate) fn columns(&self) -> Vec<Planned> {
        let Some(pivot) = &self.plan.pivot else { return self.plan.columns.clone() };
        let own = self.plan.columns.iter().filter(|c| !matches!(c.task, Task::Value(_)));
        let made = pivot.named.iter().enumerate();
        own.cloned()
            .chain(
                made.map(|(slot, named)| Planned {
                    named: named.clone(),
                    task: Task::Number(slot),
                }),
            )
            .collect()
    }

    #[cold]
    fn carefully(&mut self, number: u64, line: &[u8]) {
        let bare = line.trim_ascii();
        if bare.is_empty() {
            return;
        }
        if wrap::is_comment(bare, self.plan.wrap) {
            self.tally.comment(bare);
            return;
        }
        if self.plan.header.as_deref() == Some(bare) {
            self.tally.restart(self.times.ns.len());
            return;
        }
        let fate = match wrap::unwrap(bare, self.plan.wrap) {
            Ok((inner, prefix)) => {
                self.moment = Moment::default();
                if let Some(prefix) = prefix {
                    self.moment.take(prefix);
                }
                // Blanks at the ends may be cells of a tab-separated row.
                let whole = self.plan.wrap == Wrap::Bare || inner.len() == bare.len();
                self.row(if whole { line } else { inner }, number)
            }
            Err(reason) => Fate::Rejected(reason),
        };
        match fate {
            Fate::Kept => {}
            Fate::Rejected(reason) => match self.named_anew(bare) {
                None => self.tally.reject(number, bare, reason),
                Some(true) => self.tally.restart(self.times.ns.len()),
                Some(false) => self.tally.rename(number, bare),
            },
            Fate::Open => self.held = Some(Held::new(number, line)),
        }
    }

    /// Keeps a row read the careful way.
    pub(crate) fn keep(&mut self, found: Found, line: &[u8], number: u64) -> Fate {
        let settled = if self.timed { Times::peek(&self.moment) } else { Ok((0, None)) };
        let (ns, open) = match settled {
            Ok(found) => found,
            Err(fault) => return Fate::Rejected(self.no_time(fault, line)),
        };
        let Found { note, seen, faults } = found;
        if !note.is_empty() {
            let repeated = self.notes.last().is_some_and(|last| last.text == note) && seen > 0;
            if !repeated && self.notes.len() < NOTES {
                let row = self.times.ns.len();
                self.notes.push(Note { ns, open, row, text: note });
            }
            if seen == 0 {
                self.tally.noted += 1;
                return Fate::Kept;
            }
        }
        for (slot, text) in &faults {
            if let Some(unread) = self.unread.get_mut(*slot) {
                unread.add(number, text);
            }
        }
        let (moment, values) = (self.moment, std::mem::take(&mut self.values));
        match self.plan.pivot {
            Some(_) => self.gather(Waiting { moment, ns, open, values: values.clone() }),
            None => self.push(&moment, &values),
        }
        self.values = values;
        Fate::Kept
    }

    /// Adds a sample; its time has been found to be one.
    pub(crate) fn push(&mut self, moment: &Moment, values: &[f64]) {
        let kept = if self.timed {
            self.times.push(moment).is_ok()
        } else {
            self.times.push_ns(0, false).is_some()
        };
        if !kept {
            return;
        }
        for (column, value) in self.numbers.iter_mut().zip(values) {
            column.push(*value);
        }
    }

    // Values of one moment become one sample, unless a quantity occurs twice.
    fn gather(&mut self, next: Waiting) {
        let near = self.plan.pivot.as_ref().map_or(0, |pivot| pivot.near_ns);
        if let Some(waiting) = &mut self.waiting {
            let same =
                waiting.open == next.open && waiting.ns.abs_diff(next.ns) <= near.unsigned_abs();
            let free =
                waiting.values.iter().zip(&next.values).all(|(a, b)| a.is_nan() || b.is_nan());
            if (same || !self.timed) && free {
                let values =
                    waiting.values.iter_mut().zip(next.values).filter(|(_, b)| !b.is_nan());
                values.for_each(|(a, b)| *a = b);
                return;
            }
        }
        self.settle_waiting();
        self.waiting = Some(next);
    }

    /// Ends the rows: the last sample of a long log is complete.
    pub(crate) fn close(&mut self) {
        while let Some(held) = self.held.take() {
            self.let_go(held);
        }
        self.settle_waiting();
    }

    fn settle_waiting(&mut self) {
        if let Some(done) = self.waiting.take() {
            self.push(&done.moment, &done.values);
        }
    }

    fn no_time(&self, fault: NoTime, line: &[u8]) -> String {
        let mut cells = Cells::new();
        let cut = self.plan.dialect.split(line, &mut cells).is_some();
        let tells = |task: &Task| {
            !matches!(task, Task::Number(_) | Task::Skip | Task::Note | Task::Key | Task::Value(_))
        };
        let told: Vec<String> = self
            .tasks
            .iter()
            .zip(if cut { cells } else { Cells::new() })
            .filter(|(task, _)| tells(task))
            .map(|(_, cell)| excerpt(slice(line, cell), 32))
            .collect();
        let told = told.join(" ");
        match fault {
            NoTime::Unreadable if told.trim().is_empty() => worded("has no time"),
            NoTime::Unreadable => say!("“{told}” does not read as a time"),
            NoTime::OutOfRange => say!("“{told}” lies before 1825 or after 2115"),
            NoTime::NoSuchDate => say!("“{told}” is no date or time that exists"),
        }
    }

    /// Makes a column for a key that earlier rows did not have.
    pub(crate) fn add_column(&mut self) -> usize {
        let slot = self.numbers.len();
        self.numbers.push(Blocks::filled(f64::NAN, self.times.ns.len()));
        self.unread.push(Unread::default());
        self.values.push(f64::NAN);
        if let Some(waiting) = &mut self.waiting {
            waiting.values.push(f64::NAN);
        }
        slot
    }

    /// Whether rows are JSON.
    pub(crate) fn is_json(&self) -> bool {
        matches!(self.plan.dialect.separator, Separator::Json(_))
    }
}
