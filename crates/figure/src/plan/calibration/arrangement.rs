//! Where the panels of a calibration stand: the arrangement that leaves the
//! projections largest.

use crate::layout::key;
use crate::layout::sheet::{ABOVE, BELOW, GAP, Sheet};
use crate::layout::stack::crisp;
use crate::metrics::text_width_px;
use crate::model::Rect;

/// Frames of the panels.
#[derive(Clone, Debug)]
pub(super) struct Arrangement {
    pub squares: [Rect; 3],
    pub lengths: Option<Rect>,
    pub residuals: Option<Rect>,
    pub key_width_px: f64,
}

impl Arrangement {
    /// Three abreast over a strip, or two over two with the strip's panel as
    /// the fourth, beneath `key_rows` rows of a key.
    pub(super) fn new(sheet: &Sheet, widest: &str, key_rows: usize) -> Self {
        let em = sheet.em();
        let left = text_width_px(widest, em) * 1.1 + (GAP + 0.3) * em;
        let key = key::ROW * em * key_rows as f64;
        let abreast = three(sheet, left, key);
        let square = four(sheet, left, key);
        if abreast.squares[0].width >= square.squares[0].width { abreast } else { square }
    }
}

fn three(sheet: &Sheet, left: f64, key: f64) -> Arrangement {
    let em = sheet.em();
    let (width, height) = (sheet.frame.width_px, sheet.frame.height_px);
    let row = (ABOVE + BELOW) * em;
    let between = 1.2 * em;
    let by_width = (width - 3.0 * left - 2.0 * between - 1.2 * em) / 3.0;
    let least_strip = 5.0 * em;
    let by_height = height - key - 2.0 * row - least_strip;
    let side = by_width.min(by_height).max(3.0 * em).floor();
    let y = crisp(key + ABOVE * em);
    let step = left + side + between;
    // Squares that are narrower than their share are spread evenly.
    let spare = ((width - 1.2 * em - 3.0 * step + between) / 3.0).max(0.0);
    let at = |k: f64| crisp(left + k * (step + spare));
    let squares = [0.0, 1.0, 2.0].map(|k| Rect { x: at(k), y, width: side, height: side });
    let top = crisp(y + side + row);
    let tall = (height - BELOW * em - top).floor();
    let half = (width - 2.0 * left - between - 1.2 * em) / 2.0;
    let strip = |x: f64| Rect { x: crisp(x), y: top, width: half.floor(), height: tall };
    let fits = tall >= 3.0 * em;
    Arrangement {
        squares,
        lengths: fits.then(|| strip(left)),
        residuals: fits.then(|| strip(2.0 * left + half + between)),
        key_width_px: squares[2].right() - squares[0].x,
    }
}

fn four(sheet: &Sheet, left: f64, key: f64) -> Arrangement {
    let em = sheet.em();
    let (width, height) = (sheet.frame.width_px, sheet.frame.height_px);
    let row = (ABOVE + BELOW) * em;
    let between = 1.0 * em;
    let by_width = (width - 2.0 * left - between - 1.2 * em) / 2.0;
    let by_height = (height - key - 2.0 * row) / 2.0;
    let side = by_width.min(by_height).max(3.0 * em).floor();
    let spare = (width - 1.2 * em - 2.0 * (left + side) - between).max(0.0) / 2.0;
    let x = [left, 2.0 * left + side + between + spare].map(crisp);
    let y = [key + ABOVE * em, key + ABOVE * em + side + row].map(crisp);
    let cell = |c: usize, r: usize| Rect { x: x[c], y: y[r], width: side, height: side };
    let squares = [cell(0, 0), cell(1, 0), cell(0, 1)];
    let lengths = Rect { width: (width - 1.2 * em - x[1]).floor(), ..cell(1, 1) };
    let top = crisp(y[1] + side + row);
    let strip = Rect {
        x: x[0],
        y: top,
        width: lengths.right() - x[0],
        height: (height - BELOW * em - top).floor(),
    };
    let residuals = (strip.height >= 4.0 * em).then_some(strip);
    let key_width_px = squares[1].right() - squares[0].x;
    Arrangement { squares, lengths: Some(lengths), residuals, key_width_px }
}
