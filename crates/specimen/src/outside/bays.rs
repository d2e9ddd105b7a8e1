//! Bays: the substorms' dips of an hour or two, mostly at night.
//!
//! The scenario goes in, a list of bays drawn from its seed comes out.  The
//! list does not depend on how many days are asked for.
//!
//! Signs are those of a westward current overhead to the north: X falls, Z
//! falls (law of Biot and Savart); sizes and numbers are invented.

use super::local_h;
use super::storm;
use crate::prng::Prng;
use crate::scenario::{DAYS, Place, Scenario};
use record::vector::Vec3;
use std::f64::consts::TAU;

/// One bay.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bay {
    /// Its beginning, seconds after the start.
    pub onset_s: f64,
    /// How far X falls, nT, positive.
    pub depth_nt: f64,
    /// Y and Z for each nT of X.
    pub ratios: (f64, f64),
    rise_s: f64,
    decay_s: f64,
    peak: f64,
}

impl Bay {
    /// A bay; `depth_nt` is reached at its peak.
    pub fn new(onset_s: f64, depth_nt: f64, rise_s: f64, decay_s: f64, ratios: (f64, f64)) -> Self {
        // The curve (1 − e^(−t/rise)) e^(−t/decay) is highest at this moment.
        let top_s = rise_s * libm::log(1.0 + decay_s / rise_s);
        let mut bay = Self { onset_s, depth_nt, ratios, rise_s, decay_s, peak: 1.0 };
        bay.peak = bay.curve(top_s);
        bay
    }

    /// When nothing is left of it, seconds after the start.
    pub fn end_s(&self) -> f64 {
        self.onset_s + 9.0 * self.decay_s
    }

    /// Its field at a moment, nT.
    pub fn field(&self, place: &Place, t_s: f64) -> Vec3 {
        let since = t_s - self.onset_s;
        if since <= 0.0 {
            return [0.0; 3];
        }
        let size = -self.depth_nt * place.shares.bays * self.curve(since) / self.peak;
        // A bay begins with a short train of pulsations.
        let train = if since < 1_500.0 {
            0.07 * self.depth_nt * libm::exp(-since / 260.0) * libm::sin(TAU * since / 95.0)
        } else {
            0.0
        };
        let z = self.ratios.1 * place.shares.induced_z;
        [size + train, size * self.ratios.0 + 0.6 * train, size * z]
    }

    fn curve(&self, since_s: f64) -> f64 {
        (1.0 - libm::exp(-since_s / self.rise_s)) * libm::exp(-since_s / self.decay_s)
    }
}

/// All bays of the sixty days.
pub fn list(scenario: &Scenario) -> Vec<Bay> {
    let mut bays = nightly(scenario);
    for (number, storm) in scenario.storms.iter().enumerate() {
        let mut prng =
            Prng::new(scenario.seed, ["bays of storm one", "bays of storm two"][number % 2]);
        let mut t_s = storm.onset_s + storm.initial_s;
        while t_s < storm::deepest_s(storm) + 50_000.0 {
            let night = night(scenario, t_s);
            let depth = storm.depth_nt * storm::unrest(storm, t_s) * 100.0 / storm.depth_nt
                * (0.25 + 0.75 * night)
                * prng.between(0.35, 1.1);
            bays.push(draw(&mut prng, t_s, depth));
            t_s += prng.between(4_200.0, 12_600.0);
        }
    }
    bays
}

// On some nights after the quiet first days, one bay of moderate size.
fn nightly(scenario: &Scenario) -> Vec<Bay> {
    let mut prng = Prng::new(scenario.seed, "bays of the nights");
    let mut bays = Vec::new();
    for day in 0..DAYS {
        let happens = prng.uniform() < 0.45;
        let hour = prng.between(21.0, 26.5) - scenario.garden.longitude_deg / 15.0;
        let depth = prng.between(12.0, 55.0);
        let bay = draw(&mut prng, f64::from(day) * 86_400.0 + hour * 3_600.0, depth);
        if happens && day >= scenario.quiet_days {
            bays.push(bay);
        }
    }
    bays
}

fn draw(prng: &mut Prng, onset_s: f64, depth_nt: f64) -> Bay {
    let rise_s = prng.between(300.0, 700.0);
    let decay_s = prng.between(1_500.0, 3_600.0);
    let ratios = (prng.between(-0.35, 0.35), prng.between(0.35, 0.7));
    Bay::new(onset_s.floor(), depth_nt, rise_s, decay_s, ratios)
}

/// From 0 by day to 1 about an hour before local midnight.
fn night(scenario: &Scenario, t_s: f64) -> f64 {
    let local = local_h(t_s, scenario.garden.longitude_deg);
    let cos = libm::cos(TAU * (local - 23.0) / 24.0);
    cos.max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::default_scenario;

    #[test]
    fn a_bay_reaches_its_depth_and_no_more() {
        let scenario = default_scenario();
        let bay = Bay::new(0.0, 100.0, 400.0, 2_400.0, (0.0, 0.5));
        let least = (0..3_000)
            .map(|k| bay.field(&scenario.garden, 10.0 * f64::from(k))[0])
            .fold(f64::INFINITY, f64::min);
        assert!((least + 100.0).abs() < 7.5, "{least}");
        assert!(bay.field(&scenario.garden, bay.end_s())[0].abs() < 0.1);
        assert_eq!(bay.field(&scenario.garden, -1.0), [0.0; 3]);
    }

    #[test]
    fn the_first_days_have_no_bays_and_each_storm_has_several() {
        let scenario = default_scenario();
        let bays = list(&scenario);
        assert!(bays.iter().all(|bay| bay.onset_s > 5.0 * 86_400.0));
        for storm in &scenario.storms {
            let day = storm.onset_s..storm.onset_s + 86_400.0;
            assert!(bays.iter().filter(|bay| day.contains(&bay.onset_s)).count() >= 4);
        }
    }
}
