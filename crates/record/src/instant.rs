//! Instants as whole nanoseconds of UTC, and the civil calendar.
//!
//! Leap seconds are not counted, as in POSIX time.  The calendar arithmetic is
//! the proleptic Gregorian one, on days since 1970-01-01.

use crate::{
    say,
    words::{self, word},
};
use std::fmt;

/// Nanoseconds in a second.
pub const NANOS_PER_SECOND: i64 = 1_000_000_000;

const SECONDS_PER_DAY: i64 = 86_400;

/// A moment: nanoseconds since 1970-01-01T00:00:00Z.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Instant(pub i64);

/// A date and time of day in UTC.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Civil {
    /// Year, such as 2026.
    pub year: i32,
    /// Month, 1 to 12.
    pub month: u32,
    /// Day of the month, from 1.
    pub day: u32,
    /// Hour, 0 to 23.
    pub hour: u32,
    /// Minute, 0 to 59.
    pub minute: u32,
    /// Second, 0 to 59.
    pub second: u32,
    /// Nanosecond, 0 to 999,999,999.
    pub nanos: u32,
}

impl Instant {
    /// The instant of a civil date and time; `None` for a date or time that
    /// does not exist (24:00:00 does: the next day's midnight) or that lies
    /// outside the years 1678 to 2261.
    pub fn from_civil(civil: Civil) -> Option<Self> {
        let Civil { year, month, day, hour, minute, second, nanos } = civil;
        if !(1678..=2261).contains(&year) || !(1..=12).contains(&month) {
            return None;
        }
        if day < 1 || day > days_in_month(year, month) {
            return None;
        }
        let midnight_next = hour == 24 && minute == 0 && second == 0 && nanos == 0;
        if (hour > 23 && !midnight_next) || minute > 59 || second > 59 || nanos > 999_999_999 {
            return None;
        }
        let seconds = days_from_civil(year, month, day) * SECONDS_PER_DAY
            + i64::from(hour) * 3600
            + i64::from(minute) * 60
            + i64::from(second);
        Some(Self(seconds * NANOS_PER_SECOND + i64::from(nanos)))
    }

    /// Midnight at the start of a day; `None` when the day does not exist.
    pub fn from_date(year: i32, month: u32, day: u32) -> Option<Self> {
        Self::from_civil(Civil { year, month, day, hour: 0, minute: 0, second: 0, nanos: 0 })
    }

    /// The instant `seconds` after 1970 began, to the nearest nanosecond.
    pub fn from_seconds(seconds: f64) -> Self {
        Self((seconds * 1e9).round() as i64)
    }

    /// Seconds since 1970 began; exact to about 0.2 µs in this century.
    pub fn seconds(self) -> f64 {
        let whole = self.0.div_euclid(NANOS_PER_SECOND);
        let rest = self.0.rem_euclid(NANOS_PER_SECOND);
        whole as f64 + rest as f64 * 1e-9
    }

    /// The civil date and time in UTC.
    pub fn civil(self) -> Civil {
        let seconds = self.0.div_euclid(NANOS_PER_SECOND);
        let nanos = self.0.rem_euclid(NANOS_PER_SECOND) as u32;
        let (year, month, day) = civil_from_days(seconds.div_euclid(SECONDS_PER_DAY));
        let of_day = seconds.rem_euclid(SECONDS_PER_DAY) as u32;
        Civil {
            year,
            month,
            day,
            hour: of_day / 3600,
            minute: of_day / 60 % 60,
            second: of_day % 60,
            nanos,
        }
    }

    /// The year with the elapsed part of it as a fraction, such as 2026.5.
    pub fn decimal_year(self) -> f64 {
        let year = self.civil().year;
        let start = days_from_civil(year, 1, 1);
        let days = days_from_civil(year + 1, 1, 1) - start;
        let into = self.0 - start * SECONDS_PER_DAY * NANOS_PER_SECOND;
        f64::from(year) + into as f64 / (days * SECONDS_PER_DAY) as f64 * 1e-9
    }

    /// ISO 8601 in UTC with as many decimals of a second as are needed (in
    /// threes), such as `2026-05-03T14:20:00Z` or `2026-05-03T14:20:00.250Z`.
    pub fn iso(self) -> String {
        let c = self.civil();
        let head = format!(
            "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}",
            c.year, c.month, c.day, c.hour, c.minute, c.second
        );
        match c.nanos {
            0 => format!("{head}Z"),
            n if n % 1_000_000 == 0 => format!("{head}.{:03}Z", n / 1_000_000),
            n if n % 1_000 == 0 => format!("{head}.{:06}Z", n / 1_000),
            n => format!("{head}.{n:09}Z"),
        }
    }

    /// For reading in a sentence: `3 May 2026 14:20`, with seconds only when
    /// there are some.
    pub fn readable(self) -> String {
        let c = self.civil();
        let clock = format!("{:02}:{:02}", c.hour, c.minute);
        let mut text = if words::style().iso_dates {
            format!("{:04}-{:02}-{:02} {clock}", c.year, c.month, c.day)
        } else {
            say!(
                "{day} {month} {year} {clock}",
                day = c.day,
                month = month_name(c.month),
                year = c.year
            )
        };
        if c.second != 0 || c.nanos != 0 {
            text.push_str(&format!(":{:02}", c.second));
        }
        text
    }

    /// The nearest instant that is a whole number of `step_ns`.
    #[must_use]
    pub fn rounded(self, step_ns: i64) -> Self {
        let step = step_ns.max(1);
        Self((self.0 + step / 2).div_euclid(step) * step)
    }
}

impl fmt::Display for Instant {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.iso())
    }
}

/// Name of a month, 1 to 12.
pub(crate) fn month_name(month: u32) -> &'static str {
    const NAMES: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    word(NAMES[(month.clamp(1, 12) - 1) as usize])
}

fn days_in_month(year: i32, month: u32) -> u32 {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

// Days are counted in years that begin in March, so that the leap day is the
// last one; 400 such years hold 146,097 days.
fn days_from_civil(year: i32, month: u32, day: u32) -> i64 {
    let y = i64::from(year) - i64::from(month <= 2);
    let era = y.div_euclid(400);
    let of_era = y.rem_euclid(400);
    let shifted = (i64::from(month) + 9) % 12;
    let of_year = (153 * shifted + 2) / 5 + i64::from(day) - 1;
    era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468
}

fn civil_from_days(days: i64) -> (i32, u32, u32) {
    let z = days + 719_468;
    let era = z.div_euclid(146_097);
    let of_era = z.rem_euclid(146_097);
    let year = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year + year / 4 - year / 100);
    let shifted = (5 * of_year + 2) / 153;
    let day = (of_year - (153 * shifted + 2) / 5 + 1) as u32;
    let month = (if shifted < 10 { shifted + 3 } else { shifted - 9 }) as u32;
    let year = (year + era * 400 + i64::from(month <= 2)) as i32;
    (year, month, day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_leap_day_is_printed_and_counted() {
        let instant = Instant::from_date(2028, 2, 29).unwrap();
        assert_eq!(instant.iso(), "2028-02-29T00:00:00Z");
        assert!(Instant::from_date(2026, 2, 29).is_none());
    }

    #[test]
    fn every_day_of_four_centuries_comes_back_from_its_date() {
        for days in -100_000..100_000 {
            let (y, m, d) = civil_from_days(days);
            assert_eq!(days_from_civil(y, m, d), days);
        }
    }

    #[test]
    fn decimal_years_follow_the_civil_year() {
        // formulas.md, "Time": 2027-07-02 00:00 and 2028-02-29 12:00 UTC.
        let a = Instant::from_date(2027, 7, 2).unwrap().decimal_year();
        assert!((a - 2_027.498_630_137).abs() < 1e-9);
        let noon = Instant(Instant::from_date(2028, 2, 29).unwrap().0 + 43_200 * NANOS_PER_SECOND);
        assert!((noon.decimal_year() - 2_028.162_568_306).abs() < 1e-9);
    }

    #[test]
    fn hour_24_is_the_next_midnight() {
        let late = Civil { year: 2026, month: 5, day: 3, hour: 24, minute: 0, second: 0, nanos: 0 };
        assert_eq!(Instant::from_civil(late), Instant::from_date(2026, 5, 4));
    }
}
