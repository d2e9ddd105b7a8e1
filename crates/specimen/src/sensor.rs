//! The sensor: from the field in the garden to the number it prints.
//!
//! A field vector (X north, Y east, Z down, nT) and a temperature go in, whole
//! counts come out.  Faults of the logger are made elsewhere.

use crate::prng::Prng;
use crate::scenario::{Sensor, Stand};
use crate::weather::{self, Red};
use record::vector::{Mat3, Vec3, apply, multiply};

/// Turns a vector from north, east, down to the arrows on the box: forward
/// (x), right (y), down (z); yaw first, then pitch, then roll.
pub fn rotation(stand: &Stand) -> Mat3 {
    let (sy, cy) = libm::sincos(stand.azimuth_deg.to_radians());
    let (sp, cp) = libm::sincos(stand.pitch_deg.to_radians());
    let (sr, cr) = libm::sincos(stand.roll_deg.to_radians());
    let yaw = [[cy, sy, 0.0], [-sy, cy, 0.0], [0.0, 0.0, 1.0]];
    let pitch = [[cp, 0.0, -sp], [0.0, 1.0, 0.0], [sp, 0.0, cp]];
    let roll = [[1.0, 0.0, 0.0], [0.0, cr, sr], [0.0, -sr, cr]];
    multiply(&roll, &multiply(&pitch, &yaw))
}

/// What turns the field along the box's arrows into a reading without offset:
/// the symmetric stretch after the small twist.
pub fn response(sensor: &Sensor) -> Mat3 {
    multiply(&sensor.stretch, &twist(sensor.twist_deg))
}

/// Rotation by a small vector of angles, degrees (O. Rodrigues, 1840).
pub fn twist(vector_deg: Vec3) -> Mat3 {
    let v = vector_deg.map(f64::to_radians);
    let angle = record::vector::norm(v);
    if angle == 0.0 {
        return record::vector::IDENTITY;
    }
    let [x, y, z] = v.map(|part| part / angle);
    let (s, c) = libm::sincos(angle);
    let d = 1.0 - c;
    [
        [c + x * x * d, x * y * d - z * s, x * z * d + y * s],
        [y * x * d + z * s, c + y * y * d, y * z * d - x * s],
        [z * x * d - y * s, z * y * d + x * s, c + z * z * d],
    ]
}

/// Offset at a temperature of the sensor's core, nT.
pub fn offset_at(sensor: &Sensor, core_degc: f64) -> Vec3 {
    let warmer = core_degc - sensor.reference_degc;
    let each = |k: usize| sensor.offset_nt[k] + sensor.temperature_nt_per_degc[k] * warmer;
    [each(0), each(1), each(2)]
}

/// The nanotesla that the sensor prints for a reading: whole counts, then
/// rounded to three decimals of a microtesla.
pub fn printed_nt(sensor: &Sensor, reading_nt: f64) -> i64 {
    let counts = (reading_nt * sensor.counts_per_ut / 1_000.0).round();
    (counts * 1_000.0 / sensor.counts_per_ut).round() as i64
}

/// A sensor at work: its response and its noises.
pub struct Reader<'a> {
    sensor: &'a Sensor,
    response: Mat3,
    white: Prng,
    slow: [Vec<f64>; 3],
}

impl<'a> Reader<'a> {
    /// A sensor whose noise comes from these streams of a seed; slow noise is
    /// made for the first `days` days, and is nought for `days` 0.
    pub fn new(sensor: &'a Sensor, seed: u64, stream: &str, days: u32) -> Self {
        let count = days as usize * 288 + 4;
        let slow = ["x", "y", "z"].map(|axis| {
            if days == 0 {
                return vec![0.0; 2];
            }
            let mut parts = [600.0, 7_200.0, 86_400.0].map(|constant_s| {
                let name = format!("{stream}, slow noise {axis}, {constant_s} s");
                Red::new(Prng::new(seed, &name), constant_s, sensor.slow_noise_nt)
            });
            (0..count).map(|_| parts.iter_mut().map(Red::step).sum()).collect()
        });
        Self { sensor, response: response(sensor), white: Prng::new(seed, stream), slow }
    }

    /// One reading of a field along the box's arrows, nT.
    pub fn read(&mut self, t_s: f64, field_nt: Vec3, core_degc: f64) -> Vec3 {
        let mut out = apply(&self.response, field_nt);
        let offset = offset_at(self.sensor, core_degc);
        for (k, value) in out.iter_mut().enumerate() {
            let noise = self.sensor.noise_nt * self.white.normal();
            *value += offset[k] + noise + weather::at(&self.slow[k], t_s);
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::default_scenario;
    use record::vector::{determinant, norm, transpose};

    #[test]
    fn a_level_sensor_reads_cosine_forward_and_minus_sine_to_the_right() {
        let level = Stand { azimuth_deg: 30.0, roll_deg: 0.0, pitch_deg: 0.0 };
        let read = apply(&rotation(&level), [1.0, 0.0, 0.0]);
        assert!((read[0] - 30f64.to_radians().cos()).abs() < 1e-15);
        assert!((read[1] + 30f64.to_radians().sin()).abs() < 1e-15);
    }

    #[test]
    fn an_arrow_that_points_up_reads_less_of_what_points_down() {
        let up = Stand { azimuth_deg: 0.0, roll_deg: 0.0, pitch_deg: 90.0 };
        assert!((apply(&rotation(&up), [0.0, 0.0, 1.0])[0] + 1.0).abs() < 1e-15);
        let right_down = Stand { azimuth_deg: 0.0, roll_deg: 90.0, pitch_deg: 0.0 };
        assert!((apply(&rotation(&right_down), [0.0, 0.0, 1.0])[1] - 1.0).abs() < 1e-15);
    }

    #[test]
    fn a_twist_keeps_lengths_and_turns_by_its_angle() {
        let m = twist([0.3, -0.4, 1.2]);
        assert!((determinant(&m) - 1.0).abs() < 1e-15);
        let product = multiply(&m, &transpose(&m));
        assert!((product[0][0] - 1.0).abs() < 1e-15 && product[0][1].abs() < 1e-15);
        let trace = m[0][0] + m[1][1] + m[2][2];
        let angle = ((trace - 1.0) / 2.0).acos().to_degrees();
        assert!((angle - norm([0.3, -0.4, 1.2])).abs() < 1e-6);
    }

    #[test]
    fn what_is_printed_lies_on_the_sensor_s_steps() {
        let sensor = default_scenario().sensor;
        assert_eq!(printed_nt(&sensor, 6.0), 0);
        assert_eq!(printed_nt(&sensor, 7.0), 13);
        assert_eq!(printed_nt(&sensor, -20_005.0), -20_000);
        assert_eq!(printed_nt(&sensor, 20_010.0), 20_013);
    }
}
