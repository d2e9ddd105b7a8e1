//! JSON documents: the table in them is found and read as rows.
//!
//! A table is an array of objects or arrays, an object of arrays of one
//! length, or an object whose keys are times.  The one with most rows is taken;
//! what stands outside it is passed over and named in the report.

use crate::assemble::Outside;
use crate::json::{blanks, leaves, string_end};
use crate::rows::Rows;
use crate::{Choices, Decision, ReadError, dialect::Separator, draft, json, json_lines, stamp};
use record::{
    print::counted,
    say,
    words::{word, worded},
};

/// The deepest nesting followed.
const DEEPEST: usize = 32;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shape {
    /// An array of objects or arrays.
    Rows,
    /// An object of arrays of one length.
    Columns,
    /// An object whose keys are times.
    Keyed,
}

#[derive(Clone, Debug)]
struct Table {
    shape: Shape,
    at: usize,
    rows: usize,
    path: String,
}

// What a value is, as far as tables go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Seen {
    Scalar,
    Scalars(usize),
    Nest,
}

/// Reads the largest table of a document.
pub(crate) fn rows(document: &[u8], choices: &Choices) -> Result<(Rows, Outside), ReadError> {
    let mut best: Option<Table> = None;
    let mut scan = Scan { text: document, best: &mut best, fault: (0, word("a value")) };
    let start = blanks(document, 0);
    let end = scan.value(start, 0, &mut String::new());
    let fault = scan.fault;
    if end.is_none_or(|(end, _)| blanks(document, end) < document.len()) {
        let (at, expected) = if end.is_some() {
            (end.map_or(0, |e| e.0), word("the end of the file"))
        } else {
            fault
        };
        let line =
            memchr::memchr_iter(b'\n', &document[..at.min(document.len())]).count() as u64 + 1;
        return Err(ReadError::Json { line, expected });
    }
    let Some(table) = best else {
        return Err(ReadError::NoNumbers { lines: 1, text: crate::decode::excerpt(document, 60) });
    };
    let lines = lines(document, &table);
    let keys = keys(&lines);
    let sample: Vec<(u64, Vec<u8>)> = lines.iter().take(400).cloned().collect();
    let mut drafted = draft::keyed(&sample, Separator::Json(keys), choices)?;
    drafted.decisions.insert(0, found(&table));
    let draft::Draft { plan, first_line, decisions, .. } = drafted;
    let mut rows = Rows::expecting(crate::pivot::settled(plan, &sample), lines.len());
    for (number, line) in lines.iter().filter(|(number, _)| *number >= first_line) {
        rows.line(*number, line);
    }
    Ok((rows, Outside { format: "json", decisions, ..Outside::default() }))
}

fn found(table: &Table) -> Decision {
    let shape = match table.shape {
        Shape::Rows => word("an array of rows"),
        Shape::Columns => word("an object of columns"),
        Shape::Keyed => word("an object keyed by time"),
    };
    let place = if table.path.is_empty() {
        worded("the whole file")
    } else {
        format!("“{}”", table.path)
    };
    Decision {
        id: "table".to_owned(),
        sentence: say!("The rows are those of {place}, {shape}."),
        evidence: say!(
            "{}, more than anything else in the file",
            counted(table.rows, "row", "rows")
        ),
        chosen: table.path.clone(),
        alternatives: Vec::new(),
        ambiguous: false,
    }
}

struct Scan<'a> {
    text: &'a [u8],
    best: &'a mut Option<Table>,
    fault: (usize, &'static str),
}

impl Scan<'_> {
    fn miss<T>(&mut self, at: usize, expected: &'static str) -> Option<T> {
        self.fault = (at, expected);
        None
    }

    fn offer(&mut self, shape: Shape, at: usize, rows: usize, path: &str) {
        if rows > 0 && self.best.as_ref().is_none_or(|best| rows > best.rows) {
            *self.best = Some(Table { shape, at, rows, path: path.to_owned() });
        }
    }

    // The place behind a value and what it is.
    fn value(&mut self, at: usize, depth: usize, path: &mut String) -> Option<(usize, Seen)> {
        if depth > DEEPEST {
            return self.miss(at, word("shallower nesting"));
        }
        match self.text.get(at) {
            Some(b'{') => self.object(at, depth, path),
            Some(b'[') => self.array(at, depth, path),
            Some(b'"') => match string_end(self.text, at + 1) {
                Some(end) => Some((end + 1, Seen::Scalar)),
                None => self.miss(at, word("the end of a text")),
            },
            _ => {
                let plain = |b: &&u8| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'+' | b'.');
                let length = self.text.get(at..).map_or(0, |t| t.iter().take_while(plain).count());
                if length == 0 {
                    self.miss(at, word("a value"))
                } else {
                    Some((at + length, Seen::Scalar))
                }
            }
        }
    }

    fn array(&mut self, open: usize, depth: usize, path: &mut String) -> Option<(usize, Seen)> {
        let (mut nests, mut scalars) = (0, 0);
        let mut at = blanks(self.text, open + 1);
        if self.text.get(at) == Some(&b']') {
            return Some((at + 1, Seen::Scalars(0)));
        }
        loop {
            let (end, seen) = self.value(at, depth + 1, path)?;
            match seen {
                Seen::Scalar => scalars += 1,
                _ => nests += 1,
            }
            at = blanks(self.text, end);
            match self.text.get(at) {
                Some(b',') => at = blanks(self.text, at + 1),
                Some(b']') => break,
                _ => return self.miss(at, word("a comma or a closing bracket")),
            }
        }
        if nests > scalars {
            self.offer(Shape::Rows, open, nests, path);
            return Some((at + 1, Seen::Nest));
        }
        Some((at + 1, Seen::Scalars(scalars)))
    }

    fn object(&mut self, open: usize, depth: usize, path: &mut String) -> Option<(usize, Seen)> {
        let (mut members, mut timed) = (0usize, 0usize);
        let mut lengths: Vec<usize> = Vec::new();
        let mut at = blanks(self.text, open + 1);
        if self.text.get(at) == Some(&b'}') {
            return Some((at + 1, Seen::Nest));
        }
        loop {
            if self.text.get(at) != Some(&b'"') {
                return self.miss(at, word("a name in quotation marks"));
            }
            let Some(end) = string_end(self.text, at + 1) else {
                return self.miss(at, word("the end of a name"));
            };
            let key = &self.text[at + 1..end];
            at = blanks(self.text, end + 1);
            if self.text.get(at) != Some(&b':') {
                return self.miss(at, word("a colon"));
            }
            let outer = path.len();
            if !path.is_empty() {
                path.push('.');
            }
            path.push_str(&crate::decode::text(&key[..key.len().min(60)]));
            let (end, seen) = self.value(blanks(self.text, at + 1), depth + 1, path)?;
            path.truncate(outer);
            members += 1;
            timed += usize::from(is_time(key));
            if let Seen::Scalars(n) = seen {
                lengths.push(n);
            }
            at = blanks(self.text, end);
            match self.text.get(at) {
                Some(b',') => at = blanks(self.text, at + 1),
                Some(b'}') => break,
                _ => return self.miss(at, word("a comma or a closing brace")),
            }
        }
        let usual = crate::sniff::commonest(lengths.iter().copied()).unwrap_or(0);
        let alike = lengths.iter().filter(|n| **n == usual).count();
        if timed * 10 >= members * 9 {
            self.offer(Shape::Keyed, open, members, path);
        } else if alike >= 2 && usual >= 2 {
            self.offer(Shape::Columns, open, usual, path);
        }
        Some((at + 1, Seen::Nest))
    }
}

fn is_time(key: &[u8]) -> bool {
    let digits = key.iter().filter(|b| b.is_ascii_digit()).count();
    (digits == key.len() && digits >= 9) || stamp::read(key).is_some_and(|s| s.date.is_some())
}

// The rows of a table, each as a JSON text of its own, with its line.
fn lines(text: &[u8], table: &Table) -> Vec<(u64, Vec<u8>)> {
    let mut out = Vec::new();
    let (mut line, mut counted_to) = (1u64, 0usize);
    let mut number = |at: usize| {
        line += memchr::memchr_iter(b'\n', &text[counted_to..at]).count() as u64;
        counted_to = at;
        line
    };
    match table.shape {
        Shape::Rows => {
            let parts = elements(text, table.at);
            let names = parts.first().and_then(|first| header_of(&text[first.1..first.2]));
            for (_, start, end) in parts.iter().skip(usize::from(names.is_some())) {
                let row = &text[*start..*end];
                let row = match &names {
                    Some(names) => with_names(row, names),
                    None => row.to_vec(),
                };
                out.push((number(*start), flat(row)));
            }
        }
        Shape::Keyed => {
            for (key, start, end) in elements(text, table.at) {
                let inner = &text[start..end];
                let mut row = [b"{\"time\":\"", key, b"\","].concat();
                match inner.strip_prefix(b"{") {
                    Some(rest) if !rest.trim_ascii_start().starts_with(b"}") => {
                        row.extend_from_slice(rest);
                    }
                    Some(_) => row = [b"{\"time\":\"", key, b"\"}"].concat(),
                    None => row.extend_from_slice(&[b"\"value\":", inner, b"}"].concat()),
                }
                out.push((number(start), flat(row)));
            }
        }
        Shape::Columns => {
            let columns: Vec<(&[u8], Vec<&[u8]>)> = elements(text, table.at)
                .into_iter()
                .filter(|(_, start, _)| text.get(*start) == Some(&b'['))
                .map(|(key, start, _)| {
                    (key, elements(text, start).iter().map(|(_, a, b)| &text[*a..*b]).collect())
                })
                .filter(|(_, cells): &(&[u8], Vec<&[u8]>)| cells.len() == table.rows)
                .collect();
            for row in 0..table.rows {
                let cells: Vec<Vec<u8>> = columns
                    .iter()
                    .map(|(key, cells)| [b"\"", *key, b"\":", cells[row]].concat())
                    .collect();
                out.push((
                    row as u64 + 1,
                    flat([b"{", cells.join(&b","[..]).as_slice(), b"}"].concat()),
                ));
            }
        }
    }
    out
}

// Keys (blank in arrays) and places of the elements of a container; the text
// has been scanned, so it is whole.
fn elements(text: &[u8], open: usize) -> Vec<(&[u8], usize, usize)> {
    let mut out = Vec::new();
    let object = text.get(open) == Some(&b'{');
    let mut at = blanks(text, open + 1);
    let mut none = None;
    let mut scan = Scan { text, best: &mut none, fault: (0, "") };
    while !matches!(text.get(at), None | Some(b']' | b'}')) {
        let mut key: &[u8] = b"";
        if object {
            let Some(end) = string_end(text, at + 1) else { break };
            key = &text[at + 1..end];
            at = blanks(text, blanks(text, end + 1) + 1);
        }
        let Some((end, _)) = scan.value(at, 1, &mut String::new()) else { break };
        out.push((key, at, end));
        at = blanks(text, end);
        if text.get(at) == Some(&b',') {
            at = blanks(text, at + 1);
        }
    }
    out
}

// The first row of an array of arrays may hold the names.
fn header_of(row: &[u8]) -> Option<Vec<Vec<u8>>> {
    let names = row.starts_with(b"[").then(|| leaves(row)).flatten()?;
    let cells: Vec<&[u8]> = names.iter().map(|(_, (a, b))| &row[*a..*b]).collect();
    let words =
        |cell: &&[u8]| cell.iter().any(u8::is_ascii_alphabetic) && !crate::sniff::reads(cell);
    (cells.len() > 1 && cells.iter().all(words)).then(|| cells.iter().map(|c| c.to_vec()).collect())
}

fn with_names(row: &[u8], names: &[Vec<u8>]) -> Vec<u8> {
    let cells = elements(row, 0);
    let parts: Vec<Vec<u8>> = names
        .iter()
        .zip(cells)
        .map(|(name, (_, a, b))| [b"\"", name.as_slice(), b"\":", &row[a..b]].concat())
        .collect();
    [b"{", parts.join(&b","[..]).as_slice(), b"}"].concat()
}

// Line ends inside a row are blanks.
fn flat(mut row: Vec<u8>) -> Vec<u8> {
    row.iter_mut().filter(|b| matches!(b, b'\n' | b'\r')).for_each(|b| *b = b' ');
    row
}

fn keys(lines: &[(u64, Vec<u8>)]) -> Vec<Vec<u8>> {
    if let Some(keys) = json_lines::keys(&lines[..lines.len().min(2_000)]) {
        return keys;
    }
    let first = lines.first().and_then(|(_, line)| json::leaves(line)).unwrap_or_default();
    first.into_iter().map(|(path, _)| path).collect()
}
