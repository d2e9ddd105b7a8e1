//! Assembling: rows, times, roles and units become a reading.

use crate::axis::{self, Axis};
use crate::decide::Asked;
use crate::plan::{Planned, Task};
use crate::rows::Rows;
use crate::{Choices, Decision, ReadError, Reading, Report, TimeReport, columns, warn};
use record::{Instant, Record, Role, Station, Unit, say};

/// What the reader knows besides the rows.
#[derive(Debug, Default)]
pub(crate) struct Outside {
    /// Name of the file.
    pub name: String,
    /// SHA-256 of the raw bytes.
    pub sha256: String,
    /// Raw bytes.
    pub bytes: u64,
    /// Name of the encoding.
    pub encoding: &'static str,
    /// Name of the format.
    pub format: &'static str,
    /// Whether the last line has its line end.
    pub whole: bool,
    /// The first line of data, cut.
    pub first: String,
    /// Padding bytes dropped.
    pub padding: u64,
    /// Preamble and comment lines before the data.
    pub preamble: Vec<String>,
    /// Decisions taken before.
    pub decisions: Vec<Decision>,
    /// Where the sensor stood.
    pub station: Option<Station>,
    /// Data type that the format states.
    pub data_type: String,
    /// Roles that the format itself fixes, by number column.
    pub roles: Vec<Option<(Role, Unit)>>,
    /// Warnings from before.
    pub warnings: Vec<record::Warning>,
}

/// Makes the reading.
///
/// # Errors
///
/// [`ReadError`] when there is no row or no value.
pub(crate) fn reading(
    rows: Rows,
    outside: Outside,
    choices: &Choices,
) -> Result<Reading, ReadError> {
    let n_read = rows.times.ns.len();
    if n_read == 0 {
        return Err(nothing(&rows));
    }
    let mut asked = Asked::new(choices);
    let columns = rows.columns();
    let Rows { plan, times, numbers, unread, tally, notes, .. } = rows;
    let mut values: Vec<Vec<f64>> =
        numbers.into_iter().map(scan::blocks::Blocks::into_vec).collect();
    let twin = |row: usize| {
        let same = |c: &Vec<f64>| row > 0 && c[row].to_bits() == c[row - 1].to_bits();
        values.iter().all(same)
    };
    let axis = axis::settle(times, &plan.source, &outside.name, &twin, &mut asked)?;
    in_order(&mut values, &axis, outside.format);
    let made = columns::make(&columns, values, &outside, &mut asked)?
        .ok_or_else(|| no_values(n_read, &columns, &outside.first))?;
    let reports = made.reports(&columns, n_read - axis.dropped.len(), &plan.source.evidence);
    let restarts = axis.restarts.max(tally.restarts.len());
    let time = time_report(&axis, plan.source.kind, restarts);
    let events = notes
        .into_iter()
        .map(|note| (axis.reading.instant(note.ns, note.open, note.row), note.text))
        .collect();
    let mut warnings = outside.warnings;
    warnings.extend(warn::time_unread(&columns, plan.source.kind));
    warnings.extend(warn::single_column(&columns));
    warnings.extend(axis.warnings);
    warnings.extend(warn::about_columns(&made.channels, &reports, &made.found, &unread));
    warnings.extend(warn::cut(&made.channels, outside.whole || axis.reversed));
    let n = axis.ns.len();
    warnings.extend(warn::about_rows(&tally, outside.padding, &axis.dropped, &time, n));
    let record =
        Record::new(axis.ns, made.channels).map_err(|_| ReadError::AllMissing { rows: n_read })?;
    let mut decisions = outside.decisions;
    decisions.append(&mut asked.decisions);
    let mut comments = outside.preamble;
    comments.extend(tally.comments);
    comments.truncate(200);
    let report = Report {
        name: outside.name,
        sha256: outside.sha256,
        bytes: outside.bytes,
        format: outside.format,
        encoding: outside.encoding,
        data_type: outside.data_type,
        rows_read: record.len(),
        rows_rejected: tally.n_rejected + axis.dropped.len(),
        rejected: tally.rejected,
        time,
        columns: reports,
        decisions,
        warnings,
    };
    Ok(Reading { record, report, events, station: outside.station, comments })
}

// The columns in the order of the time axis, without the rows that lost their
// date and without an observatory's numbers for "no value".
fn in_order(values: &mut [Vec<f64>], axis: &Axis, format: &str) {
    for column in values.iter_mut() {
        axis::without(column, &axis.dropped);
        if axis.reversed {
            column.reverse();
        }
    }
    if format == "iaga-2002" {
        let absent = |v: &&mut f64| v.abs() >= crate::iaga::NO_VALUE_FROM;
        values.iter_mut().flatten().filter(absent).for_each(|v| *v = f64::NAN);
    }
}

fn nothing(rows: &Rows) -> ReadError {
    match rows.tally.rejected.first() {
        Some(first) => ReadError::AllRejected {
            rows: rows.tally.n_rejected,
            line: first.line,
            reason: say!("line {}: {}", first.line, first.reason),
        },
        None => ReadError::AllMissing { rows: rows.tally.hollow },
    }
}

fn no_values(rows: usize, columns: &[Planned], first: &str) -> ReadError {
    if columns.iter().any(|c| matches!(c.task, Task::Number(_))) {
        return ReadError::AllMissing { rows };
    }
    ReadError::NoNumbers { lines: rows as u64, text: first.to_owned() }
}

fn time_report(axis: &Axis, kind: &'static str, restarts: usize) -> TimeReport {
    let ns = &axis.ns;
    let cadence = axis::cadence(ns);
    // More than one and a half cadences, in whole nanoseconds.
    let usual = i64::try_from(i128::from(cadence.step_ns) * 3 / 2).unwrap_or(i64::MAX);
    let (mut backward, mut gaps, mut longest, mut still) = (0, 0, 0, 0);
    for w in ns.windows(2) {
        let step = w[1].saturating_sub(w[0]);
        backward += usize::from(step < 0);
        still += usize::from(step == 0);
        if cadence.step_ns > 0 && step > usual {
            gaps += 1;
            longest = step.max(longest);
        }
    }
    let mut turned = Vec::new();
    if backward > 0 {
        turned.clone_from(ns);
        turned.sort_unstable();
    }
    let sorted = if backward > 0 { &turned } else { ns };
    let second = record::NANOS_PER_SECOND as f64;
    TimeReport {
        kind,
        start: sorted.first().copied().map(Instant),
        end: sorted.last().copied().map(Instant),
        cadence_s: cadence.step_ns as f64 / second,
        jitter_s: cadence.jitter_ns as f64 / second,
        gaps,
        longest_gap_s: longest as f64 / second,
        duplicates: if backward > 0 { repeats(sorted) } else { still },
        backward,
        reversed: axis.reversed,
        restarts,
    }
}

fn repeats(sorted: &[i64]) -> usize {
    sorted.windows(2).filter(|w| w[0] == w[1]).count()
}
