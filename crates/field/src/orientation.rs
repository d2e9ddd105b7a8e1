//! Orientation: from the sensor's axes to the local frame (X north, Y east, Z down).
//!
//! Matrices only; applying one to a record is the caller's part.  Every matrix here is a rotation
//! or, for axes given by hand, a signed permutation that may be left-handed and then says so.

use crate::elements::DEGREES;
use record::vector::{self, Mat3, Vec3};
use record::{Fault, say, words::word};
use std::fmt;

/// Why axes cannot be read from a text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AxesError {
    /// The text given.
    pub given: String,
}

impl fmt::Display for AxesError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fault = Fault::from(self.clone());
        write!(f, "{} {}", fault.message, fault.remedy)
    }
}

impl std::error::Error for AxesError {}

impl From<AxesError> for Fault {
    fn from(error: AxesError) -> Self {
        Self::new(
            "orient/axes",
            say!("The axes “{}” do not name x, y and z once each.", error.given),
            word(
                "Write which sensor axis points forward, right and down, each with its sign, such \
             as +x+y+z or -y+x+z.",
            ),
        )
    }
}

/// The matrix that takes a sensor's vector to forward, right, down.
///
/// The text names the sensor axis that points forward, then right, then down, each with an
/// optional sign: `+x+y+z` leaves everything, `+x-y-z` serves a board that lies on its back,
/// `y x -z` swaps.  Spaces and commas are passed over; letters may be capital.
///
/// # Errors
///
/// [`AxesError`] when the text does not name x, y and z once each.
///
/// ```
/// let m = field::orientation::axes("+x-y-z").unwrap();
/// assert_eq!(record::vector::apply(&m, [1.0, 2.0, 3.0]), [1.0, -2.0, -3.0]);
/// ```
pub fn axes(text: &str) -> Result<Mat3, AxesError> {
    let error = || AxesError { given: text.chars().take(40).collect() };
    let mut rows: Vec<Vec3> = Vec::with_capacity(3);
    let mut sign: Option<f64> = None;
    for c in text.chars() {
        match c {
            '+' if sign.is_none() => sign = Some(1.0),
            '-' | '\u{2212}' if sign.is_none() => sign = Some(-1.0),
            ' ' | ',' => {}
            'x' | 'y' | 'z' | 'X' | 'Y' | 'Z' if rows.len() < 3 => {
                let axis = (c.to_ascii_lowercase() as usize) - ('x' as usize);
                let mut row = [0.0; 3];
                row[axis] = sign.take().unwrap_or(1.0);
                rows.push(row);
            }
            _ => return Err(error()),
        }
    }
    let m: Mat3 = rows.try_into().map_err(|_| error())?;
    if sign.is_some() || vector::determinant(&m) == 0.0 { Err(error()) } else { Ok(m) }
}

/// The text of a signed permutation, such as `+x-y-z`; `None` when the matrix is not one.
pub fn axes_text(m: &Mat3) -> Option<String> {
    let mut text = String::new();
    for row in m {
        let axis = row.iter().position(|v| v.abs() == 1.0)?;
        if row.iter().filter(|v| **v != 0.0).count() != 1 {
            return None;
        }
        text.push(if row[axis] > 0.0 { '+' } else { '-' });
        text.push(['x', 'y', 'z'][axis]);
    }
    (vector::determinant(m) != 0.0).then_some(text)
}

/// All 48 signed permutations of the axes, the identity first; 24 of them are rotations.
pub fn signed_permutations() -> Vec<Mat3> {
    const ORDERS: [[usize; 3]; 6] =
        [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]];
    let mut all = Vec::with_capacity(48);
    for order in ORDERS {
        for signs in 0..8u8 {
            let mut m = [[0.0; 3]; 3];
            for (k, (row, axis)) in m.iter_mut().zip(order).enumerate() {
                row[axis] = if signs >> k & 1 == 0 { 1.0 } else { -1.0 };
            }
            all.push(m);
        }
    }
    all
}

/// Whether a set of axes is left-handed.  Such a "sensor" still gives a perfect sphere when it is
/// turned, and headings that run backwards.
pub fn is_left_handed(m: &Mat3) -> bool {
    vector::determinant(m) < 0.0
}

/// From forward, right, down to north, east, down, for a level sensor whose forward axis points
/// at a true azimuth (degrees, clockwise from true north).
///
/// ```
/// let m = field::orientation::about_down(90.0);
/// let north_east_down = record::vector::apply(&m, [0.0, -18_000.0, 40_000.0]);
/// assert!((north_east_down[0] - 18_000.0).abs() < 1e-9);
/// ```
pub fn about_down(azimuth_deg: f64) -> Mat3 {
    let (sin, cos) = libm::sincos(azimuth_deg.to_radians());
    [[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]]
}

/// From the axes of a tilted sensor to level forward, right, down: undoes a roll (right side
/// down positive) and a pitch (nose up positive), degrees.
///
/// # Source
///
/// The yaw, pitch, roll order used for aircraft and vehicles (ISO 8855, from memory); as in the
/// tilt compensation of NXP application note AN4248.
pub fn tilt(roll_deg: f64, pitch_deg: f64) -> Mat3 {
    let (sr, cr) = libm::sincos(roll_deg.to_radians());
    let (sp, cp) = libm::sincos(pitch_deg.to_radians());
    [[cp, sp * sr, sp * cr], [0.0, cr, -sr], [-sp, cp * sr, cp * cr]]
}

/// Roll and pitch, degrees, from gravity in the sensor's axes (pointing down: 0, 0, +1 when
/// level; any unit).  Both NaN when gravity is nought or not a number.
///
/// # Source
///
/// NXP application note AN4248: roll = atan2(gy, gz), pitch = atan2(−gx, gy sin φ + gz cos φ).
pub fn roll_pitch_deg(gravity_down: Vec3) -> (f64, f64) {
    let [x, y, z] = gravity_down;
    let length = vector::norm(gravity_down);
    if length == 0.0 || !length.is_finite() {
        return (f64::NAN, f64::NAN);
    }
    let roll = libm::atan2(y, z);
    let (sin, cos) = libm::sincos(roll);
    let pitch = libm::atan2(-x, y * sin + z * cos);
    (roll * DEGREES, pitch * DEGREES)
}

/// The levelling matrix from gravity in the sensor's axes (pointing down); `None` without one.
pub fn level(gravity_down: Vec3) -> Option<Mat3> {
    let (roll, pitch) = roll_pitch_deg(gravity_down);
    (roll.is_finite() && pitch.is_finite()).then(|| tilt(roll, pitch))
}

/// The angle of a rotation, degrees, 0 to 180.
pub fn angle_deg(m: &Mat3) -> f64 {
    // The sine is accurate for small angles, the cosine for large ones.
    let v = [m[2][1] - m[1][2], m[0][2] - m[2][0], m[1][0] - m[0][1]];
    let trace = m[0][0] + m[1][1] + m[2][2];
    libm::atan2(vector::norm(v), trace - 1.0) * DEGREES
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::vector::{IDENTITY, apply, multiply, transpose};

    #[test]
    fn every_signed_permutation_is_written_and_read_back() {
        let all = signed_permutations();
        assert_eq!(all.len(), 48);
        assert_eq!(all[0], IDENTITY);
        assert_eq!(all.iter().filter(|m| is_left_handed(m)).count(), 24);
        for (k, m) in all.iter().enumerate() {
            let text = axes_text(m).unwrap();
            assert_eq!(axes(&text).unwrap(), *m, "{text}");
            assert!(!all[..k].contains(m));
        }
    }

    #[test]
    fn axes_that_name_x_twice_are_refused() {
        for text in ["+x+x+z", "", "xy", "xyzx", "+x+y+z+", "north", "++x+y+z"] {
            let fault = Fault::from(axes(text).unwrap_err());
            assert_eq!(fault.code, "orient/axes");
        }
        assert_eq!(axes("X, y \u{2212}Z").unwrap()[2], [0.0, 0.0, -1.0]);
    }

    #[test]
    fn turning_by_an_azimuth_and_back_is_nothing() {
        let there_and_back = multiply(&about_down(37.0), &about_down(-37.0));
        assert!(angle_deg(&there_and_back) < 1e-12);
        assert!((angle_deg(&about_down(37.0)) - 37.0).abs() < 1e-12);
    }

    #[test]
    fn a_level_sensor_facing_east_reads_north_on_its_left() {
        // North is on the left of someone who faces east: minus right.
        let found = apply(&about_down(90.0), [0.0, -1.0, 0.0]);
        assert!((found[0] - 1.0).abs() < 1e-15 && found[1].abs() < 1e-15);
    }

    #[test]
    fn levelling_from_gravity_brings_gravity_down() {
        let m = tilt(20.0, -35.0);
        let gravity = apply(&transpose(&m), [0.0, 0.0, 1.0]);
        let (roll, pitch) = roll_pitch_deg(gravity);
        assert!((roll - 20.0).abs() < 1e-12 && (pitch + 35.0).abs() < 1e-12);
        let down = apply(&level(gravity).unwrap(), gravity);
        assert!((down[2] - 1.0).abs() < 1e-14);
        assert!(level([0.0; 3]).is_none());
    }
}
