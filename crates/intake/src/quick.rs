//! The quick way: rows that are cut like the ones before and hold plain
//! numbers and plain times, read in one pass without looking back.
//!
//! Anything else (quotes, words for no value, odd widths, notes) is left to
//! the careful way; what both read, they read the same.

use crate::dialect::Separator;
use crate::moment::Moment;
use crate::number::{self, Mark};
use crate::plan::{Plan, Task, Wrap};
use crate::rows::Rows;
use crate::stamp;

/// What the quick way needs to know about a dialect.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Quick {
    separator: u8,
    blanks: bool,
    mark: Mark,
}

impl Quick {
    /// The quick way for a plan; `None` when its rows need care.
    pub(crate) fn of(plan: &Plan) -> Option<Self> {
        let mark = plan.dialect.mark;
        let bare = matches!(plan.wrap, Wrap::Bare | Wrap::Observatory) && plan.pivot.is_none();
        match plan.dialect.separator {
            Separator::Byte(separator) if bare => Some(Self { separator, blanks: false, mark }),
            Separator::Blanks if bare => Some(Self { separator: b' ', blanks: true, mark }),
            _ => None,
        }
    }

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

    // The length of the cell that begins here.
    fn cell(self, rest: &[u8]) -> usize {
        let found = if self.blanks {
            memchr::memchr2(b' ', b'\t', rest)
        } else {
            memchr::memchr(self.separator, rest)
        };
        found.unwrap_or(rest.len())
    }
}

// Where the time of a row came from.
enum Clock {
    None,
    Settled(i64, bool),
    Moment,
}

impl Rows {
    /// Reads a row; `None` leaves it to the careful way, and nothing has been
    /// kept by then.
    #[inline]
    pub(crate) fn quickly(&mut self, line: &[u8], quick: Quick) -> Option<()> {
        let mut rest = line;
        let mut clock = Clock::None;
        let mut both = false;
        let mut first = true;
        let Self { tasks, iso, moment, values, .. } = self;
        for task in tasks.iter() {
            // A date and a time of day in neighbouring cells were read as one.
            if std::mem::take(&mut both) {
                if *task != Task::Clock {
                    return None;
                }
                continue;
            }
            if !std::mem::take(&mut first) {
                rest = quick.separator_off(rest)?;
            }
            rest = quick.blanks_off(rest);
            match *task {
                Task::Number(slot) => {
                    let (value, used) = number::leading(rest, quick.mark).unwrap_or((f64::NAN, 0));
                    if value.is_infinite() {
                        return None;
                    }
                    *values.get_mut(slot)? = value;
                    rest = &rest[used..];
                }
                Task::Stamp if matches!(clock, Clock::None) => {
                    match iso.leading(rest, quick.separator) {
                        Some((ns, used, utc)) => {
                            both = rest[10] == quick.separator;
                            rest = &rest[used..];
                            clock = Clock::Settled(ns, utc);
                        }
                        None => rest = time_cell(moment, *task, rest, quick, &mut clock)?,
                    }
                }
                Task::Count(scale) if matches!(clock, Clock::None) => {
                    let (ns, used) = number::count(rest, scale)?;
                    clock = Clock::Settled(ns, false);
                    rest = &rest[used..];
                }
                Task::Note => {}
                Task::Skip if rest.first() != Some(&b'"') => rest = &rest[quick.cell(rest)..],
                task => rest = time_cell(moment, task, rest, quick, &mut clock)?,
            }
            if !quick.blanks {
                rest = quick.blanks_off(rest);
            }
        }
        let hollow = |b: &u8| *b == quick.separator || matches!(b, b' ' | b'\t');
        if both || !rest.iter().all(hollow) {
            return None;
        }
        self.keep_quick(&clock)
    }

    #[inline]
    fn keep_quick(&mut self, clock: &Clock) -> Option<()> {
        match clock {
            Clock::Settled(ns, utc) => self.times.push_ns(*ns, *utc)?,
            Clock::Moment => self.times.push(&self.moment).ok()?,
            Clock::None if !self.timed => self.times.push_ns(0, false)?,
            Clock::None => return None,
        }
        for (column, value) in self.numbers.iter_mut().zip(&self.values) {
            column.push(*value);
        }
        Some(())
    }
}

// A cell of a time that is no plain ISO stamp; the rest behind it.
#[inline]
fn time_cell<'a>(
    moment: &mut Moment,
    task: Task,
    rest: &'a [u8],
    quick: Quick,
    clock: &mut Clock,
) -> Option<&'a [u8]> {
    // The first cell of a time that is gathered from cells begins it; a
    // whole stamp does not go with others.
    match clock {
        Clock::Settled(..) => return None,
        Clock::None => *moment = Moment::default(),
        Clock::Moment => {}
    }
    *clock = Clock::Moment;
    let used = match task {
        Task::Stamp => {
            let end = quick.cell(rest);
            moment.take(stamp::read(rest[..end].trim_ascii_end())?);
            end
        }
        Task::Clock => {
            let end = quick.cell(rest);
            let (ns, beyond) = stamp::clock(rest[..end].trim_ascii_end(), false)?;
            if !beyond.is_empty() {
                return None;
            }
            moment.of_day_ns = Some(ns);
            end
        }
        Task::Part(part) => {
            let (value, used) = number::leading(rest, quick.mark)?;
            moment.put(part, value);
            used
        }
        _ => return None,
    };
    Some(&rest[used..])
}
