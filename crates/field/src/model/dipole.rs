//! The centred dipole: its strength and pole, dipole latitude and longitude, dipole L.
//!
//! Dipole latitude is not the corrected geomagnetic latitude that the auroral zone follows; the
//! two differ by several degrees.

use super::{Coefficients, ModelError, Which, geodetic::Geocentric};
use record::Station;

/// The centred dipole of a model at one date.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dipole {
    /// Field on its equator at the reference radius, nT: √(g10² + g11² + h11²).
    pub b0_nt: f64,
    /// Geocentric latitude of its northern pole, degrees.
    pub pole_latitude_deg: f64,
    /// Longitude of its northern pole, degrees, −180 to 180.
    pub pole_longitude_deg: f64,
}

/// A place in dipole coordinates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DipolePlace {
    /// Dipole (geomagnetic) latitude, degrees, north positive.
    pub latitude_deg: f64,
    /// Dipole longitude, degrees, 0 to 360, nought on the meridian through the south
    /// geographic pole.
    pub longitude_deg: f64,
}

impl Dipole {
    /// The dipole of a set of coefficients.
    ///
    /// # Source
    ///
    /// Laundal and Richmond 2017, doi 10.1007/s11214-016-0275-y.
    pub fn of(c: &Coefficients) -> Self {
        let (g10, g11, h11) = (c.g(1, 0), c.g(1, 1), c.h(1, 1));
        let across = libm::hypot(g11, h11);
        Self {
            b0_nt: libm::hypot(g10, across),
            pole_latitude_deg: libm::atan2(-g10, across).to_degrees(),
            pole_longitude_deg: libm::atan2(-h11, -g11).to_degrees(),
        }
    }

    /// Dipole coordinates of a place given by geocentric latitude and longitude, degrees.
    pub fn place(&self, geocentric_latitude_deg: f64, longitude_deg: f64) -> DipolePlace {
        let (sin_p, cos_p) = libm::sincos(self.pole_latitude_deg.to_radians());
        let (sin_f, cos_f) = libm::sincos(geocentric_latitude_deg.to_radians());
        let (sin_d, cos_d) = libm::sincos((longitude_deg - self.pole_longitude_deg).to_radians());
        let east = cos_f * sin_d;
        let away = sin_p * cos_f * cos_d - cos_p * sin_f;
        let along = sin_f * sin_p + cos_f * cos_p * cos_d;
        let longitude = libm::atan2(east, away).to_degrees();
        DipolePlace {
            latitude_deg: libm::atan2(along, libm::hypot(east, away)).to_degrees(),
            longitude_deg: if longitude < 0.0 { longitude + 360.0 } else { longitude },
        }
    }
}

/// Dipole coordinates of a station: its geodetic latitude is turned geocentric first.
/// (Printed lists of observatories mostly leave that out, which moves latitudes by up to 0.2°.)
///
/// # Errors
///
/// [`ModelError::Date`] outside the model.
pub fn of_station(
    which: Which,
    station: &Station,
    decimal_year: f64,
) -> Result<DipolePlace, ModelError> {
    let coefficients =
        which.coefficients(decimal_year).ok_or(ModelError::Date { which, decimal_year })?;
    let place = Geocentric::of(station.latitude_deg, station.height_m / 1000.0);
    Ok(Dipole::of(&coefficients).place(place.latitude_deg, station.longitude_deg))
}

/// Inclination of a dipole field at a dipole latitude, degrees: tan I = 2 tan λ.
pub fn inclination_deg(dipole_latitude_deg: f64) -> f64 {
    let (sin, cos) = libm::sincos(dipole_latitude_deg.to_radians());
    libm::atan2(2.0 * sin, cos).to_degrees()
}

/// Dipole latitude from an inclination, degrees: tan λ = ½ tan I.
pub fn latitude_deg(inclination_deg: f64) -> f64 {
    let (sin, cos) = libm::sincos(inclination_deg.to_radians());
    libm::atan2(sin, 2.0 * cos).to_degrees()
}

/// Dipole L at a dipole latitude (degrees) and height (km): (1 + h/a) / cos² λ.
/// McIlwain's L of the real field differs.
pub fn l_shell(dipole_latitude_deg: f64, height_km: f64) -> f64 {
    let cos = libm::cos(dipole_latitude_deg.to_radians());
    (1.0 + height_km / super::synthesis::RADIUS_KM) / (cos * cos)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pole_itself_has_dipole_latitude_90() {
        let dipole = Dipole::of(&Which::Igrf14.coefficients(2025.0).unwrap());
        let place = dipole.place(dipole.pole_latitude_deg, dipole.pole_longitude_deg);
        assert!((place.latitude_deg - 90.0).abs() < 1e-6);
        let south = dipole.place(-90.0, 0.0);
        assert!(south.longitude_deg.abs() < 1e-9 || (south.longitude_deg - 360.0).abs() < 1e-9);
    }

    #[test]
    fn inclination_and_dipole_latitude_undo_each_other() {
        for inclination in [-90.0, -66.0, 0.0, 35.0, 72.0] {
            assert!((inclination_deg(latitude_deg(inclination)) - inclination).abs() < 1e-12);
        }
    }
}
