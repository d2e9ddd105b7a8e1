//! Where and how the sensor stood.

use crate::say;
use std::fmt;

/// A place on the Earth, with a name.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    /// Name, for captions; may be empty.
    pub name: String,
    /// Geodetic latitude in degrees, north positive.
    pub latitude_deg: f64,
    /// Longitude in degrees, east positive, −180 to 180.
    pub longitude_deg: f64,
    /// Height above the ellipsoid in metres.
    pub height_m: f64,
}

/// Why a place cannot be one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StationError {
    /// Latitude outside −90 to 90, or not a number.
    Latitude(f64),
    /// Longitude outside −180 to 360, or not a number.
    Longitude(f64),
    /// Height below −1 km or above 600 km, or not a number.
    Height(f64),
}

impl fmt::Display for StationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Latitude(v) => {
                f.write_str(&say!("A latitude lies between −90 and 90 degrees, not {v}."))
            }
            Self::Longitude(v) => {
                f.write_str(&say!("A longitude lies between −180 and 360 degrees, not {v}."))
            }
            Self::Height(v) => {
                f.write_str(&say!("A height lies between −1,000 and 600,000 metres, not {v}."))
            }
        }
    }
}

impl std::error::Error for StationError {}

impl Station {
    /// A station; longitudes from 180 to 360 are brought to −180 to 180.
    ///
    /// # Errors
    ///
    /// [`StationError`] names the number that cannot be.
    pub fn new(
        name: impl Into<String>,
        latitude_deg: f64,
        longitude_deg: f64,
        height_m: f64,
    ) -> Result<Self, StationError> {
        if !(-90.0..=90.0).contains(&latitude_deg) {
            return Err(StationError::Latitude(latitude_deg));
        }
        if !(-180.0..=360.0).contains(&longitude_deg) {
            return Err(StationError::Longitude(longitude_deg));
        }
        if !(-1_000.0..=600_000.0).contains(&height_m) {
            return Err(StationError::Height(height_m));
        }
        let longitude_deg =
            if longitude_deg > 180.0 { longitude_deg - 360.0 } else { longitude_deg };
        Ok(Self { name: name.into(), latitude_deg, longitude_deg, height_m })
    }

    /// Local mean solar time minus UTC, in hours: four minutes a degree.
    pub fn local_mean_offset_h(&self) -> f64 {
        self.longitude_deg / 15.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_longitude_of_245_is_115_west() {
        let station = Station::new("", 62.5, 245.0, 0.0).unwrap();
        assert_eq!(station.longitude_deg, -115.0);
        assert!(Station::new("", f64::NAN, 0.0, 0.0).is_err());
    }
}
