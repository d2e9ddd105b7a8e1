//! JSON Lines: one JSON object or array a line.

use crate::json;
use crate::sniff::Line;

/// Columns at most.
const WIDEST: usize = 512;

/// Whether a text begins as JSON does: a bracket and what may follow it.
/// `[Header]` of an ini-like preamble is none, nor is the `[2026-05-03 14:20]` or
/// `[12345]` that some programs write before each line.
pub(crate) fn begins(text: &[u8]) -> bool {
    let Some((first, rest)) = text.trim_ascii_start().split_first() else { return false };
    let rest = rest.trim_ascii_start();
    match (first, rest.first()) {
        (b'{', next) => matches!(next, None | Some(b'"' | b'}')),
        (b'[', Some(b'-' | b'0'..=b'9')) => {
            let used = crate::number::leading(rest, crate::number::Mark::Point).map_or(0, |n| n.1);
            match rest[used..].trim_ascii_start() {
                [b']', after @ ..] => matches!(after.trim_ascii_start(), [] | [b'[' | b',', ..]),
                after => matches!(after, [] | [b',', ..]),
            }
        }
        (b'[', next) => matches!(next, None | Some(b'{' | b'[' | b'"' | b']')),
        _ => false,
    }
}

/// The keys of the rows, in the order in which they are met; `None` when the
/// lines are not JSON each.
pub(crate) fn keys(lines: &[Line]) -> Option<Vec<Vec<u8>>> {
    let filled: Vec<&[u8]> =
        lines.iter().map(|(_, l)| l.trim_ascii()).filter(|l| !l.is_empty()).collect();
    if filled.len() < 2 {
        return None;
    }
    let mut keys: Vec<Vec<u8>> = Vec::new();
    let mut whole = 0;
    for line in &filled {
        let Some(found) = json::leaves(line).filter(|_| begins(line)) else { continue };
        whole += 1;
        for (path, _) in found {
            if !keys.contains(&path) && keys.len() < WIDEST {
                keys.push(path);
            }
        }
    }
    (whole * 10 >= filled.len() * 7 && !keys.is_empty()).then_some(keys)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stamp_in_brackets_is_no_json() {
        for text in ["[1, 2]", "[\n 1", "[-1.5]\n[2]", "[]", "{\"a\":1}", "[[1,2]]"] {
            assert!(begins(text.as_bytes()), "{text}");
        }
        for text in ["[2026-05-03 14:20:05] x: 1", "[14:20:05] 1 2", "[12345] x=1", "[Header]"] {
            assert!(!begins(text.as_bytes()), "{text}");
        }
    }
}
