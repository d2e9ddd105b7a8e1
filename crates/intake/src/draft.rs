//! Drafting: the plan of a log from its first lines.

use crate::clockwork::{self, Candidate, Seen};
use crate::decide::{self, Asked};
use crate::decode::{excerpt, text};
use crate::dialect::{Dialect, Separator};
use crate::header::{self, Header, Row};
use crate::names::{Named, Quantity, named};
use crate::number::{self, Cell, Mark};
use crate::pivot::{self, Pivot};
use crate::plan::{Plan, Planned, Task, Wrap};
use crate::profile::Profile;
use crate::sniff::{self, Line};
use crate::{Choices, Decision, ReadError, joined, labels, sentences, wrap};
use record::say;

/// A plan and how it was come by.
#[derive(Debug)]
pub(crate) struct Draft {
    /// The plan.
    pub plan: Plan,
    /// The first line of data, from 1.
    pub first_line: u64,
    /// Preamble lines.
    pub preamble: Vec<Vec<u8>>,
    /// Decisions taken so far.
    pub decisions: Vec<Decision>,
}

/// Drafts the plan of a table of text from its first lines.
pub(crate) fn table(lines: &[Line], choices: &Choices) -> Result<Draft, ReadError> {
    let wrap = sniff::wrapping(lines);
    let (comments, mut body, refused) = apart(lines, wrap);
    if body.is_empty()
        && let Some((line, reason)) = refused
    {
        let reason = say!("line {line}: {reason}");
        return Err(ReadError::AllRejected { rows: lines.len() - comments.len(), line, reason });
    }
    body = joined::even_quotes(&body);
    let told = body.first().and_then(|line| sniff::told(&line.1));
    if told.is_some() {
        body.remove(0);
    }
    let views: Vec<&[u8]> = body.iter().map(|line| line.1.as_slice()).collect();
    let mut asked = Asked::new(choices);
    let separator = decide::separator(&views, told, &mut asked)?;
    let separator = match separator {
        Some(separator) => separator,
        // One number a line: cells that never meet a separator.
        None if single_numbers(&body) => Separator::Byte(b';'),
        None => return Err(no_table(&body)),
    };
    let mark = decide::mark(&separator, &views, &mut asked)?;
    build(&body, &comments, Dialect { separator, mark }, wrap, asked)
}

/// Drafts the plan of rows whose dialect is known: labelled or JSON rows.
pub(crate) fn keyed(
    lines: &[Line],
    separator: Separator,
    choices: &Choices,
) -> Result<Draft, ReadError> {
    let dialect = Dialect { separator, mark: Mark::Point };
    build(lines, &[], dialect, Wrap::Bare, Asked::new(choices))
}

// Comment lines (as they stand), the rest (unwrapped), blank ones left out, and
// the first line that cannot be trusted.
fn apart(lines: &[Line], wrapping: Wrap) -> (Vec<Line>, Vec<Line>, Option<(u64, String)>) {
    let (mut comments, mut body, mut refused) = (Vec::new(), Vec::new(), None);
    for (number, line) in lines {
        let bare = line.trim_ascii();
        if bare.is_empty() {
            continue;
        }
        if wrap::is_comment(bare, wrapping) {
            comments.push((*number, bare.to_vec()));
            continue;
        }
        match wrap::unwrap(bare, wrapping) {
            Ok((inner, _)) => {
                // Blanks at the ends may be cells of a tab-separated row.
                let kept = if inner.len() == bare.len() { line.as_slice() } else { inner };
                body.push((*number, kept.to_vec()));
            }
            Err(reason) => {
                refused.get_or_insert((*number, reason));
            }
        }
    }
    (comments, body, refused)
}

fn no_table(body: &[Line]) -> ReadError {
    let (line, text) = body.first().map_or((1, String::new()), |(n, l)| (*n, excerpt(l, 60)));
    let numbers = body.iter().filter(|(_, l)| sniff::reads(l)).count();
    if numbers * 2 > body.len() {
        ReadError::OneColumn { line, text }
    } else {
        ReadError::NoNumbers { lines: body.last().map_or(0, |(n, _)| *n), text }
    }
}

fn build(
    body: &[Line],
    comments: &[Line],
    dialect: Dialect,
    wrapping: Wrap,
    mut asked: Asked,
) -> Result<Draft, ReadError> {
    let rows: Vec<Row> = body.iter().filter_map(|line| Row::cut(line, &dialect)).collect();
    let first = if rows.is_empty() { None } else { header::first_data(&rows, &dialect) };
    let Some(first) = first else {
        let (lines, text) =
            (body.len() as u64, body.first().map_or(String::new(), |l| excerpt(&l.1, 60)));
        return Err(ReadError::NoNumbers { lines, text });
    };
    let first_line = rows[first].line;
    let before: Vec<Vec<u8>> =
        comments.iter().filter(|(n, _)| *n < first_line).map(|(_, c)| c.clone()).collect();
    let head = match &dialect.separator {
        Separator::Labels(keys) => from_keys(keys, body),
        Separator::Json(keys) => Header {
            names: keys.iter().map(|k| named(&text(k), None)).collect(),
            ..Header::default()
        },
        _ => known_header(header::read(&rows, first, &before, &dialect), &rows[first], wrapping),
    };
    let data = &rows[first..];
    let columns = columns(&head, data, dialect.mark);
    let told: Vec<String> =
        before.iter().chain(&head.preamble).map(|line| text(line).replace('"', "")).collect();
    let candidates = clockwork::candidates(&columns);
    let prefixed = wrapping == Wrap::Arrow;
    let chosen = decide::clock(&columns, &candidates, prefixed, &mut asked)?;
    let mut source = clockwork::source(&chosen, &columns, &told);
    source.undated |= chosen.id == "prefix";
    let pivot = pivot::find(&columns, data, &chosen.tasks);
    let planned = plan_columns(columns, &chosen, pivot.as_ref());
    decide::note_pivot(pivot.as_ref(), &planned, &mut asked);
    decide::note_header(&head, first_line, &mut asked);
    let least = least(data, planned.len(), &dialect);
    Ok(Draft {
        plan: Plan {
            dialect,
            wrap: wrapping,
            columns: planned,
            least,
            header: head.line,
            source,
            pivot,
        },
        first_line,
        preamble: head.preamble,
        decisions: asked.decisions,
    })
}

// A format that is known by its first word names its columns itself.
fn known_header(mut head: Header, row: &Row, wrapping: Wrap) -> Header {
    if head.names.is_empty() {
        head.names = sentences::names(wrapping, row.cells.first().map_or(b"", |c| c));
    }
    if head.names.is_empty() {
        head.names = sentences::seismic(&head.preamble, row.cells.len());
    }
    head
}

// Labels are the names; what stands behind the values is their unit.
fn from_keys(keys: &[Vec<u8>], body: &[Line]) -> Header {
    let unit_of = |key: &[u8]| {
        body.iter().take(20).find_map(|(_, line)| {
            let pair = labels::pairs(line)
                .into_iter()
                .find(|p| line[p.label.0..p.label.1].eq_ignore_ascii_case(key))?;
            let tail = text(line.get(pair.tail.0..pair.tail.1)?);
            let tail = tail.trim_matches([' ', ',', ';', '|', '\t']).to_owned();
            crate::units::unit(&tail, crate::units::Hint::Unknown).map(|_| tail)
        })
    };
    // A unit at the end of the line holds for the bare values before it.
    let last = keys.last().and_then(|key| unit_of(key));
    let names = keys.iter().map(|key| {
        let own = unit_of(key).or_else(|| last.clone().filter(|_| key.len() <= 2));
        named(&text(key), own.as_deref())
    });
    Header { names: names.collect(), ..Header::default() }
}

fn columns(head: &Header, data: &[Row], mark: Mark) -> Vec<Seen> {
    let usual = sniff::commonest(data.iter().map(|row| row.cells.len())).unwrap_or(0);
    let mut width = usual.max(head.names.len());
    let name_of = |place: usize| head.names.get(place).cloned().unwrap_or_else(|| named("", None));
    let mut columns: Vec<Seen> = Vec::new();
    // Trailing separators make columns without name and without values.
    while width > 0 {
        let place = width - 1;
        if name_of(place).header.is_empty() && Profile::of(data, place, mark).filled == 0 {
            width -= 1;
        } else {
            break;
        }
    }
    for place in 0..width {
        let profile = Profile::of(data, place, mark);
        let mut named = name_of(place);
        if named.unit.is_none()
            && let Some(unit) = &profile.unit
        {
            named = crate::names::named(&named.header, Some(unit));
        }
        columns.push(Seen { named, profile });
    }
    columns
}

fn plan_columns(columns: Vec<Seen>, chosen: &Candidate, pivot: Option<&Pivot>) -> Vec<Planned> {
    let mut slots = 0;
    let mut planned = Vec::new();
    for (place, seen) in columns.into_iter().enumerate() {
        let profile = &seen.profile;
        let numeric = profile.filled == 0 || profile.numbers * 2 >= profile.filled;
        let note =
            seen.named.quantity == Quantity::Note && profile.numbers * 2 < profile.filled.max(1);
        let timed = chosen.tasks.iter().find(|(at, _)| *at == place).map(|(_, task)| *task);
        let value = pivot.and_then(|p| p.values.iter().position(|k| *k == place));
        let task = match timed {
            Some(task) => task,
            None if pivot.is_some_and(|p| p.key == place) => Task::Key,
            None if value.is_some() => Task::Value(value.unwrap_or(0)),
            None if pivot.is_some() => Task::Skip,
            None if note => Task::Note,
            None if numeric => {
                slots += 1;
                Task::Number(slots - 1)
            }
            None => Task::Skip,
        };
        planned.push(Planned { named: seen.named, task });
    }
    planned
}

// The fewest cells that one row in twenty of the sample gets along with.
fn least(data: &[Row], width: usize, dialect: &Dialect) -> usize {
    if matches!(dialect.separator, Separator::Labels(_) | Separator::Json(_)) {
        return 1;
    }
    let mut widths: Vec<usize> = data.iter().map(|row| row.cells.len().min(width)).collect();
    widths.sort_unstable();
    // Two odd rows are an accident, however short the log.
    widths.get((data.len() / 20).max(2)).copied().unwrap_or(width).min(width).max(1)
}

/// A name that no other column has: its own, its position, or with a number.
pub(crate) fn unique_names(columns: &[&Named]) -> Vec<String> {
    let mut taken: Vec<String> = Vec::new();
    for (place, column) in columns.iter().enumerate() {
        let own = if column.name.is_empty() {
            format!("column {}", place + 1)
        } else {
            column.name.clone()
        };
        let mut name = own.clone();
        let mut count = 1;
        while taken.contains(&name) {
            count += 1;
            name = format!("{own}_{count}");
        }
        taken.push(name);
    }
    taken
}

/// A sample with one column of plain numbers, opened all the same.
pub(crate) fn single_numbers(lines: &[Line]) -> bool {
    let filled: Vec<&Line> = lines.iter().filter(|(_, l)| !l.trim_ascii().is_empty()).collect();
    let numbers =
        filled.iter().filter(|(_, l)| matches!(number::cell(l, Mark::Point), Cell::Value(_)));
    let n = numbers.count();
    n >= 2 && n + 1 >= filled.len()
}
