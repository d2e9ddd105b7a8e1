//! JSON Lines: one JSON object or array a line.

use crate::json;
use crate::sniff::Line;

/// Columns at most.
const WIDEST: usize = 512;

/// Whether a text begins as JSON does: a bracket and what may follow it.
/// `[Header]` of an ini-like preamble is none.
pub(crate) fn begins(text: &[u8]) -> bool {
    let start = text.trim_ascii_start();
    let next = start.get(1..).unwrap_or_default().trim_ascii_start().first();
    match start.first() {
        Some(b'{') => matches!(next, None | Some(b'"' | b'}')),
        Some(b'[') => matches!(next, None | Some(b'{' | b'[' | b'"' | b'-' | b']' | b'0'..=b'9')),
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
