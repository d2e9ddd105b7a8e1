//! The time of one row, gathered from its cells, and the time axis they make.
//!
//! A row's time may come from one cell (a stamp, a count of milliseconds, a
//! serial day), from two (a date and a time of day) or from six.  Dates whose
//! order is open are kept as written until the whole file is known.

use crate::calendar::{Date, midnight, midnight_of_year_day};
use crate::stamp::Stamp;
use record::NANOS_PER_SECOND;
use scan::blocks::Blocks;
pub(crate) use scan::row::Part;

/// What the cells of one row say about its time.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Moment {
    /// A date.
    pub date: Option<Date>,
    /// Nanoseconds since midnight.
    pub of_day_ns: Option<i64>,
    /// Seconds east of UTC.
    pub offset_s: Option<i32>,
    /// Nanoseconds since the zero of the file's own count.
    pub count_ns: Option<i64>,
    pub(crate) parts: [Option<f64>; 9],
}

/// Why a row has no time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum NoTime {
    /// No cell could be read as one.
    Unreadable,
    /// The date does not exist.
    NoSuchDate,
    /// Before 1825 or after 2115.
    OutOfRange,
}

/// Whether a time lies between 1825 and 2115: the difference of any two such
/// times fits 64 bits.
#[inline]
pub(crate) fn in_range(ns: i64) -> bool {
    ns.unsigned_abs() < 4_600_000_000_000_000_000
}

impl Moment {
    /// Takes over what a stamp says, leaving what it does not.
    pub(crate) fn take(&mut self, stamp: Stamp) {
        self.date = stamp.date.or(self.date);
        self.of_day_ns = stamp.of_day_ns.or(self.of_day_ns);
        self.offset_s = stamp.offset_s.or(self.offset_s);
    }

    /// Takes over one number of the date or time.
    pub(crate) fn put(&mut self, part: Part, value: f64) {
        self.parts[part as usize] = Some(value);
    }

    // (nanoseconds, open date): the date's midnight is in the first when settled.
    fn settled(&self) -> Result<(i64, Option<[u16; 3]>), NoTime> {
        let (ns, open) = self.unchecked()?;
        if in_range(ns) { Ok((ns, open)) } else { Err(NoTime::OutOfRange) }
    }

    fn unchecked(&self) -> Result<(i64, Option<[u16; 3]>), NoTime> {
        if let Some(ns) = self.count_ns {
            return Ok((ns, None));
        }
        let date = match self.date {
            Some(date) => Some(date),
            None => self.date_of_parts()?,
        };
        let of_day = match self.of_day_ns {
            Some(ns) => Some(ns),
            None => self.clock_of_parts()?,
        };
        let offset_ns = i64::from(self.offset_s.unwrap_or(0)) * NANOS_PER_SECOND;
        match (date, of_day) {
            (None, None) => Err(NoTime::Unreadable),
            (Some(Date::Open(parts)), clock) => Ok((clock.unwrap_or(0) - offset_ns, Some(parts))),
            (Some(Date::Known(day)), clock) => Ok((day + clock.unwrap_or(0) - offset_ns, None)),
            (None, Some(clock)) => Ok((clock - offset_ns, None)),
        }
    }

    fn whole(&self, part: Part) -> Option<u32> {
        let value = self.parts[part as usize]?;
        ((0.0..=9999.0).contains(&value) && value.fract() == 0.0).then_some(value as u32)
    }

    fn date_of_parts(&self) -> Result<Option<Date>, NoTime> {
        let Some(year) = self.whole(Part::Year) else { return Ok(None) };
        let year = crate::calendar::full_year(year);
        let ns = match (self.whole(Part::YearDay), self.whole(Part::Month), self.whole(Part::Day)) {
            (_, Some(month), Some(day)) => midnight(year, month, day),
            (Some(day), ..) => midnight_of_year_day(year, day),
            _ => return Err(NoTime::Unreadable),
        };
        ns.map(|ns| Some(Date::Known(ns))).ok_or(NoTime::NoSuchDate)
    }

    fn clock_of_parts(&self) -> Result<Option<i64>, NoTime> {
        let get = |part: Part| self.parts[part as usize];
        if let Some(value) = self.whole(Part::HourMinute) {
            let (hour, minute) = (value / 100, value % 100);
            let fits = (hour < 24 && minute < 60) || value == 2400;
            let ns = i64::from(hour * 60 + minute) * 60 * NANOS_PER_SECOND;
            return if fits { Ok(Some(ns)) } else { Err(NoTime::NoSuchDate) };
        }
        let Some(hour) = get(Part::Hour) else { return Ok(None) };
        let (minute, second) = (get(Part::Minute).unwrap_or(0.0), get(Part::Second).unwrap_or(0.0));
        let milli = get(Part::Milli).unwrap_or(0.0);
        let fits = (0.0..=24.0).contains(&hour)
            && (0.0..60.0).contains(&minute)
            && (0.0..61.0).contains(&second)
            && (0.0..1000.0).contains(&milli);
        let ns = (hour * 3.6e12).round() + (minute * 6e10).round() + (second * 1e9).round();
        if fits { Ok(Some((ns + milli * 1e6) as i64)) } else { Err(NoTime::NoSuchDate) }
    }
}

/// Stands among the open dates for rows whose date is settled.
pub(crate) const SETTLED: [u16; 3] = [0; 3];

/// The time axis while it is being read.
#[derive(Debug)]
pub(crate) struct Times {
    /// Nanoseconds; without the date where that is open.
    pub ns: Blocks<i64>,
    /// Open dates: the first row of each, and its numbers.
    pub open: Vec<(usize, [u16; 3])>,
    /// Rows whose stamp says how far from UTC it is.
    pub zoned: usize,
    /// The first such offset, and whether others differ.
    pub first_offset_s: Option<i32>,
    /// Whether rows have different offsets.
    pub offsets_differ: bool,
}

impl Times {
    /// No rows yet, and about so many to come.
    pub(crate) fn expecting(rows: usize) -> Self {
        let ns = Blocks::expecting(rows);
        Self { ns, open: Vec::new(), zoned: 0, first_offset_s: None, offsets_differ: false }
    }

    /// The time of a row, without keeping it.
    pub(crate) fn peek(moment: &Moment) -> Result<(i64, Option<[u16; 3]>), NoTime> {
        moment.settled()
    }

    /// Adds a row's time.
    pub(crate) fn push(&mut self, moment: &Moment) -> Result<(), NoTime> {
        let (ns, open) = moment.settled()?;
        match open {
            Some(parts) if self.open.last().is_none_or(|(_, last)| *last != parts) => {
                self.open.push((self.ns.len(), parts));
            }
            Some(_) => {}
            None => self.settled_again(),
        }
        if let Some(offset) = moment.offset_s {
            self.zoned += 1;
            self.offsets_differ |= self.first_offset_s.is_some_and(|first| first != offset);
            self.first_offset_s = self.first_offset_s.or(Some(offset));
        }
        self.ns.push(ns);
        Ok(())
    }

    // Rows whose dates are settled, behind others whose are not.
    #[inline]
    fn settled_again(&mut self) {
        if let Some((_, last)) = self.open.last()
            && *last != SETTLED
        {
            self.open.push((self.ns.len(), SETTLED));
        }
    }

    /// Adds a row with a settled time, stamped `Z` or not; `None` when the time
    /// is out of range.
    #[inline]
    pub(crate) fn push_ns(&mut self, ns: i64, utc: bool) -> Option<()> {
        if !in_range(ns) {
            return None;
        }
        if utc {
            self.zoned += 1;
            self.first_offset_s = self.first_offset_s.or(Some(0));
            self.offsets_differ |= self.first_offset_s != Some(0);
        }
        self.settled_again();
        self.ns.push(ns);
        Some(())
    }
}

/// Days since 1970 of a spreadsheet's serial day 0 (30 December 1899), negative.
pub(crate) const SERIAL_ZERO_DAYS: i64 = -25_569;

/// A count of days as nanoseconds, rounded to a millisecond: a day number with
/// five decimals is no better than that.
pub(crate) fn days_ns(days: f64, zero_days: i64) -> Option<i64> {
    let ms = (days * 86_400_000.0).round() + zero_days as f64 * 86_400_000.0;
    (ms.abs() < 9e12).then(|| ms as i64 * 1_000_000)
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::Instant;

    #[test]
    fn six_columns_make_one_moment() {
        let mut moment = Moment::default();
        for (part, value) in [
            (Part::Year, 2020.0),
            (Part::Month, 10.0),
            (Part::Day, 1.0),
            (Part::Hour, 0.0),
            (Part::Minute, 1.0),
            (Part::Second, 59.5),
        ] {
            moment.put(part, value);
        }
        let (ns, open) = Times::peek(&moment).unwrap();
        assert_eq!((Instant(ns).iso().as_str(), open), ("2020-10-01T00:01:59.500Z", None));
        moment.put(Part::Month, 13.0);
        assert_eq!(Times::peek(&moment), Err(NoTime::NoSuchDate));
    }

    #[test]
    fn the_quick_stamp_reader_agrees_with_the_careful_one() {
        let mut quick = scan::stamp::IsoClock::default();
        for text in
            ["2026-05-03T14:20:05Z", "2026/05/03 14:20:05.25", "2026-05-04T00:00:00.123456789Z"]
        {
            let (ns, used, _) = quick.leading(text.as_bytes(), b'T', midnight).unwrap();
            let mut moment = Moment::default();
            moment.take(crate::stamp::read(text.as_bytes()).unwrap());
            assert_eq!((Times::peek(&moment), used), (Ok((ns, None)), text.len()), "{text}");
        }
        assert_eq!(quick.leading(b"2026-02-30T00:00:00Z", b'T', midnight), None);
    }

    #[test]
    fn serial_day_45000_and_a_half_is_a_noon_in_2023() {
        let ns = days_ns(45_000.5, SERIAL_ZERO_DAYS).unwrap();
        assert_eq!(Instant(ns).iso(), "2023-03-15T12:00:00Z");
    }
}
