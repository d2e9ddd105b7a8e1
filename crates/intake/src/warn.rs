//! Warnings about a reading: what the numbers still mean, and what to do.

use crate::names::Quantity;
use crate::plan::{Planned, Task};
use crate::roles::Found;
use crate::tally::{Tally, Unread};
use crate::{ColumnReport, TimeReport};
use record::print::{count, counted, percent, trimmed, with_unit};
use record::{Channel, Role, Unit, Warning, say};

/// Warnings about channels.
pub(crate) fn about_columns(
    channels: &[Channel],
    reports: &[ColumnReport],
    found: &Found,
    unread: &[Unread],
) -> Vec<Warning> {
    let mut out = Vec::new();
    for (channel, unread) in channels.iter().zip(unread) {
        out.extend(unread_cells(&channel.name, unread));
    }
    let of = |name: &str| reports.iter().find(|r| r.name == *name && r.role.is_some());
    out.extend(unplugged(channels, of));
    if let Some(field) = found.field {
        let parts = field.map(|k| &channels[k]);
        out.extend(saturated(parts, of));
        out.extend(size(parts));
        if found.doubtful {
            out.push(Warning::new(
                "intake/not-a-field",
                say!(
                    "{} were taken for the field because the log has no other three columns, but their vector lies on no sphere.",
                    parts.map(|c| c.name.as_str()).join(", ")
                ),
                "Check the order of bytes and axes in the program that wrote the log, or choose the columns' roles.",
            ));
        }
    }
    out
}

fn unread_cells(name: &str, unread: &Unread) -> Option<Warning> {
    let (line, text) = unread.first.as_ref()?;
    Some(
        Warning::new(
            "intake/unreadable-cells",
            say!(
                "{name} has {} without a number, taken as missing; the first reads “{text}”.",
                counted(unread.count, "cell", "cells")
            ),
            "If they mean something, correct them in a copy of the log.",
        )
        .at(say!("line {line}")),
    )
}

// A sensor that gives one value for ever is probably not connected.
fn unplugged<'a>(
    channels: &[Channel],
    of: impl Fn(&str) -> Option<&'a ColumnReport>,
) -> Option<Warning> {
    let measured: Vec<&Channel> = channels.iter().filter(|c| c.role != Role::Other).collect();
    let looked: Vec<&Channel> =
        if measured.is_empty() { channels.iter().collect() } else { measured };
    let constant =
        |c: &&Channel| of(&c.name).is_some_and(|r| r.values >= 100 && r.stuck_longest == r.values);
    let stuck: Vec<&str> = looked.iter().filter(|c| constant(c)).map(|c| c.name.as_str()).collect();
    let field_stuck = looked
        .iter()
        .filter(|c| matches!(c.role, Role::X | Role::Y | Role::Z | Role::F))
        .any(constant);
    if stuck.is_empty() || !(field_stuck || stuck.len() == looked.len()) {
        return None;
    }
    let n = of(stuck[0]).map_or(0, |r| r.values);
    Some(Warning::new(
        "intake/unplugged",
        say!(
            "{} never changes over {}: the sensor may be unplugged, or its program stopped reading it.",
            stuck.join(", "),
            counted(n, "sample", "samples")
        ),
        "Check the sensor's cable and address, and log again.",
    ))
}

fn saturated<'a>(
    field: [&Channel; 3],
    of: impl Fn(&str) -> Option<&'a ColumnReport>,
) -> Option<Warning> {
    let counts = field.map(|c| of(&c.name).map_or(0, |r| r.saturated));
    let total: usize = counts.iter().sum();
    let n = field[0].values.len();
    (total > 0).then(|| {
        let told: Vec<String> = field
            .iter()
            .zip(counts)
            .filter(|(_, k)| *k > 0)
            .map(|(c, k)| format!("{} {}", c.name, count(k)))
            .collect();
        Warning::new(
            "intake/saturated",
            say!(
                "The sensor was at the end of its range: {} of {} samples ({}).",
                told.join(", "),
                count(n),
                percent(counts.into_iter().max().unwrap_or(0), n)
            ),
            "A magnet or iron may stand too near, or the range is set too small. Leave these samples out.",
        )
    })
}

// A stated unit that makes the field far from the Earth's.
fn size(field: [&Channel; 3]) -> Option<Warning> {
    let values = field.map(|c| c.values.as_slice());
    let ball = crate::sphere::about_zero(values);
    if field[0].unit == Unit::Count {
        return Some(Warning::new(
            "intake/counts",
            "The field is in raw counts: its shape and direction can be used, its strength cannot.",
            "Choose the unit, or let the calibration set the scale from the model field of the place.",
        ));
    }
    let earth = (2_000.0..=670_000.0).contains(&ball.radius);
    (field[0].unit == Unit::Nanotesla && !earth && ball.radius > 0.0).then(|| {
        Warning::new(
            "intake/field-size",
            say!(
                "In the unit stated, the field is {} long; the Earth's field is 22,000 to 67,000 nT.",
                with_unit(&trimmed(ball.radius, 4), Unit::Nanotesla)
            ),
            "Check the unit in the header; a µ may have been lost on the way.",
        )
    })
}

/// A log whose column of times is words.
pub(crate) fn time_unread(columns: &[Planned], kind: &str) -> Option<Warning> {
    let timely = |c: &&Planned| c.named.quantity == Quantity::Time && c.task == Task::Skip;
    let column = columns.iter().find(timely).filter(|_| kind == "none")?;
    Some(Warning::new(
        "intake/time-unread",
        say!(
            "The column “{}” is named as a time, but its cells do not read as one.",
            column.named.header
        ),
        "Look at it in a text editor: dates need a year, a month and a day that exist.",
    ))
}

/// A last line without a line end, whose last value is a beginning of what stood there:
/// smaller than the five before it, and by more than ten times their range.
pub(crate) fn cut(channels: &[Channel], whole: bool) -> Option<Warning> {
    let channel = channels.last().filter(|_| !whole)?;
    let (last, before) = channel.values.split_last()?;
    let (mut low, mut high) = (f64::INFINITY, 0.0f64);
    for value in &before[before.len().checked_sub(5)?..] {
        low = low.min(value.abs());
        high = high.max(value.abs());
    }
    (last.abs() < low - 10.0 * (high - low)).then(|| {
        Warning::new(
            "intake/cut-last-value",
            say!(
                "The last line has no line end, and its {} in {} lies far from the values before: it was probably cut.",
                trimmed(*last, 6),
                channel.name
            ),
            "Leave the sample out with the step “Leave out a span”.",
        )
    })
}

/// A log of one column.
pub(crate) fn single_column(columns: &[Planned]) -> Option<Warning> {
    (columns.len() == 1).then(|| Warning::new(
        "intake/one-column",
        "The log holds one column of numbers and nothing else.",
        "If there should be more, check that commas, semicolons, tabs or blanks stand between the values.",
    ))
}

/// Warnings about rows and bytes.
pub(crate) fn about_rows(
    tally: &Tally,
    padding: u64,
    dropped: &[usize],
    time: &TimeReport,
    rows: usize,
) -> Vec<Warning> {
    [
        padded(padding),
        hollow(tally.hollow),
        renamed(tally),
        rejected(tally),
        no_such_date(dropped.len()),
        frozen(time),
        coarse(time, rows),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn padded(padding: u64) -> Option<Warning> {
    (padding > 0).then(|| {
        let bytes = counted(padding as usize, "byte", "bytes");
        Warning::new(
            "intake/padding",
            say!(
                "{bytes} of padding (00 and FF) were dropped, as a card keeps them after a loss of power."
            ),
            "Look at the rows around the gap: the logger was probably switched off without closing its file.",
        )
    })
}

fn hollow(lines: usize) -> Option<Warning> {
    (lines > 0).then(|| {
        let lines = counted(lines, "line", "lines");
        Warning::new(
            "intake/hollow-rows",
            say!("{lines} hold separators and no values; they were passed over."),
            "Spreadsheets leave such lines at the end; nothing is lost.",
        )
    })
}

fn renamed(tally: &Tally) -> Option<Warning> {
    let line = tally.renamed?;
    let warning = Warning::new(
        "intake/columns-renamed",
        say!(
            "Line {line} gives the columns other names; the rows after it were read under the first names and units, which may be wrong for them."
        ),
        "Cut the log in two before that line, and open both parts.",
    );
    Some(warning.at(say!("line {line}")))
}

fn rejected(tally: &Tally) -> Option<Warning> {
    let first = tally.rejected.first()?;
    let rows = counted(tally.n_rejected, "row", "rows");
    let warning = Warning::new(
        "intake/rejected-rows",
        say!("{rows} could not be read; the first, line {}: {}.", first.line, first.reason),
        "The reading report lists them. Correct them in a copy of the log if they matter.",
    );
    Some(warning.at(say!("line {}", first.line)))
}

fn no_such_date(rows: usize) -> Option<Warning> {
    (rows > 0).then(|| {
        let rows = counted(rows, "row", "rows");
        Warning::new(
            "intake/no-such-date",
            say!("{rows} carry a date that does not exist in the order of day and month taken."),
            "If they are many, choose another order of day and month.",
        )
    })
}

fn frozen(time: &TimeReport) -> Option<Warning> {
    let still = time.start == time.end && time.duplicates >= 2 && time.kind != "none";
    still.then(|| {
        let rows = count(time.duplicates + 1);
        Warning::new(
            "intake/frozen-clock",
            say!("Every one of {rows} rows carries the same time: the logger's clock stood still."),
            "Choose “none” for the time column and say how far apart the rows are.",
        )
    })
}

// Times rounded to fewer digits than the rows need.
fn coarse(time: &TimeReport, rows: usize) -> Option<Warning> {
    (time.duplicates * 2 > rows && time.start != time.end && time.kind != "none").then(|| {
        Warning::new(
            "intake/coarse-times",
            say!(
                "{} of {} rows repeat the time of another: the logger or a spreadsheet has rounded the times.",
                count(time.duplicates),
                count(rows)
            ),
            "Choose “none” for the time column and say how far apart the rows are.",
        )
    })
}
