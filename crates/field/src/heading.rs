//! Heading of a sensor that is not level, and what each fault does to a heading.
//!
//! Needs gravity beside the field, at rest: a moving sensor's accelerometer does not show the
//! vertical.  Sensor frame x forward, y right, z down; gravity pointing down, so that a level
//! sensor has (0, 0, +1).  Many accelerometers print +1 on the axis that points up: flip their
//! sign first.

use crate::circular::positive_deg;
use crate::elements::DEGREES;
use record::vector::Vec3;
use signal::angle;

/// Below this share of |g||B| the field is too near the vertical to point anywhere.
const NEAR_VERTICAL: f64 = 0.05;

/// Magnetic heading of the forward axis of a tilted sensor at rest, degrees, 0 ≤ heading < 360.
/// NaN where the field is within 3° of the vertical, where the forward axis itself is vertical,
/// and for NaN.  Any unit for either vector.
///
/// # Source
///
/// NXP application note AN4248, in its vector form: east is g × B, north is east × g.
///
/// ```
/// let heading = field::heading::tilted_deg([0.0, 0.0, 1.0], [0.0, -18.0, 40.0]);
/// assert_eq!(heading, 90.0);
/// ```
pub fn tilted_deg(gravity_down: Vec3, field: Vec3) -> f64 {
    let (east, north) = across(gravity_down, field);
    let mut out = [0.0];
    angle::atan2_deg(&[east], &[north], &mut out);
    positive_deg(out[0])
}

/// The same of every sample of two vectors in columns of one length.
pub fn all_tilted_deg(gravity_down: [&[f64]; 3], field: [&[f64]; 3]) -> Vec<f64> {
    let n = gravity_down.iter().chain(&field).map(|column| column.len()).min().unwrap_or(0);
    let mut out = vec![0.0; n];
    let [mut east, mut north] = [[0.0; BLOCK]; 2];
    for (block, out) in out.chunks_mut(BLOCK).enumerate() {
        let part = block * BLOCK..block * BLOCK + out.len();
        let [gx, gy, gz] = gravity_down.map(|column| &column[part.clone()]);
        let [bx, by, bz] = field.map(|column| &column[part.clone()]);
        for k in 0..part.len() {
            (east[k], north[k]) = across([gx[k], gy[k], gz[k]], [bx[k], by[k], bz[k]]);
        }
        angle::atan2_deg(&east[..part.len()], &north[..part.len()], out);
        for angle in out {
            // From 0 to 360; a tiny negative angle would round up to a full turn.
            let turned = if *angle < 0.0 { *angle + 360.0 } else { *angle };
            *angle = if turned >= 360.0 { 0.0 } else { turned };
        }
    }
    out
}

/// Samples worked on at once, so that they stay near.
const BLOCK: usize = 512;

/// How far the forward axis points east and north, in one unit; NaN where it cannot be told.
#[inline(always)]
fn across([gx, gy, gz]: Vec3, [bx, by, bz]: Vec3) -> (f64, f64) {
    let [ex, ey, ez] = [gy * bz - gz * by, gz * bx - gx * bz, gx * by - gy * bx];
    let [nx, ny, nz] = [ey * gz - ez * gy, ez * gx - ex * gz, ex * gy - ey * gx];
    let squared = gx * gx + gy * gy + gz * gz;
    let sizes = squared * (bx * bx + by * by + bz * bz);
    let apart = ex * ex + ey * ey + ez * ez >= NEAR_VERTICAL * NEAR_VERTICAL * sizes;
    // East carries one factor |g| fewer than north.
    let e = ex * squared.sqrt();
    let level = e * e + nx * nx >= 1e-18 * (nx * nx + ny * ny + nz * nz);
    let known = if apart & level & (sizes > 0.0) { 1.0 } else { f64::NAN };
    (e * known, nx)
}

/// Largest heading error of an offset across a horizontal intensity, degrees: asin(b/H);
/// 180 when the offset is the larger.
pub fn offset_error_deg(offset_nt: f64, horizontal_nt: f64) -> f64 {
    let ratio = offset_nt.abs() / horizontal_nt;
    if ratio >= 1.0 { 180.0 } else { libm::asin(ratio) * DEGREES }
}

/// Largest heading error of two horizontal axes whose gains differ by a share, degrees:
/// asin(e/(2 + e)).
pub fn gain_error_deg(mismatch: f64) -> f64 {
    libm::asin((mismatch / (2.0 + mismatch)).clamp(-1.0, 1.0)) * DEGREES
}

/// Largest heading error of an uncorrected tilt, degrees: tilt times tan I, for small tilts.
pub fn tilt_error_deg(tilt_deg: f64, inclination_deg: f64) -> f64 {
    tilt_deg * libm::tan(inclination_deg.to_radians())
}

/// Heading change of an eastward change of the field, degrees: ΔY/H, for small changes.
pub fn across_error_deg(across_nt: f64, horizontal_nt: f64) -> f64 {
    across_nt / horizontal_nt * DEGREES
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::orientation::{about_down, tilt};
    use proptest::prelude::*;
    use record::vector::{apply, transpose};

    #[test]
    fn a_field_along_gravity_points_nowhere() {
        assert!(tilted_deg([0.0, 0.0, 1.0], [0.0, 0.0, 40.0]).is_nan());
        assert!(tilted_deg([0.0; 3], [18.0, 0.0, 40.0]).is_nan());
        assert!(tilted_deg([-1.0, 0.0, 0.0], [18.0, 0.0, 40.0]).is_nan());
    }

    #[test]
    fn an_offset_larger_than_the_field_turns_the_compass_round() {
        assert_eq!(offset_error_deg(20_000.0, 18_000.0), 180.0);
        // Closed form: gains apart by 5 % turn a heading by at most 1.40 degrees.
        assert!((gain_error_deg(0.05) - 1.3976).abs() < 1e-3);
    }

    proptest! {
        #[test]
        fn tilting_a_sensor_does_not_change_its_heading(
            azimuth in 0.0..360.0, roll in -85.0..85.0, pitch in -85.0..85.0, dip in -80.0..80.0,
        ) {
            let (sin, cos) = libm::sincos(f64::to_radians(dip));
            let level = apply(&transpose(&about_down(azimuth)), [cos, 0.0, sin]);
            let back = transpose(&tilt(roll, pitch));
            let found = tilted_deg(apply(&back, [0.0, 0.0, 9.8]), apply(&back, level));
            prop_assert!(crate::circular::difference_deg(found, azimuth).abs() < 1e-9);
        }
    }
}
