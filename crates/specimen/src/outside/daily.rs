//! The regular daily variation: four harmonics in local mean time.
//!
//! Every day has its own strength and comes a little early or late.  The
//! harmonics were fitted, outside this program, to smooth curves of the shape
//! described for summer at 50° to 60° magnetic latitude: X least shortly
//! before local noon, Y east in the morning and west in the afternoon, Z least
//! near noon, nights flat (W. H. Campbell, Introduction to Geomagnetic Fields,
//! 2nd ed., 2003, chapter 2, from memory; the sizes are invented).

use super::local_h;
use crate::prng::Prng;
use crate::scenario::{Place, Scenario};
use record::vector::Vec3;
use std::f64::consts::TAU;

/// One harmonic: amplitude in nT and local hour of its (first) maximum.
#[derive(Clone, Copy, Debug)]
pub struct Harmonic {
    /// Amplitude, nT.
    pub amplitude_nt: f64,
    /// Local mean time of the maximum, hours.
    pub maximum_h: f64,
}

const fn h(amplitude_nt: f64, maximum_h: f64) -> Harmonic {
    Harmonic { amplitude_nt, maximum_h }
}

/// Harmonics of 24, 12, 8 and 6 hours of X, Y and Z.
pub const HARMONICS: [[Harmonic; 4]; 3] = [
    [h(10.4, 22.77), h(7.7, 5.42), h(3.0, 7.69), h(0.7, 2.36)],
    [h(10.9, 3.79), h(10.9, 7.69), h(5.0, 0.82), h(0.8, 3.26)],
    [h(6.3, 23.80), h(4.1, 5.80), h(2.0, 7.80), h(0.7, 2.80)],
];

/// How one day differs from the harmonics above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Day {
    /// Factor on every harmonic.
    pub strength: f64,
    /// Hours by which the day comes late.
    pub late_h: f64,
}

/// The days of a place; day −1 stands first.
#[derive(Clone, Debug)]
pub struct Daily {
    longitude_deg: f64,
    shares: Vec3,
    waves: [[(f64, f64); 4]; 3],
    days: Vec<Day>,
}

impl Daily {
    /// The first `days` days, and the one before.
    pub fn of(scenario: &Scenario, place: &Place, days: u32) -> Self {
        let mut prng = Prng::new(scenario.seed, "daily variation");
        let days = (0..i64::from(days) + 3)
            .map(|day| Day {
                // Up to the solstice the variation grows by a few per cent.
                strength: (1.0 + 0.3 * prng.between(-1.0, 1.0)) * (1.0 + 0.001 * day as f64),
                late_h: (0.35 * prng.normal()).clamp(-0.7, 0.7),
            })
            .collect();
        let share = place.shares.daily;
        let shares = [share, share, share * place.shares.induced_z];
        Self { longitude_deg: place.longitude_deg, shares, waves: waves(), days }
    }

    /// The daily variation at a moment, nT.  Within two hours of local
    /// midnight one day passes smoothly into the next.
    pub fn at(&self, t_s: f64) -> Vec3 {
        let local = local_h(t_s, self.longitude_deg);
        let day = (t_s / 86_400.0 + self.longitude_deg / 360.0).floor() + 1.0;
        let today = self.day(day);
        let (other, share) = if local < 2.0 {
            (self.day(day - 1.0), blend(0.5 - local / 4.0))
        } else if local > 22.0 {
            (self.day(day + 1.0), blend(0.5 - (24.0 - local) / 4.0))
        } else {
            return self.curve(local, today);
        };
        let (a, b) = (self.curve(local, today), self.curve(local, other));
        let mix = |k: usize| a[k] + (b[k] - a[k]) * share;
        [mix(0), mix(1), mix(2)]
    }

    /// Days that begin, in local mean time, within the first `days` days.
    pub fn days(&self, days: u32) -> &[Day] {
        let end = (days as usize + 1).min(self.days.len());
        &self.days[1.min(end)..end]
    }

    fn day(&self, day: f64) -> Day {
        let last = self.days.len().saturating_sub(1);
        self.days[(day.max(0.0) as usize).min(last)]
    }

    fn curve(&self, local: f64, day: Day) -> Vec3 {
        let (sin, cos) = libm::sincos(TAU * (local - day.late_h) / 24.0);
        // Sines and cosines of the multiples, by adding the angle each time.
        let (mut s, mut c) = (sin, cos);
        let mut out = [0.0; 3];
        for n in 0..4 {
            for (sum, waves) in out.iter_mut().zip(&self.waves) {
                *sum += waves[n].0 * c + waves[n].1 * s;
            }
            (s, c) = (s * cos + c * sin, c * cos - s * sin);
        }
        out.iter_mut().zip(self.shares).for_each(|(v, share)| *v *= day.strength * share);
        out
    }
}

fn blend(u: f64) -> f64 {
    u * u * (3.0 - 2.0 * u)
}

/// Each harmonic as what multiplies its cosine and its sine.
fn waves() -> [[(f64, f64); 4]; 3] {
    let mut out = [[(0.0, 0.0); 4]; 3];
    for (waves, harmonics) in out.iter_mut().zip(&HARMONICS) {
        for (n, (wave, harmonic)) in waves.iter_mut().zip(harmonics).enumerate() {
            let (sin, cos) = libm::sincos(TAU * harmonic.maximum_h * (n + 1) as f64 / 24.0);
            *wave = (harmonic.amplitude_nt * cos, harmonic.amplitude_nt * sin);
        }
    }
    out
}

/// What the harmonics are on average over these days: each day's harmonic is
/// a pointer with its own strength and delay, and the mean of the pointers is
/// what a fit over all days finds.
pub fn mean_harmonics(days: &[Day], component: usize, share: f64) -> [Harmonic; 4] {
    let mut out = HARMONICS[component.min(2)];
    for (n, harmonic) in out.iter_mut().enumerate() {
        let period_h = 24.0 / (n + 1) as f64;
        let (mut along, mut across) = (0.0, 0.0);
        for day in days {
            let (sin, cos) = libm::sincos(TAU * (harmonic.maximum_h + day.late_h) / period_h);
            along += day.strength * cos / days.len() as f64;
            across += day.strength * sin / days.len() as f64;
        }
        harmonic.amplitude_nt *= share * libm::hypot(along, across);
        let phase = libm::atan2(across, along) / TAU;
        harmonic.maximum_h = (phase * period_h).rem_euclid(period_h);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::default_scenario;

    fn sixty() -> Daily {
        let scenario = default_scenario();
        Daily::of(&scenario, &scenario.garden, 60)
    }

    #[test]
    fn days_differ_by_up_to_thirty_per_cent_and_forty_two_minutes() {
        let daily = sixty();
        let days = daily.days(60);
        assert_eq!(days.len(), 60);
        for day in days {
            assert!((0.69..=1.39).contains(&day.strength), "{day:?}");
            assert!(day.late_h.abs() <= 0.7);
        }
        assert!(days.iter().any(|day| day.strength < 0.8));
        assert!(days.iter().any(|day| day.strength > 1.2));
    }

    #[test]
    fn the_variation_does_not_jump_at_midnight() {
        let daily = sixty();
        let mut largest = 0.0f64;
        for k in 1..5_760 {
            let (a, b) = (daily.at(30.0 * f64::from(k - 1)), daily.at(30.0 * f64::from(k)));
            (0..3).for_each(|c| largest = largest.max((a[c] - b[c]).abs()));
        }
        assert!(largest < 0.15, "{largest}");
    }

    #[test]
    fn the_mean_harmonics_are_what_least_squares_finds_over_whole_days() {
        let daily = sixty();
        let longitude = default_scenario().garden.longitude_deg;
        let first = -longitude / 360.0 * 86_400.0;
        let mean = mean_harmonics(daily.days(60), 1, 1.0);
        for (n, harmonic) in mean.iter().enumerate() {
            // Over whole days sums of products are least squares.
            let (mut c, mut s) = (0.0, 0.0);
            let steps = 60 * 288;
            for k in 0..steps {
                let t = first + 300.0 * f64::from(k);
                let angle = TAU * local_h(t, longitude) * (n + 1) as f64 / 24.0;
                c += daily.at(t)[1] * angle.cos() * 2.0 / f64::from(steps);
                s += daily.at(t)[1] * angle.sin() * 2.0 / f64::from(steps);
            }
            // Blending at midnight touches the flat hours only.
            assert!(
                (c.hypot(s) - harmonic.amplitude_nt).abs() < 0.1,
                "{n} {} {harmonic:?}",
                c.hypot(s)
            );
        }
    }
}
