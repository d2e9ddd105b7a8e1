//! Columns: values with names, roles and units become channels and reports.

use crate::assemble::Outside;
use crate::decide::{Asked, alternatives};
use crate::names::Named;
use crate::plan::{Planned, Task};
use crate::roles::{self, Column, Found, Roled};
use crate::scales::{self, Scale};
use crate::stats::{self, Stats};
use crate::units::Written;
use crate::{ColumnReport, Decision, ReadError, draft, missing};
use record::{
    Channel, Role, Unit, say,
    words::{word, worded},
};

/// Channels made of columns, and what is known about them.
#[derive(Debug)]
pub(crate) struct Made {
    /// One for each column of numbers.
    pub channels: Vec<Channel>,
    /// Their roles.
    pub found: Found,
    names: Vec<String>,
    numbers: Vec<Number>,
}

#[derive(Debug)]
struct Number {
    place: usize,
    figures: Stats,
    saturated: usize,
    scale: Scale,
}

/// Makes the channels; `None` when there is not one value.
///
/// # Errors
///
/// [`ReadError::Choice`] for an answer that is no alternative.
pub(crate) fn make(
    columns: &[Planned],
    mut values: Vec<Vec<f64>>,
    outside: &Outside,
    asked: &mut Asked,
) -> Result<Option<Made>, ReadError> {
    let all: Vec<&Named> = columns.iter().map(|c| &c.named).collect();
    let names = draft::unique_names(&all);
    let slots = slots(columns);
    let own: Vec<String> = slots.iter().map(|place| names[*place].clone()).collect();
    let mut found = roles::assign(&as_columns(columns, &slots, &values), &outside.name);
    fixed_roles(&mut found, &outside.roles);
    chosen_roles(&mut found, &own, asked)?;
    let is_field = |k: usize| found.field.is_some_and(|t| t.contains(&k));
    let field: Vec<bool> = (0..values.len()).map(is_field).collect();
    missing::settle(&own, &mut values, &field, asked)?;
    if values.iter().all(|column| column.iter().all(|v| v.is_nan())) {
        return Ok(None);
    }
    let mut scales = scales::settle(&as_columns(columns, &slots, &values), &own, &found, asked)?;
    for (scale, fixed) in scales.iter_mut().zip(&outside.roles) {
        if let Some((_, unit)) = fixed {
            scale.written = Written { unit: *unit, scale: 1.0 };
        }
    }
    let (mut channels, mut numbers) = (Vec::new(), Vec::new());
    for (k, (mut column, scale)) in values.into_iter().zip(scales).enumerate() {
        let raw_counts = scale.written.unit == Unit::Count;
        let figures = stats::of(&column);
        let saturated = if field[k] { stats::saturated(&column, &figures, raw_counts) } else { 0 };
        let unit = to_inside(&mut column, &scale);
        channels.push(Channel::new(own[k].clone(), found.roles[k].role, unit, column));
        numbers.push(Number { place: slots[k], figures, saturated, scale });
    }
    Ok(Some(Made { channels, found, names, numbers }))
}

impl Made {
    /// A report for each column of the file.
    pub(crate) fn reports(
        &self,
        columns: &[Planned],
        n_rows: usize,
        time_evidence: &str,
    ) -> Vec<ColumnReport> {
        let told = columns.iter().zip(&self.names);
        let mut reports: Vec<ColumnReport> =
            told.map(|(column, name)| text_report(column, name, n_rows, time_evidence)).collect();
        for (number, roled) in self.numbers.iter().zip(&self.found.roles) {
            let place = number.place;
            reports[place] =
                number_report(&self.names[place], &columns[place].named, roled, number);
        }
        reports
    }
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
            *roled = Roled { role: *role, evidence: worded("the format says so") };
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
        let given = asked.answer(&format!("role:{name}"), &known)?;
        let Some(role) = given.and_then(|id| Role::from_id(&id)) else { continue };
        let answered = |other: usize| asked.raw(&format!("role:{}", names[other])).is_some();
        for (other, roled) in found.roles.iter_mut().enumerate() {
            if role != Role::Other && roled.role == role && other != place && !answered(other) {
                let evidence = say!("{name} has its role by your choice");
                *roled = Roled { role: Role::Other, evidence };
            }
        }
        found.roles[place] = Roled { role, evidence: worded("your choice") };
        changed = true;
    }
    if changed {
        found.doubtful = false;
        refresh(found);
    }
    for (place, name) in names.iter().enumerate() {
        asked.note(role_told(found, place, name, &known));
    }
    Ok(())
}

fn role_told(found: &Found, place: usize, name: &str, known: &[(String, String)]) -> Decision {
    let Roled { role, evidence } = &found.roles[place];
    let label = ROLES
        .iter()
        .find(|(id, _)| *id == role.id())
        .map_or(word("something else"), |(_, l)| word(l));
    Decision {
        id: format!("role:{name}"),
        sentence: say!("{name} is {label}."),
        evidence: evidence.clone(),
        chosen: role.id().to_owned(),
        alternatives: known.to_vec(),
        ambiguous: found.doubtful && found.field.is_some_and(|t| t.contains(&place)),
    }
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

fn text_report(column: &Planned, name: &str, n_rows: usize, time_evidence: &str) -> ColumnReport {
    let text = matches!(column.task, Task::Skip | Task::Note | Task::Key);
    let (role_id, evidence) =
        if text { ("text", word("its cells are no numbers")) } else { ("time", time_evidence) };
    ColumnReport {
        name: name.to_owned(),
        header: column.named.header.clone(),
        role: None,
        role_id: role_id.to_owned(),
        unit: Unit::None,
        unit_written: column.named.unit_written.clone(),
        evidence: evidence.to_owned(),
        values: if text { 0 } else { n_rows },
        missing: 0,
        minimum: f64::NAN,
        maximum: f64::NAN,
        quantum: None,
        saturated: 0,
        stuck_longest: 0,
    }
}

fn number_report(name: &str, named: &Named, roled: &Roled, number: &Number) -> ColumnReport {
    let Number { figures, scale, saturated, .. } = number;
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
        saturated: *saturated,
        stuck_longest: figures.stuck_longest,
    }
}
