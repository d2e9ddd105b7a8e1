//! Units as loggers write them, in headers and behind values.
//!
//! Text in, a unit and the way to it out.  One spelling can mean two things
//! (`mg` is a milligauss behind a magnetometer and a thousandth of gravity
//! behind an accelerometer), so the quantity, when it is known, decides.

use record::Unit;

/// What is being measured, as far as a name tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Hint {
    /// A magnetic field.
    Field,
    /// An acceleration.
    Acceleration,
    /// A temperature.
    Temperature,
    /// A time.
    Time,
    /// Not known.
    Unknown,
}

/// A unit as written: its value times `scale` plus `shift` is in `unit`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Written {
    /// The unit reached.
    pub unit: Unit,
    /// Factor to it.
    pub scale: f64,
}

const fn plain(unit: Unit) -> Written {
    Written { unit, scale: 1.0 }
}

const fn scaled(unit: Unit, scale: f64) -> Written {
    Written { unit, scale }
}

// Factors: psi, mmHg and foot from NIST SP 811 (2008), appendix B; the SI
// brochure for the rest.
const SPELLINGS: [(&str, Written); 107] = [
    ("nt", plain(Unit::Nanotesla)),
    ("nanotesla", plain(Unit::Nanotesla)),
    ("gamma", plain(Unit::Nanotesla)),
    ("gammas", plain(Unit::Nanotesla)),
    ("ut", plain(Unit::Microtesla)),
    ("mct", plain(Unit::Microtesla)),
    ("microtesla", plain(Unit::Microtesla)),
    ("mt", plain(Unit::Millitesla)),
    ("millitesla", plain(Unit::Millitesla)),
    ("tesla", plain(Unit::Tesla)),
    ("gauss", plain(Unit::Gauss)),
    ("milligauss", plain(Unit::Milligauss)),
    ("mgauss", plain(Unit::Milligauss)),
    ("mga", plain(Unit::Milligauss)),
    ("count", plain(Unit::Count)),
    ("lsb", plain(Unit::Count)),
    ("raw", plain(Unit::Count)),
    ("adc", plain(Unit::Count)),
    ("cts", plain(Unit::Count)),
    ("degc", plain(Unit::Celsius)),
    ("celsius", plain(Unit::Celsius)),
    ("centigrade", plain(Unit::Celsius)),
    ("degf", plain(Unit::Fahrenheit)),
    ("fahrenheit", plain(Unit::Fahrenheit)),
    ("kelvin", plain(Unit::Kelvin)),
    ("degk", plain(Unit::Kelvin)),
    ("pa", plain(Unit::Pascal)),
    ("pascal", plain(Unit::Pascal)),
    ("hpa", plain(Unit::Hectopascal)),
    ("hectopascal", plain(Unit::Hectopascal)),
    ("mbar", plain(Unit::Hectopascal)),
    ("millibar", plain(Unit::Hectopascal)),
    ("mb", plain(Unit::Hectopascal)),
    ("bar", scaled(Unit::Hectopascal, 1000.0)),
    ("kpa", plain(Unit::Kilopascal)),
    ("kilopascal", plain(Unit::Kilopascal)),
    ("psi", scaled(Unit::Hectopascal, 68.947_57)),
    ("inhg", plain(Unit::InchMercury)),
    ("mmhg", scaled(Unit::Hectopascal, 1.333_224)),
    ("m/s2", plain(Unit::MetrePerSecond2)),
    ("m/s/s", plain(Unit::MetrePerSecond2)),
    ("ms-2", plain(Unit::MetrePerSecond2)),
    ("mps2", plain(Unit::MetrePerSecond2)),
    ("m_s2", plain(Unit::MetrePerSecond2)),
    ("m_per_s2", plain(Unit::MetrePerSecond2)),
    ("gravity", plain(Unit::Gravity)),
    ("gee", plain(Unit::Gravity)),
    ("deg/s", plain(Unit::DegreePerSecond)),
    ("deg/sec", plain(Unit::DegreePerSecond)),
    ("deg/second", plain(Unit::DegreePerSecond)),
    ("degree/s", plain(Unit::DegreePerSecond)),
    ("degree/second", plain(Unit::DegreePerSecond)),
    ("dps", plain(Unit::DegreePerSecond)),
    ("deg_s", plain(Unit::DegreePerSecond)),
    ("deg_per_s", plain(Unit::DegreePerSecond)),
    ("mdps", scaled(Unit::DegreePerSecond, 1e-3)),
    ("rad/s", plain(Unit::RadianPerSecond)),
    ("rad/sec", plain(Unit::RadianPerSecond)),
    ("radian/s", plain(Unit::RadianPerSecond)),
    ("rad_s", plain(Unit::RadianPerSecond)),
    ("rad_per_s", plain(Unit::RadianPerSecond)),
    ("rps", plain(Unit::RadianPerSecond)),
    ("deg", plain(Unit::Degree)),
    ("degree", plain(Unit::Degree)),
    ("arcmin", plain(Unit::Arcminute)),
    ("arcminute", plain(Unit::Arcminute)),
    ("s", plain(Unit::Second)),
    ("sec", plain(Unit::Second)),
    ("second", plain(Unit::Second)),
    ("ms", scaled(Unit::Second, 1e-3)),
    ("msec", scaled(Unit::Second, 1e-3)),
    ("milli", scaled(Unit::Second, 1e-3)),
    ("millisecond", scaled(Unit::Second, 1e-3)),
    ("us", scaled(Unit::Second, 1e-6)),
    ("usec", scaled(Unit::Second, 1e-6)),
    ("micro", scaled(Unit::Second, 1e-6)),
    ("microsecond", scaled(Unit::Second, 1e-6)),
    ("ns", scaled(Unit::Second, 1e-9)),
    ("nsec", scaled(Unit::Second, 1e-9)),
    ("nano", scaled(Unit::Second, 1e-9)),
    ("nanosecond", scaled(Unit::Second, 1e-9)),
    ("min", scaled(Unit::Second, 60.0)),
    ("minute", scaled(Unit::Second, 60.0)),
    ("h", plain(Unit::Hour)),
    ("hr", plain(Unit::Hour)),
    ("hour", plain(Unit::Hour)),
    ("hz", plain(Unit::Hertz)),
    ("%", plain(Unit::Percent)),
    ("percent", plain(Unit::Percent)),
    ("pct", plain(Unit::Percent)),
    ("%rh", plain(Unit::Percent)),
    ("volt", plain(Unit::Volt)),
    ("mv", scaled(Unit::Volt, 1e-3)),
    ("cpm", plain(Unit::CountPerMinute)),
    ("1/min", plain(Unit::CountPerMinute)),
    ("meter", plain(Unit::Metre)),
    ("metre", plain(Unit::Metre)),
    ("feet", scaled(Unit::Metre, 0.3048)),
    ("ft", scaled(Unit::Metre, 0.3048)),
    ("lx", plain(Unit::Lux)),
    ("lux", plain(Unit::Lux)),
    ("ppm", plain(Unit::PartPerMillion)),
    ("ug/m3", plain(Unit::MicrogramPerMetre3)),
    ("ug_m3", plain(Unit::MicrogramPerMetre3)),
    ("kilometer", scaled(Unit::Metre, 1000.0)),
    ("kilometre", scaled(Unit::Metre, 1000.0)),
    ("km", scaled(Unit::Metre, 1000.0)),
];

/// The unit that a text names, or `None`.
pub(crate) fn unit(text: &str, hint: Hint) -> Option<Written> {
    let text = text.trim();
    if text.is_empty() || text.len() > 24 {
        return None;
    }
    if let Some(found) = by_case(text, hint) {
        return Some(found);
    }
    let key = folded(text);
    let singular = key.strip_suffix('s').unwrap_or(&key);
    let find = |key: &str| SPELLINGS.iter().find(|(name, _)| *name == key).map(|(_, unit)| *unit);
    find(&key).or_else(|| if singular.len() > 1 { find(singular) } else { None })
}

// Spellings whose meaning hangs on the size of a letter or on the quantity.
fn by_case(text: &str, hint: Hint) -> Option<Written> {
    let text = text.replace(['°', 'º'], "");
    let found = match (text.as_str(), hint) {
        ("T" | "t", Hint::Field) | ("T", Hint::Unknown) => plain(Unit::Tesla),
        ("mG" | "mg", Hint::Field) | ("mG", Hint::Unknown) => plain(Unit::Milligauss),
        ("mg" | "mG", Hint::Acceleration) => scaled(Unit::Gravity, 1e-3),
        ("g" | "G" | "gs" | "Gs", Hint::Acceleration) | ("g", Hint::Unknown) => {
            plain(Unit::Gravity)
        }
        ("G" | "g" | "gs" | "Gs" | "GS", Hint::Field) | ("G" | "Gs" | "gs", Hint::Unknown) => {
            plain(Unit::Gauss)
        }
        ("C" | "c", Hint::Temperature) | ("C" | "℃", _) => plain(Unit::Celsius),
        ("F" | "f", Hint::Temperature) | ("F", Hint::Unknown) => plain(Unit::Fahrenheit),
        ("K" | "k", Hint::Temperature) | ("K", Hint::Unknown) => plain(Unit::Kelvin),
        ("V", _) => plain(Unit::Volt),
        ("m" | "M", Hint::Time) => scaled(Unit::Second, 60.0),
        ("m", _) => plain(Unit::Metre),
        _ => return None,
    };
    Some(found)
}

// Lower case, one letter for each sign that has several, no blanks.
fn folded(text: &str) -> String {
    let mut key = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            'µ' | 'μ' => key.push('u'),
            '°' | 'º' => key.push_str("deg"),
            '²' => key.push('2'),
            '³' => key.push('3'),
            '\u{2032}' | '\'' => key.push_str("arcmin"),
            ' ' | '^' | '.' => {}
            other => key.push(record::letters::small(other)),
        }
    }
    key.replace("degrees", "deg").replace("degdeg", "deg").replace("persec", "/sec")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_unit_in_many_spellings_is_one_unit() {
        for text in ["uT", "µT", "μT", "microteslas", "UT", "mcT"] {
            assert_eq!(unit(text, Hint::Field).map(|w| w.unit), Some(Unit::Microtesla), "{text}");
        }
        for text in ["°C", "deg C", "degC", "C", "Celsius", "ºC", "degrees C"] {
            let found = unit(text, Hint::Temperature).map(|w| w.unit);
            assert_eq!(found, Some(Unit::Celsius), "{text}");
        }
        for text in ["m/s²", "m/s^2", "m/s2", "m.s-2"] {
            let found = unit(text, Hint::Unknown).map(|w| w.unit);
            assert_eq!(found, Some(Unit::MetrePerSecond2), "{text}");
        }
        for text in ["deg/s", "°/s", "dps", "degrees/second"] {
            let found = unit(text, Hint::Unknown).map(|w| w.unit);
            assert_eq!(found, Some(Unit::DegreePerSecond), "{text}");
        }
    }

    #[test]
    fn the_quantity_decides_what_mg_and_gs_mean() {
        assert_eq!(unit("mg", Hint::Field).map(|w| w.unit), Some(Unit::Milligauss));
        assert_eq!(unit("mg", Hint::Acceleration), Some(scaled(Unit::Gravity, 1e-3)));
        assert_eq!(unit("gs", Hint::Acceleration).map(|w| w.unit), Some(Unit::Gravity));
        assert_eq!(unit("north", Hint::Unknown), None);
    }
}
