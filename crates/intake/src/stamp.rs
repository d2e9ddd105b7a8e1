//! Time stamps as loggers write them: a date, a time of day, an offset.
//!
//! Text in, parts out.  Where the order of day and month is open, the three
//! numbers of the date are handed on as written, to be settled over the whole
//! file.  Nothing here knows a locale.

use crate::calendar::{Date, date};
use record::NANOS_PER_SECOND;

/// Nanoseconds of a day.
pub(crate) const DAY_NS: i64 = 86_400 * NANOS_PER_SECOND;

/// What a cell says about time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stamp {
    /// The date, when there is one.
    pub date: Option<Date>,
    /// Nanoseconds since midnight, when there is a time of day.
    pub of_day_ns: Option<i64>,
    /// Seconds east of UTC, when the text says so.
    pub offset_s: Option<i32>,
}

/// Reads a whole cell as a date, a time of day, or both.
pub(crate) fn read(text: &[u8]) -> Option<Stamp> {
    if text.len() < 4 || text.len() > 48 || !text.iter().any(u8::is_ascii_digit) {
        return None;
    }
    let Some((date, rest)) = date(text) else {
        let (of_day_ns, rest) = clock(text, false)?;
        let offset_s = tail(rest)?;
        return Some(Stamp { date: None, of_day_ns: Some(of_day_ns), offset_s });
    };
    let mut rest = rest.trim_ascii_start();
    let between = ["at ", "à ", "um "].iter().find_map(|word| rest.strip_prefix(word.as_bytes()));
    if let Some(b'T' | b't' | b'_' | b',' | b'-' | b';') = rest.first() {
        rest = rest[1..].trim_ascii_start();
    }
    rest = between.unwrap_or(rest);
    if let Some(offset_s) = tail(rest) {
        return Some(Stamp { date: Some(date), of_day_ns: None, offset_s });
    }
    let (of_day_ns, rest) = clock(rest, true)?;
    let offset_s = tail(rest)?;
    Some(Stamp { date: Some(date), of_day_ns: Some(of_day_ns), offset_s })
}

/// A time of day at the start of the text, and what follows it.
/// Forms: `14:20`, `14:20:05.25`, `14h20`, `18.00.00`, each with `PM` or not;
/// with `compact` also `142005` and `1420`.
pub(crate) fn clock(text: &[u8], compact: bool) -> Option<(i64, &[u8])> {
    let (digits, after) = digits(text);
    let ([hour, minute, second], rest) = match (digits.len(), after.first()) {
        (1 | 2, Some(sep @ (b':' | b'.' | b'h'))) => parted(digits, &after[1..], *sep)?,
        (6, _) if compact => ([pair(digits), pair(&digits[2..]), pair(&digits[4..])], after),
        (4, _) if compact => ([pair(digits), pair(&digits[2..]), 0], after),
        _ => return None,
    };
    let (nanos, rest) = fraction(rest)?;
    let (hour, rest) = half_day(hour, rest)?;
    let midnight_next = hour == 24 && minute == 0 && second == 0 && nanos == 0;
    if (hour > 23 && !midnight_next) || minute > 59 || second > 60 {
        return None;
    }
    let seconds = i64::from(hour) * 3600 + i64::from(minute) * 60 + i64::from(second);
    Some((seconds * NANOS_PER_SECOND + nanos, rest))
}

// Hour, minute and, behind the same separator, second.  Two numbers with a
// point between are a decimal, not a time.
fn parted<'a>(hour: &[u8], rest: &'a [u8], sep: u8) -> Option<([u32; 3], &'a [u8])> {
    let (minute, rest) = digits(rest);
    if minute.len() != 2 {
        return None;
    }
    let (hour, minute) = (pair(hour), pair(minute));
    match rest.split_first() {
        Some((next, tail)) if *next == sep => {
            let (second, rest) = digits(tail);
            (second.len() == 2).then(|| ([hour, minute, pair(second)], rest))
        }
        _ if sep == b'.' => None,
        _ => Some(([hour, minute, 0], rest)),
    }
}

// A fraction of a second behind a point, a comma or a colon; more than nine
// digits are cut.
fn fraction(text: &[u8]) -> Option<(i64, &[u8])> {
    let Some((b'.' | b',' | b':', tail)) = text.split_first() else { return Some((0, text)) };
    let (digits, rest) = digits(tail);
    if digits.is_empty() {
        return None;
    }
    let mut nanos = 0;
    for place in 0..9 {
        nanos = nanos * 10 + digits.get(place).map_or(0, |digit| i64::from(digit - b'0'));
    }
    Some((nanos, rest))
}

fn half_day(hour: u32, text: &[u8]) -> Option<(u32, &[u8])> {
    let rest = text.trim_ascii_start();
    let after = |word: &[u8]| {
        let head = rest.get(..word.len())?;
        head.eq_ignore_ascii_case(word).then(|| &rest[word.len()..])
    };
    let (late, tail) = match (after(b"am").or_else(|| after(b"a.m.")), after(b"pm")) {
        (Some(tail), _) => (false, tail),
        (None, Some(tail)) => (true, tail),
        (None, None) => match after(b"p.m.") {
            Some(tail) => (true, tail),
            None => return Some((hour, text)),
        },
    };
    (1..=12).contains(&hour).then_some((hour % 12 + if late { 12 } else { 0 }, tail))
}

// Hours east of UTC: those of North America as RFC 5322 has them (section 4.3),
// those of Europe as common practice has them, no source.
const ZONES: &str = "EST-5,EDT-4,CST-6,CDT-5,MST-7,MDT-6,PST-8,PDT-7,WET+0,WEST+1,BST+1,CET+1,MEZ+1,CEST+2,MESZ+2,EET+2,EEST+3";

/// What may stand after a time of a log: an [`offset`], or a zone's short name.
pub(crate) fn tail(text: &[u8]) -> Option<Option<i32>> {
    let name = text.trim_ascii();
    let hours = |zone: &'static str| {
        let (known, hours) = zone.as_bytes().split_at(zone.len() - 2);
        name.eq_ignore_ascii_case(known).then(|| signed_offset(hours))
    };
    offset(text).or_else(|| ZONES.split(',').find_map(hours))
}

/// What may stand after a time: nothing, `Z`, or an offset such as `+01:00`,
/// `-0400`, `UTC+1`.  `None` when something else stands there.
pub(crate) fn offset(text: &[u8]) -> Option<Option<i32>> {
    let mut rest = text.trim_ascii();
    if rest.is_empty() {
        return Some(None);
    }
    if rest.eq_ignore_ascii_case(b"z") {
        return Some(Some(0));
    }
    let named = rest
        .get(..3)
        .is_some_and(|name| name.eq_ignore_ascii_case(b"utc") || name.eq_ignore_ascii_case(b"gmt"));
    if named {
        rest = rest[3..].trim_ascii_start();
        if rest.is_empty() {
            return Some(Some(0));
        }
    }
    signed_offset(rest).map(Some)
}

fn signed_offset(text: &[u8]) -> Option<i32> {
    let (sign, rest) = match text.split_first()? {
        (b'+', rest) => (1, rest),
        (b'-', rest) => (-1, rest),
        _ => (-1, text.strip_prefix("\u{2212}".as_bytes())?),
    };
    let (head, after) = digits(rest);
    let (hours, minutes) = match (head.len(), after.split_first()) {
        (1 | 2, None) => (pair(head), 0),
        (4, None) => (pair(head), pair(&head[2..])),
        (1 | 2, Some((b':', tail))) if tail.len() == 2 && digits(tail).1.is_empty() => {
            (pair(head), pair(tail))
        }
        _ => return None,
    };
    (hours <= 15 && minutes <= 59).then(|| sign * (hours * 3600 + minutes * 60) as i32)
}

/// The digits at the start of the text, and the rest.
pub(crate) fn digits(text: &[u8]) -> (&[u8], &[u8]) {
    let end = text.iter().position(|b| !b.is_ascii_digit()).unwrap_or(text.len());
    text.split_at(end)
}

// The first two digits (or the only one) as a number.
fn pair(digits: &[u8]) -> u32 {
    digits.iter().take(2).fold(0, |value, digit| value * 10 + u32::from(digit - b'0'))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use record::Instant;

    fn instant(text: &str) -> String {
        let stamp = read(text.as_bytes()).unwrap_or_else(|| panic!("{text} should read"));
        let Some(Date::Known(day)) = stamp.date else {
            panic!("{text} should have a settled date")
        };
        let ns = day + stamp.of_day_ns.unwrap_or(0);
        Instant(ns - i64::from(stamp.offset_s.unwrap_or(0)) * NANOS_PER_SECOND).iso()
    }

    #[test]
    fn every_way_of_writing_one_moment_reads_as_that_moment() {
        for text in [
            "2026-05-03T14:20:05Z",
            "2026-05-03 14:20:05",
            "2026/05/03 14:20:05",
            "2026.05.03 14:20:05",
            "2026-05-03T15:20:05+01:00",
            "2026-05-03T10:20:05-0400",
            "2026-05-03 14:20:05 UTC",
            "2026-05-03 15:20:05 UTC+1",
            "2026-05-03 02:20:05 PM",
            "20260503T142005Z",
            "20260503142005",
            "2026-5-3 14:20:05",
            "2026-05-03, 14:20:05",
            "3 May 2026 14:20:05",
            "03-May-2026 14:20:05",
            "03-MAY-26 14:20:05",
            "May 3, 2026 2:20:05 p.m.",
            "Sun May  3 14:20:05 2026",
            "2026-123T14:20:05",
            "2026-05-03_14:20:05",
            "2026-05-03-14:20:05",
            "2026-05-03 16:20:05 CEST",
            "2026-05-03 09:20:05 EST",
            "3 May 2026 at 14:20:05",
        ] {
            assert_eq!(instant(text), "2026-05-03T14:20:05Z", "{text}");
        }
        assert_eq!(instant("2026-05-03 14:20:05,250"), "2026-05-03T14:20:05.250Z");
        assert_eq!(instant("2026-05-03 14:20:05:250"), "2026-05-03T14:20:05.250Z");
        assert_eq!(instant("2026-05-03 24:00:00"), "2026-05-04T00:00:00Z");
    }

    #[test]
    fn an_open_date_keeps_its_three_numbers() {
        let stamp = read(b"10/11/2018 18.00.00").unwrap();
        assert_eq!(stamp.date, Some(Date::Open([10, 11, 2018])));
        assert_eq!(stamp.of_day_ns, Some(18 * 3600 * NANOS_PER_SECOND));
        assert_eq!(read(b"17/07/26").unwrap().date, Some(Date::Open([17, 7, 26])));
        assert_eq!(read(b"03.05.2026").unwrap().date, Some(Date::Open([3, 5, 2026])));
    }

    #[test]
    fn numbers_and_words_are_no_stamps() {
        for text in [
            "12.34",
            "48211",
            "-3.02",
            "1556961840",
            "north",
            "12:3",
            "25:00",
            "18.00",
            "2026-02-30",
            "2026-13-01",
            "1.2.3.4",
            "2026-05-03 14:20 noon",
        ] {
            assert_eq!(read(text.as_bytes()), None, "{text}");
        }
    }

    proptest! {
        #[test]
        fn no_bytes_upset_a_stamp(bytes in proptest::collection::vec(any::<u8>(), 0..60)) {
            let _ = read(&bytes);
        }

        #[test]
        fn a_printed_instant_comes_back(ns in -9_000_000_000_000_000_000i64..9_000_000_000_000_000_000) {
            let text = Instant(ns).iso();
            let stamp = read(text.as_bytes()).unwrap();
            let Some(Date::Known(day)) = stamp.date else { panic!() };
            prop_assert_eq!(day + stamp.of_day_ns.unwrap(), ns);
        }
    }
}
