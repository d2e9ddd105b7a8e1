//! Column names: the quantity, the axis and the unit that a header spells.
//!
//! Headers in, a [`Named`] out: a clean name, the unit as written and what the
//! words say is measured.  Values are not looked at here.

use crate::quantity::{quantity, stem};
use crate::units::{Hint, Written, unit};

pub(crate) use crate::quantity::Quantity;
use record::Unit;

/// A header taken apart.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Named {
    /// As written.
    pub header: String,
    /// Without the unit.
    pub name: String,
    /// Lower-case words of the name.
    pub words: Vec<String>,
    /// The unit as written; empty when there is none.
    pub unit_written: String,
    /// The unit, when it is known.
    pub unit: Option<Written>,
    /// What is measured.
    pub quantity: Quantity,
    /// The words without the axis: components of one vector share them.
    pub stem: String,
}

/// Takes a header and, when there is one, the cell of a units row apart.
pub(crate) fn named(header: &str, units_row: Option<&str>) -> Named {
    let header = header.trim().trim_matches('"').trim().to_owned();
    let (mut name, mut written) = bracketed(&header);
    let row = units_row.map(|row| row.trim().trim_matches(['(', ')', '[', ']']));
    if let Some(row) = row.filter(|row| !row.is_empty()) {
        written = row.to_owned();
    }
    let all = words(&name);
    let hint = hint(&all);
    let mut found = unit(&written, hint);
    if written.is_empty()
        && let Some((short, tail, suffix)) = suffixed(&name, hint)
    {
        (name, written, found) = (short, tail, Some(suffix));
    }
    let words = words(&name);
    let quantity = quantity(&words, found.map(|w| w.unit));
    let stem = stem(&words);
    if name.is_empty() {
        name.clone_from(&header);
    }
    Named { header, name, words, unit_written: written, unit: found, quantity, stem }
}

// `Name (unit)`, `Name [unit]`, `Name, unit (remark)`, `Name / unit`.
fn bracketed(header: &str) -> (String, String) {
    if let Some((name, rest)) = header.split_once(',') {
        let tail = rest.split_once('(').map_or(rest, |(unit, _)| unit).trim();
        if unit(tail, Hint::Unknown).is_some() {
            return (name.trim().to_owned(), tail.to_owned());
        }
    }
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}')] {
        if let Some(start) = header.rfind(open)
            && let Some(length) = header[start..].find(close)
        {
            let inner = header[start + 1..start + length].trim();
            let name = header[..start].trim().to_owned();
            let hint = hint(&words(&name));
            if unit(inner, hint).is_some() || looks_like_unit(inner) {
                return (name, inner.to_owned());
            }
        }
    }
    if let Some((name, tail)) = header.rsplit_once('/')
        && unit(tail, hint(&words(name))).is_some()
        && !name.contains('/')
    {
        return (name.trim().to_owned(), tail.trim().to_owned());
    }
    (header.to_owned(), String::new())
}

fn looks_like_unit(text: &str) -> bool {
    !text.is_empty()
        && text.chars().count() <= 12
        && text.chars().any(|c| matches!(c, '/' | '%' | '°' | 'µ' | 'μ' | '^' | '²' | '³'))
}

/// Lower-case words of a name: cut at signs and where small letters meet
/// capitals; `magX` is `mag`, `x`.
pub(crate) fn words(name: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut word = String::new();
    let mut small = false;
    for letter in name.chars() {
        let cut = !letter.is_alphanumeric() || (letter.is_uppercase() && small);
        if cut && !word.is_empty() {
            out.push(std::mem::take(&mut word));
        }
        if letter.is_alphanumeric() {
            word.push(record::letters::small(letter));
        }
        small = letter.is_lowercase();
    }
    if !word.is_empty() {
        out.push(word);
    }
    out
}

fn hint(words: &[String]) -> Hint {
    match quantity(words, None) {
        Quantity::Field(_) | Quantity::Total => Hint::Field,
        Quantity::Acceleration(_) => Hint::Acceleration,
        Quantity::Temperature => Hint::Temperature,
        Quantity::Time => Hint::Time,
        _ if words.iter().any(|w| w.starts_with("accel")) => Hint::Acceleration,
        _ if words.iter().any(|w| w.starts_with("mag")) => Hint::Field,
        _ => Hint::Unknown,
    }
}

// A unit as the last words of a name: `mx_uT`, `gx_rad_s`, `rate_deg_per_s`.
fn suffixed(name: &str, hint: Hint) -> Option<(String, String, Written)> {
    let starts: Vec<usize> = name
        .char_indices()
        .filter(|(place, letter)| {
            let before = name[..*place].chars().next_back();
            letter.is_alphanumeric() && before.is_some_and(|c| !c.is_alphanumeric())
        })
        .map(|(place, _)| place)
        .collect();
    for start in starts.iter().rev().take(3).rev() {
        let tail = &name[*start..];
        let letters = tail.chars().count();
        let key = match (tail, hint) {
            ("g" | "G", Hint::Acceleration) => "g".to_owned(),
            ("s" | "S", _) => "s".to_owned(),
            // One letter needs a quantity that explains it.
            (_, Hint::Unknown) if letters == 1 => continue,
            _ if letters == 1 => tail.to_ascii_uppercase(),
            _ => tail.to_owned(),
        };
        // `counts per minute` is no time, and `counts in 5 s` neither.
        let span = |w: &Written| matches!(w.unit, Unit::Second | Unit::Hour) && hint != Hint::Time;
        if let Some(found) = unit(&key, hint).filter(|w| !span(w)) {
            let short = name[..*start].trim_end_matches(|c: char| !c.is_alphanumeric());
            // `Field X in nT`
            let short = short.strip_suffix(" in").unwrap_or(short);
            return Some((short.to_owned(), tail.to_owned(), found));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(header: &str, name: &str, unit: Option<Unit>, quantity: Quantity) {
        let found = named(header, None);
        assert_eq!(found.name, name, "name of {header}");
        assert_eq!(found.unit.map(|w| w.unit), unit, "unit of {header}");
        assert_eq!(found.quantity, quantity, "quantity of {header}");
    }

    #[test]
    fn headers_of_magnetometers_name_axis_and_unit() {
        check("bx_nt", "bx", Some(Unit::Nanotesla), Quantity::Field(0));
        check("mx_uT", "mx", Some(Unit::Microtesla), Quantity::Field(0));
        check("Magnetometer Y (uT)", "Magnetometer Y", Some(Unit::Microtesla), Quantity::Field(1));
        check(
            "magnetic_field_z_microteslas",
            "magnetic_field_z",
            Some(Unit::Microtesla),
            Quantity::Field(2),
        );
        check("Mag_X", "Mag_X", None, Quantity::Field(0));
        check("compass_z", "compass_z", None, Quantity::Field(2));
        check("Static/Magnetic Field/X", "Static/Magnetic Field/X", None, Quantity::Field(0));
        check("z", "z", None, Quantity::Axis(2));
        check("X / nT", "X", Some(Unit::Nanotesla), Quantity::Field(0));
        check("b_total", "b_total", None, Quantity::Total);
        check("hx", "hx", None, Quantity::Field(0));
    }

    #[test]
    fn accelerometers_and_gyroscopes_are_not_the_field() {
        check(
            "Accelerometer X (g)",
            "Accelerometer X",
            Some(Unit::Gravity),
            Quantity::Acceleration(0),
        );
        check(
            "raw_acceleration_x_gs",
            "raw_acceleration_x",
            Some(Unit::Gravity),
            Quantity::Acceleration(0),
        );
        check("gx_rad_s", "gx", Some(Unit::RadianPerSecond), Quantity::Rotation(0));
        check(
            "raw_angular_rate_x_deg_per_s",
            "raw_angular_rate_x",
            Some(Unit::DegreePerSecond),
            Quantity::Rotation(0),
        );
        check("az_m_s2", "az", Some(Unit::MetrePerSecond2), Quantity::Acceleration(2));
        check("Gyr_Y", "Gyr_Y", None, Quantity::Rotation(1));
        check("Quat_x", "Quat_x", None, Quantity::Other);
    }

    #[test]
    fn weather_and_time_are_named() {
        check(
            "Water Temp, °C (LGR S/N: 1)",
            "Water Temp",
            Some(Unit::Celsius),
            Quantity::Temperature,
        );
        check(
            "Abs Pres, psi (LGR S/N: 1)",
            "Abs Pres",
            Some(Unit::Hectopascal),
            Quantity::Pressure,
        );
        check("temperature_celsius", "temperature", Some(Unit::Celsius), Quantity::Temperature);
        check("pressure_pascals", "pressure", Some(Unit::Pascal), Quantity::Pressure);
        check("Barometer (hPa)", "Barometer", Some(Unit::Hectopascal), Quantity::Pressure);
        check("time_ms", "time", Some(Unit::Second), Quantity::Time);
        check("seconds_elapsed", "seconds_elapsed", None, Quantity::Time);
        check("Time (s)", "Time", Some(Unit::Second), Quantity::Time);
        check("Counter", "Counter", None, Quantity::Counter);
        check("CO(GT)", "CO(GT)", None, Quantity::Other);
        check("RH", "RH", None, Quantity::Humidity);
    }
}
