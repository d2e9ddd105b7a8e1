//! Models of the Earth's main field: what a sensor far from iron should read.
//!
//! Station and date in; field vector, elements, rates and uncertainties out.  Two models:
//! IGRF-14 (1900 to 2030) and WMM2025 (2025 to 2030).  Nothing here knows of rocks, walls,
//! cars or storms: the uncertainties say how much that matters.
//!
//! Conventions: X north, Y east, Z down in the geodetic frame, nT; declination east positive,
//! inclination down positive, degrees; height above the WGS84 ellipsoid; time as a decimal year
//! (the elapsed part of the civil year in UTC, [`record::Instant::decimal_year`]).

pub mod dipole;
pub mod geodetic;
mod igrf14;
mod synthesis;
mod uncertainty;
mod wmm2025;
mod zone;

use crate::elements;
use record::{Fault, Quantity, Station, Unit, say, words::word};
use std::fmt;

pub use synthesis::Coefficients;
pub use uncertainty::{Sigmas, sigmas};
pub use zone::{Zone, grid_variation_deg, zone};

/// A model of the main field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// International Geomagnetic Reference Field, 14th generation: 1900.0 to 2030.0.
    Igrf14,
    /// World Magnetic Model 2025: 2025.0 up to, and without, 2030.0.
    Wmm2025,
}

impl Which {
    /// Stable name for files: `igrf-14`, `wmm2025`.
    pub fn id(self) -> &'static str {
        match self {
            Self::Igrf14 => "igrf-14",
            Self::Wmm2025 => "wmm2025",
        }
    }

    /// Name for reading: `IGRF-14`, `WMM2025`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Igrf14 => "IGRF-14",
            Self::Wmm2025 => "WMM2025",
        }
    }

    /// What to cite.
    pub fn citation(self) -> &'static str {
        match self {
            Self::Igrf14 => word(
                "IAGA Division V, Working Group V-MOD (2024), IGRF-14, doi 10.5281/zenodo.14012302",
            ),
            Self::Wmm2025 => word(
                "NOAA NCEI and British Geological Survey (2024), World Magnetic Model 2025, \
                 doi 10.25921/aqfd-sd83",
            ),
        }
    }

    /// Whether the model speaks of a date (decimal year).  IGRF-14 covers 1900.0 to 2030.0
    /// with both ends; WMM2025 covers 2025.0 up to, and without, 2030.0.
    pub fn covers(self, decimal_year: f64) -> bool {
        match self {
            Self::Igrf14 => (1900.0..=2030.0).contains(&decimal_year),
            Self::Wmm2025 => (2025.0..2030.0).contains(&decimal_year),
        }
    }

    /// Gauss coefficients at a date; `None` when the model does not cover it.
    pub fn coefficients(self, decimal_year: f64) -> Option<Coefficients> {
        if !self.covers(decimal_year) {
            return None;
        }
        Some(match self {
            Self::Igrf14 => Coefficients::igrf14(decimal_year),
            Self::Wmm2025 => Coefficients::wmm2025(decimal_year),
        })
    }
}

/// The model to use for a date: WMM2025 where it is valid, because its uncertainty is
/// published, and IGRF-14 elsewhere.
pub fn best_for(decimal_year: f64) -> Which {
    if Which::Wmm2025.covers(decimal_year) { Which::Wmm2025 } else { Which::Igrf14 }
}

/// Change of the field with time, a year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rates {
    /// North component, nT a year.
    pub x_nt: f64,
    /// East component, nT a year.
    pub y_nt: f64,
    /// Downward component, nT a year.
    pub z_nt: f64,
    /// Horizontal intensity, nT a year.
    pub h_nt: f64,
    /// Total intensity, nT a year.
    pub f_nt: f64,
    /// Declination, degrees a year.
    pub declination_deg: f64,
    /// Inclination, degrees a year.
    pub inclination_deg: f64,
}

/// The model field at a place and date.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ModelField {
    /// The model.
    pub which: Which,
    /// The date, decimal year.
    pub decimal_year: f64,
    /// North component, nT.
    pub x_nt: f64,
    /// East component, nT.
    pub y_nt: f64,
    /// Downward component, nT.
    pub z_nt: f64,
    /// Horizontal intensity, nT.
    pub h_nt: f64,
    /// Total intensity, nT.
    pub f_nt: f64,
    /// Declination, degrees, east positive.
    pub declination_deg: f64,
    /// Inclination, degrees, down positive.
    pub inclination_deg: f64,
    /// Change a year.
    pub rates: Rates,
    /// One standard deviation of each element, rocks and everyday disturbance included.
    pub sigma: Sigmas,
    /// Whether a compass can be trusted here.
    pub zone: Zone,
}

impl ModelField {
    /// Declination with its uncertainty.
    pub fn declination(&self) -> Quantity {
        Quantity::new(self.declination_deg, self.sigma.declination_deg, Unit::Degree)
    }

    /// Inclination with its uncertainty.
    pub fn inclination(&self) -> Quantity {
        Quantity::new(self.inclination_deg, self.sigma.inclination_deg, Unit::Degree)
    }

    /// Horizontal intensity with its uncertainty.
    pub fn horizontal(&self) -> Quantity {
        Quantity::new(self.h_nt, self.sigma.h_nt, Unit::Nanotesla)
    }

    /// Total intensity with its uncertainty: what a calibration is scaled to.
    pub fn total(&self) -> Quantity {
        Quantity::new(self.f_nt, self.sigma.f_nt, Unit::Nanotesla)
    }
}

/// Why a model gives no field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ModelError {
    /// The date lies outside the model, or is not a number.
    Date {
        /// The model asked.
        which: Which,
        /// The date, decimal year.
        decimal_year: f64,
    },
    /// A height the model is not made for, metres.
    Height {
        /// The model asked.
        which: Which,
        /// Height above the ellipsoid, metres.
        height_m: f64,
    },
}

impl fmt::Display for ModelError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fault = Fault::from(*self);
        write!(f, "{} {}", fault.message, fault.remedy)
    }
}

impl std::error::Error for ModelError {}

impl From<ModelError> for Fault {
    fn from(error: ModelError) -> Self {
        match error {
            ModelError::Date { which, decimal_year } => Self::new(
                "model/date",
                say!(
                    "{} covers {}; the date given is {decimal_year:.3}.",
                    which.name(),
                    match which {
                        Which::Igrf14 => "1900.0 to 2030.0",
                        Which::Wmm2025 => word("2025.0 to the end of 2029"),
                    }
                ),
                match which {
                    Which::Igrf14 => word(
                        "Check the dates of the log: a clock that was never set often starts in \
                         1970 or 2000.",
                    ),
                    Which::Wmm2025 => {
                        word("Use IGRF-14 for this date, or check the dates of the log.")
                    }
                },
            ),
            ModelError::Height { which, height_m } => Self::new(
                "model/height",
                say!(
                    "{} is used here between −1 km and 600 km; the height given is {height_m:.0} m.",
                    which.name()
                ),
                word("Give the station's height in metres above sea level."),
            ),
        }
    }
}

/// The main field at a station and date.
///
/// Spherical harmonic synthesis of the model's coefficients in geocentric coordinates, turned
/// into the geodetic frame of WGS84.  Height above sea level may stand in for height above the
/// ellipsoid: the geoid, −106 to +85 m, moves the field by at most about 3 nT.  At a geographic
/// pole X and Y refer to the meridian of the longitude given.
///
/// # Errors
///
/// [`ModelError`] for a date outside the model, or a height outside −1 km to 600 km.
///
/// # Accuracy
///
/// Within 0.001 nT of the published test values of WMM2025 (their own printing) and 0.01 nT of
/// three independent implementations of IGRF-14.  How far the model is from the truth on the
/// ground is another matter: see [`ModelField::sigma`].
///
/// # Source
///
/// Alken et al. 2021, doi 10.1186/s40623-020-01288-x; Chulliat et al. 2025, WMM2025 technical
/// report, doi 10.25923/prbc-s316.
pub fn field(which: Which, station: &Station, decimal_year: f64) -> Result<ModelField, ModelError> {
    let coefficients =
        which.coefficients(decimal_year).ok_or(ModelError::Date { which, decimal_year })?;
    if !(-1_000.0..=600_000.0).contains(&station.height_m) {
        return Err(ModelError::Height { which, height_m: station.height_m });
    }
    let place = geodetic::Geocentric::of(station.latitude_deg, station.height_m / 1000.0);
    let [now, rate] = synthesis::vector(&coefficients, &place, station.longitude_deg);
    let h_nt = libm::hypot(now[0], now[1]);
    let f_nt = libm::hypot(h_nt, now[2]);
    Ok(ModelField {
        which,
        decimal_year,
        x_nt: now[0],
        y_nt: now[1],
        z_nt: now[2],
        h_nt,
        f_nt,
        declination_deg: elements::declination_deg(now[0], now[1]),
        inclination_deg: elements::inclination_deg(h_nt, now[2]),
        rates: rates(now, rate, h_nt, f_nt),
        sigma: sigmas(which, h_nt),
        zone: zone(h_nt),
    })
}

/// Rates of the elements from those of the components.
fn rates([x, y, z]: [f64; 3], [dx, dy, dz]: [f64; 3], h: f64, f: f64) -> Rates {
    let dh = (x * dx + y * dy) / h;
    Rates {
        x_nt: dx,
        y_nt: dy,
        z_nt: dz,
        h_nt: dh,
        f_nt: (x * dx + y * dy + z * dz) / f,
        declination_deg: (x * dy - y * dx) / (h * h) * elements::DEGREES,
        inclination_deg: (h * dz - z * dh) / (f * f) * elements::DEGREES,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_date_after_2029_has_no_world_magnetic_model() {
        let station = Station::new("", 57.4, -9.9, 24.0).unwrap();
        let error = field(Which::Wmm2025, &station, 2030.0).unwrap_err();
        let fault = Fault::from(error);
        assert_eq!(fault.code, "model/date");
        assert!(fault.message.contains("2030.000"), "{fault}");
        assert_eq!(best_for(2024.9999), Which::Igrf14);
        assert_eq!(best_for(2025.0), Which::Wmm2025);
        assert!(field(Which::Igrf14, &station, f64::NAN).is_err());
    }

    #[test]
    fn the_two_models_agree_within_their_uncertainty() {
        for (latitude, longitude) in [(57.4, -9.9), (-33.0, 151.0), (0.0, 0.0), (12.0, 200.0)] {
            let station = Station::new("", latitude, longitude, 0.0).unwrap();
            let a = field(Which::Igrf14, &station, 2026.4).unwrap();
            let b = field(Which::Wmm2025, &station, 2026.4).unwrap();
            assert!((a.f_nt - b.f_nt).abs() < b.sigma.f_nt, "{} {}", a.f_nt, b.f_nt);
            assert!((a.declination_deg - b.declination_deg).abs() < b.sigma.declination_deg);
        }
    }
}
