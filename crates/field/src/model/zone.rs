//! Where a compass can be trusted, and bearings near the poles.

/// Whether a compass can be trusted, by horizontal intensity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zone {
    /// H of 6000 nT or more: no warning.
    Clear,
    /// H from 2000 to 6000 nT: a compass may be degraded.
    Caution,
    /// H below 2000 nT: declination inaccurate, a compass unreliable; show no heading.
    Blackout,
}

impl Zone {
    /// Stable name for files: `none`, `caution`, `blackout`.
    pub fn id(self) -> &'static str {
        match self {
            Self::Clear => "none",
            Self::Caution => "caution",
            Self::Blackout => "blackout",
        }
    }
}

/// The zone of a horizontal intensity, nT; NaN is in the blackout zone.
///
/// # Source
///
/// MIL-PRF-89500B and the WMM2025 technical report, doi 10.25923/prbc-s316.
pub fn zone(h_nt: f64) -> Zone {
    if h_nt >= 6000.0 {
        Zone::Clear
    } else if h_nt >= 2000.0 {
        Zone::Caution
    } else {
        Zone::Blackout
    }
}

/// Grid variation, degrees in (−180, 180]: declination minus longitude north of 55° and plus
/// longitude south of −55°; `None` between, where it is not defined.
///
/// # Source
///
/// WMM2025 technical report, doi 10.25923/prbc-s316.
pub fn grid_variation_deg(
    declination_deg: f64,
    latitude_deg: f64,
    longitude_deg: f64,
) -> Option<f64> {
    let raw = if latitude_deg >= 55.0 {
        declination_deg - longitude_deg
    } else if latitude_deg <= -55.0 {
        declination_deg + longitude_deg
    } else {
        return None;
    };
    Some(crate::circular::signed_deg(raw))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_field_without_a_value_is_in_the_blackout_zone() {
        assert_eq!(zone(f64::NAN), Zone::Blackout);
        assert_eq!(zone(18_000.0), Zone::Clear);
    }

    #[test]
    fn grid_variation_is_not_defined_at_mid_latitudes() {
        assert_eq!(grid_variation_deg(1.0, 50.0, 3.0), None);
        assert_eq!(grid_variation_deg(-170.0, 80.0, 20.0), Some(170.0));
    }
}
