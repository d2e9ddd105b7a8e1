//! Rows into columns: the quick way for rows like the ones before, the careful
//! way for the rest.
//!
//! A row becomes a sample, a note, a restart mark, a comment or a rejected row
//! with its reason; nothing is passed over uncounted.  A cell that holds no
//! number where one belongs is NaN, and counted.

use crate::blocks::Blocks;
use crate::decode::excerpt;
use crate::dialect::{Cells, Separator, slice, words};
use crate::moment::{IsoClock, Moment, NoTime, Times, days_ns};
use crate::number::{self, Cell, Mark};
use crate::plan::{Plan, Planned, Task, Wrap};
use crate::tally::{Tally, Unread};
use crate::{calendar, stamp, wrap};

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
    pub(crate) values: Vec<f64>,
    moment: Moment,
    cells: Cells,
    iso: IsoClock,
    quick: Option<Quick>,
    timed: bool,
}

#[derive(Clone, Copy, Debug)]
struct Quick {
    separator: u8,
    blanks: bool,
    mark: Mark,
}

enum Fate {
    Sample,
    Note,
    Rejected(String),
}

impl Rows {
    /// No rows yet.
    pub(crate) fn new(plan: Plan) -> Self {
        let n = plan.n_numbers();
        let quick = match (&plan.dialect.separator, plan.wrap) {
            (Separator::Byte(separator), Wrap::Bare) => Some((*separator, false)),
            (Separator::Blanks, Wrap::Bare | Wrap::Observatory) => Some((b' ', true)),
            _ => None,
        };
        let mark = plan.dialect.mark;
        Self {
            times: Times::new(),
            numbers: vec![Blocks::filled(0.0, 0); n],
            unread: vec![Unread::default(); n],
            tally: Tally::default(),
            notes: Vec::new(),
            values: vec![f64::NAN; n],
            moment: Moment::default(),
            cells: Cells::new(),
            iso: IsoClock::new(),
            quick: quick.map(|(separator, blanks)| Quick { separator, blanks, mark }),
            timed: plan.source.kind != "none",
            plan,
        }
    }

    /// Reads one line.
    #[inline]
    pub(crate) fn line(&mut self, number: u64, line: &[u8]) {
        if let Some(quick) = self.quick
            && !matches!(line.first(), None | Some(b'#' | b'%' | b'/'))
            && self.quickly(line, quick).is_some()
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

    // `None` leaves the row to the careful way; nothing has been kept by then.
    #[inline]
    fn quickly(&mut self, line: &[u8], quick: Quick) -> Option<()> {
        let blank =
            |b: Option<&u8>| matches!(b, Some(b' ')) || (quick.blanks && matches!(b, Some(b'\t')));
        let mut at = 0;
        let mut stamp: Option<(i64, bool)> = None;
        let mut counted = false;
        let mut both = false;
        for (place, column) in self.plan.columns.iter().enumerate() {
            // A date and a time of day in neighbouring cells were read as one.
            if std::mem::take(&mut both) && column.task == Task::Stamp {
                continue;
            }
            if place > 0 {
                let there = line.get(at);
                if !(there == Some(&quick.separator) || (quick.blanks && blank(there))) {
                    return None;
                }
                at += 1;
            }
            while blank(line.get(at)) {
                at += 1;
            }
            match column.task {
                Task::Number(slot) => match number::leading(&line[at..], quick.mark) {
                    Some((value, used)) if value.is_finite() => {
                        self.values[slot] = value;
                        at += used;
                    }
                    Some(_) => return None,
                    None => self.values[slot] = f64::NAN,
                },
                Task::Stamp => {
                    if stamp.is_some() {
                        return None;
                    }
                    let (ns, used, utc) = self.iso.leading(&line[at..], quick.separator)?;
                    stamp = Some((ns, utc));
                    both = line[at + 10] == quick.separator;
                    at += used;
                }
                Task::Count(scale) => {
                    let end = at
                        + line[at..].iter().take_while(|b| matches!(b, b'0'..=b'9' | b'.')).count();
                    self.moment = Moment {
                        count_ns: Some(number::scaled(&line[at..end], scale)?),
                        ..Moment::default()
                    };
                    counted = true;
                    at = end;
                }
                Task::Skip if !quick.blanks && line.get(at) != Some(&b'"') => {
                    at =
                        memchr::memchr(quick.separator, &line[at..]).map_or(line.len(), |n| at + n);
                }
                Task::Note => {}
                _ => return None,
            }
            while !quick.blanks && line.get(at) == Some(&b' ') {
                at += 1;
            }
        }
        let rest = &line[at..];
        if !rest.iter().all(|b| *b == quick.separator || matches!(b, b' ' | b'\t')) {
            return None;
        }
        self.keep_quick(stamp, counted)
    }

    #[inline]
    fn keep_quick(&mut self, stamp: Option<(i64, bool)>, counted: bool) -> Option<()> {
        match stamp {
            Some((ns, utc)) => self.times.push_ns(ns, utc),
            None if counted => self.times.push(&self.moment).ok()?,
            None if !self.timed => self.times.push_ns(0, false),
            None => return None,
        }
        for (column, value) in self.numbers.iter_mut().zip(&self.values) {
            column.push(*value);
        }
        Some(())
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
        let outcome = match wrap::unwrap(bare, self.plan.wrap) {
            Ok((inner, prefix)) => {
                let (inner, from_line) = (inner.to_vec(), inner.len() == bare.len());
                self.moment = Moment::default();
                if let Some(prefix) = prefix {
                    self.moment.take(prefix);
                }
                // Blanks at the ends may be cells of a tab-separated row.
                self.row(if from_line { line } else { &inner }, number)
            }
            Err(reason) => Fate::Rejected(reason),
        };
        match outcome {
            Fate::Sample | Fate::Note => {}
            Fate::Rejected(reason) => self.tally.reject(number, bare, reason),
        }
    }

    fn row(&mut self, line: &[u8], number: u64) -> Fate {
        let mut cells = std::mem::take(&mut self.cells);
        let cut = match &self.plan.dialect.separator {
            Separator::Json(keys) => match crate::json::fill(line, keys, &mut cells) {
                Some(0) => Some(()),
                Some(_) => self.widen(line, &mut cells),
                None => None,
            },
            _ => self.plan.dialect.split(line, &mut cells),
        };
        let fate = match cut {
            None => Fate::Rejected("a quotation mark or bracket opens and never closes".to_owned()),
            Some(()) => self.fill(line, &mut cells, number),
        };
        self.cells = cells;
        fate
    }

    // Keys that earlier rows did not have become columns of their own.
    fn widen(&mut self, line: &[u8], cells: &mut Cells) -> Option<()> {
        let rows = self.times.ns.len();
        let Separator::Json(keys) = &mut self.plan.dialect.separator else { return None };
        for (path, (start, end)) in crate::json::leaves(line)? {
            let number = matches!(number::cell(&line[start..end], Mark::Point), Cell::Value(_));
            if number && !keys.contains(&path) && keys.len() < 512 {
                let named = crate::names::named(&crate::decode::text(&path), None);
                self.plan.columns.push(Planned { named, task: Task::Number(self.numbers.len()) });
                self.numbers.push(Blocks::filled(f64::NAN, rows));
                self.unread.push(Unread::default());
                self.values.push(f64::NAN);
                keys.push(path);
            }
        }
        crate::json::fill(line, keys, cells).map(|_| ())
    }

    fn fill(&mut self, line: &[u8], cells: &mut Cells, number: u64) -> Fate {
        while cells.len() > self.plan.least
            && cells.last().is_some_and(|c| slice(line, *c).trim_ascii().is_empty())
        {
            cells.pop();
        }
        if cells.iter().all(|c| slice(line, *c).trim_ascii().is_empty()) {
            self.tally.hollow += 1;
            return Fate::Note;
        }
        if let Some(reason) = self.misfit(cells.len()) {
            return Fate::Rejected(reason);
        }
        self.values.fill(f64::NAN);
        let mut note = String::new();
        let (mut unread, mut n_numbers, mut seen) = (0, 0, 0);
        let mut faults = Vec::new();
        for place in 0..self.plan.columns.len().min(cells.len()) {
            let cell = slice(line, cells[place]);
            match self.plan.columns[place].task {
                Task::Number(slot) => {
                    n_numbers += 1;
                    match number::measured(cell, self.plan.dialect.mark) {
                        Cell::Value(value) => {
                            self.values[slot] = value;
                            seen += 1;
                        }
                        Cell::Missing => {}
                        Cell::Unreadable => {
                            unread += 1;
                            faults.push((slot, excerpt(cell, 24)));
                        }
                    }
                }
                Task::Note if !number::is_missing(number::trimmed(cell)) => {
                    if !note.is_empty() {
                        note.push_str(", ");
                    }
                    note.push_str(&words(cell));
                }
                task => self.time_cell(task, cell),
            }
        }
        if n_numbers > 0 && seen == 0 && unread > 0 {
            return Fate::Rejected("words stand where numbers belong".to_owned());
        }
        self.keep(note, seen, line, &faults, number)
    }

    // A row of the wrong width, in words.
    fn misfit(&self, found: usize) -> Option<String> {
        let wanted = self.plan.columns.len();
        if found < self.plan.least {
            return Some(format!("has {found} of {wanted} values; it was probably cut off"));
        }
        (found > wanted).then(|| {
            format!("has {found} values where {wanted} belong; two lines may have run together")
        })
    }

    fn time_cell(&mut self, task: Task, cell: &[u8]) {
        let text = number::trimmed(cell);
        let float = || match number::cell(cell, self.plan.dialect.mark) {
            Cell::Value(value) => Some(value),
            _ => None,
        };
        match task {
            Task::Stamp => {
                if let Some(stamp) = stamp::read(text) {
                    self.moment.take(stamp);
                }
            }
            Task::CompactClock => {
                let mut padded = text.to_vec();
                while padded.iter().take_while(|b| b.is_ascii_digit()).count() < 6
                    && padded.len() < 16
                {
                    padded.insert(0, b'0');
                }
                self.moment.of_day_ns = stamp::clock(&padded, true).map(|(ns, _)| ns);
            }
            Task::Count(scale) => {
                let plain = match self.plan.dialect.mark {
                    Mark::Point => text.to_vec(),
                    Mark::Comma => {
                        text.iter().map(|b| if *b == b',' { b'.' } else { *b }).collect()
                    }
                };
                self.moment.count_ns = number::scaled(&plain, scale);
            }
            Task::SlowCount(ns_each) => {
                self.moment.count_ns = float()
                    .map(|v| v * ns_each as f64)
                    .filter(|ns| ns.abs() < 9.2e18)
                    .map(|ns| ns.round() as i64);
            }
            Task::Days(zero) => self.moment.count_ns = float().and_then(|days| days_ns(days, zero)),
            Task::HalfDays(zero) => {
                let half = crate::stamp::DAY_NS / 2 * zero.rem_euclid(2);
                let ns = float().and_then(|days| days_ns(days, zero.div_euclid(2)));
                self.moment.count_ns = ns.map(|ns| ns + half);
            }
            Task::DecimalYear => self.moment.count_ns = float().and_then(calendar::decimal_year_ns),
            Task::Part(part) => {
                if let Some(value) = float() {
                    self.moment.put(part, value);
                }
            }
            Task::Skip | Task::Note | Task::Number(_) | Task::Key => {}
        }
    }

    fn keep(
        &mut self,
        note: String,
        seen: usize,
        line: &[u8],
        faults: &[(usize, String)],
        number: u64,
    ) -> Fate {
        let settled = if self.timed { Times::peek(&self.moment) } else { Ok((0, None)) };
        let (ns, open) = match settled {
            Ok(found) => found,
            Err(fault) => return Fate::Rejected(self.no_time(fault, line)),
        };
        if !note.is_empty() && self.notes.len() < NOTES {
            let row = self.times.ns.len();
            if self.notes.last().is_none_or(|last| last.text != note) || seen == 0 {
                self.notes.push(Note { ns, open, row, text: note.clone() });
            }
        }
        if !note.is_empty() && seen == 0 {
            self.tally.noted += 1;
            return Fate::Note;
        }
        for (slot, text) in faults {
            self.unread[*slot].add(number, text);
        }
        if self.timed {
            if let Err(fault) = self.times.push(&self.moment) {
                return Fate::Rejected(self.no_time(fault, line));
            }
        } else {
            self.times.push_ns(0, false);
        }
        for (column, value) in self.numbers.iter_mut().zip(&self.values) {
            column.push(*value);
        }
        Fate::Sample
    }

    fn no_time(&self, fault: NoTime, line: &[u8]) -> String {
        let cells = self.cells_of(line);
        let places = self.plan.columns.iter().zip(&cells);
        let told: Vec<String> = places
            .filter(|(column, _)| {
                !matches!(column.task, Task::Number(_) | Task::Skip | Task::Note | Task::Key)
            })
            .map(|(_, cell)| excerpt(cell, 32))
            .collect();
        let told = told.join(" ");
        match fault {
            NoTime::Unreadable if told.trim().is_empty() => "has no time".to_owned(),
            NoTime::Unreadable => format!("“{told}” does not read as a time"),
            NoTime::NoSuchDate => format!("“{told}” is no date or time that exists"),
        }
    }

    fn cells_of<'a>(&self, line: &'a [u8]) -> Vec<&'a [u8]> {
        let mut cells = Cells::new();
        match self.plan.dialect.split(line, &mut cells) {
            Some(()) => cells.iter().map(|cell| slice(line, *cell)).collect(),
            None => Vec::new(),
        }
    }
}
