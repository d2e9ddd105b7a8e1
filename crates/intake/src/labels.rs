//! Labelled lines: every value behind its name, as in `X: 12.3 Y: -4.5 uT` or
//! `mx=123,my=45`.
//!
//! A label is a word of letters, digits and underscores (blanks inside are
//! allowed before a colon) followed by `:` or `=` and a value.  What follows a
//! value up to the next label is its unit.

use crate::dialect::Cells;

/// One labelled value: places of label and value in the line, and of the
/// words behind the value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Pair {
    /// The label.
    pub label: (usize, usize),
    /// The value.
    pub value: (usize, usize),
    /// What stands between the value and the next label.
    pub tail: (usize, usize),
}

/// The labelled values of a line.
pub(crate) fn pairs(line: &[u8]) -> Vec<Pair> {
    let mut found: Vec<Pair> = Vec::new();
    let mut at = 0;
    while let Some(next) = next_pair(line, at) {
        if let Some(last) = found.last_mut() {
            last.tail = (last.value.1, next.label.0);
        }
        at = next.value.1;
        found.push(next);
    }
    if let Some(last) = found.last_mut() {
        last.tail = (last.value.1, line.len());
    }
    found
}

fn next_pair(line: &[u8], from: usize) -> Option<Pair> {
    let mut at = from;
    loop {
        let sign = at + memchr::memchr2(b':', b'=', line.get(at..)?)?;
        at = sign + 1;
        let Some(label) = label_before(line, from, sign) else { continue };
        let Some(value) = value_after(line, sign + 1) else { continue };
        return Some(Pair { label, value, tail: (0, 0) });
    }
}

fn label_before(line: &[u8], from: usize, sign: usize) -> Option<(usize, usize)> {
    let word = |b: u8| b.is_ascii_alphanumeric() || b == b'_' || b >= 0x80;
    let end = from + line[from..sign].trim_ascii_end().len();
    let start = (from..end).rev().find(|k| !word(line[*k])).map_or(from, |k| k + 1);
    let label = &line[start..end];
    (label.iter().any(u8::is_ascii_alphabetic) && !label[0].is_ascii_digit())
        .then_some((start, end))
}

fn value_after(line: &[u8], from: usize) -> Option<(usize, usize)> {
    let start = from + line[from..].iter().take_while(|b| **b == b' ').count();
    let end = start
        + line[start..]
            .iter()
            .take_while(|b| !matches!(b, b' ' | b'\t' | b',' | b';' | b'|'))
            .count();
    (end > start).then_some((start, end))
}

/// Cells of a labelled line, in the order of `keys`; absent ones are blank.
pub(crate) fn split(line: &[u8], keys: &[Vec<u8>], cells: &mut Cells) -> Option<()> {
    cells.resize(keys.len(), (0, 0));
    for pair in pairs(line) {
        let label = &line[pair.label.0..pair.label.1];
        if let Some(place) = keys.iter().position(|key| key.eq_ignore_ascii_case(label)) {
            cells[place] = (pair.value.0 as u32, pair.value.1 as u32);
        }
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(line: &str) -> Vec<(String, String, String)> {
        let part = |(a, b): (usize, usize)| line[a..b].trim().to_owned();
        pairs(line.as_bytes())
            .iter()
            .map(|p| (part(p.label), part(p.value), part(p.tail)))
            .collect()
    }

    #[test]
    fn labels_values_and_units_are_found_in_both_styles() {
        let own =
            |rows: [[&str; 3]; 2]| rows.map(|[a, b, c]| (a.into(), b.into(), c.into())).to_vec();
        assert_eq!(shown("X: 12.3 Y: -4.5 uT"), own([["X", "12.3", ""], ["Y", "-4.5", "uT"]]));
        assert_eq!(shown("mx=123,my=45"), own([["mx", "123", ","], ["my", "45", ""]]));
    }

    #[test]
    fn a_time_of_day_is_no_label() {
        assert_eq!(shown("14:03:22.123 -> X: 1").len(), 1);
        assert_eq!(shown("t=14:03:22 X=1").len(), 2);
    }
}
