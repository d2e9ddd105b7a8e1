//! Units of the channels: as written, as the size of the values tells, or as
//! the student says; and the way to the inside unit.

use crate::decide::Asked;
use crate::names::Named;
use crate::roles::{Column, Found, unit_by_size};
use crate::units::Written;
use crate::{Decision, ReadError, sphere};
use record::{
    Role, Unit, say,
    words::{word, worded},
};

/// The unit of a column and how it was come by.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Scale {
    /// What one unit as written is.
    pub written: Written,
    /// Why, when the header does not say.
    pub evidence: Option<String>,
}

const FIELD_UNITS: [(&str, Unit, &str); 7] = [
    ("count", Unit::Count, "raw counts, whose scale is not known"),
    ("nT", Unit::Nanotesla, "nanotesla"),
    ("uT", Unit::Microtesla, "microtesla"),
    ("mG", Unit::Milligauss, "milligauss"),
    ("G", Unit::Gauss, "gauss"),
    ("mT", Unit::Millitesla, "millitesla"),
    ("T", Unit::Tesla, "tesla"),
];
const HEAT_UNITS: [(&str, Unit, &str); 3] = [
    ("degC", Unit::Celsius, "degrees Celsius"),
    ("degF", Unit::Fahrenheit, "degrees Fahrenheit"),
    ("K", Unit::Kelvin, "kelvin"),
];
const AIR_UNITS: [(&str, Unit, &str); 4] = [
    ("hPa", Unit::Hectopascal, "hectopascal"),
    ("Pa", Unit::Pascal, "pascal"),
    ("kPa", Unit::Kilopascal, "kilopascal"),
    ("inHg", Unit::InchMercury, "inches of mercury"),
];
const PULL_UNITS: [(&str, Unit, &str); 3] = [
    ("m/s2", Unit::MetrePerSecond2, "metres per second squared"),
    ("g", Unit::Gravity, "standard gravity"),
    ("count", Unit::Count, "raw counts"),
];
const TURN_UNITS: [(&str, Unit, &str); 4] = [
    ("deg/s", Unit::DegreePerSecond, "degrees per second"),
    ("rad/s", Unit::RadianPerSecond, "radians per second"),
    ("count", Unit::Count, "raw counts"),
    ("none", Unit::None, "not known"),
];
const ANGLE_UNITS: [(&str, Unit, &str); 2] =
    [("deg", Unit::Degree, "degrees"), ("arcmin", Unit::Arcminute, "minutes of arc")];

type Listed = &'static [(&'static str, Unit, &'static str)];

fn listed(role: Role) -> Listed {
    match role {
        Role::X | Role::Y | Role::Z | Role::F | Role::H => &FIELD_UNITS,
        Role::Temperature => &HEAT_UNITS,
        Role::Pressure => &AIR_UNITS,
        Role::AccelX | Role::AccelY | Role::AccelZ => &PULL_UNITS,
        Role::GyroX | Role::GyroY | Role::GyroZ => &TURN_UNITS,
        Role::D | Role::I => &ANGLE_UNITS,
        _ => &[],
    }
}

/// The scale of every column.
///
/// # Errors
///
/// [`ReadError::Choice`] for an answer that is no unit.
pub(crate) fn settle(
    columns: &[Column],
    names: &[String],
    found: &Found,
    asked: &mut Asked,
) -> Result<Vec<Scale>, ReadError> {
    let mut scales: Vec<Scale> =
        columns.iter().map(|c| Scale { written: written(c.named), evidence: None }).collect();
    let mut done = vec![false; columns.len()];
    for triple in groups(found) {
        let [x, ..] = triple;
        let stated = triple
            .iter()
            .all(|k| columns[*k].named.unit.is_some_and(|w| suits(found.roles[*k].role, w.unit)));
        let guess = guess_vector(found.roles[x].role, triple.map(|k| columns[k].values));
        let guess = if stated { None } else { Some(guess) };
        let scale = decide(&names[x], found.roles[x].role, columns[x].named, guess, asked)?;
        for k in triple {
            done[k] = true;
            if let Some(scale) = &scale {
                scales[k] = scale.clone();
            }
        }
    }
    for triple in &found.rivals {
        let stated = triple.iter().any(|k| columns[*k].named.unit.is_some());
        let sized = unit_by_size(triple.map(|k| columns[k].values));
        if stated || sized.unit == Unit::Count {
            continue;
        }
        let guess = Guess { unit: sized.unit, evidence: sized.evidence, open: sized.open };
        let [x, ..] = *triple;
        if let Some(scale) = decide(&names[x], Role::X, columns[x].named, Some(guess), asked)? {
            triple.iter().for_each(|k| scales[*k] = scale.clone());
        }
    }
    for (k, column) in columns.iter().enumerate().filter(|(k, _)| !done[*k]).collect::<Vec<_>>() {
        let role = found.roles[k].role;
        if listed(role).is_empty() {
            if role == Role::Counts && column.named.unit.is_none() {
                let unit = if column.named.words.iter().any(|w| w == "cpm") {
                    Unit::CountPerMinute
                } else {
                    Unit::Count
                };
                scales[k].written = Written { unit, scale: 1.0 };
            }
            if role == Role::Humidity && column.named.unit.is_none() {
                scales[k].written = Written { unit: Unit::Percent, scale: 1.0 };
            }
            continue;
        }
        let stated = column.named.unit.is_some_and(|w| suits(role, w.unit));
        let guess = if stated { None } else { Some(guess_scalar(role, column.values)) };
        if let Some(scale) = decide(&names[k], role, column.named, guess, asked)? {
            scales[k] = scale;
        }
    }
    Ok(scales)
}

fn written(named: &Named) -> Written {
    named.unit.unwrap_or(Written { unit: Unit::None, scale: 1.0 })
}

// A stated unit that cannot be this quantity's is no help.
fn suits(role: Role, unit: Unit) -> bool {
    match role {
        Role::X | Role::Y | Role::Z | Role::F | Role::H => {
            unit.nanotesla().is_some() || unit == Unit::Count
        }
        Role::D | Role::I => {
            matches!(unit, Unit::Degree | Unit::Arcminute)
                || unit.nanotesla().is_some()
                || unit == Unit::Count
        }
        _ => listed(role).iter().any(|(_, known, _)| *known == unit) || unit == Unit::Count,
    }
}

// The field's, the accelerometer's and the gyroscope's columns in threes.
fn groups(found: &Found) -> Vec<[usize; 3]> {
    let triple = |wanted: [Role; 3]| {
        let place = |role: Role| found.roles.iter().position(|r| r.role == role);
        Some([place(wanted[0])?, place(wanted[1])?, place(wanted[2])?])
    };
    [
        [Role::X, Role::Y, Role::Z],
        [Role::AccelX, Role::AccelY, Role::AccelZ],
        [Role::GyroX, Role::GyroY, Role::GyroZ],
    ]
    .into_iter()
    .filter_map(triple)
    .collect()
}

struct Guess {
    unit: Unit,
    evidence: String,
    open: bool,
}

fn guess_vector(role: Role, values: [&[f64]; 3]) -> Guess {
    match role {
        Role::X => {
            let sized = unit_by_size(values);
            Guess { unit: sized.unit, evidence: sized.evidence, open: sized.open }
        }
        Role::AccelX => {
            let radius = sphere::about_zero(values).radius;
            let shown = record::print::trimmed(radius, 3);
            let near = |wanted: f64| (radius / wanted - 1.0).abs() < 0.15;
            let (unit, is) = if near(9.806_65) {
                (Unit::MetrePerSecond2, word("gravity in m/s²"))
            } else if near(1.0) {
                (Unit::Gravity, word("gravity in g"))
            } else {
                (Unit::Count, word("gravity in no known unit"))
            };
            Guess {
                unit,
                evidence: say!("the vector is mostly {shown} long: {is}"),
                open: unit == Unit::Count,
            }
        }
        _ => {
            let whole = |axis: &&[f64]| axis.iter().all(|v| v.is_nan() || v.fract() == 0.0);
            let unit = if values.iter().all(whole) { Unit::Count } else { Unit::None };
            Guess { unit, evidence: worded("nothing tells its unit"), open: true }
        }
    }
}

fn guess_scalar(role: Role, values: &[f64]) -> Guess {
    let middle = median(values);
    let shown = record::print::trimmed(middle, 4);
    let pick = |list: &[(f64, f64, Unit)], other: Unit| {
        let hit = list.iter().find(|(low, high, _)| (*low..*high).contains(&middle));
        let unit = hit.map_or(other, |(_, _, unit)| *unit);
        Guess { unit, evidence: say!("half its values lie below {shown}"), open: hit.is_none() }
    };
    match role {
        // Room and garden temperatures; common practice, no source.
        Role::Temperature => pick(
            &[
                (-60.0, 45.0, Unit::Celsius),
                (45.0, 130.0, Unit::Fahrenheit),
                (200.0, 340.0, Unit::Kelvin),
            ],
            Unit::None,
        ),
        Role::Pressure => pick(
            &[
                (300.0, 1100.0, Unit::Hectopascal),
                (3e4, 1.1e5, Unit::Pascal),
                (24.0, 32.0, Unit::InchMercury),
                (32.0, 110.0, Unit::Kilopascal),
            ],
            Unit::None,
        ),
        Role::F => pick(
            &[
                (22_000.0, 67_000.0, Unit::Nanotesla),
                (22.0, 67.0, Unit::Microtesla),
                (220.0, 670.0, Unit::Milligauss),
                (0.22, 0.67, Unit::Gauss),
            ],
            Unit::Count,
        ),
        // H runs from near 0 at the poles to 42,000 nT.
        Role::H => pick(
            &[(1_000.0, 43_000.0, Unit::Nanotesla), (1.0, 43.0, Unit::Microtesla)],
            Unit::Count,
        ),
        Role::D | Role::I => {
            let unit = if middle.abs() > 180.0 { Unit::Arcminute } else { Unit::Degree };
            Guess { unit, evidence: say!("half its values lie below {shown}"), open: true }
        }
        _ => Guess { unit: Unit::Count, evidence: worded("nothing tells its unit"), open: false },
    }
}

/// The median of at most 5,000 evenly chosen values, NaN left out; NaN without.
pub(crate) fn median(values: &[f64]) -> f64 {
    let stride = values.len().div_ceil(5_000).max(1);
    let mut some: Vec<f64> =
        values.iter().step_by(stride).copied().filter(|v| v.is_finite()).collect();
    record::sort::ascending(&mut some);
    some.get(some.len() / 2).copied().unwrap_or(f64::NAN)
}

fn decide(
    name: &str,
    role: Role,
    named: &Named,
    guess: Option<Guess>,
    asked: &mut Asked,
) -> Result<Option<Scale>, ReadError> {
    let known: Vec<(String, String)> =
        listed(role).iter().map(|(id, _, label)| ((*id).to_owned(), worded(label))).collect();
    let id = format!("unit:{name}");
    let given = asked.answer(&id, &known)?;
    let chosen =
        given.as_ref().and_then(|given| listed(role).iter().find(|(id, _, _)| id == given));
    let (unit, evidence, open) = match (chosen, guess) {
        (Some((_, unit, _)), _) => (*unit, worded("your choice"), false),
        (None, Some(guess)) => (guess.unit, guess.evidence, guess.open),
        (None, None) => {
            let written = written(named);
            asked.note(sentence(
                id,
                name,
                role,
                written.unit,
                say!("the log says “{}”", named.unit_written),
                known,
                false,
            ));
            return Ok(None);
        }
    };
    asked.note(sentence(id, name, role, unit, evidence.clone(), known, open));
    Ok(Some(Scale { written: Written { unit, scale: 1.0 }, evidence: Some(evidence) }))
}

fn sentence(
    id: String,
    name: &str,
    role: Role,
    unit: Unit,
    evidence: String,
    known: Vec<(String, String)>,
    open: bool,
) -> Decision {
    let what = match role {
        Role::X => worded("The field is"),
        Role::AccelX => worded("The acceleration is"),
        Role::GyroX => worded("The rotation rate is"),
        _ => say!("{name} is"),
    };
    let words = match unit {
        Unit::Count => worded("in raw counts"),
        Unit::None => worded("without a known unit"),
        unit => say!("in {}", unit.symbol()),
    };
    Decision {
        id,
        sentence: format!("{what} {words}."),
        evidence,
        chosen: if unit == Unit::None { "none" } else { unit.ascii() }.to_owned(),
        alternatives: known,
        ambiguous: open,
    }
}
