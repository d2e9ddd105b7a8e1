//! Heading of a sensor that is not level, and what each fault does to a heading.
//!
//! Needs gravity beside the field, at rest: a moving sensor's accelerometer does not show the
//! vertical.  Sensor frame x forward, y right, z down; gravity pointing down, so that a level
//! sensor has (0, 0, +1).  Many accelerometers print +1 on the axis that points up: flip their
//! sign first.

use crate::circular::positive_deg;
use crate::elements::DEGREES;
use record::vector::{self, Vec3};

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
    let east = vector::cross(gravity_down, field);
    let size = vector::norm(gravity_down) * vector::norm(field);
    let steep = vector::norm(east) / size;
    if steep.is_nan() || steep < NEAR_VERTICAL {
        return f64::NAN;
    }
    let north = vector::cross(east, gravity_down);
    // East carries one factor |g| fewer than north.
    let (e, n) = (east[0] * vector::norm(gravity_down), north[0]);
    if libm::hypot(e, n) < 1e-9 * vector::norm(north) {
        return f64::NAN;
    }
    positive_deg(libm::atan2(e, n) * DEGREES)
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
