//! Quantities: what the words of a column name say is measured.
//!
//! Words in, a quantity out; the unit helps where words are shared (`gx` in
//! degrees per second is a gyroscope's, in nanotesla a field's).

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

fn axis_of(word: &str) -> Option<usize> {
    ["x", "y", "z"].iter().position(|axis| *axis == word)
}

// `bx`, `magx`, `accelx`, `gyroz`: stem and axis run together.
fn run_together(word: &str) -> Option<(&str, usize)> {
    let stem = word.get(..word.len().checked_sub(1)?)?;
    Some((stem, axis_of(&word[word.len() - 1..])?)).filter(|(stem, _)| !stem.is_empty())
}

/// The quantity that the words of a name and its unit tell.
pub(crate) fn quantity(words: &[String], unit: Option<Unit>) -> Quantity {
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

const TIME_STARTS: [&str; 15] = [
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
];
const TIME_WORDS: [&str; 8] = ["utc", "gmt", "sec", "secs", "seconds", "ts", "clock", "datetime"];

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
        () if starts(&TIME_STARTS)
            || any(&TIME_WORDS)
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

/// The words without the axis: components of one vector share them.
pub(crate) fn stem(words: &[String]) -> String {
    let kept: Vec<&str> = words
        .iter()
        .filter(|w| {
            axis_of(w).is_none() && !["north", "east", "down", "vertical"].contains(&w.as_str())
        })
        .map(|w| run_together(w).map_or(w.as_str(), |(stem, _)| stem))
        .collect();
    kept.join(" ")
}
