//! From geodetic coordinates on WGS84 to geocentric ones, and back for vectors.

use record::vector::Vec3;

/// Semi-major axis of WGS84, km.
pub const SEMI_MAJOR_KM: f64 = 6378.137;
/// Flattening of WGS84.
pub const FLATTENING: f64 = 1.0 / 298.257_223_563;
const ECCENTRICITY_2: f64 = FLATTENING * (2.0 - FLATTENING);

/// A place seen from the Earth's centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Geocentric {
    /// Geocentric latitude, degrees.
    pub latitude_deg: f64,
    /// Distance from the centre, km.
    pub radius_km: f64,
    /// Sine of the geocentric latitude.
    pub sin_latitude: f64,
    /// Cosine of the geocentric latitude.
    pub cos_latitude: f64,
    sin_turn: f64,
    cos_turn: f64,
}

impl Geocentric {
    /// The place at a geodetic latitude (degrees) and a height above the ellipsoid (km).
    ///
    /// # Source
    ///
    /// Chulliat et al. 2025, WMM2025 technical report, doi 10.25923/prbc-s316.
    pub fn of(latitude_deg: f64, height_km: f64) -> Self {
        let (sin, cos) = libm::sincos(latitude_deg.to_radians());
        let across = SEMI_MAJOR_KM / (1.0 - ECCENTRICITY_2 * sin * sin).sqrt();
        let p = (across + height_km) * cos;
        let z = (across * (1.0 - ECCENTRICITY_2) + height_km) * sin;
        let radius_km = libm::hypot(p, z);
        let (sin_latitude, cos_latitude) = (z / radius_km, p / radius_km);
        Self {
            latitude_deg: libm::atan2(z, p).to_degrees(),
            radius_km,
            sin_latitude,
            cos_latitude,
            sin_turn: sin_latitude * cos - cos_latitude * sin,
            cos_turn: cos_latitude * cos + sin_latitude * sin,
        }
    }

    /// A vector in the geocentric frame (north, east, towards the centre), turned into the
    /// geodetic one (north, east, down).
    pub fn to_geodetic(&self, v: Vec3) -> Vec3 {
        [
            v[0] * self.cos_turn - v[2] * self.sin_turn,
            v[1],
            v[0] * self.sin_turn + v[2] * self.cos_turn,
        ]
    }
}

/// Geodetic latitude (degrees) of the point on the ellipsoid at a geocentric latitude (degrees).
pub fn surface_latitude_deg(geocentric_deg: f64) -> f64 {
    let (sin, cos) = libm::sincos(geocentric_deg.to_radians());
    libm::atan2(sin, (1.0 - ECCENTRICITY_2) * cos).to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_latitude_comes_back_from_its_geocentric_one() {
        for latitude in [-90.0, -45.0, 0.0, 12.5, 57.4, 90.0] {
            let there = Geocentric::of(latitude, 0.0).latitude_deg;
            assert!((surface_latitude_deg(there) - latitude).abs() < 1e-12, "{latitude}");
        }
    }

    #[test]
    fn turning_to_the_geodetic_frame_keeps_the_length() {
        let v = Geocentric::of(57.4, 0.024).to_geodetic([16_600.0, 10.0, 47_700.0]);
        assert!(
            (record::vector::norm(v) - record::vector::norm([16_600.0, 10.0, 47_700.0])).abs()
                < 1e-9
        );
    }
}
