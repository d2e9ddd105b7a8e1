//! Cosines and sines at evenly spaced angles, by turning a pair on.
//!
//! In: turns per step.  Out: (cos, sin) of 2 pi turns k for k = 0, 1, 2...
//! Every 32nd pair is computed afresh, so that errors stay near 1e-15.

use std::f64::consts::PI;

/// An endless row of (cos, sin) pairs.
pub(crate) struct Rotor {
    turns: f64,
    step: (f64, f64),
    at: (f64, f64),
    k: u64,
}

const FRESH: u64 = 32;

impl Rotor {
    /// Starts at angle 0 and turns on by this many turns a step.
    pub(crate) fn new(turns: f64) -> Self {
        Self { turns, step: pair(turns), at: (1.0, 0.0), k: 0 }
    }
}

/// (cos, sin) of 2 pi times a number of turns.
pub(crate) fn pair(turns: f64) -> (f64, f64) {
    // Whole turns are taken off before 2 pi is multiplied in.
    let angle = 2.0 * PI * (turns - libm::round(turns));
    (libm::cos(angle), libm::sin(angle))
}

/// (cos, sin) of 2 pi `turns` `k`, the product kept to its last digit: after a
/// million turns a rounded one would be off by 1e-10 of a turn.
pub(crate) fn pair_at(turns: f64, k: u64) -> (f64, f64) {
    let product = turns * k as f64;
    let rest = libm::fma(turns, k as f64, -product);
    pair((product - libm::round(product)) + rest)
}

impl Iterator for Rotor {
    type Item = (f64, f64);

    fn next(&mut self) -> Option<(f64, f64)> {
        let out = self.at;
        self.k += 1;
        let (c, s) = self.step;
        self.at = if self.k.is_multiple_of(FRESH) {
            pair_at(self.turns, self.k)
        } else {
            (out.0 * c - out.1 * s, out.0 * s + out.1 * c)
        };
        Some(out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pairs_stay_on_their_angles_for_a_million_steps() {
        let turns = 0.123_456_789;
        for (k, (c, s)) in Rotor::new(turns).enumerate().take(1_000_000).step_by(997) {
            let (a, b) = pair_at(turns, k as u64);
            assert!((c - a).abs() < 2e-14 && (s - b).abs() < 2e-14);
        }
    }
}
