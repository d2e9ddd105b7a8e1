//! What stands around the cells of a line: comment signs, terminal prefixes,
//! printed bytes, sentences with a checksum.

use crate::plan::Wrap;
use crate::stamp::{self, Stamp};
use record::{say, words::worded};

/// Whether a trimmed line is a comment.
pub(crate) fn is_comment(line: &[u8], wrap: Wrap) -> bool {
    match line {
        [.., b'|'] if wrap == Wrap::Observatory => true,
        [b'#' | b'%', ..] | [b'/', b'/', ..] => true,
        [b'"', b'#', ..] => true,
        _ => wrap == Wrap::Sentence && line.first() != Some(&b'$'),
    }
}

/// The cells of a line, and the time that stands before them.
///
/// # Errors
///
/// Why the line cannot be trusted, in words.
pub(crate) fn unwrap(line: &[u8], wrap: Wrap) -> Result<(&[u8], Option<Stamp>), String> {
    match wrap {
        Wrap::Bare | Wrap::Observatory => Ok((line, None)),
        Wrap::Arrow => Ok(match arrow(line) {
            Some((stamp, rest)) => (rest, Some(stamp)),
            None => (line, None),
        }),
        Wrap::Bytes => Ok((printed_bytes(line).unwrap_or(line), None)),
        Wrap::Sentence => sentence(line).map(|inner| (inner, None)),
    }
}

/// `14:03:22.123 -> cells`, `[14:03:22.123] cells` or, before labels, `14:03:22 x: 1`:
/// the stamp and the cells.
pub(crate) fn arrow(line: &[u8]) -> Option<(Stamp, &[u8])> {
    let head = &line[..line.len().min(40)];
    let (from, sign): (_, &[u8]) = if head.first() == Some(&b'[') { (1, b"]") } else { (0, b"->") };
    let (end, next) = match memchr::memmem::find(head, sign) {
        Some(place) => (place, place + sign.len()),
        None => crate::labels::pairs(line).first().map(|pair| (pair.label.0, pair.label.0))?,
    };
    let before = line.get(from..end)?.trim_ascii();
    let before = before.strip_suffix(b",").or(before.strip_suffix(b";")).unwrap_or(before);
    Some((stamp::read(before)?, line[next..].trim_ascii()))
}

/// `b'cells\r\n'`: the cells.
pub(crate) fn printed_bytes(line: &[u8]) -> Option<&[u8]> {
    let inner = line.strip_prefix(b"b'").and_then(|rest| rest.strip_suffix(b"'"));
    let mut inner = inner.or_else(|| line.strip_prefix(b"b\"")?.strip_suffix(b"\""))?;
    for end in [br"\n", br"\r"] {
        inner = inner.strip_suffix(end).unwrap_or(inner);
    }
    Some(inner)
}

// The checksum is the exclusive or of the bytes between `$` and `*` (IEC
// 61162-1, as common practice has it; from memory).
fn sentence(line: &[u8]) -> Result<&[u8], String> {
    let Some(star) = line.iter().rposition(|b| *b == b'*') else { return Ok(line) };
    let digits = line[star + 1..].trim_ascii();
    let told = std::str::from_utf8(digits).ok().and_then(|text| u8::from_str_radix(text, 16).ok());
    let sum = line[1..star].iter().fold(0, |sum, byte| sum ^ byte);
    match told {
        Some(told) if told == sum => Ok(&line[..star]),
        Some(told) => Err(say!(
            "its checksum is {told:02X}, but its letters give {sum:02X}: the line was damaged"
        )),
        None => Err(worded("its checksum was cut off")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_terminal_prefix_gives_its_time_of_day() {
        let (rest, stamp) = unwrap(b"14:03:22.123 -> 1,2,3", Wrap::Arrow).unwrap();
        assert_eq!(rest, b"1,2,3");
        assert_eq!(stamp.unwrap().of_day_ns, Some(50_602_123_000_000));
        assert_eq!(arrow(b"[14:03:22] x: 1").unwrap().1, b"x: 1");
        assert_eq!(arrow(b"2026-05-03 14:03:22, x: 1").unwrap().1, b"x: 1");
        assert_eq!(arrow(b"[12] x: 1"), None);
        assert_eq!(arrow(b"2026-05-03T14:03:22Z,1,2"), None);
    }

    #[test]
    fn printed_bytes_lose_their_shell() {
        assert_eq!(printed_bytes(br"b'1,2\r\n'"), Some(&b"1,2"[..]));
        assert_eq!(printed_bytes(b"1,2"), None);
    }

    #[test]
    fn a_damaged_sentence_is_refused_with_both_sums() {
        assert_eq!(unwrap(b"$A,1*5C", Wrap::Sentence).unwrap().0, b"$A,1");
        let reason = unwrap(b"$A,2*5C", Wrap::Sentence).unwrap_err();
        assert!(reason.contains("5C") && reason.contains("5F"), "{reason}");
    }
}
