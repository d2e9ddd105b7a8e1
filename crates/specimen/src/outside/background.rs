//! Background: the irregular unrest between everything that has a name.
//!
//! Sums of first-order autoregressive noises with time constants from twenty
//! minutes to nine hours (a red spectrum), louder on unquiet days and in
//! storms.  Most of it is common to both places.

use super::{BEFORE, NODE_S, storm};
use crate::prng::Prng;
use crate::scenario::{DAYS, Place, Scenario};
use record::vector::Vec3;

/// Seconds between the values that are drawn; straight lines between.
const DRAWN_S: f64 = 120.0;

/// Grid nodes for each drawn value.
const PER_DRAW: usize = (DRAWN_S / NODE_S) as usize;

/// Time constants, seconds, and standard deviations, nT.
const PARTS: [(f64, f64); 3] = [(1_200.0, 1.0), (7_200.0, 1.9), (32_400.0, 2.4)];

/// X, Y and Z for each nT.
const COMPONENTS: Vec3 = [1.0, 0.8, 0.5];

/// The background at `count` nodes of the outside field's grid, nT.
pub(super) fn series(scenario: &Scenario, place: &Place, count: usize) -> Vec<Vec3> {
    let loud = Loudness::of(scenario);
    let mut shared = Noise::new(&mut Prng::new(scenario.seed, "background"), 1.0);
    let local_stream = format!("background of {}", place.name);
    let mut local = Noise::new(&mut Prng::new(scenario.seed, &local_stream), 0.18);
    let draws = count / PER_DRAW + 2;
    let drawn: Vec<Vec3> = (0..draws)
        .map(|draw| {
            let t_s = draw as f64 * DRAWN_S - BEFORE as f64 * NODE_S;
            let (a, b, loud) = (shared.step(), local.step(), loud.at(t_s));
            let z = place.shares.induced_z;
            [loud * (a[0] + b[0]), loud * (a[1] + b[1]), loud * z * (a[2] + b[2])]
        })
        .collect();
    (0..count)
        .map(|node| {
            let (a, b) = (drawn[node / PER_DRAW], drawn[node / PER_DRAW + 1]);
            let part = (node % PER_DRAW) as f64 / PER_DRAW as f64;
            [a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part, a[2] + (b[2] - a[2]) * part]
        })
        .collect()
}

/// Three components, each the sum of several autoregressive noises.
struct Noise {
    prng: Prng,
    state: [[f64; 3]; 3],
    keep: [f64; 3],
    kick: [f64; 3],
}

impl Noise {
    fn new(prng: &mut Prng, scale: f64) -> Self {
        let mut noise =
            Self { prng: prng.clone(), state: [[0.0; 3]; 3], keep: [0.0; 3], kick: [0.0; 3] };
        for (part, (constant_s, deviation)) in PARTS.into_iter().enumerate() {
            noise.keep[part] = libm::exp(-DRAWN_S / constant_s);
            let fresh = (1.0 - noise.keep[part] * noise.keep[part]).sqrt();
            noise.kick[part] = scale * deviation * fresh;
            for component in &mut noise.state[part] {
                *component = scale * deviation * noise.prng.normal();
            }
        }
        noise
    }

    fn step(&mut self) -> Vec3 {
        let mut out = [0.0; 3];
        for part in 0..3 {
            for k in 0..3 {
                let fresh = self.kick[part] * self.prng.normal();
                self.state[part][k] = self.keep[part] * self.state[part][k] + fresh;
                out[k] += COMPONENTS[k] * self.state[part][k];
            }
        }
        out
    }
}

/// How loud the background is.
struct Loudness<'a> {
    scenario: &'a Scenario,
    days: Vec<f64>,
}

impl<'a> Loudness<'a> {
    fn of(scenario: &'a Scenario) -> Self {
        let mut prng = Prng::new(scenario.seed, "loudness of days");
        let days = (0..DAYS + 2)
            .map(|day| {
                let loud = prng.between(0.6, 1.7);
                if day < scenario.quiet_days { 0.75 } else { loud }
            })
            .collect();
        Self { scenario, days }
    }

    fn at(&self, t_s: f64) -> f64 {
        let day = (t_s / 86_400.0).clamp(0.0, (self.days.len() - 2) as f64);
        let (a, b) = (self.days[day as usize], self.days[day as usize + 1]);
        let quiet = a + (b - a) * day.fract();
        let storms: f64 = self.scenario.storms.iter().map(|s| storm::unrest(s, t_s)).sum();
        quiet + 3.5 * storms
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::default_scenario;

    #[test]
    fn two_places_share_most_of_the_background() {
        let scenario = default_scenario();
        let here = series(&scenario, &scenario.garden, 14_400);
        let there = series(&scenario, &scenario.observatory, 14_400);
        let (mut both, mut a, mut b) = (0.0, 0.0, 0.0);
        for (h, t) in here.iter().zip(&there) {
            both += h[0] * t[0];
            a += h[0] * h[0];
            b += t[0] * t[0];
        }
        let correlation = both / (a * b).sqrt();
        assert!((0.85..0.999).contains(&correlation), "{correlation}");
    }

    #[test]
    fn the_background_of_quiet_days_stays_within_some_nanotesla() {
        let scenario = default_scenario();
        let x: Vec<f64> =
            series(&scenario, &scenario.garden, 14_400).iter().map(|v| v[0]).collect();
        let rms = (x.iter().map(|v| v * v).sum::<f64>() / x.len() as f64).sqrt();
        assert!((1.0..5.0).contains(&rms), "{rms}");
    }
}
