//! The turning log: the sensor turned by hand through all directions.
//!
//! The scenario goes in; a few minutes at ten readings a second come out, with
//! rests on all six faces, turns about the vertical, and free tumbling.  The
//! total field is that of the garden at that moment; a few readings are bad.

use crate::Log;
use crate::garden::{HEADER, turning_truth};
use crate::prng::Prng;
use crate::scenario::Scenario;
use crate::sensor::{Reader, printed_nt, rotation, twist};
use crate::text::{Clock, push_hundredths, push_thousandths};
use record::vector::{Mat3, Vec3, apply, multiply};

/// Readings a second.
pub const RATE_HZ: f64 = 10.0;

/// File name of the log.
pub const NAME: &str = "tern-skerry-turning.csv";

/// Ways to turn too little.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Poor {
    /// Round and round on a level table.
    Level,
    /// Rocked about by less than 45 degrees.
    Cap,
    /// Once round on one face, leaning to and fro.
    OneFace,
}

/// The turning log of a scenario.
pub fn log(scenario: &Scenario) -> Log {
    written(scenario, &motion(scenario), NAME)
}

/// A turning log that leaves out directions, of the same sensor in the same place.
pub fn poor_log(scenario: &Scenario, poor: Poor) -> Log {
    let mut hand = Hand::new(scenario);
    hand.rest(3.0);
    match poor {
        Poor::Level => hand.level(45.0),
        Poor::Cap => hand.rock(60.0),
        Poor::OneFace => hand.round(40.0),
    }
    let name = match poor {
        Poor::Level => "tern-skerry-turning-level.csv",
        Poor::Cap => "tern-skerry-turning-rocked.csv",
        Poor::OneFace => "tern-skerry-turning-one-face.csv",
    };
    written(scenario, &hand.motion, name)
}

fn written(scenario: &Scenario, motion: &Motion, name: &str) -> Log {
    let mut writer = Writer::new(scenario);
    let mut bad = Vec::new();
    let mut bad_prng = Prng::new(scenario.seed, "bad turning readings");
    for (number, turn) in motion.turns.iter().enumerate() {
        let spike = if bad_prng.uniform() < 0.004 {
            bad.push(number + 1);
            Some(bad_prng.between(600.0, 6_000.0))
        } else {
            None
        };
        writer.put(number, turn, spike);
    }
    let truth = turning_truth(scenario, name, motion.turns.len(), &motion.rests, &bad);
    Log { name: name.to_owned(), bytes: writer.bytes, truth }
}

struct Motion {
    /// From north, east, down to the arrows on the box, one a reading.
    turns: Vec<Mat3>,
    /// First reading (from 1) and number of readings of each rest.
    rests: Vec<(usize, usize)>,
}

/// Rests, turns and tumbles, one after the other.
fn motion(scenario: &Scenario) -> Motion {
    let mut hand = Hand::new(scenario);
    // Roll through four faces, then stand it on its nose and on its tail.
    let tips: [Vec3; 6] = [
        [0.0, 0.0, 0.0],
        [90.0, 0.0, 0.0],
        [90.0, 0.0, 0.0],
        [90.0, 0.0, 0.0],
        [0.0, 0.0, 90.0],
        [0.0, 0.0, 180.0],
    ];
    for tip in tips {
        hand.tip(tip, 2.5);
        hand.rest(3.0);
        hand.round(11.0);
    }
    hand.tumble(110.0);
    hand.rest(4.0);
    hand.motion
}

/// A hand that holds the box.
struct Hand {
    now: Mat3,
    prng: Prng,
    motion: Motion,
}

impl Hand {
    fn new(scenario: &Scenario) -> Self {
        Self {
            now: rotation(&scenario.stand),
            prng: Prng::new(scenario.seed, "hand"),
            motion: Motion { turns: Vec::new(), rests: Vec::new() },
        }
    }

    fn record(&mut self) {
        // A hand trembles by a fraction of a degree.
        let tremble = [0; 3].map(|_: i32| 0.25 * self.prng.normal());
        self.motion.turns.push(multiply(&twist(tremble), &self.now));
    }

    fn steps(seconds: f64) -> usize {
        (seconds * RATE_HZ) as usize
    }

    fn rest(&mut self, seconds: f64) {
        let first = self.motion.turns.len() + 1;
        self.motion.rests.push((first, Self::steps(seconds)));
        for _ in 0..Self::steps(seconds) {
            self.motion.turns.push(self.now);
        }
    }

    /// Turns about the box's own axes by these angles in all.
    fn tip(&mut self, angles_deg: Vec3, seconds: f64) {
        if angles_deg == [0.0; 3] {
            return;
        }
        let steps = Self::steps(seconds);
        let step = twist(angles_deg.map(|angle| -angle / steps as f64));
        for _ in 0..steps {
            self.now = multiply(&step, &self.now);
            self.record();
        }
    }

    /// Once round about the vertical, leaning a little to and fro.
    fn round(&mut self, seconds: f64) {
        let steps = Self::steps(seconds);
        let first = self.now;
        for k in 1..=steps {
            let part = k as f64 / steps as f64;
            let lean = 14.0 * libm::sin(std::f64::consts::TAU * 1.5 * part);
            let about_down = twist([0.0, 0.0, -360.0 * part]);
            self.now = multiply(&twist([lean, 0.6 * lean, 0.0]), &multiply(&first, &about_down));
            self.record();
        }
        self.now = first;
    }

    /// Three times round about the vertical, level.
    fn level(&mut self, seconds: f64) {
        let steps = Self::steps(seconds);
        let first = self.now;
        for k in 1..=steps {
            let about_down = twist([0.0, 0.0, -1080.0 * k as f64 / steps as f64]);
            self.now = multiply(&first, &about_down);
            self.record();
        }
        self.now = first;
    }

    /// Rocked about two axes and twisted, 45 degrees at most in all.
    fn rock(&mut self, seconds: f64) {
        let steps = Self::steps(seconds);
        let first = self.now;
        for k in 1..=steps {
            let part = std::f64::consts::TAU * k as f64 / steps as f64;
            let size = 44.0 * libm::sin(7.0 * part).abs();
            let (sin, cos) = libm::sincos(3.0 * part);
            let lean = twist([0.9 * size * cos, 0.9 * size * sin, 0.4 * size * libm::sin(part)]);
            self.now = multiply(&lean, &first);
            self.record();
        }
        self.now = first;
    }

    /// Free tumbling with a wandering rate of about 60° a second.
    fn tumble(&mut self, seconds: f64) {
        let mut rate = [40.0, -25.0, 30.0];
        for _ in 0..Self::steps(seconds) {
            for axis in &mut rate {
                *axis = 0.95 * *axis + 45.0 * 0.312_25 * self.prng.normal();
            }
            self.now = multiply(&twist(rate.map(|r| r / RATE_HZ)), &self.now);
            self.record();
        }
    }
}

struct Writer<'a> {
    scenario: &'a Scenario,
    reader: Reader<'a>,
    field_nt: Vec3,
    garden: Prng,
    uneven_nt: f64,
    clock: Clock,
    bytes: Vec<u8>,
}

impl<'a> Writer<'a> {
    fn new(scenario: &'a Scenario) -> Self {
        let mut bytes = Vec::with_capacity(160_000);
        bytes.extend_from_slice(HEADER.as_bytes());
        bytes.push(b'\n');
        Self {
            scenario,
            reader: Reader::new(&scenario.sensor, scenario.seed, "turned sensor", 0),
            field_nt: crate::garden::turning_field(scenario),
            garden: Prng::new(scenario.seed, "unevenness of the garden"),
            uneven_nt: 0.0,
            clock: Clock::from(scenario.start),
            bytes,
        }
    }

    fn put(&mut self, number: usize, turn: &Mat3, spike_nt: Option<f64>) {
        // The hand moves the box about; the field is not quite the same there.
        self.uneven_nt = 0.7 * self.uneven_nt + 2.0 * 0.714_14 * self.garden.normal();
        let scale = 1.0 + self.uneven_nt / record::vector::norm(self.field_nt);
        let along = apply(turn, self.field_nt).map(|v| v * scale);
        // The hand also warms it, by a tenth of a degree in all.
        let seconds = number as f64 / RATE_HZ;
        let core_degc = self.scenario.turning_degc + 0.1 * (seconds / 240.0 - 0.5);
        let mut reading = self.reader.read(seconds, along, core_degc);
        if let Some(size) = spike_nt {
            reading[number % 3] += if number.is_multiple_of(2) { size } else { -size };
        }
        let t_s = self.scenario.turning_s as i64 + (number / 10) as i64;
        let out = &mut self.bytes;
        self.clock.push(out, t_s);
        out.extend_from_slice(&[b'.', b'0' + (number % 10) as u8, b'0', b'0', b'Z']);
        for value in reading {
            out.push(b',');
            push_thousandths(out, printed_nt(&self.scenario.sensor, value));
        }
        out.push(b',');
        push_hundredths(out, (core_degc * 100.0).round() as i64);
        out.push(b'\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::default_scenario;

    #[test]
    fn the_turning_sees_the_field_from_every_side() {
        let scenario = default_scenario();
        let field = crate::garden::turning_field(&scenario);
        let total = record::vector::norm(field);
        // 26 directions: faces, edges and corners of a cube; each must be met
        // within 30 degrees.
        let directions: Vec<Vec3> =
            motion(&scenario).turns.iter().map(|t| apply(t, field).map(|v| v / total)).collect();
        for x in -1..=1 {
            for y in -1..=1 {
                for z in -1..=1 {
                    let way = [f64::from(x), f64::from(y), f64::from(z)];
                    let length = record::vector::norm(way);
                    if length == 0.0 {
                        continue;
                    }
                    let best = directions
                        .iter()
                        .map(|d| record::vector::dot(*d, way) / length)
                        .fold(-1.0, f64::max);
                    assert!(best > 30f64.to_radians().cos(), "{way:?} {best}");
                }
            }
        }
    }

    #[test]
    fn poor_turnings_leave_half_of_the_directions_out_and_more() {
        let scenario = default_scenario();
        for poor in [Poor::Level, Poor::Cap, Poor::OneFace] {
            let log = poor_log(&scenario, poor);
            let rows = log.bytes.iter().filter(|b| **b == b'\n').count() - 1;
            assert!((400..700).contains(&rows), "{poor:?} {rows}");
            assert!(log.name.starts_with("tern-skerry-turning-") && log.truth.contains(&log.name));
        }
    }

    #[test]
    fn there_are_rests_on_all_six_faces() {
        let scenario = default_scenario();
        let motion = motion(&scenario);
        let mut seen = std::collections::BTreeSet::new();
        for (first, count) in &motion.rests {
            let down = apply(&motion.turns[first + count / 2 - 1], [0.0, 0.0, 1.0]);
            for (k, part) in down.iter().enumerate().filter(|(_, part)| part.abs() > 0.97) {
                seen.insert((k, *part > 0.0));
            }
        }
        assert_eq!(seen.len(), 6, "{seen:?}");
    }
}
