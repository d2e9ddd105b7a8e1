//! How wide writing is, from a table, so that a layout is the same everywhere.
//!
//! The widths are those of the Helvetica family, which the common plain faces
//! share.  Nothing asks the system for a font.

use crate::model::{Anchor, Label, Rect, Run, Script};

/// Height of raised and lowered writing as a share of the line's.
pub(crate) const SMALL: f64 = 0.75;
/// How far raised writing stands above the line, in heights of the line.
pub(crate) const RAISE: f64 = 0.36;
/// How far lowered writing stands below the line, in heights of the line.
pub(crate) const LOWER: f64 = 0.18;
/// Height of digits and capitals above the baseline, in heights of the text.
pub(crate) const CAP: f64 = 0.72;
/// Depth of the deepest letters below the baseline, in heights of the text.
pub(crate) const DEPTH: f64 = 0.21;

/// Advance widths of U+0020 to U+007E in thousandths of the text's height.
///
/// Source: the horizontal metrics table of Liberation Sans Regular 2.x, which
/// has Helvetica's widths.
const ASCII: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];

/// Width of a text in pixels when its height is `size_px`.
///
/// Exact for ASCII, the usual signs and Greek letters in a face with
/// Helvetica's widths; other letters count as 0.6 of the height, and
/// ideographs as the whole of it.
///
/// ```
/// // Four digits of 0.556 each.
/// assert!((figure::text_width_px("2026", 10.0) - 22.24).abs() < 1e-12);
/// ```
pub fn text_width_px(text: &str, size_px: f64) -> f64 {
    let thousandths: u64 = text.chars().map(|c| u64::from(advance(c))).sum();
    thousandths as f64 * 1e-3 * size_px
}

/// Width in pixels of pieces of writing set one after the other in a line of
/// height `size_px`.
pub fn run_width_px(runs: &[Run], size_px: f64) -> f64 {
    runs.iter().map(|run| text_width_px(&run.text, run_size_px(run, size_px))).sum()
}

/// Height of a piece of writing in a line of height `size_px`.
pub(crate) fn run_size_px(run: &Run, size_px: f64) -> f64 {
    if run.script == Script::Plain { size_px } else { size_px * SMALL }
}

impl Label {
    /// Width in pixels.
    pub fn width_px(&self) -> f64 {
        run_width_px(&self.runs, self.size_px)
    }

    /// The rectangle its letters fill.
    pub fn area(&self) -> Rect {
        let width = self.width_px();
        let x = match self.anchor {
            Anchor::Start => self.x_px,
            Anchor::Middle => self.x_px - width / 2.0,
            Anchor::End => self.x_px - width,
        };
        let raised = self.runs.iter().any(|run| run.script == Script::Super);
        let above = if raised { RAISE + SMALL * CAP } else { CAP + 0.02 };
        let y = self.y_px - above * self.size_px;
        Rect { x, y, width, height: (above + DEPTH) * self.size_px }
    }

    /// The characters, with `^` before what is raised.
    pub fn plain(&self) -> String {
        crate::writing::plain_text(&self.runs)
    }
}

fn advance(c: char) -> u16 {
    match c {
        ' '..='~' => ASCII[c as usize - 32],
        '\u{a0}' | '·' => 278,
        '\u{2009}' | '\u{202f}' => 200,
        '\u{2212}' | '×' | '÷' => 584,
        '°' => 400,
        '²' | '³' | '¹' => 333,
        '±' | '≤' | '≥' | '√' | '≈' => 549,
        'µ' | 'μ' => 576,
        '′' => 188,
        '″' => 354,
        '‘' | '’' => 222,
        '“' | '”' => 333,
        '—' | '…' | '→' | '←' => 1000,
        '∞' => 713,
        'σ' => 617,
        'τ' => 395,
        'φ' => 648,
        'ω' | 'Ω' => 781,
        'Δ' => 668,
        'Σ' => 618,
        'À'..='Å' => 667,
        '\u{2e80}'..='\u{9fff}' | '\u{ac00}'..='\u{d7ff}' | '\u{ff00}'..='\u{ffef}' => 1000,
        '\u{300}'..='\u{36f}' => 0,
        'à'..='ÿ' | '–' => 556,
        _ => 600,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_all_of_one_width_and_the_minus_is_wider_than_the_hyphen() {
        for digit in '0'..='9' {
            assert_eq!(advance(digit), 556);
        }
        assert!(advance('\u{2212}') > advance('-'));
    }

    #[test]
    fn every_character_has_a_width_or_combines_with_the_one_before() {
        for c in (0..0x2_0000).filter_map(char::from_u32) {
            assert!(advance(c) > 0 || ('\u{300}'..='\u{36f}').contains(&c));
        }
    }
}
