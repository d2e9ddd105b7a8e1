//! Elements of a field vector: the angles and intensities that students plot.
//!
//! Input is a calibrated vector in the local frame (X north, Y east, Z down) or, for the heading,
//! in a level sensor's frame (x forward, y right, z down).  NaN in, NaN out; nothing is smoothed
//! or filled.

use crate::circular::positive_deg;
use signal::angle;

/// Degrees in a radian.
pub(crate) const DEGREES: f64 = 180.0 / std::f64::consts::PI;

/// Below this share of the total field the horizontal field has no direction worth the name.
pub const TINY_HORIZONTAL: f64 = 1e-6;

/// One element a sample.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Elements {
    /// Horizontal intensity, nT.
    pub h: Vec<f64>,
    /// Total intensity, nT.
    pub f: Vec<f64>,
    /// Declination, degrees, east positive, −180 to 180; NaN where H is tiny.
    pub d: Vec<f64>,
    /// Inclination, degrees, down positive.
    pub i: Vec<f64>,
}

/// Magnetic headings of the forward axis, degrees, 0 to 360, from directions of the level field as
/// [`Elements::d`] gives them when X is forward and Y right; NaN stays.
pub fn headings_deg(directions_deg: &[f64]) -> Vec<f64> {
    directions_deg.iter().map(|d| positive_deg(-d)).collect()
}

/// Samples worked on at once, so that they stay near.
const BLOCK: usize = 1 << 12;

/// Elements of three components of equal length; what stands beyond the shortest is left out.
///
/// # Accuracy
///
/// That of [`signal::angle`]: a few units in the last place.
///
/// # Source
///
/// INTERMAGNET technical reference manual 5.2: H = √(X² + Y²), F = √(H² + Z²),
/// D = atan2(Y, X), I = atan2(Z, H).
pub fn of(x: &[f64], y: &[f64], z: &[f64]) -> Elements {
    let n = x.len().min(y.len()).min(z.len());
    let [mut h, mut f, mut d, mut i] = [(); 4].map(|()| vec![0.0; n]);
    for start in (0..n).step_by(BLOCK) {
        let block = start..(start + BLOCK).min(n);
        let [x, y, z] = [x, y, z].map(|column| &column[block.clone()]);
        let (h, f) = (&mut h[block.clone()], &mut f[block.clone()]);
        let (d, i) = (&mut d[block.clone()], &mut i[block]);
        angle::hypot(x, y, h);
        angle::hypot(h, z, f);
        angle::atan2_deg(y, x, d);
        angle::atan2_deg(z, h, i);
        for (d, (h, f)) in d.iter_mut().zip(h.iter().zip(f.iter())) {
            if *h <= TINY_HORIZONTAL * *f {
                *d = f64::NAN;
            }
        }
    }
    Elements { h, f, d, i }
}

/// Declination from the north and east components, degrees, east positive.
pub fn declination_deg(x_nt: f64, y_nt: f64) -> f64 {
    libm::atan2(y_nt, x_nt) * DEGREES
}

/// Inclination from the horizontal and downward intensity, degrees, down positive.
pub fn inclination_deg(h_nt: f64, z_nt: f64) -> f64 {
    libm::atan2(z_nt, h_nt) * DEGREES
}

/// Magnetic heading of a level sensor's forward axis, degrees, 0 ≤ heading < 360: atan2(−y, x)
/// for x forward, y right, z down.  NaN in, NaN out.
///
/// ```
/// assert_eq!(field::elements::magnetic_heading_deg(0.0, -18_000.0), 90.0);
/// ```
pub fn magnetic_heading_deg(forward_nt: f64, right_nt: f64) -> f64 {
    positive_deg(libm::atan2(-right_nt, forward_nt) * DEGREES)
}

/// True heading: magnetic heading plus declination (east positive), 0 ≤ heading < 360.
pub fn true_heading_deg(magnetic_heading_deg: f64, declination_deg: f64) -> f64 {
    positive_deg(magnetic_heading_deg + declination_deg)
}

/// Components from declination and inclination (degrees) and total intensity (nT).
pub fn components(declination_deg: f64, inclination_deg: f64, total_nt: f64) -> [f64; 3] {
    let (sin_d, cos_d) = libm::sincos(declination_deg.to_radians());
    let (sin_i, cos_i) = libm::sincos(inclination_deg.to_radians());
    let h = total_nt * cos_i;
    [h * cos_d, h * sin_d, total_nt * sin_i]
}

/// Horizontal intensity of a variometer that reports H and E about a baseline:
/// √((N₀ + ΔN)² + ΔE²), nT.
///
/// # Source
///
/// INTERMAGNET technical reference manual 5.2, definitive data calculation.
pub fn variometer_horizontal_nt(base_nt: f64, north_nt: f64, east_nt: f64) -> f64 {
    libm::hypot(base_nt + north_nt, east_nt)
}

/// Declination of the same variometer: D₀ + atan(ΔE / (N₀ + ΔN)), degrees.
///
/// # Source
///
/// INTERMAGNET technical reference manual 5.2, definitive data calculation.
pub fn variometer_declination_deg(base_deg: f64, base_nt: f64, north_nt: f64, east_nt: f64) -> f64 {
    base_deg + libm::atan2(east_nt, base_nt + north_nt) * DEGREES
}

/// Radians in a minute of arc as the IAGA-2002 description rounds them.
pub const ARC_MINUTE: f64 = 2.908_9e-4;

/// Eastward field of a small declination (minutes of arc) across a mean H, nT: D H arc(1′).
///
/// # Source
///
/// IAGA-2002 exchange format description.
pub fn east_nt(declination_arcmin: f64, mean_h_nt: f64) -> f64 {
    declination_arcmin * mean_h_nt * ARC_MINUTE
}

/// X and Y from H and E about a mean declination (minutes of arc): X = H cos D − E sin D,
/// Y = H sin D + E cos D.
///
/// # Source
///
/// IAGA-2002 exchange format description.
pub fn north_east_nt(h_nt: f64, e_nt: f64, mean_declination_arcmin: f64) -> [f64; 2] {
    let (sin, cos) = libm::sincos((mean_declination_arcmin / 60.0).to_radians());
    [h_nt * cos - e_nt * sin, h_nt * sin + e_nt * cos]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_field_pointing_south_has_declination_180_and_not_0() {
        let found = of(&[-100.0], &[0.0], &[50.0]);
        assert_eq!(found.d[0], 180.0);
        assert_eq!(headings_deg(&found.d)[0], 180.0);
    }

    #[test]
    fn a_missing_component_leaves_only_what_does_not_need_it() {
        let found = of(&[f64::NAN, 3.0], &[1.0, 4.0], &[1.0, f64::NAN]);
        assert!(found.h[0].is_nan() && found.f[0].is_nan() && found.d[0].is_nan());
        assert_eq!(found.h[1], 5.0);
        assert!(found.f[1].is_nan() && found.i[1].is_nan());
        assert!(found.d[1].is_finite());
    }

    #[test]
    fn straight_down_there_is_no_declination() {
        let found = of(&[1e-4], &[0.0], &[50_000.0]);
        assert!(found.d[0].is_nan() && headings_deg(&found.d)[0].is_nan());
        assert!((found.i[0] - 90.0).abs() < 1e-6);
    }

    #[test]
    fn components_come_back_from_their_elements() {
        let [x, y, z] = components(-12.0, 66.0, 50_000.0);
        let found = of(&[x], &[y], &[z]);
        assert!((found.d[0] + 12.0).abs() < 1e-12);
        assert!((found.i[0] - 66.0).abs() < 1e-12);
        assert!((found.f[0] - 50_000.0).abs() < 1e-9);
    }
}
