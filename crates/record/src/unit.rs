//! Units of channels and results: symbols, scales to the inside unit, kinds.

/// The unit of a channel or a result.
///
/// Inside, a field is always in nanotesla, a temperature in degrees Celsius,
/// a pressure in hectopascal, an acceleration in metres per second squared
/// and a rotation rate in degrees per second; `Count` stays what the sensor
/// wrote until something fixes its scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Unit {
    /// No unit: a ratio, or nothing known.
    None,
    /// Raw numbers of a sensor whose scale is not known.
    Count,
    /// Tesla.
    Tesla,
    /// Millitesla.
    Millitesla,
    /// Microtesla.
    Microtesla,
    /// Nanotesla; the unit of every field inside.
    Nanotesla,
    /// Gauss.
    Gauss,
    /// Milligauss.
    Milligauss,
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
    /// Kelvin.
    Kelvin,
    /// Pascal.
    Pascal,
    /// Hectopascal, the same as millibar.
    Hectopascal,
    /// Kilopascal.
    Kilopascal,
    /// Inches of mercury.
    InchMercury,
    /// Standard gravity, 9.80665 m/s².
    Gravity,
    /// Metres per second squared.
    MetrePerSecond2,
    /// Degrees per second.
    DegreePerSecond,
    /// Radians per second.
    RadianPerSecond,
    /// Degrees of angle.
    Degree,
    /// Minutes of arc.
    Arcminute,
    /// Seconds.
    Second,
    /// Hours.
    Hour,
    /// Hertz.
    Hertz,
    /// Per cent.
    Percent,
    /// Volts.
    Volt,
    /// Counts per minute.
    CountPerMinute,
    /// Metres.
    Metre,
    /// Lux.
    Lux,
    /// Parts per million.
    PartPerMillion,
    /// Micrograms per cubic metre.
    MicrogramPerMetre3,
    /// Nanotesla squared per hertz.
    Nanotesla2PerHertz,
    /// Nanotesla per degree Celsius.
    NanoteslaPerCelsius,
    /// Nanotesla per minute.
    NanoteslaPerMinute,
}

impl Unit {
    /// How the unit is written on a page, such as `nT` or `µT`.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::None => "",
            Self::Count => "count",
            Self::Tesla => "T",
            Self::Millitesla => "mT",
            Self::Microtesla => "µT",
            Self::Nanotesla => "nT",
            Self::Gauss => "G",
            Self::Milligauss => "mG",
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
            Self::Kelvin => "K",
            Self::Pascal => "Pa",
            Self::Hectopascal => "hPa",
            Self::Kilopascal => "kPa",
            Self::InchMercury => "inHg",
            Self::Gravity => "g",
            Self::MetrePerSecond2 => "m/s²",
            Self::DegreePerSecond => "°/s",
            Self::RadianPerSecond => "rad/s",
            Self::Degree => "°",
            Self::Arcminute => "′",
            Self::Second => "s",
            Self::Hour => "h",
            Self::Hertz => "Hz",
            Self::Percent => "%",
            Self::Volt => "V",
            Self::CountPerMinute => "1/min",
            Self::Metre => "m",
            Self::Lux => "lx",
            Self::PartPerMillion => "ppm",
            Self::MicrogramPerMetre3 => "µg/m³",
            Self::Nanotesla2PerHertz => "nT²/Hz",
            Self::NanoteslaPerCelsius => "nT/°C",
            Self::NanoteslaPerMinute => "nT/min",
        }
    }

    /// The same in plain ASCII, for the header of a data file.
    pub fn ascii(self) -> &'static str {
        match self {
            Self::Microtesla => "uT",
            Self::Celsius => "degC",
            Self::Fahrenheit => "degF",
            Self::MetrePerSecond2 => "m/s2",
            Self::DegreePerSecond => "deg/s",
            Self::Degree => "deg",
            Self::Arcminute => "arcmin",
            Self::MicrogramPerMetre3 => "ug/m3",
            Self::Nanotesla2PerHertz => "nT2/Hz",
            Self::NanoteslaPerCelsius => "nT/degC",
            other => other.symbol(),
        }
    }

    /// Nanotesla in one of this unit, when it is a unit of magnetic field.
    pub fn nanotesla(self) -> Option<f64> {
        match self {
            Self::Tesla => Some(1e9),
            Self::Millitesla => Some(1e6),
            Self::Microtesla => Some(1e3),
            Self::Nanotesla => Some(1.0),
            Self::Gauss => Some(1e5),
            Self::Milligauss => Some(1e2),
            _ => None,
        }
    }

    /// How to reach the inside unit: `(unit, scale, shift)` with
    /// `inside = value * scale + shift`.  A unit that is already inside, or
    /// has no inside, comes back with scale 1 and shift 0.
    pub fn inside(self) -> (Self, f64, f64) {
        if let Some(scale) = self.nanotesla() {
            return (Self::Nanotesla, scale, 0.0);
        }
        match self {
            Self::Fahrenheit => (Self::Celsius, 5.0 / 9.0, -160.0 / 9.0),
            Self::Kelvin => (Self::Celsius, 1.0, -273.15),
            Self::Pascal => (Self::Hectopascal, 0.01, 0.0),
            Self::Kilopascal => (Self::Hectopascal, 10.0, 0.0),
            Self::InchMercury => (Self::Hectopascal, 33.863_886_67, 0.0),
            Self::Gravity => (Self::MetrePerSecond2, 9.806_65, 0.0),
            Self::RadianPerSecond => (Self::DegreePerSecond, 180.0 / std::f64::consts::PI, 0.0),
            other => (other, 1.0, 0.0),
        }
    }

    /// Whether a space stands between a number and this unit.
    pub fn spaced(self) -> bool {
        !matches!(self, Self::Degree | Self::Arcminute | Self::None)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_milligauss_are_one_microtesla() {
        let (unit, scale, _) = Unit::Milligauss.inside();
        assert_eq!(unit, Unit::Nanotesla);
        assert_eq!(10.0 * scale, Unit::Microtesla.inside().1);
    }

    #[test]
    fn water_freezes_at_32_fahrenheit() {
        let (unit, scale, shift) = Unit::Fahrenheit.inside();
        assert_eq!(unit, Unit::Celsius);
        assert!((32.0 * scale + shift).abs() < 1e-12);
    }
}
