//! Sniffing: which dialect the first lines of a log are written in.
//!
//! Every separator is tried on the sample; the one that gives rows of one
//! width whose cells read as numbers and times wins.

use crate::decode::text;
use crate::dialect::{Cells, Dialect, Separator, slice};
use crate::number::{self, Cell, Mark};
use crate::plan::Wrap;
use crate::{labels, stamp, wrap};
use record::{say, words::word};

/// A line of the sample: number in the file, bytes.
pub(crate) type Line = (u64, Vec<u8>);

/// How well a separator suits the sample.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Suit {
    /// The separator.
    pub separator: Separator,
    /// The width that most rows have.
    pub width: usize,
    /// Rows of that width.
    pub rows: usize,
    /// Rows looked at.
    pub of: usize,
    /// Share of rows of that width times the share of their cells that read.
    pub score: f64,
}

/// What stands around the cells of most lines.
pub(crate) fn wrapping(lines: &[Line]) -> Wrap {
    let share = |test: &dyn Fn(&[u8]) -> bool| {
        let hits = lines.iter().filter(|(_, line)| test(line.trim_ascii())).count();
        hits * 10 > lines.len() * 6
    };
    if share(&|line| wrap::printed_bytes(line).is_some()) {
        Wrap::Bytes
    } else if share(&|line| wrap::arrow(line).is_some()) {
        Wrap::Arrow
    } else if share(&is_sentence) {
        Wrap::Sentence
    } else {
        Wrap::Bare
    }
}

fn is_sentence(line: &[u8]) -> bool {
    let star = line.iter().rposition(|b| *b == b'*');
    line.first() == Some(&b'$') && star.is_some_and(|star| line.len() - star == 3)
}

/// Whether most lines are labelled values, and then their labels in order.
pub(crate) fn labelled(lines: &[&[u8]]) -> Option<Vec<Vec<u8>>> {
    let mut keys: Vec<Vec<u8>> = Vec::new();
    let mut hits = 0;
    for line in lines {
        let pairs = labels::pairs(line);
        let numbers = pairs.iter().filter(|p| is_value(&line[p.value.0..p.value.1])).count();
        if numbers < 2 && !(numbers == 1 && pairs.len() == 1) {
            continue;
        }
        hits += 1;
        for pair in &pairs {
            let label = &line[pair.label.0..pair.label.1];
            if !keys.iter().any(|key| key.eq_ignore_ascii_case(label)) && keys.len() < 256 {
                keys.push(label.to_vec());
            }
        }
    }
    (hits * 10 > lines.len() * 6 && !keys.is_empty()).then_some(keys)
}

fn is_value(cell: &[u8]) -> bool {
    matches!(number::measured(cell, Mark::Point), Cell::Value(_) | Cell::Missing)
        || stamp::read(cell).is_some()
}

/// The byte separators tried, the most telling first.
const CANDIDATES: [Separator; 5] = [
    Separator::Byte(b'\t'),
    Separator::Byte(b';'),
    Separator::Byte(b','),
    Separator::Byte(b'|'),
    Separator::Blanks,
];

/// Every separator with how well it suits, best first.
pub(crate) fn separators(lines: &[&[u8]]) -> Vec<Suit> {
    let mut suits: Vec<Suit> = CANDIDATES.iter().filter_map(|s| suit(s, lines)).collect();
    // The order of the candidates decides where the scores hardly differ.
    record::sort::by(&mut suits, |a, b| {
        let close = (a.score - b.score).abs() < 0.02;
        if close { std::cmp::Ordering::Equal } else { b.score.total_cmp(&a.score) }
    });
    suits
}

fn suit(separator: &Separator, lines: &[&[u8]]) -> Option<Suit> {
    let dialect = Dialect { separator: separator.clone(), mark: Mark::Point };
    let mut cells = Cells::new();
    let mut rows: Vec<(usize, f64)> = Vec::new();
    // Blank cells at the end do not count.
    let cut = |line: &[u8], cells: &mut Cells| {
        dialect.split(line, cells)?;
        while cells.last().is_some_and(|c| slice(line, *c).trim_ascii().is_empty()) {
            cells.pop();
        }
        Some(())
    };
    if !lines.iter().any(|line| cut(line, &mut cells).is_some() && cells.len() > 1) {
        return None;
    }
    for line in lines {
        if cut(line, &mut cells).is_none() {
            rows.push((0, 0.0));
            continue;
        }
        let readable = cells.iter().filter(|c| reads(slice(line, **c))).count();
        rows.push((cells.len(), readable as f64 / cells.len().max(1) as f64));
    }
    let width = commonest(rows.iter().filter(|(_, share)| *share > 0.2).map(|(width, _)| *width))?;
    // Short rows whose last cells are blank count as well.
    let fitting: Vec<f64> = rows
        .iter()
        .filter(|(w, _)| *w <= width && *w * 2 > width)
        .map(|(_, share)| *share)
        .collect();
    if width < 2 {
        return None;
    }
    let share = fitting.iter().sum::<f64>() / rows.len() as f64;
    Some(Suit {
        separator: separator.clone(),
        width,
        rows: fitting.len(),
        of: rows.len(),
        score: share,
    })
}

/// Whether a cell reads as a number with either mark, a time, or no value.
pub(crate) fn reads(cell: &[u8]) -> bool {
    let text = number::trimmed(cell);
    !matches!(number::measured(text, Mark::Point), Cell::Unreadable)
        || !matches!(number::measured(text, Mark::Comma), Cell::Unreadable)
        || stamp::read(text).is_some()
}

/// The value that occurs most; the larger of two that occur as often.
pub(crate) fn commonest(values: impl Iterator<Item = usize>) -> Option<usize> {
    let mut counts = std::collections::BTreeMap::new();
    for value in values {
        *counts.entry(value).or_insert(0usize) += 1;
    }
    counts.into_iter().max_by_key(|(value, count)| (*count, *value)).map(|(value, _)| value)
}

/// Whether decimal commas stand unquoted among separating ones: a line of
/// names, and rows in which every name from some place on has two parts, the
/// second of digits alone.  Returns how many names have one part.
pub(crate) fn pairs(lines: &[&[u8]]) -> Option<usize> {
    let comma = Dialect { separator: Separator::Byte(b','), mark: Mark::Point };
    let mut cells = Cells::new();
    let (names, rows) = lines.split_first()?;
    comma.split(names, &mut cells)?;
    let n = cells.len();
    if n < 2 || cells.iter().any(|c| reads(slice(names, *c))) || rows.is_empty() {
        return None;
    }
    let width = commonest(rows.iter().map(|row| {
        comma.split(row, &mut cells);
        cells.len()
    }))?;
    let lead = (2 * n).checked_sub(width).filter(|lead| *lead < n)?;
    let digits = |text: &[u8]| !text.is_empty() && text.iter().all(u8::is_ascii_digit);
    let fits = |row: &&&[u8]| {
        let is_pair = |pair: &[(u32, u32)]| {
            let [whole, decimals] = [slice(row, pair[0]), slice(row, pair[1])];
            digits(whole.strip_prefix(b"-").unwrap_or(whole)) && digits(decimals)
        };
        comma.split(row, &mut cells).is_some()
            && cells.len() == width
            && cells[lead..].chunks(2).all(is_pair)
    };
    let fitting = rows.iter().filter(fits).count();
    (fitting * 20 >= rows.len() * 19).then_some(lead)
}

/// How decimals are marked: which mark, whether it is open, and the evidence.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Decimals {
    /// The mark.
    pub mark: Mark,
    /// Whether commas could as well group thousands.
    pub open: bool,
    /// What it was decided from.
    pub evidence: String,
}

/// The decimal mark of cells cut by a separator.
pub(crate) fn decimals(separator: &Separator, lines: &[&[u8]]) -> Decimals {
    let dialect = Dialect { separator: separator.clone(), mark: Mark::Point };
    let mut cells = Cells::new();
    let (mut points, mut commas, mut grouped) = (0usize, 0usize, 0usize);
    let mut example = String::new();
    for line in lines {
        if dialect.split(line, &mut cells).is_none() {
            continue;
        }
        for cell in &cells {
            let text = number::trimmed(slice(line, *cell));
            if has_mark(text, b',') {
                commas += 1;
                grouped += usize::from(could_be_thousands(text));
                if example.is_empty() {
                    example = crate::decode::text(text);
                }
            } else if has_mark(text, b'.') {
                points += 1;
            }
        }
    }
    if commas > points {
        let open = grouped == commas;
        return Decimals {
            mark: Mark::Comma, open, evidence: say!("cells such as “{example}”")
        };
    }
    let evidence =
        if points > 0 { word("points before the decimals") } else { word("no decimal commas") };
    Decimals { mark: Mark::Point, open: false, evidence: evidence.to_owned() }
}

// One such mark, and none of the other kind behind it; thin spaces, true minus
// signs and apostrophes may stand among the digits.
fn has_mark(text: &[u8], mark: u8) -> bool {
    let digits = text.strip_prefix(b"-").or(text.strip_prefix(b"+")).unwrap_or(text);
    digits.iter().filter(|b| **b == mark).count() == 1
        && digits.iter().rfind(|b| matches!(b, b',' | b'.')) == Some(&mark)
        && digits.iter().all(|b| {
            b.is_ascii_digit()
                || matches!(b, b',' | b'.' | b'e' | b'E' | b'-' | b'\'')
                || !b.is_ascii()
        })
        && digits.iter().any(u8::is_ascii_digit)
}

// 17,482 is a number of thousands or one with three decimals; 0,482 is not.
fn could_be_thousands(text: &[u8]) -> bool {
    let digits = text.strip_prefix(b"-").unwrap_or(text);
    let mut halves = digits.split(|b| *b == b',');
    let (head, tail) = (halves.next().unwrap_or_default(), halves.next().unwrap_or_default());
    tail.len() == 3 && (1..=3).contains(&head.len()) && head[0] != b'0'
}

/// A separator in words.
pub(crate) fn spoken(separator: &Separator) -> &'static str {
    word(match separator {
        Separator::Byte(b',') | Separator::Pairs(_) => "commas",
        Separator::Byte(b';') => "semicolons",
        Separator::Byte(b'\t') => "tabs",
        Separator::Byte(b'|') => "bars",
        Separator::Byte(_) => "a sign of its own",
        Separator::Blanks => "blanks",
        Separator::Labels(_) => "labels before the values",
        Separator::Json(_) => "JSON",
    })
}

/// Stable id of a separator, for choices.
pub(crate) fn id(separator: &Separator) -> &'static str {
    match separator {
        Separator::Byte(b';') => "semicolon",
        Separator::Byte(b'\t') => "tab",
        Separator::Byte(b'|') => "bar",
        Separator::Byte(_) | Separator::Pairs(_) => "comma",
        Separator::Blanks => "blank",
        Separator::Labels(_) => "label",
        Separator::Json(_) => "json",
    }
}

/// The separator with this id.
pub(crate) fn from_id(id_given: &str) -> Option<Separator> {
    CANDIDATES.into_iter().find(|s| id(s) == id_given)
}

/// A `sep=;` line at the top, as spreadsheets write it.
pub(crate) fn told(line: &[u8]) -> Option<Separator> {
    let line = text(line.trim_ascii()).to_lowercase();
    let sign = line.trim_matches('"').strip_prefix("sep=")?.to_owned();
    match sign.as_bytes() {
        [byte @ (b',' | b';' | b'\t' | b'|')] => Some(Separator::Byte(*byte)),
        b"" => Some(Separator::Byte(b'\t')),
        _ => None,
    }
}
