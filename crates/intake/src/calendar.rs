//! Dates in text: the forms loggers and spreadsheets use.
//!
//! A date with a four-digit year in front, or with the month in letters, is
//! settled here; one of three bare numbers is not.

use crate::stamp::digits;
use record::Instant;

/// A date as far as its text settles it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Date {
    /// Midnight at its start, nanoseconds since 1970 began.
    Known(i64),
    /// Three numbers whose order is open.
    Open([u16; 3]),
}

/// Midnight of a day, nanoseconds; `None` when there is no such day, or when it lies so near
/// the ends of what nanoseconds reach (1677 to 2262) that a time of day would lead beyond.
pub(crate) fn midnight(year: u32, month: u32, day: u32) -> Option<i64> {
    if !(1680..=2260).contains(&year) {
        return None;
    }
    Instant::from_date(i32::try_from(year).ok()?, month, day).map(|instant| instant.0)
}

/// Midnight of a day of the year, from 1.
pub(crate) fn midnight_of_year_day(year: u32, day: u32) -> Option<i64> {
    if !(1..=366).contains(&day) {
        return None;
    }
    let ns = midnight(year, 1, 1)? + i64::from(day - 1) * crate::stamp::DAY_NS;
    (Instant(ns).civil().year == i32::try_from(year).ok()?).then_some(ns)
}

/// A two-digit year in full: 70 to 99 are of the 1900s, as POSIX has it
/// (strptime, %y: 69 to 99; 69 itself is taken for 2069 here).
pub(crate) fn full_year(year: u32) -> u32 {
    match year {
        70..=99 => year + 1900,
        0..=69 => year + 2000,
        other => other,
    }
}

/// The instant of a year with decimals, nanoseconds, to the nearest second:
/// such years rarely carry more than eight decimals.
pub(crate) fn decimal_year_ns(year: f64) -> Option<i64> {
    if !(1700.0..2200.0).contains(&year) {
        return None;
    }
    let whole = year.floor();
    let start = midnight(whole as u32, 1, 1)?;
    let length = midnight(whole as u32 + 1, 1, 1)? - start;
    let seconds = ((year - whole) * (length / record::NANOS_PER_SECOND) as f64).round();
    Some(start + seconds as i64 * record::NANOS_PER_SECOND)
}

/// The date at the start of the text, and what follows it.
pub(crate) fn date(text: &[u8]) -> Option<(Date, &[u8])> {
    let text = weekday_off(text);
    let (head, rest) = digits(text);
    match head.len() {
        0 => month_first(text),
        14 | 12 | 8 => compact(text, head.len()),
        4 => year_first(head, rest),
        1 | 2 => three_numbers(head, rest).or_else(|| day_and_name(head, rest)),
        _ => None,
    }
}

const MONTHS: [&[u8; 3]; 12] = [
    b"jan", b"feb", b"mar", b"apr", b"may", b"jun", b"jul", b"aug", b"sep", b"oct", b"nov", b"dec",
];
// Where German, French, Spanish, Italian and Dutch begin otherwise, by month.
const FOREIGN: &str = "jän/ene/gen,fév,mär/mrz/mrt,avr/abr,mai/mei/mag,juin/giu,juil/lug,aoû/aou/ago,set,okt/ott,,dez/déc/dic";
const WEEKDAYS: [&[u8; 3]; 7] = [b"mon", b"tue", b"wed", b"thu", b"fri", b"sat", b"sun"];

fn weekday_off(text: &[u8]) -> &[u8] {
    let is_day = text
        .get(..3)
        .is_some_and(|head| WEEKDAYS.iter().any(|day| head.eq_ignore_ascii_case(*day)));
    if !is_day {
        return text;
    }
    let end = text.iter().position(|b| !b.is_ascii_alphabetic()).unwrap_or(text.len());
    let rest = text[end..].trim_ascii_start();
    rest.strip_prefix(b",").or_else(|| rest.strip_prefix(b".")).unwrap_or(rest).trim_ascii_start()
}

fn value(digits: &[u8]) -> u32 {
    digits.iter().take(4).fold(0, |value, digit| value * 10 + u32::from(digit - b'0'))
}

// 20260503, also with the time of day run on to it.
fn compact(text: &[u8], len: usize) -> Option<(Date, &[u8])> {
    let year = value(&text[..4]);
    if !(1900..=2199).contains(&year) {
        return None;
    }
    let ns = midnight(year, value(&text[4..6]), value(&text[6..8]))?;
    let alone = len > 8 || !matches!(text.get(8), Some(b'.' | b','));
    alone.then_some((Date::Known(ns), &text[8..]))
}

// 2026-05-03, 2026/5/3, 2026-123, 2026-May-03.
fn year_first<'a>(year: &[u8], rest: &'a [u8]) -> Option<(Date, &'a [u8])> {
    let (sep, rest) = rest.split_first()?;
    if !matches!(sep, b'-' | b'/' | b'.' | b'_' | b' ') {
        return None;
    }
    let (month, after) = digits(rest);
    if month.is_empty() {
        let (month, after) = month_name(rest)?;
        let (day, rest) = digits(after.strip_prefix(&[*sep])?);
        return Some((Date::Known(midnight(value(year), month, short(day)?)?), rest));
    }
    if month.len() == 3 && *sep == b'-' && after.first() != Some(sep) {
        return Some((Date::Known(midnight_of_year_day(value(year), value(month))?), after));
    }
    let (day, rest) = digits(after.strip_prefix(&[*sep])?);
    let ns = midnight(value(year), short(month)?, short(day)?)?;
    Some((Date::Known(ns), rest))
}

// 10/11/2018, 3.5.26, 17-07-26.
fn three_numbers<'a>(first: &[u8], rest: &'a [u8]) -> Option<(Date, &'a [u8])> {
    let (sep, rest) = rest.split_first()?;
    if !matches!(sep, b'/' | b'-' | b'.') {
        return None;
    }
    let (second, rest) = digits(rest);
    let (third, rest) = digits(rest.strip_prefix(&[*sep])?);
    let in_range = matches!(second.len(), 1 | 2) && matches!(third.len(), 2 | 4);
    // With dots, 18.00.00 is a time and 1.2.3.4 an address.
    let dotted_time = *sep == b'.' && third.len() == 2 && (value(first) == 0 || value(second) == 0);
    if !in_range || dotted_time || rest.first() == Some(sep) {
        return None;
    }
    let parts = [value(first) as u16, value(second) as u16, value(third) as u16];
    possible(parts).then_some((Date::Open(parts), rest))
}

// Some order of the three numbers must be a date.
fn possible([a, b, c]: [u16; 3]) -> bool {
    let day_month = |day: u16, month: u16| (1..=31).contains(&day) && (1..=12).contains(&month);
    day_month(a, b) || day_month(b, a) || (c <= 31 && day_month(c, b))
}

// 3 May 2026, 03-May-26, 3rd of nothing else.
fn day_and_name<'a>(day: &[u8], rest: &'a [u8]) -> Option<(Date, &'a [u8])> {
    let (month, rest) = month_name(separator_off(rest))?;
    let (year, rest) = digits(separator_off(rest));
    let year = match year.len() {
        2 => full_year(value(year)),
        4 => value(year),
        _ => return None,
    };
    Some((Date::Known(midnight(year, month, value(day))?), rest))
}

// May 3, 2026, and the May 3 14:20:05 2026 of a clock's own print.
fn month_first(text: &[u8]) -> Option<(Date, &[u8])> {
    let (month, rest) = month_name(text)?;
    let (day, rest) = digits(separator_off(rest));
    let day = short(day)?;
    let (year, after) = digits(separator_off(rest));
    if year.len() == 4 {
        return Some((Date::Known(midnight(value(year), month, day)?), after));
    }
    // The year at the very end: hand on the time of day between.
    let rest = rest.trim_ascii();
    let (time, year) = rest.split_at(rest.len().checked_sub(5)?);
    let year = year.strip_prefix(b" ")?;
    (digits(year).1.is_empty())
        .then(|| midnight(value(year), month, day))?
        .map(|ns| (Date::Known(ns), time))
}

fn month_name(text: &[u8]) -> Option<(u32, &[u8])> {
    let begins = |name: &[u8]| text.get(..name.len()).is_some_and(|t| t.eq_ignore_ascii_case(name));
    let begins_foreign =
        |names: &str| names.split('/').any(|n| !n.is_empty() && begins(n.as_bytes()));
    let month = MONTHS.iter().position(|name| begins(*name));
    let letter = |b: &u8| b.is_ascii_alphabetic() || !b.is_ascii();
    let end = text.iter().position(|b| !letter(b)).unwrap_or(text.len());
    let month = month.or_else(|| FOREIGN.split(',').position(begins_foreign))?;
    Some((month as u32 + 1, text[end..].strip_prefix(b".").unwrap_or(&text[end..])))
}

fn separator_off(text: &[u8]) -> &[u8] {
    let text = text.trim_ascii_start();
    match text.split_first() {
        Some((b'-' | b'/' | b',' | b'.', rest)) => rest.trim_ascii_start(),
        _ => text,
    }
}

fn short(digits: &[u8]) -> Option<u32> {
    matches!(digits.len(), 1 | 2).then(|| value(digits))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_that_does_not_exist_is_no_date() {
        assert_eq!(date(b"2026-02-29"), None);
        assert!(date(b"2028-02-29").is_some());
        assert_eq!(midnight_of_year_day(2026, 366), None);
        assert_eq!(date(b"45/13/2026"), None);
    }

    #[test]
    fn months_are_read_in_six_languages() {
        let months = [
            ("3. März 2026", 3),
            ("3 Mai 2026", 5),
            ("3 août 2026", 8),
            ("3 juil. 2026", 7),
            ("3 ene 2026", 1),
            ("3 ottobre 2026", 10),
            ("3-mrt-2026", 3),
            ("3 Dez 2026", 12),
        ];
        for (text, month) in months {
            let want = midnight(2026, month, 3).unwrap();
            assert_eq!(date(text.as_bytes()), Some((Date::Known(want), &b""[..])), "{text}");
        }
    }

    #[test]
    fn two_digit_years_reach_from_1970_to_2069() {
        assert_eq!((full_year(70), full_year(26), full_year(2026)), (1970, 2026, 2026));
    }
}
