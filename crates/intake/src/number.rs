//! Decimal numbers as loggers write them, read exactly.
//!
//! A cell is a number, a sign that the value is missing, or neither.  Every
//! number is the `f64` nearest to the decimal written (ties to even): short
//! ones by one exact division, the rest by the standard library.  Numbers too
//! large for an `f64` count as missing, as do the words for infinity.

pub(crate) use scan::number::{EXACT_POWERS, Mark, count, leading};

/// What a cell holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Cell {
    /// A finite number.
    Value(f64),
    /// A blank cell or a word for "no value".
    Missing,
    /// Anything else.
    Unreadable,
}

/// A whole cell, quotes and blanks around it allowed.
pub(crate) fn cell(bytes: &[u8], mark: Mark) -> Cell {
    let text = trimmed(bytes);
    if let Some((value, used)) = leading(text, mark)
        && used == text.len()
    {
        return finite(value);
    }
    if is_missing(text) {
        return Cell::Missing;
    }
    plainly(text, mark)
}

/// A whole cell, which may carry its unit: `12.3 uT`, `45%`.
pub(crate) fn measured(bytes: &[u8], mark: Mark) -> Cell {
    match cell(bytes, mark) {
        Cell::Unreadable => match with_unit(bytes, mark) {
            Some((value, _)) => finite(value),
            None => Cell::Unreadable,
        },
        read => read,
    }
}

/// The number and the unit of a cell such as `12.3 uT`.
pub(crate) fn with_unit(bytes: &[u8], mark: Mark) -> Option<(f64, &str)> {
    let text = trimmed(bytes);
    let (value, used) = leading(text, mark)?;
    let tail = text.get(used..).filter(|tail| !tail.is_empty() && tail.len() <= 12)?;
    let tail = std::str::from_utf8(tail).ok()?.trim();
    crate::units::unit(tail, crate::units::Hint::Unknown).map(|_| (value, tail))
}

/// Without blanks, no-break spaces and one pair of quotes around.
pub(crate) fn trimmed(bytes: &[u8]) -> &[u8] {
    let mut text = blanks_off(bytes);
    for quote in [b'"', b'\''] {
        if text.len() >= 2 && text[0] == quote && text[text.len() - 1] == quote {
            text = blanks_off(&text[1..text.len() - 1]);
        }
    }
    text
}

fn blanks_off(bytes: &[u8]) -> &[u8] {
    let mut text = bytes.trim_ascii();
    while let Some(rest) = text.strip_prefix(b"\xC2\xA0") {
        text = rest.trim_ascii();
    }
    while let Some(rest) = text.strip_suffix(b"\xC2\xA0") {
        text = rest.trim_ascii();
    }
    text
}

fn finite(value: f64) -> Cell {
    if value.is_finite() { Cell::Value(value) } else { Cell::Missing }
}

const MISSING_WORDS: [&[u8]; 36] = [
    b"nan",
    b"na",
    b"n/a",
    b"#n/a",
    b"null",
    b"none",
    b"nil",
    b"-",
    b"--",
    b"---",
    b"----",
    b"*",
    b"**",
    b"***",
    b"?",
    b".",
    b"..",
    b"...",
    b"ovf",
    b"ovl",
    b"overflow",
    b"over",
    b"err",
    b"error",
    b"fail",
    b"inf",
    b"-inf",
    b"+inf",
    b"infinity",
    b"-infinity",
    b"missing",
    b"void",
    b"1.#qnan",
    b"1.#ind",
    b"-1.#ind",
    b"-nan",
];

/// Whether a trimmed cell says that there is no value: blank, a word such as
/// `NaN` or `ovf`, or a spreadsheet's error.
pub(crate) fn is_missing(text: &[u8]) -> bool {
    if text.is_empty() {
        return true;
    }
    if text.len() > 12 {
        return false;
    }
    MISSING_WORDS.iter().any(|word| text.eq_ignore_ascii_case(word))
        || (text[0] == b'#' && matches!(text[text.len() - 1], b'!' | b'?' | b'#'))
        || text == "\u{2014}".as_bytes()
        || text == "\u{2013}".as_bytes()
}

// Rewrites a number in plain ASCII with a point, then reads it whole.
fn plainly(text: &[u8], mark: Mark) -> Cell {
    // Of the signs that stay as they are, these alone make a number.
    let fits = |b: &u8| b.is_ascii_digit() || b"+-.,eE'".contains(b) || !b.is_ascii();
    if text.len() > 64 || !text.iter().all(fits) {
        return Cell::Unreadable;
    }
    let mut plain = Vec::with_capacity(text.len());
    let mut rest = text;
    while let Some((&byte, after)) = rest.split_first() {
        if byte.is_ascii() && byte != b'\'' {
            plain.push(byte);
            rest = after;
            continue;
        }
        if let Some(next) = strip_spacing(rest) {
            rest = next;
            continue;
        }
        if let Some(next) = rest.strip_prefix("\u{2212}".as_bytes()) {
            plain.push(b'-');
            rest = next;
            continue;
        }
        plain.push(byte);
        rest = after;
    }
    let Some(plain) = with_point(&plain, mark) else { return Cell::Unreadable };
    match leading(&plain, Mark::Point) {
        Some((value, used)) if used == plain.len() => finite(value),
        _ => Cell::Unreadable,
    }
}

// No-break and thin spaces, and the apostrophes that group thousands.
fn strip_spacing(rest: &[u8]) -> Option<&[u8]> {
    ["\u{a0}", "\u{2009}", "\u{202f}", "\u{2019}", "'"]
        .iter()
        .find_map(|space| rest.strip_prefix(space.as_bytes()))
}

// Groups of thousands come off only where every group has three digits.
fn with_point(text: &[u8], mark: Mark) -> Option<Vec<u8>> {
    let (decimal, group) = match mark {
        Mark::Point => (b'.', b','),
        Mark::Comma => (b',', b'.'),
    };
    let split = text.iter().position(|b| *b == decimal).unwrap_or(text.len());
    let (head, tail) = text.split_at(split);
    let mut groups = head.split(|b| *b == group);
    let mut out = groups.next()?.to_vec();
    let grouped = head.contains(&group);
    // A stray decimal point among decimal commas: 1.5, not a group of thousands.
    if grouped && tail.is_empty() && mark == Mark::Comma && lone_point(head) {
        return Some(head.to_vec());
    }
    if grouped && out.iter().filter(|b| b.is_ascii_digit()).count() > 3 {
        return None;
    }
    for part in groups {
        if part.len() != 3 {
            return None;
        }
        out.extend_from_slice(part);
    }
    if let Some((_, decimals)) = tail.split_first() {
        out.push(b'.');
        out.extend_from_slice(decimals);
    }
    Some(out)
}

fn lone_point(head: &[u8]) -> bool {
    let mut halves = head.split(|b| *b == b'.');
    let (_, decimals) = (halves.next(), halves.next());
    halves.next().is_none() && decimals.is_some_and(|d| d.len() != 3)
}

/// A whole number of `10^-9` of the unit written, exactly, from a decimal:
/// `12.5` with `scale` 9 is 12,500,000,000.  `scale` is the power of ten from
/// the unit written to the wanted one (seconds to nanoseconds: 9).  Digits
/// beyond are rounded half away from zero.  `None` when the text is no plain
/// decimal or the result does not fit.
pub(crate) fn scaled(text: &[u8], scale: u32) -> Option<i64> {
    let (negative, digits) = match text.split_first()? {
        (b'-', rest) => (true, rest),
        (b'+', rest) => (false, rest),
        _ => (false, text),
    };
    let mut value: i128 = 0;
    let mut left: Option<u32> = None;
    let mut seen = false;
    for (place, byte) in digits.iter().enumerate() {
        match byte {
            b'0'..=b'9' => {
                seen = true;
                match left.as_mut() {
                    Some(0) => {
                        value += i128::from(*byte >= b'5' && first_beyond(digits, place, scale));
                        continue;
                    }
                    Some(n) => *n -= 1,
                    None => {}
                }
                value = value.checked_mul(10)?.checked_add(i128::from(byte - b'0'))?;
            }
            b'.' if left.is_none() => left = Some(scale),
            b'e' | b'E' => return by_float(text, scale),
            _ => return None,
        }
    }
    if !seen {
        return None;
    }
    for _ in 0..left.unwrap_or(scale) {
        value = value.checked_mul(10)?;
    }
    i64::try_from(if negative { -value } else { value }).ok()
}

fn first_beyond(digits: &[u8], place: usize, scale: u32) -> bool {
    let point = digits.iter().position(|b| *b == b'.').unwrap_or(digits.len());
    place == point + 1 + scale as usize
}

// 1.58E12 is how a spreadsheet re-saves an epoch.
fn by_float(text: &[u8], scale: u32) -> Option<i64> {
    let (value, used) = leading(text, Mark::Point)?;
    let wanted = value * EXACT_POWERS.get(scale as usize)?;
    (used == text.len() && wanted.abs() < 9.2e18).then_some(wanted.round() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn words_for_no_value_are_missing_and_other_words_are_not() {
        for word in ["", " ", "NaN", "\"NAN\"", "n/a", "ovf", "#VALUE!", "#DIV/0!", "--", "1e999"] {
            assert_eq!(cell(word.as_bytes(), Mark::Point), Cell::Missing, "{word}");
        }
        assert_eq!(cell(b"north", Mark::Point), Cell::Unreadable);
    }

    #[test]
    fn commas_points_and_spaces_group_or_divide_as_the_mark_says() {
        assert_eq!(cell(b"2,6", Mark::Comma), Cell::Value(2.6));
        assert_eq!(cell(b"1.234,5", Mark::Comma), Cell::Value(1234.5));
        assert_eq!(cell(b"1,234.5", Mark::Point), Cell::Value(1234.5));
        assert_eq!(cell("\u{2212}3,02".as_bytes(), Mark::Comma), Cell::Value(-3.02));
        assert_eq!(cell("48\u{202f}211,7".as_bytes(), Mark::Comma), Cell::Value(48211.7));
        assert_eq!(cell(b"12.34.56", Mark::Point), Cell::Unreadable);
        assert_eq!(cell(b"1,23", Mark::Point), Cell::Unreadable);
    }

    #[test]
    fn nineteen_digit_nanoseconds_stay_exact() {
        assert_eq!(scaled(b"1760565906248623001", 0), Some(1_760_565_906_248_623_001));
        assert_eq!(scaled(b"129.01213194", 9), Some(129_012_131_940));
        assert_eq!(scaled(b"0.0000000005", 9), Some(1));
        assert_eq!(scaled(b"-1.5", 3), Some(-1500));
        assert_eq!(scaled(b"1.58E12", 6), Some(1_580_000_000_000_000_000));
        assert_eq!(scaled(b"1.2.3", 9), None);
        assert_eq!(scaled(b"99999999999999999999", 0), None);
    }

    proptest! {
        #[test]
        fn no_bytes_upset_a_cell(bytes in proptest::collection::vec(any::<u8>(), 0..80)) {
            let _ = cell(&bytes, Mark::Point);
            let _ = cell(&bytes, Mark::Comma);
            let _ = scaled(&bytes, 9);
        }
    }
}
