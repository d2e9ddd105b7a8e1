//! The squares of a QR code (ISO/IEC 18004), for a link on a projector or on
//! paper.

use qrcodegen::{QrCode, QrCodeEcc, QrSegment, Version};

/// The largest version whose squares a projector still shows: 77 by 77.
const LARGEST: u8 = 15;

/// Squares of free paper around the code.
const QUIET: i32 = 4;

/// A code as a drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Code {
    /// Squares to a side, the free edge with them.
    pub side: i32,
    /// The dark squares as the data of an SVG path, one unit to a square.
    pub path: String,
}

/// The code of a text, of which about one part in seven may be spoiled
/// (error correction level M); none when the text is longer than 412 bytes.
pub fn code(text: &str) -> Option<Code> {
    let segments = QrSegment::make_segments(text);
    let level = QrCodeEcc::Medium;
    let (least, most) = (Version::MIN, Version::new(LARGEST));
    let made = QrCode::encode_segments_advanced(&segments, level, least, most, None, true).ok()?;
    let mut path = String::new();
    for y in 0..made.size() {
        let mut x = 0;
        while x < made.size() {
            let run = (x..made.size()).take_while(|x| made.get_module(*x, y)).count() as i32;
            if run > 0 {
                path.push_str(&format!("M{} {}h{run}v1h-{run}z", x + QUIET, y + QUIET));
            }
            x += run.max(1);
        }
    }
    Some(Code { side: made.size() + 2 * QUIET, path })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn versions_hold_what_the_standard_says() {
        // Level M, byte mode: version 10 holds 213 bytes, version 15 holds 412
        // (from memory of ISO/IEC 18004, table 7).
        let side = |n: usize| code(&"a".repeat(n)).map(|c| c.side - 2 * QUIET);
        assert_eq!(side(213), Some(57));
        assert_eq!(side(214), Some(61));
        assert_eq!(side(412), Some(77));
        assert_eq!(side(413), None);
    }

    #[test]
    fn the_finder_stands_in_its_corner() {
        let code = code("1.4.abcd").unwrap();
        assert!(code.path.starts_with("M4 4h7v1h-7z"), "{}", code.path);
    }
}
