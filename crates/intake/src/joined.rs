//! Notes over several lines: a quoted cell may hold line ends.
//!
//! A line whose quotation mark stays open is held until a later one closes it.
//! The joined row is taken only when the line ends fall into a cell of words;
//! otherwise the open line is rejected and the others are read on their own, so
//! that one stray mark cannot swallow a log.

use crate::dialect::{Cells, slice};
use crate::plan::Task;
use crate::rows::{Fate, Rows};
use record::words::worded;

/// Lines held at most.
const LINES: usize = 16;
/// Bytes held at most.
const BYTES: usize = 1 << 16;

/// Lines that wait for a quotation mark.
#[derive(Clone, Debug, Default)]
pub(crate) struct Held {
    lines: Vec<(u64, Vec<u8>)>,
}

impl Held {
    /// A first line.
    pub(crate) fn new(number: u64, line: &[u8]) -> Self {
        Self { lines: vec![(number, line.to_vec())] }
    }

    fn text(&self) -> Vec<u8> {
        let lines: Vec<&[u8]> = self.lines.iter().map(|(_, line)| line.as_slice()).collect();
        lines.join(&b'\n')
    }
}

impl Rows {
    /// Whether an open quotation mark may be that of a note.
    pub(crate) fn may_hold(&self) -> bool {
        self.tasks.iter().any(|task| matches!(task, Task::Note | Task::Skip))
    }

    /// Takes the line behind held ones.
    #[cold]
    pub(crate) fn join(&mut self, mut held: Held, number: u64, line: &[u8]) {
        held.lines.push((number, line.to_vec()));
        let text = held.text();
        let mut cells = Cells::new();
        match self.plan.dialect.split(&text, &mut cells) {
            Some(()) if self.is_note(&text, &cells) => {
                let first = held.lines[0].0;
                self.moment = crate::moment::Moment::default();
                if let Fate::Rejected(reason) = self.row(&text, first) {
                    self.tally.reject(first, &text, reason);
                }
            }
            None if held.lines.len() < LINES && text.len() < BYTES => self.held = Some(held),
            _ => self.let_go(held),
        }
    }

    // The line ends lie in cells of words, and the row is as wide as others.
    fn is_note(&self, text: &[u8], cells: &Cells) -> bool {
        let fits = cells.len() >= self.plan.least && cells.len() <= self.tasks.len();
        fits && cells.iter().zip(&self.tasks).all(|(cell, task)| {
            !slice(text, *cell).contains(&b'\n') || matches!(task, Task::Note | Task::Skip)
        })
    }

    /// Rejects the line with the open mark and reads the others on their own.
    pub(crate) fn let_go(&mut self, held: Held) {
        let mut lines = held.lines.into_iter();
        if let Some((number, line)) = lines.next() {
            self.tally.reject(number, &line, worded("has a quotation mark that never closes"));
        }
        for (number, line) in lines {
            self.line(number, &line);
        }
    }
}

/// Joins lines of a sample whose quotation marks are odd in number with those
/// behind, up to eight, that make them even.
pub(crate) fn even_quotes(lines: &[(u64, Vec<u8>)]) -> Vec<(u64, Vec<u8>)> {
    let marks = |line: &[u8]| memchr::memchr_iter(b'"', line).count();
    let mut out = Vec::new();
    let mut at = 0;
    while let Some((number, line)) = lines.get(at) {
        let mut taken = 1;
        if marks(line) % 2 == 1 {
            let behind = lines.iter().skip(at + 1).take(7);
            let odd = behind.map(|(_, next)| marks(next) % 2 == 1).position(|odd| odd);
            taken = odd.map_or(1, |k| k + 2);
        }
        let parts: Vec<&[u8]> = lines[at..at + taken].iter().map(|(_, l)| l.as_slice()).collect();
        out.push((*number, parts.join(&b'\n')));
        at += taken;
    }
    out
}

#[cfg(test)]
mod tests {
    use crate::{Choices, read};

    #[test]
    fn a_note_over_two_lines_is_one_note() {
        let log = "time,f_nt,note\n2026-05-03T14:20:00Z,48211,\n2026-05-03T14:20:30Z,48212,\"car\nparked\"\n\
                   2026-05-03T14:21:00Z,48213,\n2026-05-03T14:21:30Z,48214,\n";
        let reading = read("log", log.as_bytes(), &Choices::default()).unwrap();
        assert_eq!((reading.report.rows_read, reading.report.rows_rejected), (4, 0));
        assert_eq!(reading.events[0].1, "car\nparked");
    }

    #[test]
    fn a_header_over_two_lines_names_its_columns() {
        let log = "\"time\",\"F\n(nT)\"\n2026-05-03T14:20:00Z,48211\n2026-05-03T14:20:30Z,48212\n";
        let reading = read("log", log.as_bytes(), &Choices::default()).unwrap();
        assert_eq!(reading.report.columns[1].unit_written, "nT");
        assert_eq!(reading.report.rows_read, 2);
    }

    #[test]
    fn a_stray_mark_costs_its_own_row_alone() {
        let row = |k: u32, mark: &str| format!("2026-05-03T14:{k:02}:00Z,{mark}48211,\"ok\"\n");
        let log: String = (0..30).map(|k| row(k, if k == 12 { "\"" } else { "" })).collect();
        let log = format!("time,f_nt,note\n{log}");
        let reading = read("log", log.as_bytes(), &Choices::default()).unwrap();
        assert_eq!((reading.report.rows_read, reading.report.rows_rejected), (29, 1));
        assert_eq!(reading.report.rejected[0].line, 14);
    }
}
