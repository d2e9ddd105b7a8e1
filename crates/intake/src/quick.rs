//! The quick way: rows that are cut like the ones before and hold plain
//! numbers and plain times, read in one pass without looking back.
//!
//! Anything else (quotes, words for no value, odd widths, notes) is left to
//! the careful way; what both read, they read the same.

use crate::calendar::midnight;
use crate::dialect::Separator;
use crate::moment::Moment;
use crate::number;
use crate::plan::{Plan, Task, Wrap};
use crate::rows::Rows;
use crate::stamp;
use scan::blocks::push_row;
use scan::row::{Clock, Cut, read};

/// The quick way for a plan; `None` when its rows need care.
pub(crate) fn cut_of(plan: &Plan) -> Option<Cut> {
    let mark = plan.dialect.mark;
    let bare = matches!(plan.wrap, Wrap::Bare | Wrap::Observatory) && plan.pivot.is_none();
    match plan.dialect.separator {
        Separator::Byte(separator) if bare => {
            Some(Cut { separator, blanks: false, mark, midnight })
        }
        Separator::Blanks if bare => Some(Cut { separator: b' ', blanks: true, mark, midnight }),
        _ => None,
    }
}

impl Rows {
    /// Reads a row; `None` leaves it to the careful way, and nothing has been
    /// kept by then.
    #[inline]
    pub(crate) fn quickly(&mut self, line: &[u8], cut: Cut) -> Option<()> {
        let Self { tasks, iso, moment, values, .. } = self;
        let mut other = |task, first, rest: &[u8]| {
            if first {
                *moment = Moment::default();
            }
            time_cell(moment, task, rest, cut)
        };
        match read(line, cut, tasks, iso, values, &mut other)? {
            Clock::Settled(ns, utc) => self.times.push_ns(ns, utc)?,
            Clock::Gathered => self.times.push(&self.moment).ok()?,
            Clock::None if !self.timed => self.times.push_ns(0, false)?,
            Clock::None => return None,
        }
        push_row(&mut self.numbers, &self.values);
        Some(())
    }
}

// A cell of a time that is no plain ISO stamp; the bytes it takes.
fn time_cell(moment: &mut Moment, task: Task, rest: &[u8], cut: Cut) -> Option<usize> {
    match task {
        Task::Stamp => {
            let end = cut.cell(rest);
            moment.take(stamp::read(rest[..end].trim_ascii_end())?);
            Some(end)
        }
        Task::Clock => {
            let end = cut.cell(rest);
            let (ns, beyond) = stamp::clock(rest[..end].trim_ascii_end(), false)?;
            moment.of_day_ns = Some(ns);
            beyond.is_empty().then_some(end)
        }
        Task::Part(part) => {
            let (value, used) = number::leading(rest, cut.mark)?;
            moment.put(part, value);
            Some(used)
        }
        _ => None,
    }
}
