//! What a peak's frequency could be: the day and its parts, the Moon's half
//! day, a turn of the Sun, mains and their aliases.
//!
//! In: a frequency, how well it is known, the sampling rate.  Out: names.  A
//! name is a suggestion, not a finding: many things share a period.

use crate::harmonics::{PERIODS, record_to_part_s};
use crate::spectrum::alias_hz;
use record::words::{word, worded};

/// A name for a frequency.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// What it could be: `the day, 24 h`.
    pub name: String,
    /// The frequency that name has, hertz.
    pub frequency_hz: f64,
}

/// Synodic rotation of the Sun as seen from the Earth, days (common practice:
/// recurrent disturbances come back after 27 days, J. Bartels 1932).
const SUN_D: f64 = 27.0;

/// Mains in use, hertz: 50 and 60, and 50/3 of some railways.
const MAINS_HZ: [f64; 3] = [50.0, 60.0, 50.0 / 3.0];

/// How far mains wander, as a share of their frequency (common practice, no
/// source: 0.05 Hz in 50 Hz).
const WANDER: f64 = 1e-3;

/// Names for a frequency that is known to `half_width_hz` at `rate_hz` samples
/// a second, the nearest first.
///
/// A name is given where it lies within the half width and the half width is
/// at most a third of its frequency.  Mains and their second and third
/// harmonics are named with their alias when the wander covers less than a
/// twentieth of all frequencies.
pub fn candidates(frequency_hz: f64, half_width_hz: f64, rate_hz: f64) -> Vec<Candidate> {
    let mut found = periods();
    found.retain(|c| half_width_hz <= c.frequency_hz / 3.0);
    found.retain(|c| (c.frequency_hz - frequency_hz).abs() <= half_width_hz);
    found.extend(mains(frequency_hz, half_width_hz, rate_hz));
    let apart = |c: &Candidate| (c.frequency_hz - frequency_hz).abs();
    record::sort::by(&mut found, |a, b| apart(a).total_cmp(&apart(b)));
    found
}

/// The record that the first two candidates need to be told apart, seconds.
pub fn to_part_s(candidates: &[Candidate]) -> Option<f64> {
    let [first, second, ..] = candidates else { return None };
    Some(record_to_part_s(1.0 / first.frequency_hz, 1.0 / second.frequency_hz))
}

fn periods() -> Vec<Candidate> {
    let named = |table: &str, name: &str| {
        let period_s = PERIODS.iter().find(|p| p.name == table).map_or(f64::NAN, |p| p.period_s());
        Candidate { name: worded(name), frequency_hz: 1.0 / period_s }
    };
    vec![
        named("S1", "the day, 24 h"),
        named("S2", "half a day, 12 h"),
        named("S3", "a third of a day, 8 h"),
        named("S4", "a quarter of a day, 6 h"),
        named("M2", "the Moon's half day M2, 12.42 h"),
        Candidate {
            name: worded("a turn of the Sun, 27 days"),
            frequency_hz: 1.0 / (SUN_D * 86_400.0),
        },
    ]
}

fn mains(frequency_hz: f64, half_width_hz: f64, rate_hz: f64) -> Vec<Candidate> {
    let mut found = Vec::new();
    for base in MAINS_HZ {
        for times in 1..=3 {
            let wave = base * f64::from(times);
            let seen = alias_hz(wave, rate_hz);
            let width = half_width_hz.max(wave * WANDER);
            if width > rate_hz / 80.0 || (seen - frequency_hz).abs() > width {
                continue;
            }
            let shown = (wave * 10.0).round() / 10.0;
            let how = if wave < rate_hz / 2.0 { "mains" } else { word("an alias of mains") };
            // Three times 50/3 Hz is 50 Hz again.
            if found.iter().any(|c: &Candidate| (c.frequency_hz - seen).abs() < 1e-9 * wave) {
                continue;
            }
            found.push(Candidate { name: format!("{how}, {shown} Hz"), frequency_hz: seen });
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(period_s: f64, half_width_hz: f64, rate_hz: f64) -> Vec<String> {
        candidates(1.0 / period_s, half_width_hz, rate_hz).into_iter().map(|c| c.name).collect()
    }

    #[test]
    fn half_a_day_is_named_alone_only_when_the_record_is_long_enough() {
        let bin = |days: f64| 0.5 / (days * 86_400.0);
        assert_eq!(names(43_200.0, bin(60.0), 1.0 / 60.0), ["half a day, 12 h"]);
        let both = candidates(1.0 / 43_200.0, 1.0 / (10.0 * 86_400.0), 1.0 / 60.0);
        assert_eq!(both.len(), 2);
        assert!((to_part_s(&both).unwrap() / 86_400.0 - 14.77).abs() < 0.01);
    }

    #[test]
    fn what_is_not_resolved_is_not_named() {
        assert!(names(27.0 * 86_400.0, 1.0 / (10.0 * 86_400.0), 1.0 / 60.0).is_empty());
        assert!(names(3.3 * 3600.0, 1e-7, 1.0 / 60.0).is_empty());
    }

    #[test]
    fn mains_are_found_where_sampling_folds_them() {
        // 50 Hz at 40 samples a second looks like 10 Hz (S. W. Smith's rule
        // |f - fs round(f / fs)|, closed form).
        assert_eq!(names(0.1, 1e-3, 40.0), ["an alias of mains, 50 Hz"]);
        assert_eq!(names(0.02, 1e-3, 400.0), ["mains, 50 Hz"]);
        // A reading every 30 s folds mains anywhere: no name.
        assert!(names(100.0, 1e-5, 1.0 / 30.0).is_empty());
    }
}
