//! The careful way: a row cut with quotes and all, its cells read one by one.

use crate::decode::excerpt;
use crate::dialect::{Cells, Separator, slice, words};
use crate::moment::days_ns;
use crate::number::{self, Cell, Mark};
use crate::plan::{Planned, Task, Wrap};
use crate::rows::{Fate, Found, Rows};
use crate::{calendar, json, stamp};
use record::{say, words::worded};

/// Columns at most that late keys of JSON rows may make.
const WIDEST: usize = 512;

impl Rows {
    /// Reads the cells of a line.
    pub(crate) fn row(&mut self, line: &[u8], number: u64) -> Fate {
        let mut cells = std::mem::take(&mut self.cells);
        let cut = match &self.plan.dialect.separator {
            Separator::Json(keys) => match json::fill(line, keys, &mut cells) {
                Some(0) => Some(()),
                Some(_) => self.widen(line, &mut cells),
                None => None,
            },
            _ => self.plan.dialect.split(line, &mut cells),
        };
        let fate = match cut {
            None if self.is_json() => Fate::Rejected(worded("is broken JSON")),
            None if self.plan.wrap == Wrap::Bare && self.may_hold() => Fate::Open,
            None => Fate::Rejected(worded("has a quotation mark that never closes")),
            Some(()) => self.fill(line, &mut cells, number),
        };
        self.cells = cells;
        fate
    }

    // Keys that earlier rows did not have become columns of their own.
    fn widen(&mut self, line: &[u8], cells: &mut Cells) -> Option<()> {
        for (path, (start, end)) in json::leaves(line)? {
            let Separator::Json(keys) = &mut self.plan.dialect.separator else { return None };
            let number = matches!(number::cell(&line[start..end], Mark::Point), Cell::Value(_));
            if number && !keys.contains(&path) && keys.len() < WIDEST && self.plan.pivot.is_none() {
                let named = crate::names::named(&crate::decode::text(&path), None);
                keys.push(path);
                let task = Task::Number(self.add_column());
                self.plan.columns.push(Planned { named, task });
                self.tasks.push(task);
            }
        }
        let Separator::Json(keys) = &self.plan.dialect.separator else { return None };
        json::fill(line, keys, cells).map(|_| ())
    }

    fn fill(&mut self, line: &[u8], cells: &mut Cells, number: u64) -> Fate {
        let is_blank = |cell: &(u32, u32)| slice(line, *cell).trim_ascii().is_empty();
        while cells.len() > self.plan.least && cells.last().is_some_and(is_blank) {
            cells.pop();
        }
        if cells.iter().all(is_blank) {
            self.tally.hollow += 1;
            return Fate::Kept;
        }
        if let Some(reason) = self.misfit(cells.len()) {
            return Fate::Rejected(reason);
        }
        self.values.fill(f64::NAN);
        let mut found = Found::default();
        let mut key: &[u8] = b"";
        let mut loose: Vec<f64> = Vec::new();
        let mark = self.plan.dialect.mark;
        for (place, cell) in cells.iter().enumerate().take(self.tasks.len()) {
            let cell = slice(line, *cell);
            match self.tasks[place] {
                Task::Number(slot) => {
                    if let Some(value) = read_number(cell, mark, slot, &mut found) {
                        self.values[slot] = value;
                    }
                }
                Task::Value(nth) => {
                    let value = read_number(cell, mark, nth, &mut found);
                    loose.push(value.unwrap_or(f64::NAN));
                }
                Task::Key => key = number::trimmed(cell),
                Task::Note if !number::is_missing(number::trimmed(cell)) => {
                    if !found.note.is_empty() {
                        found.note.push_str(", ");
                    }
                    found.note.push_str(&words(cell));
                }
                task => self.time_cell(task, cell),
            }
        }
        if found.seen == 0 && !found.faults.is_empty() && found.note.is_empty() {
            return Fate::Rejected(worded("has words where numbers belong"));
        }
        if self.plan.pivot.is_some()
            && let Err(reason) = self.place(key, &loose)
        {
            return Fate::Rejected(reason);
        }
        self.keep(found, line, number)
    }

    /// Whether a line names the columns again: with the same names, or with others.
    pub(crate) fn named_anew(&self, line: &[u8]) -> Option<bool> {
        let mut cells = Cells::new();
        self.plan.dialect.split(line, &mut cells)?;
        let columns = &self.plan.columns;
        let mut same = cells.len() == columns.len();
        let mut known = same && columns.iter().all(|c| c.named.header.is_empty());
        for (place, cell) in cells.iter().enumerate() {
            let text = number::trimmed(slice(line, *cell));
            if crate::sniff::reads(text) {
                return None;
            }
            let is = |c: &Planned| c.named.header.as_bytes().eq_ignore_ascii_case(text);
            known |= columns.iter().any(is);
            same &= columns.get(place).is_some_and(is);
        }
        (cells.len() > 1 && known).then_some(same)
    }

    // A row of the wrong width, in words.
    fn misfit(&self, found: usize) -> Option<String> {
        let wanted = self.tasks.len();
        if found < self.plan.least {
            return Some(say!("has {found} of {wanted} values; it was probably cut off"));
        }
        (found > wanted).then(|| {
            say!(
                "has {found} values where {wanted} belong; two lines may have run together, or a column was added"
            )
        })
    }

    // The values of a long row go to the columns of its name.
    fn place(&mut self, key: &[u8], loose: &[f64]) -> Result<(), String> {
        let Some(pivot) = &mut self.plan.pivot else { return Ok(()) };
        let known = pivot.tag(key).cloned();
        let tag = match known {
            Some(tag) => tag,
            None if pivot.is_list() && pivot.width() < 64 && !key.is_empty() => {
                let tag = pivot.add(key);
                self.add_column();
                tag
            }
            None => {
                return Err(say!("begins with “{}”, which no earlier row does", excerpt(key, 24)));
            }
        };
        let places = self.values[tag.first..].iter_mut().take(tag.count);
        places.zip(loose).for_each(|(place, value)| *place = *value);
        Ok(())
    }

    fn time_cell(&mut self, task: Task, cell: &[u8]) {
        let text = number::trimmed(cell);
        let float = || match number::cell(cell, self.plan.dialect.mark) {
            Cell::Value(value) => Some(value),
            _ => None,
        };
        match task {
            Task::Stamp => {
                if let Some(stamp) = read_stamp(text) {
                    self.moment.take(stamp);
                }
            }
            Task::Clock => {
                let read = stamp::clock(text, false);
                if let Some((ns, offset)) =
                    read.and_then(|(ns, rest)| Some((ns, stamp::tail(rest)?)))
                {
                    self.moment.of_day_ns = Some(ns);
                    self.moment.offset_s = offset.or(self.moment.offset_s);
                }
            }
            Task::CompactClock => self.moment.of_day_ns = compact_clock(text),
            Task::Count(scale) => {
                let plain: Vec<u8> = match self.plan.dialect.mark {
                    Mark::Point => text.to_vec(),
                    Mark::Comma => {
                        text.iter().map(|b| if *b == b',' { b'.' } else { *b }).collect()
                    }
                };
                self.moment.count_ns = number::scaled(&plain, scale);
            }
            Task::SlowCount(ns_each) => {
                let ns = float().map(|v| (v * ns_each as f64).round());
                self.moment.count_ns = ns.filter(|ns| ns.abs() < 9.2e18).map(|ns| ns as i64);
            }
            Task::Days(zero) => self.moment.count_ns = float().and_then(|days| days_ns(days, zero)),
            Task::HalfDays(zero) => {
                let half = stamp::DAY_NS / 2 * zero.rem_euclid(2);
                let ns = float().and_then(|days| days_ns(days, zero.div_euclid(2)));
                self.moment.count_ns = ns.map(|ns| ns + half);
            }
            Task::DecimalYear => {
                self.moment.count_ns = float().and_then(calendar::decimal_year_ns);
            }
            Task::Part(part) => {
                if let Some(value) = float() {
                    self.moment.put(part, value);
                }
            }
            Task::Skip | Task::Note | Task::Number(_) | Task::Key | Task::Value(_) => {}
        }
    }
}

fn read_number(cell: &[u8], mark: Mark, slot: usize, found: &mut Found) -> Option<f64> {
    match number::measured(cell, mark) {
        Cell::Value(value) => {
            found.seen += 1;
            Some(value)
        }
        Cell::Missing => None,
        Cell::Unreadable => {
            found.faults.push((slot, excerpt(cell, 24)));
            None
        }
    }
}

// JSON may write `03\/05\/2026`.
fn read_stamp(text: &[u8]) -> Option<stamp::Stamp> {
    if !text.contains(&b'\\') {
        return stamp::read(text);
    }
    let plain: Vec<u8> = text.iter().copied().filter(|b| *b != b'\\').collect();
    stamp::read(&plain)
}

// 142005, or 5 for five seconds past midnight.
fn compact_clock(text: &[u8]) -> Option<i64> {
    let digits = text.iter().take_while(|b| b.is_ascii_digit()).count();
    let mut padded = vec![b'0'; 6usize.saturating_sub(digits)];
    padded.extend_from_slice(text);
    stamp::clock(&padded, true).filter(|(_, rest)| rest.is_empty()).map(|(ns, _)| ns)
}
