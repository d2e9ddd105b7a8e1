//! Files that are not logs, told apart by their first bytes.
//!
//! Signatures: the formats' own specifications (PKWARE APPNOTE for zip, ISO
//! 32000 for PDF, ISO 15948 for PNG, and so on), as collected in common
//! practice; from memory.

use crate::Kind;

/// What kind of file begins with `head`, when it is no text.
/// `head` is the first 4 KiB, or the whole of a shorter file.
pub(crate) fn not_a_log(head: &[u8]) -> Option<Kind> {
    if head.starts_with(b"PK\x03\x04") || head.starts_with(b"PK\x05\x06") {
        return Some(zip_kind(head));
    }
    if let Some((_, kind)) = SIGNATURES.iter().find(|(start, _)| head.starts_with(start)) {
        return Some(*kind);
    }
    if head.get(4..8) == Some(b"ftyp")
        || (head.starts_with(b"RIFF") && head.get(8..12) == Some(b"WEBP"))
    {
        return Some(Kind::Image);
    }
    if head.get(257..262) == Some(b"ustar") {
        return Some(Kind::Archive);
    }
    if is_web_page(head) {
        return Some(Kind::WebPage);
    }
    is_binary(head).then_some(Kind::Binary)
}

const SIGNATURES: [(&[u8], Kind); 22] = [
    (b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", Kind::OldDocument),
    (b"%PDF-", Kind::Pdf),
    (b"\x89PNG\r\n\x1A\n", Kind::Image),
    (b"\xFF\xD8\xFF", Kind::Image),
    (b"GIF87a", Kind::Image),
    (b"GIF89a", Kind::Image),
    (b"II*\0", Kind::Image),
    (b"MM\0*", Kind::Image),
    (b"BM\0", Kind::Image),
    (b"SQLite format 3\0", Kind::Database),
    (b"7z\xBC\xAF\x27\x1C", Kind::Archive),
    (b"BZh9", Kind::Archive),
    (b"\xFD7zXZ\0", Kind::Archive),
    (b"\x28\xB5\x2F\xFD", Kind::Archive),
    (b"Rar!\x1A\x07", Kind::Archive),
    (b"PAR1", Kind::Binary),
    (b"\x89HDF\r\n\x1A\n", Kind::Binary),
    (b"CDF\x01", Kind::Binary),
    (b"CDF\x02", Kind::Binary),
    (b"\x93NUMPY", Kind::Binary),
    (b"MATLAB 5.0 MAT-file", Kind::Binary),
    (b"\x7FELF", Kind::Binary),
];

fn zip_kind(head: &[u8]) -> Kind {
    let holds = |word: &[u8]| memchr::memmem::find(head, word).is_some();
    let marks: [&[u8]; 5] =
        [b"[Content_Types].xml", b"xl/", b"mimetypeapplication/vnd.oasis", b"_rels/", b"Index/"];
    if marks.iter().any(|word| holds(word)) { Kind::Spreadsheet } else { Kind::Zip }
}

fn is_web_page(head: &[u8]) -> bool {
    let start = head.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(head).trim_ascii_start();
    if start.first() != Some(&b'<') {
        return false;
    }
    let opening = start[..start.len().min(512)].to_ascii_lowercase();
    let tags: [&[u8]; 6] = [b"<!doctype html", b"<html", b"<head", b"<body", b"<title", b"<script"];
    tags.iter().any(|tag| memchr::memmem::find(&opening, tag).is_some())
}

// Control bytes have no place in text.  Padding (NUL and FF) is not counted:
// a logger that lost power leaves it in text too.
fn is_binary(head: &[u8]) -> bool {
    let control = |b: &u8| matches!(b, 1..=8 | 14..=26 | 28..=31 | 127);
    let padding = |b: &u8| matches!(b, 0 | 0xFF);
    let bad = head.iter().filter(|b| control(b)).count();
    let text = head.iter().filter(|b| !padding(b)).count();
    bad > 8 && bad * 20 > text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spreadsheet_a_zip_and_a_page_are_told_apart() {
        assert_eq!(not_a_log(b"PK\x03\x04....[Content_Types].xml"), Some(Kind::Spreadsheet));
        assert_eq!(not_a_log(b"PK\x03\x04....garden.csv"), Some(Kind::Zip));
        assert_eq!(not_a_log(b"  <!DOCTYPE html><html>"), Some(Kind::WebPage));
        assert_eq!(not_a_log(b"%PDF-1.7"), Some(Kind::Pdf));
        assert_eq!(not_a_log(&[1, 2, 3, 4, 5, 6, 7, 8, 14, 15, 16, 200, 201]), Some(Kind::Binary));
    }

    #[test]
    fn text_with_padding_is_still_text() {
        let mut log = b"time,bx\n1,2\n".to_vec();
        log.extend([0; 3000]);
        assert_eq!(not_a_log(&log), None);
        assert_eq!(not_a_log("µT °C\n1;2\n".as_bytes()), None);
    }
}
