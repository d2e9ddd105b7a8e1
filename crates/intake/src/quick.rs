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

    #[inline]
    fn is_blank(self, byte: Option<&u8>) -> bool {
        matches!(byte, Some(b' ')) || (self.blanks && matches!(byte, Some(b'\t')))
    }

    #[inline]
    fn ends(self, byte: Option<&u8>) -> bool {
        match byte {
            None => true,
            Some(byte) => *byte == self.separator || (self.blanks && *byte == b'\t'),
        }
    }

    // The end of the cell that begins at `at`.
    fn cell_end(self, line: &[u8], at: usize) -> usize {
        let rest = &line[at..];
        let found = if self.blanks {
            memchr::memchr2(b' ', b'\t', rest)
        } else {
            memchr::memchr(self.separator, rest)
        };
        found.map_or(line.len(), |n| at + n)
    }
}

// Where the time of a row came from.
enum Clock {
    None,
    Iso(i64, bool),
    Moment,
}

impl Rows {
    /// Reads a row; `None` leaves it to the careful way, and nothing has been
    /// kept by then.
    #[inline]
    pub(crate) fn quickly(&mut self, line: &[u8], quick: Quick) -> Option<()> {
        let mut at = 0;
        let mut clock = Clock::None;
        let mut both = false;
        for (place, task) in self.tasks.iter().enumerate() {
            // A date and a time of day in neighbouring cells were read as one.
            if std::mem::take(&mut both) {
                if *task != Task::Clock {
                    return None;
                }
                continue;
            }
            if place > 0 {
                if at >= line.len() || !quick.ends(line.get(at)) {
                    return None;
                }
                at += 1;
            }
            while quick.is_blank(line.get(at)) {
                at += 1;
            }
            match *task {
                Task::Number(slot) => match number::leading(&line[at..], quick.mark) {
                    Some((value, used)) if value.is_finite() => {
                        *self.values.get_mut(slot)? = value;
                        at += used;
                    }
                    Some(_) => return None,
                    None => *self.values.get_mut(slot)? = f64::NAN,
                },
                Task::Skip if line.get(at) != Some(&b'"') => at = quick.cell_end(line, at),
                Task::Note => {}
                Task::Stamp => {
                    if let Clock::None = clock
                        && let Some((ns, used, utc)) =
                            self.iso.leading(&line[at..], quick.separator)
                    {
                        both = line[at + 10] == quick.separator;
                        at += used;
                        clock = Clock::Iso(ns, utc);
                    } else {
                        let end = quick.cell_end(line, at);
                        fresh(&mut clock, &mut self.moment)?;
                        self.moment.take(stamp::read(line[at..end].trim_ascii_end())?);
                        at = end;
                    }
                }
                Task::Clock => {
                    let end = quick.cell_end(line, at);
                    let (ns, rest) = stamp::clock(line[at..end].trim_ascii_end(), false)?;
                    if !rest.is_empty() {
                        return None;
                    }
                    fresh(&mut clock, &mut self.moment)?;
                    self.moment.of_day_ns = Some(ns);
                    at = end;
                }
                Task::Count(scale) => {
                    let (ns, used) = number::count(&line[at..], scale)?;
                    fresh(&mut clock, &mut self.moment)?;
                    self.moment.count_ns = Some(ns);
                    at += used;
                }
                Task::Part(part) => {
                    let (value, used) = number::leading(&line[at..], quick.mark)?;
                    fresh(&mut clock, &mut self.moment)?;
                    self.moment.put(part, value);
                    at += used;
                }
                _ => return None,
            }
            while !quick.blanks && line.get(at) == Some(&b' ') {
                at += 1;
            }
        }
        let hollow = |b: &u8| *b == quick.separator || matches!(b, b' ' | b'\t');
        if both || !line[at..].iter().all(hollow) {
            return None;
        }
        self.keep_quick(&clock)
    }

    #[inline]
    fn keep_quick(&mut self, clock: &Clock) -> Option<()> {
        match clock {
            Clock::Iso(ns, utc) => self.times.push_ns(*ns, *utc),
            Clock::Moment => self.times.push(&self.moment).ok()?,
            Clock::None if !self.timed => self.times.push_ns(0, false),
            Clock::None => return None,
        }
        for (column, value) in self.numbers.iter_mut().zip(&self.values) {
            column.push(*value);
        }
        Some(())
    }
}

// The first cell of a time that is gathered from cells begins it; a whole stamp
// does not go with others.
#[inline]
fn fresh(clock: &mut Clock, moment: &mut Moment) -> Option<()> {
    match clock {
        Clock::Iso(..) => return None,
        Clock::None => *moment = Moment::default(),
        Clock::Moment => {}
    }
    *clock = Clock::Moment;
    Some(())
}
