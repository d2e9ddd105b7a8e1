//! Dialects: how the cells of a row are told apart.
//!
//! A dialect is a separator and a decimal mark.  [`Dialect::split`] is the
//! careful way to cut a line, quotes and all; the quick way for rows that
//! look like the ones before lives in [`crate::rows`].

use crate::labels;
use crate::number::Mark;

/// What stands between the cells of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Separator {
    /// One byte: comma, semicolon, tab, bar.
    Byte(u8),
    /// Commas, and decimal commas unquoted among them: after so many cells, two
    /// parts make one number.
    Pairs(usize),
    /// Runs of blanks and tabs.
    Blanks,
    /// Every value behind its label: `mx=123, my=45`.
    Labels(Vec<Vec<u8>>),
    /// One JSON object or array a line, with these keys.
    Json(Vec<Vec<u8>>),
}

/// A separator and a decimal mark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Dialect {
    /// Between the cells.
    pub separator: Separator,
    /// Between a number and its decimals.
    pub mark: Mark,
}

/// Where the cells of a line lie in it.
pub(crate) type Cells = Vec<(u32, u32)>;

impl Dialect {
    /// Cuts a line into cells.  Blank cells count; blanks at the ends of a
    /// blank-separated line do not make cells.  `None` for a quotation mark
    /// that opens a cell and never closes, and for JSON that is broken.
    pub(crate) fn split(&self, line: &[u8], cells: &mut Cells) -> Option<()> {
        cells.clear();
        match &self.separator {
            Separator::Byte(byte) => by_byte(line, *byte, cells),
            Separator::Pairs(lead) => by_pairs(line, *lead, cells),
            Separator::Blanks => by_blanks(line, cells),
            Separator::Labels(keys) => labels::split(line, keys, cells),
            Separator::Json(keys) => crate::json::split(line, keys, cells),
        }
    }

    /// Name of the format, for the report.
    pub(crate) fn format(&self) -> &'static str {
        match self.separator {
            Separator::Byte(b';') => "semicolon",
            Separator::Byte(b'\t') => "tsv",
            Separator::Byte(b'|') => "pipe",
            Separator::Byte(_) | Separator::Pairs(_) => "csv",
            Separator::Blanks => "space",
            Separator::Labels(_) => "labelled",
            Separator::Json(_) => "jsonl",
        }
    }
}

/// The bytes of a cell.
pub(crate) fn slice(line: &[u8], cell: (u32, u32)) -> &[u8] {
    line.get(cell.0 as usize..cell.1 as usize).unwrap_or_default()
}

fn by_byte(line: &[u8], separator: u8, cells: &mut Cells) -> Option<()> {
    let mut start = 0;
    loop {
        let blanks = line[start..].iter().take_while(|b| **b == b' ').count();
        let opens = line.get(start + blanks) == Some(&b'"');
        let searched = if opens { closing(line, start + blanks + 1)? } else { start };
        let end = memchr::memchr(separator, &line[searched..]).map(|found| searched + found);
        let stop = end.unwrap_or(line.len());
        cells.push((start as u32, stop as u32));
        match end {
            Some(end) => start = end + 1,
            None => return Some(()),
        }
    }
}

// `48,21,-3,02` is two numbers.  A number without decimals shifts the rest,
// which then has the wrong width and is told about; words are left alone, since
// they are the names.
fn by_pairs(line: &[u8], lead: usize, cells: &mut Cells) -> Option<()> {
    by_byte(line, b',', cells)?;
    let worded = |cell: &(u32, u32)| slice(line, *cell).iter().any(u8::is_ascii_alphabetic);
    if cells.iter().skip(lead).any(worded) {
        return Some(());
    }
    let mut parts = cells.split_off(lead.min(cells.len())).into_iter();
    while let Some(whole) = parts.next() {
        let end = parts.next().map_or(whole.1, |decimals| decimals.1);
        cells.push((whole.0, end));
    }
    Some(())
}

// The place behind the mark that closes a quoted cell; two marks are one letter.
fn closing(line: &[u8], mut from: usize) -> Option<usize> {
    loop {
        let mark = from + memchr::memchr(b'"', line.get(from..)?)?;
        if line.get(mark + 1) != Some(&b'"') {
            return Some(mark + 1);
        }
        from = mark + 2;
    }
}

fn by_blanks(line: &[u8], cells: &mut Cells) -> Option<()> {
    let mut at = 0;
    loop {
        at += line[at..].iter().take_while(|b| matches!(b, b' ' | b'\t')).count();
        if at == line.len() {
            return Some(());
        }
        let searched = if line[at] == b'"' { closing(line, at + 1)? } else { at };
        let end =
            searched + line[searched..].iter().take_while(|b| !matches!(b, b' ' | b'\t')).count();
        cells.push((at as u32, end as u32));
        at = end;
    }
}

/// A text cell as a reader sees it: trimmed, unquoted, doubled marks single.
pub(crate) fn words(cell: &[u8]) -> String {
    let text = crate::decode::text(crate::number::trimmed(cell));
    let text = text.replace("\"\"", "\"");
    text.trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(separator: Separator, line: &str) -> Option<Vec<String>> {
        let mut cells = Cells::new();
        let dialect = Dialect { separator, mark: Mark::Point };
        dialect.split(line.as_bytes(), &mut cells)?;
        Some(cells.iter().map(|c| words(slice(line.as_bytes(), *c))).collect())
    }

    #[test]
    fn separators_inside_quotes_do_not_cut() {
        let cells = cut(Separator::Byte(b','), "\"Date, GMT\", \"a \"\"b\"\"\",3,").unwrap();
        assert_eq!(cells, ["Date, GMT", "a \"b\"", "3", ""]);
        assert_eq!(cut(Separator::Byte(b','), "1,\"open"), None);
    }

    #[test]
    fn decimal_commas_among_commas_make_pairs() {
        assert_eq!(cut(Separator::Pairs(1), "t,48,21,-3,02").unwrap(), ["t", "48,21", "-3,02"]);
        assert_eq!(cut(Separator::Pairs(1), "t").unwrap(), ["t"]);
        assert_eq!(cut(Separator::Pairs(1), "time,bx,by").unwrap(), ["time", "bx", "by"]);
    }

    #[test]
    fn runs_of_blanks_and_tabs_are_one_separator() {
        assert_eq!(cut(Separator::Blanks, "  1 \t -2   3 ").unwrap(), ["1", "-2", "3"]);
        assert!(cut(Separator::Blanks, "   ").unwrap().is_empty());
    }
}
