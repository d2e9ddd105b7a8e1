//! Headers: which lines stand before the data and what they name.
//!
//! Between none and four lines: group names, names, units, and how each value
//! was formed.  Lines that are none of these are preamble and kept as comments.

use crate::dialect::{Cells, Dialect, slice, words};
use crate::names::{Named, named};
use crate::number::{self, Cell};
use crate::units::{Hint, unit};
use crate::{sniff::Line, stamp};

/// A row of the sample, cut into cells.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    /// Line in the file.
    pub line: u64,
    /// The cells, as they stand.
    pub cells: Vec<Vec<u8>>,
    /// The whole line, trimmed.
    pub bare: Vec<u8>,
}

impl Row {
    /// Cuts a line; `None` when it cannot be cut.
    pub(crate) fn cut(line: &Line, dialect: &Dialect) -> Option<Self> {
        let mut cells = Cells::new();
        dialect.split(&line.1, &mut cells)?;
        let cells = cells.iter().map(|cell| slice(&line.1, *cell).to_vec()).collect();
        Some(Self { line: line.0, cells, bare: line.1.trim_ascii().to_vec() })
    }

    /// Cells before the trailing blank ones.
    pub(crate) fn width(&self) -> usize {
        self.cells.iter().rposition(|c| !c.trim_ascii().is_empty()).map_or(0, |last| last + 1)
    }

    /// Cells that read as a number, a time or a word for no value; blank ones
    /// do not count, and words alone are no row.
    pub(crate) fn valued(&self, dialect: &Dialect) -> usize {
        let (mut told, mut absent) = (0, 0);
        for cell in &self.cells {
            let text = number::trimmed(cell);
            if matches!(number::measured(text, dialect.mark), Cell::Value(_))
                || stamp::read(text).is_some()
            {
                told += 1;
            } else if !text.is_empty() && number::is_missing(text) {
                absent += 1;
            }
        }
        if told > 0 { told + absent } else { 0 }
    }
}

/// What stands before the data.
#[derive(Clone, Debug, Default)]
pub(crate) struct Header {
    /// One name a column; fewer when the header is shorter.
    pub names: Vec<Named>,
    /// The line with the names, to know it again.
    pub line: Option<Vec<u8>>,
    /// Lines of the header.
    pub n_lines: usize,
    /// Lines before it.
    pub preamble: Vec<Vec<u8>>,
}

/// The place of the first row of data.
pub(crate) fn first_data(rows: &[Row], dialect: &Dialect) -> Option<usize> {
    let valued: Vec<usize> = rows.iter().map(|row| row.valued(dialect)).collect();
    let mut late: Vec<usize> =
        valued[rows.len() / 2..].iter().copied().filter(|v| *v > 0).collect();
    late.sort_unstable();
    let usual = *late.get(late.len() / 2)?;
    let enough = usual.div_ceil(2).max(1);
    let widths: Vec<usize> = rows.iter().map(Row::width).collect();
    let width = crate::sniff::commonest(
        valued.iter().zip(&widths).filter(|(v, _)| **v >= enough).map(|(_, w)| *w),
    )?;
    (0..rows.len())
        .find(|k| valued[*k] >= enough && widths[*k] * 2 > width && widths[*k] <= width + 1)
}

/// Reads what stands before the data row `data`.  `comments` are the comment
/// lines before it, the last of which may name the columns.
pub(crate) fn read(rows: &[Row], data: usize, comments: &[Vec<u8>], dialect: &Dialect) -> Header {
    let width = width(&rows[data..]);
    let fits = |row: &Row| {
        let cells = row.cells.len().max(row.width());
        let filled = row.cells.iter().filter(|c| !c.trim_ascii().is_empty()).count();
        filled >= 2.min(width)
            && cells + 1 >= width.min(rows[data].cells.len())
            && row.width() <= width + 1
    };
    let mut start = data;
    while start > 0 && data - start < 4 && fits(&rows[start - 1]) {
        start -= 1;
    }
    let block = &rows[start..data];
    let preamble: Vec<Vec<u8>> = rows[..start].iter().map(|row| row.bare.clone()).collect();
    let mut header = match block {
        [] => from_comment(comments, width, dialect),
        block => from_rows(block),
    };
    header.preamble.splice(0..0, preamble);
    align(&mut header, &rows[data..], width);
    header
}

// The widest that rows are, two odd ones or one in twenty apart: those ran together.
fn width(data: &[Row]) -> usize {
    let mut widths: Vec<usize> = data.iter().map(Row::width).collect();
    widths.sort_unstable();
    let odd = if data.len() > 5 { (data.len() / 20).max(2) } else { 0 };
    widths.len().checked_sub(odd + 1).map_or(0, |last| widths[last])
}

// From the bottom: how values were formed, units, names, groups.
fn from_rows(block: &[Row]) -> Header {
    let mut left = block;
    let mut n_lines = 0;
    // `|---|---|`
    if let [.., _, last] = left
        && last.bare.iter().all(|b| b"-:=+| ".contains(b))
    {
        left = &left[..left.len() - 1];
        n_lines += 1;
    }
    if let [.., above, last] = left
        && left.len() > 2
        && is_process(last)
        && above.cells.len() + 1 >= last.cells.len()
    {
        left = &left[..left.len() - 1];
        n_lines += 1;
    }
    let mut units: Option<&Row> = None;
    if let [.., _, last] = left
        && is_units(last)
    {
        units = Some(last);
        left = &left[..left.len() - 1];
        n_lines += 1;
    }
    let Some((names, above)) = left.split_last() else { return Header::default() };
    n_lines += 1;
    let own: Vec<String> = names.cells.iter().map(|cell| words(cell)).collect();
    let mut groups: Option<Vec<String>> = None;
    let mut preamble = above;
    if let Some((group, before)) = above.split_last()
        && repeats(&own)
    {
        groups = Some(forward_filled(group, own.len()));
        preamble = before;
        n_lines += 1;
    }
    let cells = own.iter().enumerate().map(|(place, name)| {
        let group = groups.as_ref().and_then(|g| g.get(place)).map_or("", String::as_str);
        // A group does not reach over a blank name behind it.
        let own_group = above_cell(above, place);
        let group = if name.is_empty() && own_group.is_empty() { "" } else { group };
        let full = format!("{group} {name}");
        let unit = units.and_then(|row| row.cells.get(place)).map(|cell| words(cell));
        named(full.trim(), unit.as_deref())
    });
    Header {
        names: cells.collect(),
        line: Some(names.bare.clone()),
        n_lines,
        preamble: preamble.iter().map(|row| row.bare.clone()).collect(),
    }
}

// A comment such as `# time bx by bz` names the columns when its words number
// as many; it may be cut like the data, or by commas or blanks.
fn from_comment(comments: &[Vec<u8>], width: usize, dialect: &Dialect) -> Header {
    use crate::dialect::Separator;
    let tried = [dialect.separator.clone(), Separator::Byte(b','), Separator::Blanks];
    for comment in comments.iter().rev().take(3) {
        let signs =
            comment.iter().take_while(|b| matches!(b, b'#' | b'%' | b'/' | b'!' | b' ')).count();
        let bare = (0, comment[signs..].to_vec());
        for separator in &tried {
            let cut = Dialect { separator: separator.clone(), mark: dialect.mark };
            let Some(row) = Row::cut(&bare, &cut) else { continue };
            let letters = row.cells.iter().all(|c| c.iter().any(u8::is_ascii_alphabetic));
            if row.cells.len() == width && letters && width > 1 {
                let names = row.cells.iter().map(|cell| named(&words(cell), None)).collect();
                return Header { names, line: None, n_lines: 1, preamble: Vec::new() };
            }
        }
    }
    Header::default()
}

fn above_cell(above: &[Row], place: usize) -> String {
    above.last().and_then(|row| row.cells.get(place)).map(|cell| words(cell)).unwrap_or_default()
}

const PROCESSES: [&str; 14] = [
    "avg", "tot", "smp", "max", "min", "std", "wvc", "tmx", "tmn", "med", "mean", "sum", "sample",
    "cov",
];

fn is_process(row: &Row) -> bool {
    let mut known = 0;
    let filled =
        row.cells.iter().map(|c| record::letters::all_small(&words(c))).filter(|c| !c.is_empty());
    let total = filled.inspect(|c| known += usize::from(PROCESSES.contains(&c.as_str()))).count();
    total > 0 && known * 10 >= total * 8
}

// X, Y, Z, H, D, T, F are names, however much T and F are units too.
fn is_units(row: &Row) -> bool {
    let filled: Vec<String> =
        row.cells.iter().map(|c| words(c)).filter(|c| !c.is_empty()).collect();
    let known = filled.iter().filter(|text| {
        let bare = text.trim_matches(['(', ')', '[', ']']);
        unit(bare, Hint::Unknown).is_some() || ["-", "TS", "RN", "UTC", "C", "T"].contains(&bare)
    });
    let axes =
        filled.iter().filter(|t| ["x", "y", "z"].iter().any(|a| t.eq_ignore_ascii_case(a))).count();
    !filled.is_empty() && axes == 0 && known.count() * 2 >= filled.len()
}

fn repeats(names: &[String]) -> bool {
    let filled: Vec<&String> = names.iter().filter(|n| !n.is_empty()).collect();
    filled.iter().enumerate().any(|(k, name)| filled[..k].contains(name))
        || names.first().is_some_and(String::is_empty)
}

fn forward_filled(row: &Row, width: usize) -> Vec<String> {
    let mut last = String::new();
    (0..width)
        .map(|place| {
            let own = row.cells.get(place).map(|cell| words(cell)).unwrap_or_default();
            if !own.is_empty() {
                last = own;
            }
            last.clone()
        })
        .collect()
}

// A header one name short: the missing one is the first when what the first
// name says is found in the second column, the second of two cells that make one
// stamp, else the last.
fn align(header: &mut Header, data: &[Row], width: usize) {
    if header.names.is_empty() || header.names.len() + 1 != width {
        return;
    }
    let at = |row: &Row, place: usize| stamp::read(number::trimmed(row.cells.get(place)?));
    let place = header.names.iter().position(|n| n.quantity == crate::names::Quantity::Time);
    let all = |fits: &dyn Fn(&Row, usize) -> bool| {
        place.filter(|place| data.iter().take(20).all(|row| fits(row, *place)))
    };
    let shift = all(&|row, place| at(row, place + 1).is_some() && at(row, place).is_none());
    let halves = all(&|row, place| {
        at(row, place).is_some_and(|s| s.of_day_ns.is_none())
            && at(row, place + 1).is_some_and(|s| s.date.is_none())
    });
    let place = shift.map(|_| 0).or(halves.map(|place| place + 1));
    header.names.insert(place.unwrap_or(header.names.len()), named("", None));
}
