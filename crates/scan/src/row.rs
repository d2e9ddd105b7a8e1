//! A row that is cut like the ones before and holds plain numbers and plain times,
//! read in one pass without looking back.

use crate::number::{self, Mark};
use crate::stamp::{IsoClock, Midnight};

/// A number of a date or time that has a column of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Year, in two or four digits.
    Year,
    /// Month, 1 to 12.
    Month,
    /// Day of the month.
    Day,
    /// Day of the year, from 1.
    YearDay,
    /// Hour, with decimals or not.
    Hour,
    /// Minute.
    Minute,
    /// Second, with decimals or not.
    Second,
    /// Hour and minute as one number, 1420.
    HourMinute,
    /// Thousandths of a second.
    Milli,
}

/// What to do with a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Task {
    /// Nothing: text that is no note, or a second time.
    Skip,
    /// A number, for the column of this number.
    Number(usize),
    /// A note for people.
    Note,
    /// A date with a time of day, or one of the two.
    Stamp,
    /// A time of day alone, for certain: 18.00.00 is no date.
    Clock,
    /// A time of day run together: 142005.
    CompactClock,
    /// A decimal count; the power of ten that turns it into nanoseconds.
    Count(u32),
    /// A decimal count of minutes or hours, in nanoseconds each.
    SlowCount(i64),
    /// Days since a zero day (days from 1970 to that zero).
    Days(i64),
    /// Julian dates: half days from 1970 to their zero.
    HalfDays(i64),
    /// A year with decimals.
    DecimalYear,
    /// One number of a date or a time.
    Part(Part),
    /// The name of the quantity whose value stands in the row.
    Key,
    /// A value of a long row, the nth of it.
    Value(usize),
}

/// What a quick reading needs to know about a dialect.
#[derive(Clone, Copy, Debug)]
pub struct Cut {
    /// The byte between cells.
    pub separator: u8,
    /// Whether blanks and tabs separate cells, any number of them.
    pub blanks: bool,
    /// How decimals are marked.
    pub mark: Mark,
    /// Midnight of a date.
    pub midnight: Midnight,
}

impl Cut {
    #[inline(always)]
    fn blanks_off(self, mut rest: &[u8]) -> &[u8] {
        while let [b, tail @ ..] = rest
            && (*b == b' ' || (self.blanks && *b == b'\t'))
        {
            rest = tail;
        }
        rest
    }

    // The rest behind a separator; `None` when none stands here.
    #[inline(always)]
    fn separator_off(self, rest: &[u8]) -> Option<&[u8]> {
        match rest {
            [b, tail @ ..] if *b == self.separator || (self.blanks && *b == b'\t') => Some(tail),
            _ => None,
        }
    }

    /// The length of the cell that begins here.
    #[must_use]
    pub fn cell(self, rest: &[u8]) -> usize {
        let ends = |b: &u8| *b == self.separator || (self.blanks && *b == b'\t');
        rest.iter().position(ends).unwrap_or(rest.len())
    }
}

/// Where the time of a row came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// No cell had one.
    None,
    /// One plain cell: nanoseconds, and whether it said that it is UTC.
    Settled(i64, bool),
    /// Cells that were left to the caller.
    Gathered,
}

/// Reads a cell of a time that is no plain stamp: its task, whether it is the first of the row,
/// the rest of the line; gives the bytes taken, or leaves the row to a careful reading.
pub type Other<'a> = dyn FnMut(Task, bool, &[u8]) -> Option<usize> + 'a;

/// Reads a row into `values`, one place a column of numbers, NaN where none stands.
///
/// `None` leaves the row to a careful reading.
pub fn read(
    line: &[u8],
    cut: Cut,
    tasks: &[Task],
    iso: &mut IsoClock,
    values: &mut [f64],
    other: &mut Other<'_>,
) -> Option<Clock> {
    let mut rest = line;
    let mut clock = Clock::None;
    let mut both = false;
    let mut first = true;
    for task in tasks {
        // A date and a time of day in neighbouring cells were read as one.
        if std::mem::take(&mut both) {
            if *task != Task::Clock {
                return None;
            }
            continue;
        }
        if !std::mem::take(&mut first) {
            rest = cut.separator_off(rest)?;
        }
        rest = cut.blanks_off(rest);
        match *task {
            Task::Number(slot) => {
                let (value, used) = number::leading(rest, cut.mark).unwrap_or((f64::NAN, 0));
                if value.is_infinite() {
                    return None;
                }
                *values.get_mut(slot)? = value;
                rest = &rest[used..];
            }
            Task::Stamp
                if clock == Clock::None
                    && let Some((ns, used, utc)) =
                        iso.leading(rest, cut.separator, cut.midnight) =>
            {
                both = rest[10] == cut.separator;
                rest = &rest[used..];
                clock = Clock::Settled(ns, utc);
            }
            Task::Count(scale) if clock == Clock::None => {
                let (ns, used) = number::count(rest, scale)?;
                clock = Clock::Settled(ns, false);
                rest = &rest[used..];
            }
            Task::Note => {}
            Task::Skip if rest.first() != Some(&b'"') => rest = &rest[cut.cell(rest)..],
            // A whole stamp does not go with other cells of a time.
            _ if matches!(clock, Clock::Settled(..)) => return None,
            task => {
                let used = other(task, clock == Clock::None, rest)?;
                clock = Clock::Gathered;
                rest = rest.get(used..)?;
            }
        }
        if !cut.blanks {
            rest = cut.blanks_off(rest);
        }
    }
    let hollow = |b: &u8| *b == cut.separator || matches!(b, b' ' | b'\t');
    (!both && rest.iter().all(hollow)).then_some(clock)
}
