//! Assembling: rows, times, roles and units become a reading.

use crate::axis::{self, Axis};
use crate::decide::{Asked, alternatives};
use crate::names::Named;
use crate::plan::{Planned, Task};
use crate::roles::{self, Column, Found, Roled};
use crate::rows::Rows;
use crate::scales::{self, Scale};
use crate::stats::{self, Stats};
use crate::warn;
use crate::{
    Choices, ColumnReport, Decision, ReadError, Reading, Report, TimeReport, draft, missing,
};
use record::{Channel, Instant, Record, Role, Station, Unit};

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
    /// Padding bytes dropped.
    pub padding: u64,
    /// Preamble and comment lines before the data.
    pub preamble: Vec<String>,
    /// Decisions taken before.
    pub decisions: Vec<Decision>,
    /// Where the sensor stood.
    pub station: Option<Station>,
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
    let axis = axis::settle(times, &plan.source, &outside.name, &mut asked)?;
    let mut values: Vec<Vec<f64>> = numbers
        .into_iter()
        .map(|blocks| {
            let mut column = blocks.into_vec();
            axis::without(&mut column, &axis.dropped);
            if axis.reversed {
                column.reverse();
            }
            column
        })
        .collect();
    if outside.format == "iaga-2002" {
        let absent = |v: &&mut f64| v.abs() >= crate::iaga::NO_VALUE_FROM;
        values.iter_mut().flatten().filter(absent).for_each(|v| *v = f64::NAN);
    }
    let all: Vec<&Named> = columns.iter().map(|c| &c.named).collect();
    let names = draft::unique_names(&all);
    let slots = slots(&columns);
    let own: Vec<String> = slots.iter().map(|place| names[*place].clone()).collect();
    let mut found = { roles::assign(&as_columns(&columns, &slots, &values), &outside.name) };
    fixed_roles(&mut found, &outside.roles);
    chosen_roles(&mut found, &own, &mut asked)?;
    let is_field = |k: usize| found.field.is_some_and(|t| t.contains(&k));
    let field: Vec<bool> = (0..values.len()).map(is_field).collect();
    missing::settle(&own, &mut values, &field, &mut asked)?;
    if values.iter().all(|column| column.iter().all(|v| v.is_nan())) {
        return Err(if values.is_empty() {
            nothing_numeric(n_read, &columns)
        } else {
            ReadError::AllMissing { rows: n_read }
        });
    }
    let scales = {
        let views = as_columns(&columns, &slots, &values);
        let mut scales = scales::settle(&views, &own, &found, &mut asked)?;
        for (scale, fixed) in scales.iter_mut().zip(&outside.roles) {
            if let Some((_, unit)) = fixed {
                scale.written = crate::units::Written { unit: *unit, scale: 1.0 };
            }
        }
        scales
    };
    let mut warnings = outside.warnings;
    warnings.extend(warn::time_unread(&columns, plan.source.kind));
    if columns.len() == 1 {
        warnings.push(warn::single_column());
    }
    let mut reports =
        text_reports(&columns, &names, n_read - axis.dropped.len(), &plan.source.evidence);
    let mut channels = Vec::new();
    for (k, mut column) in values.into_iter().enumerate() {
        let raw_counts = scales[k].written.unit == Unit::Count;
        let figures = stats::of(&column);
        let saturated = if field[k] { stats::saturated(&column, &figures, raw_counts) } else { 0 };
        let unit = to_inside(&mut column, &scales[k]);
        let place = slots[k];
        reports[place] = number_report(
            &own[k],
            &columns[place].named,
            &found.roles[k],
            &scales[k],
            &figures,
            saturated,
        );
        channels.push(Channel::new(own[k].clone(), found.roles[k].role, unit, column));
    }
    let restarts = axis.restarts.max(tally.restarts.len());
    let time = time_report(&axis, plan.source.kind, restarts);
    let events =
        notes.iter().map(|n| (axis.reading.instant(n.ns, n.open, n.row), n.text.clone())).collect();
    let Axis { ns, dropped, warnings: about_times, .. } = axis;
    warnings.extend(about_times);
    warnings.extend(warn::about_columns(&channels, &reports, &found, &unread, &own));
    warnings.extend(warn::about_rows(&tally, outside.padding, &dropped, &time));
    let record = Record::new(ns, channels).map_err(|_| ReadError::AllMissing { rows: n_read })?;
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
        rows_read: record.len(),
        rows_rejected: tally.n_rejected + dropped.len(),
        rejected: tally.rejected,
        time,
        columns: reports,
        decisions,
        warnings,
    };
    Ok(Reading { record, report, events, station: outside.station, comments })
}

fn nothing(rows: &Rows) -> ReadError {
    match rows.tally.rejected.first() {
        Some(first) => ReadError::AllRejected {
            rows: rows.tally.n_rejected,
            line: first.line,
            reason: format!("line {} {}", first.line, first.reason),
        },
        None => ReadError::AllMissing { rows: rows.tally.hollow },
    }
}

fn nothing_numeric(rows: usize, columns: &[Planned]) -> ReadError {
    let names: Vec<&str> = columns.iter().map(|c| c.named.header.as_str()).collect();
    ReadError::NoNumbers { lines: rows as u64, text: names.join(", ") }
}

// The column of each number, by its slot.
fn slots(columns: &[Planned]) -> Vec<usize> {
    let mut slots: Vec<(usize, usize)> = columns
        .iter()
        .enumerate()
        .filter_map(|(place, c)| match c.task {
            Task::Number(slot) => Some((slot, place)),
            _ => None,
        })
        .collect();
    slots.sort_unstable();
    slots.into_iter().map(|(_, place)| place).collect()
}

fn as_columns<'a>(
    planned: &'a [Planned],
    slots: &[usize],
    values: &'a [Vec<f64>],
) -> Vec<Column<'a>> {
    slots
        .iter()
        .zip(values)
        .map(|(place, values)| Column { named: &planned[*place].named, place: *place, values })
        .collect()
}

fn fixed_roles(found: &mut Found, fixed: &[Option<(Role, Unit)>]) {
    for (roled, fixed) in found.roles.iter_mut().zip(fixed) {
        if let Some((role, _)) = fixed {
            *roled = Roled { role: *role, evidence: "the format says so".to_owned() };
        }
    }
    if !fixed.is_empty() {
        found.doubtful = false;
        refresh(found);
    }
}

// After roles were set from outside, the field is where X, Y and Z are.
fn refresh(found: &mut Found) {
    let place = |role: Role| found.roles.iter().position(|r| r.role == role);
    found.field = match (place(Role::X), place(Role::Y), place(Role::Z)) {
        (Some(x), Some(y), Some(z)) => Some([x, y, z]),
        _ => None,
    };
}

const ROLES: [(&str, &str); 19] = [
    ("x", "field along x, or north"),
    ("y", "field along y, or east"),
    ("z", "field along z, or down"),
    ("f", "total field"),
    ("h", "horizontal field"),
    ("d", "declination"),
    ("i", "inclination"),
    ("temperature", "temperature"),
    ("accel_x", "acceleration along x"),
    ("accel_y", "acceleration along y"),
    ("accel_z", "acceleration along z"),
    ("gyro_x", "rotation about x"),
    ("gyro_y", "rotation about y"),
    ("gyro_z", "rotation about z"),
    ("pressure", "air pressure"),
    ("humidity", "humidity"),
    ("counts", "counts of events"),
    ("motion", "ground motion"),
    ("other", "something else"),
];

// One decision a column; a role given to one column is taken from the other.
fn chosen_roles(found: &mut Found, names: &[String], asked: &mut Asked) -> Result<(), ReadError> {
    let known = alternatives(&ROLES);
    let mut changed = false;
    for (place, name) in names.iter().enumerate() {
        let id = format!("role:{name}");
        if let Some(given) = asked.answer(&id, &known)?
            && let Some(role) = Role::from_id(&given)
        {
            let single = role != Role::Other;
            for (other, roled) in found.roles.iter_mut().enumerate() {
                if single
                    && other != place
                    && roled.role == role
                    && asked.raw(&format!("role:{}", names[other])).is_none()
                {
                    *roled = Roled {
                        role: Role::Other,
                        evidence: format!("{name} has its role by your choice"),
                    };
                }
            }
            found.roles[place] = Roled { role, evidence: "your choice".to_owned() };
            changed = true;
        }
    }
    if changed {
        found.doubtful = false;
        refresh(found);
    }
    for (place, name) in names.iter().enumerate() {
        let Roled { role, evidence } = &found.roles[place];
        let label = ROLES
            .iter()
            .find(|(id, _)| *id == role.id())
            .map_or("something else", |(_, label)| label);
        asked.note(Decision {
            id: format!("role:{name}"),
            sentence: format!("{name} is {label}."),
            evidence: evidence.clone(),
            chosen: role.id().to_owned(),
            alternatives: known.clone(),
            ambiguous: found.doubtful && found.field.is_some_and(|t| t.contains(&place)),
        });
    }
    Ok(())
}

// Brings a column to its inside unit; NaN stays NaN.
fn to_inside(column: &mut [f64], scale: &Scale) -> Unit {
    let (unit, factor, shift) = scale.written.unit.inside();
    let factor = factor * scale.written.scale;
    if factor != 1.0 || shift != 0.0 {
        column.iter_mut().for_each(|v| *v = *v * factor + shift);
    }
    unit
}

fn text_reports(
    columns: &[Planned],
    names: &[String],
    n: usize,
    time_evidence: &str,
) -> Vec<ColumnReport> {
    let report = |(column, name): (&Planned, &String)| {
        let text = matches!(column.task, Task::Skip | Task::Note | Task::Key);
        ColumnReport {
            name: name.clone(),
            header: column.named.header.clone(),
            role: None,
            role_id: if text { "text" } else { "time" }.to_owned(),
            unit: Unit::None,
            unit_written: column.named.unit_written.clone(),
            evidence: if text {
                "its cells are no numbers".to_owned()
            } else {
                time_evidence.to_owned()
            },
            values: if text { 0 } else { n },
            missing: 0,
            minimum: f64::NAN,
            maximum: f64::NAN,
            quantum: None,
            saturated: 0,
            stuck_longest: 0,
        }
    };
    columns.iter().zip(names).map(report).collect()
}

fn number_report(
    name: &str,
    named: &Named,
    roled: &Roled,
    scale: &Scale,
    figures: &Stats,
    saturated: usize,
) -> ColumnReport {
    let (unit, factor, shift) = scale.written.unit.inside();
    let factor = factor * scale.written.scale;
    let evidence = match &scale.evidence {
        Some(more) => format!("{}; {more}", roled.evidence),
        None => roled.evidence.clone(),
    };
    ColumnReport {
        name: name.to_owned(),
        header: named.header.clone(),
        role: Some(roled.role),
        role_id: roled.role.id().to_owned(),
        unit,
        unit_written: named.unit_written.clone(),
        evidence,
        values: figures.values,
        missing: figures.missing,
        minimum: figures.minimum * factor + shift,
        maximum: figures.maximum * factor + shift,
        quantum: figures.quantum.map(|q| q * factor),
        saturated,
        stuck_longest: figures.stuck_longest,
    }
}

fn time_report(axis: &Axis, kind: &'static str, restarts: usize) -> TimeReport {
    let ns = &axis.ns;
    let cadence = axis::cadence(ns);
    let steps = || ns.windows(2).map(|w| w[1].saturating_sub(w[0]));
    let long =
        |step: &i64| cadence.step_ns > 0 && 2 * i128::from(*step) > 3 * i128::from(cadence.step_ns);
    let backward = steps().filter(|s| *s < 0).count();
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
        gaps: steps().filter(long).count(),
        longest_gap_s: steps().filter(long).max().map_or(0.0, |s| s as f64 / second),
        duplicates: sorted.windows(2).filter(|w| w[0] == w[1]).count(),
        backward,
        reversed: axis.reversed,
        restarts,
    }
}
