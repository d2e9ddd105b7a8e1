//! The row above a panel, at its right: what a second line or a marker means.

use super::sheet::{Sheet, TITLE_RISE};
use crate::metrics::{CAP, run_width_px};
use crate::model::{Anchor, Colour, Dash, Duty, Rect, Run, Shape, Stroke};

/// Room for faces wider than the table's.
const SLACK: f64 = 1.06;
/// Between two entries, in heights of the text.
const BETWEEN: f64 = 1.0;

/// From one row to the next, in heights of the text.
pub(crate) const ROW: f64 = 1.35;

/// One thing to be told apart.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub runs: Vec<Run>,
    pub colour: Colour,
    pub dash: Dash,
    pub width_px: f64,
    pub marker: Option<Shape>,
    /// Whether a piece of line stands before the words, or a marker alone.
    pub line: bool,
}

impl Entry {
    fn sample_px(&self, em: f64) -> f64 {
        if self.line { 1.9 * em } else { 0.7 * em }
    }

    fn width_px(&self, em: f64) -> f64 {
        self.sample_px(em) + 0.4 * em + run_width_px(&self.runs, em) * SLACK
    }
}

/// The entries in rows that each find room in a width, in their order.
pub(crate) fn rows(entries: &[Entry], width_px: f64, em: f64) -> Vec<&[Entry]> {
    let mut rows = Vec::new();
    let mut rest = entries;
    while !rest.is_empty() {
        let (row, next) = rest.split_at(fitting(rest, width_px - 1.2 * em, em).max(1));
        rows.push(row);
        rest = next;
    }
    rows
}

/// Writes them in such rows above a frame and its title, ending at its right edge.
pub(crate) fn above(sheet: &mut Sheet, entries: &[Entry], frame: Rect) {
    let em = sheet.em();
    for (k, row) in rows(entries, frame.width, em).into_iter().rev().enumerate() {
        let y = frame.y - ROW * em * (k + 1) as f64;
        write(sheet, Rect { y, ..frame }, 0.0, row);
    }
}

/// How many of the first entries find room.
fn fitting(entries: &[Entry], room: f64, em: f64) -> usize {
    let mut total = 0.0;
    let fits = |entry: &&Entry| {
        total += entry.width_px(em) + if total > 0.0 { BETWEEN * em } else { 0.0 };
        total <= room
    };
    entries.iter().take_while(fits).count()
}

/// Writes as many of the first entries as keep clear of the `title_px` wide
/// title, ending at the right edge; says how many were left unwritten.
pub(crate) fn write(sheet: &mut Sheet, rect: Rect, title_px: f64, entries: &[Entry]) -> usize {
    let em = sheet.em();
    let room = rect.width - title_px * 1.1 - 1.2 * em;
    let shown = fitting(entries, room, em);
    let widths: f64 = entries[..shown].iter().map(|entry| entry.width_px(em)).sum();
    let last = entries[..shown].last().map_or(0.0, |entry| run_width_px(&entry.runs, em));
    // The last entry's slack would only keep it from the edge.
    let mut x = rect.right() - widths - BETWEEN * em * shown.saturating_sub(1) as f64
        + last * (SLACK - 1.0);
    let y = rect.y - TITLE_RISE * em;
    for entry in &entries[..shown] {
        let (sample, middle) = (entry.sample_px(em), y - CAP / 2.0 * em);
        sheet.strokes.push(Stroke {
            path: vec![(x, middle), (x + sample, middle)],
            colour: entry.colour,
            width_px: if entry.line { entry.width_px } else { 0.0 },
            dash: entry.dash,
            marker: entry.marker,
        });
        let at = (x + sample + 0.4 * em, y);
        sheet.write(entry.runs.clone(), at, Anchor::Start, Duty::Note);
        x += entry.width_px(em) + BETWEEN * em;
    }
    entries.len() - shown
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::writing::line;

    #[test]
    fn a_key_too_wide_for_one_row_takes_several_and_loses_no_entry() {
        let entry = |text: &str| Entry {
            runs: line(text),
            colour: Colour::Ink,
            dash: Dash::Solid,
            width_px: 1.0,
            marker: None,
            line: true,
        };
        let entries = ["before, mean scale only", "after", "rejected (14)", "fit"].map(entry);
        let sizes = |width| rows(&entries, width, 13.0).iter().map(|r| r.len()).collect::<Vec<_>>();
        assert_eq!(sizes(600.0), [4]);
        assert_eq!(sizes(270.0), [2, 2]);
        assert_eq!(sizes(20.0), [1, 1, 1, 1]);
    }
}
