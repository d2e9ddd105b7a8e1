//! Column names: the quantity, the axis and the unit that a header spells.
//!
//! Headers in, a [`Named`] out: a clean name, the unit as written and what the
//! words say is measured.  Values are not looked at here.

use crate::units::{Hint, Written, unit};
use record::Unit;

/// What the words of a header say is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Quantity {
    /// A magnetic component, axis 0 to 2.
    Field(usize),
    /// Total field.
    Total,
    /// Horizontal field, declination, inclination: H, D, I.
    Element(char),
    /// Temperature.
    Temperature,
    /// Acceleration, axis 0 to 2.
    Acceleration(usize),
    /// Rotation rate, axis 0 to 2.
    Rotation(usize),
    /// Air pressure.
    Pressure,
    /// Relative humidity.
    Humidity,
    /// Counts of events.
    Counts,
    /// Ground motion.
    Motion,
    /// Some component, axis 0 to 2, of an unnamed vector.
    Axis(usize),
    /// A time or a date.
    Time,
    /// A running number of rows or packets.
    Counter,
    /// Words for people.
    Note,
    /// Named, but none of these.
    Other,
    /// No name.
    Nameless,
}

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
            word.extend(letter.to_lowercase());
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
            _ if letters == 1 => tail.to_uppercase(),
            _ => tail.to_owned(),
        };
        // `counts per minute` is no time, and `counts in 5 s` neither.
        let span = |w: &Written| matches!(w.unit, Unit::Second | Unit::Hour) && hint != Hint::Time;
        if let Some(found) = unit(&key, hint).filter(|w| !span(w)) {
            let short = name[..*start].trim_end_matches(|c: char| !c.is_alphanumeric());
            return Some((short.to_owned(), tail.to_owned(), found));
        }
    }
    None
}

fn axis_of(word: &str) -> Option<usize> {
    ["x", "y", "z"].iter().position(|axis| *axis == word)
}

// `bx`, `magx`, `accelx`, `gyroz`: stem and axis run together.
fn run_together(word: &str) -> Option<(&str, usize)> {
    let stem = word.get(..word.len().checked_sub(1)?)?;
    Some((stem, axis_of(&word[word.len() - 1..])?)).filter(|(stem, _)| !stem.is_empty())
}

fn quantity(words: &[String], unit: Option<Unit>) -> Quantity {
    if words.is_empty() {
        return Quantity::Nameless;
    }
    let any = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    let starts = |list: &[&str]| words.iter().any(|w| list.iter().any(|s| w.starts_with(s)));
    let turning = any(&["angular", "rotation"]);
    if (any(&ASIDE) && !turning) || starts(&["quat", "orient", "euler"]) {
        return Quantity::Other;
    }
    if let Some(vector) = vector(words, unit) {
        return vector;
    }
    if is_note(words) {
        return Quantity::Note;
    }
    scalar(words, unit)
}

const ASIDE: [&str; 22] = [
    "roll",
    "pitch",
    "yaw",
    "heading",
    "position",
    "pos",
    "velocity",
    "vel",
    "gps",
    "lat",
    "latitude",
    "lon",
    "lng",
    "longitude",
    "altitude",
    "alt",
    "std",
    "stdev",
    "sigma",
    "error",
    "accuracy",
    "quality",
];

fn vector(words: &[String], unit: Option<Unit>) -> Option<Quantity> {
    let any = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    let starts = |list: &[&str]| words.iter().any(|w| list.iter().any(|s| w.starts_with(s)));
    let magnetic = unit.and_then(Unit::nanotesla).is_some();
    let joined = words.iter().find_map(|w| run_together(w));
    let axis = words.iter().rev().find_map(|w| axis_of(w)).or(joined.map(|(_, axis)| axis));
    let stem = joined.map_or("", |(stem, _)| stem);
    if let Some(axis) = axis {
        let accel = starts(&["accel", "beschl"])
            || any(&["acc", "a"])
            || ["a", "acc", "accel"].contains(&stem);
        let gyro = starts(&["gyr", "angular", "rotation"])
            || any(&["w", "omega"])
            || ["g", "gyr", "gyro", "w", "rot"].contains(&stem);
        let field = (starts(&["mag", "compass"]) && !any(&["magnitude"]))
            || any(&["b", "field", "emf"])
            || ["b", "m", "mag", "magnet", "h", "comp"].contains(&stem);
        let gravity = matches!(unit, Some(Unit::Gravity | Unit::MetrePerSecond2));
        let turning = matches!(unit, Some(Unit::DegreePerSecond | Unit::RadianPerSecond));
        return match () {
            () if gravity || (accel && !magnetic) => Some(Quantity::Acceleration(axis)),
            () if turning || (gyro && !magnetic) => Some(Quantity::Rotation(axis)),
            () if magnetic || field => Some(Quantity::Field(axis)),
            // `Z`, and `Garden Z` whose values will have to tell.
            () if words.len() <= 3 && words.last().is_some_and(|w| w.len() == 1) => {
                Some(Quantity::Axis(axis))
            }
            () => None,
        };
    }
    let compass = ["north", "east", "down"].iter().position(|name| any(&[name]));
    let vertical = any(&["vertical"]).then_some(2);
    compass.or(vertical).filter(|_| magnetic || starts(&["mag"])).map(Quantity::Field)
}

fn is_note(words: &[String]) -> bool {
    const NOTES: [&str; 12] = [
        "note",
        "notes",
        "comment",
        "comments",
        "remark",
        "remarks",
        "message",
        "msg",
        "event",
        "events",
        "annotation",
        "label",
    ];
    words.iter().any(|w| NOTES.contains(&w.as_str()))
}

fn scalar(words: &[String], unit: Option<Unit>) -> Quantity {
    let any = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    let starts = |list: &[&str]| words.iter().any(|w| list.iter().any(|s| w.starts_with(s)));
    let alone = if words.len() == 1 { words[0].as_str() } else { "" };
    let magnetic = unit.and_then(Unit::nanotesla).is_some();
    match () {
        () if starts(&["temp"]) || any(&["airt", "tair", "tmp"]) => Quantity::Temperature,
        () if matches!(unit, Some(Unit::Celsius | Unit::Fahrenheit | Unit::Kelvin)) => {
            Quantity::Temperature
        }
        () if starts(&["press", "baro", "luftdruck"]) || any(&["pres", "bp"]) => Quantity::Pressure,
        () if matches!(
            unit,
            Some(Unit::Pascal | Unit::Hectopascal | Unit::Kilopascal | Unit::InchMercury)
        ) && !any(&["vp"]) =>
        {
            Quantity::Pressure
        }
        () if (starts(&["humid"]) || any(&["rh", "hum"])) && !any(&["ratio"]) => Quantity::Humidity,
        () if starts(&["declin"]) || alone == "d" => Quantity::Element('D'),
        () if starts(&["inclin"]) || any(&["dip"]) || alone == "i" => Quantity::Element('I'),
        () if alone == "h" || (magnetic && starts(&["horiz"])) => Quantity::Element('H'),
        () if matches!(alone, "f" | "btotal" | "bt" | "btot") || is_total(words, magnetic) => {
            Quantity::Total
        }
        () if starts(&[
            "timestamp",
            "time",
            "date",
            "epoch",
            "unix",
            "uptime",
            "millis",
            "micros",
            "elapsed",
            "zeit",
            "datum",
            "uhrzeit",
            "heure",
            "fecha",
            "hora",
        ]) || any(&["utc", "gmt", "sec", "secs", "seconds", "ts", "clock", "datetime"])
            || matches!(alone, "ms" | "us" | "ns" | "s" | "t" | "jd" | "mjd") =>
        {
            Quantity::Time
        }
        () if any(&["cpm", "cps", "counts", "pulses", "clicks", "impulses", "geiger"])
            || (any(&["count"]) && words.len() == 1) =>
        {
            Quantity::Counts
        }
        () if any(&[
            "counter", "record", "packet", "seq", "sequence", "index", "idx", "sno", "row", "no",
            "nr", "id", "sample",
        ]) =>
        {
            Quantity::Counter
        }
        () if starts(&["seism", "geophone"]) || any(&["motion"]) => Quantity::Motion,
        () => Quantity::Other,
    }
}

fn is_total(words: &[String], magnetic: bool) -> bool {
    let any = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    let whole = any(&["total", "magnitude", "norm", "abs", "scalar", "intensity", "strength"]);
    whole && (magnetic || any(&["b", "mag", "field", "magnetic", "f"]))
}

fn stem(words: &[String]) -> String {
    let kept: Vec<&str> = words
        .iter()
        .filter(|w| {
            axis_of(w).is_none() && !["north", "east", "down", "vertical"].contains(&w.as_str())
        })
        .map(|w| run_together(w).map_or(w.as_str(), |(stem, _)| stem))
        .collect();
    kept.join(" ")
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
