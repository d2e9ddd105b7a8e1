//! The row above a panel, at its right: what a second line or a marker means.

use super::sheet::{Sheet, TITLE_RISE};
use crate::metrics::{CAP, run_width_px};
use crate::model::{Anchor, Colour, Dash, Duty, Rect, Run, Shape, Stroke};

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

/// Writes entries from the right edge inward, as many as keep clear of the
/// `title_px` wide title; says how many were left unwritten.
pub(crate) fn write(sheet: &mut Sheet, rect: Rect, title_px: f64, entries: &[Entry]) -> usize {
    let em = sheet.em();
    let mut right = rect.right();
    let limit = rect.x + title_px * 1.1 + 1.2 * em;
    let y = rect.y - TITLE_RISE * em;
    for (place, entry) in entries.iter().enumerate() {
        let words = run_width_px(&entry.runs, em);
        let sample = if entry.line { 1.9 * em } else { 0.7 * em };
        let start = right - words * 1.08 - 0.4 * em - sample;
        if start < limit {
            return entries.len() - place;
        }
        sheet.write(entry.runs.clone(), (right, y), Anchor::End, Duty::Note);
        let middle = y - CAP / 2.0 * em;
        sheet.strokes.push(Stroke {
            path: vec![(start, middle), (start + sample, middle)],
            colour: entry.colour,
            width_px: if entry.line { entry.width_px } else { 0.0 },
            dash: entry.dash,
            marker: entry.marker,
        });
        right = start - 1.1 * em;
    }
    0
}
