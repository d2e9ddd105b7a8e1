//! Pulsations: packets of slow waves in the morning hours.
//!
//! The scenario goes in, a list of packets drawn from its seed comes out.
//! Periods lie in the band Pc5, 150 to 600 s (IAGA's classification, J. A.
//! Jacobs et al., J. Geophys. Res. 69 (1964) 180–181); sizes are invented.

use crate::prng::Prng;
use crate::scenario::{DAYS, Place, Scenario};
use record::vector::Vec3;
use std::f64::consts::{PI, TAU};

/// One packet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Packet {
    /// Its beginning, seconds after the start.
    pub start_s: f64,
    /// Its length, seconds.
    pub length_s: f64,
    /// Period, seconds.
    pub period_s: f64,
    /// Amplitude in the middle, nT, in X and Y.
    pub amplitude_nt: (f64, f64),
    phase: f64,
}

impl Packet {
    /// When it is over, seconds after the start.
    pub fn end_s(&self) -> f64 {
        self.start_s + self.length_s
    }

    /// Its field at a moment, nT.
    pub fn field(&self, place: &Place, t_s: f64) -> Vec3 {
        let since = t_s - self.start_s;
        if since <= 0.0 || since >= self.length_s {
            return [0.0; 3];
        }
        let swell = libm::sin(PI * since / self.length_s);
        let (sin, cos) = libm::sincos(TAU * since / self.period_s + self.phase);
        let size = swell * swell * place.shares.bays;
        [size * self.amplitude_nt.0 * sin, size * self.amplitude_nt.1 * cos, 0.0]
    }
}

/// All packets of the sixty days.
pub fn list(scenario: &Scenario) -> Vec<Packet> {
    let mut prng = Prng::new(scenario.seed, "pulsations");
    let mut packets = Vec::new();
    for day in 0..DAYS {
        let midnight = f64::from(day) * 86_400.0;
        let stormy = scenario
            .storms
            .iter()
            .any(|storm| (0.4..2.6).contains(&((midnight - storm.onset_s) / 86_400.0 + 1.0)));
        let happens = prng.uniform() < if stormy { 0.95 } else { 0.35 };
        let hour = prng.between(5.0, 10.5) - scenario.garden.longitude_deg / 15.0;
        let packet = Packet {
            start_s: midnight + hour * 3_600.0,
            length_s: prng.between(2_400.0, 6_000.0),
            period_s: prng.between(180.0, 420.0),
            amplitude_nt: {
                let size = prng.between(4.0, 13.0) * if stormy { 2.2 } else { 1.0 };
                (size, size * prng.between(0.3, 0.9))
            },
            phase: prng.between(0.0, TAU),
        };
        if happens && day >= scenario.quiet_days {
            packets.push(packet);
        }
    }
    packets
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::default_scenario;

    #[test]
    fn packets_begin_and_end_at_nothing_and_keep_to_their_band() {
        let scenario = default_scenario();
        let packets = list(&scenario);
        assert!(packets.len() > 10);
        for packet in packets {
            assert!((150.0..600.0).contains(&packet.period_s));
            for end in [packet.start_s, packet.end_s()] {
                assert!(packet.field(&scenario.garden, end).iter().all(|v| v.abs() < 1e-20));
            }
        }
    }
}
