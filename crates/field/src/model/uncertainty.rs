//! How far a model's field may be from the field on the ground.

use super::Which;

/// One standard deviation of each element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sigmas {
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
    /// Inclination, degrees.
    pub inclination_deg: f64,
    /// Declination, degrees.
    pub declination_deg: f64,
}

/// Standard deviations of a model at a horizontal intensity (nT), over the globe, with the
/// crustal and disturbance fields that the model leaves out; a building adds far more.
///
/// The declination of WMM2025 is uncertain by √(0.26² + (5417/H)²) degrees, at most 180.
/// IGRF-14 has no error model of its own: the figures are a guide from comparisons with
/// measurements on the ground, and its declination grows towards the poles as that of WMM2025.
///
/// # Source
///
/// WMM2025: Chulliat et al. 2025, technical report, doi 10.25923/prbc-s316, section 3.4,
/// equation 43, figures as carried by two libraries.  IGRF: Beggan 2022, global standard
/// deviations 1980 to 2020, quoted at second hand.
pub fn sigmas(which: Which, h_nt: f64) -> Sigmas {
    let polar = |flat: f64, steep: f64| libm::hypot(flat, steep / h_nt).min(180.0);
    match which {
        Which::Wmm2025 => Sigmas {
            x_nt: 137.0,
            y_nt: 89.0,
            z_nt: 141.0,
            h_nt: 133.0,
            f_nt: 138.0,
            inclination_deg: 0.20,
            declination_deg: polar(0.26, 5417.0),
        },
        Which::Igrf14 => Sigmas {
            x_nt: 144.0,
            y_nt: 136.0,
            z_nt: 293.0,
            h_nt: 135.0,
            f_nt: 178.0,
            inclination_deg: 0.29,
            declination_deg: polar(0.26, 5417.0).max(0.39),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn at_a_pole_of_the_field_the_declination_is_anything() {
        assert_eq!(sigmas(Which::Wmm2025, 0.0).declination_deg, 180.0);
    }

    #[test]
    fn the_report_s_examples_of_declination_come_out() {
        // Chulliat et al. 2025, technical report: 41,875 nT 0.29 deg, 2000 nT 2.72 deg.
        assert!((sigmas(Which::Wmm2025, 41_875.0).declination_deg - 0.29).abs() < 0.005);
        assert!((sigmas(Which::Wmm2025, 2000.0).declination_deg - 2.72).abs() < 0.005);
    }
}
