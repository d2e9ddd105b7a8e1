//! Minute values as observatories make them, by a Gaussian over 90 seconds.
//!
//! In: readings every 1, 5 or 10 seconds, gaps as NaN.  Out: one value a
//! minute, centred on the minute; missing when less than nine tenths of the
//! weight is there.
//!
//! # Source
//!
//! INTERMAGNET Technical Reference Manual, filter coefficients to produce
//! one-minute values.

use record::{Fault, say, words::word};
use std::f64::consts::PI;
use std::fmt;

/// Standard deviation of the Gaussian, seconds: the one that leaves 1/sqrt(2)
/// of a wave of 120 s, 120 sqrt(ln 2) / (2 pi) = 15.9006.
pub fn width_s() -> f64 {
    120.0 * std::f64::consts::LN_2.sqrt() / (2.0 * PI)
}

/// The printed weights for 5 s, from the middle outward.
const FIVE: [f64; 10] = [
    0.125_788_65,
    0.119_720_85,
    0.103_217_85,
    0.080_611_40,
    0.057_028_85,
    0.036_546_80,
    0.021_215_85,
    0.011_156_55,
    0.005_314_40,
    0.002_293_15,
];
/// The printed weights for 10 s, from the middle outward.
const TEN: [f64; 6] =
    [0.251_007_43, 0.205_968_04, 0.113_799_31, 0.042_335_62, 0.010_604_71, 0.001_788_60];

/// The weights for readings every `interval_s` = 1, 5 or 10 seconds: 91, 19 or
/// 11 of them, the middle one on the minute.
///
/// Those for 1 s are the Gaussian rounded to the eight digits of the manual.
///
/// # Errors
///
/// [`MinuteError::Interval`] for another interval.
pub fn weights(interval_s: u32) -> Result<Vec<f64>, MinuteError> {
    let half: Vec<f64> = match interval_s {
        1 => one_second(),
        5 => FIVE.to_vec(),
        10 => TEN.to_vec(),
        _ => return Err(MinuteError::Interval(interval_s)),
    };
    Ok(half.iter().skip(1).rev().chain(&half).copied().collect())
}

fn one_second() -> Vec<f64> {
    let height = |t: f64| libm::exp(-t * t / (2.0 * width_s() * width_s()));
    let sum: f64 = (-45..=45).map(|t| height(f64::from(t))).sum();
    (0..=45).map(|t| libm::round(height(f64::from(t)) / sum * 1e8) / 1e8).collect()
}

/// Minute values of a series of readings.
///
/// # Arguments and units
///
/// * `x` - readings, any unit; missing ones (not finite) and those beyond the
///   ends are left out and the others weighted up
/// * `interval_s` - 1, 5 or 10 seconds
/// * `first` - place of the reading at the first full minute
///
/// Returns one value for each full minute from there on.
///
/// # Errors
///
/// [`MinuteError`] for another interval.
pub fn minute_values(x: &[f64], interval_s: u32, first: usize) -> Result<Vec<f64>, MinuteError> {
    let weights = weights(interval_s)?;
    let step = (60 / interval_s) as usize;
    let whole: f64 = weights.iter().sum();
    let half = weights.len() / 2;
    let value = |centre: usize| {
        let (mut sum, mut there) = (0.0, 0.0);
        let level = x[centre];
        let level = if level.is_finite() { level } else { 0.0 };
        for (k, w) in weights.iter().enumerate() {
            let reading = (centre + k).checked_sub(half).and_then(|place| x.get(place));
            if let Some(reading) = reading.filter(|v| v.is_finite()) {
                sum += w * (reading - level);
                there += w;
            }
        }
        if there >= LEAST_SHARE * whole { level + sum / there } else { f64::NAN }
    };
    Ok((first..x.len()).step_by(step).map(value).collect())
}

/// Share of the weight that must be there (same manual).
const LEAST_SHARE: f64 = 0.9;

/// Why there are no minute values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MinuteError {
    /// No weights are published for this interval, seconds.
    Interval(u32),
}

impl fmt::Display for MinuteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Interval(s) = self;
        f.write_str(&say!(
            "Readings come every {s} s; observatory weights exist for 1, 5 and 10 s."
        ))
    }
}

impl std::error::Error for MinuteError {}

impl From<MinuteError> for Fault {
    fn from(error: MinuteError) -> Self {
        let remedy = word("Average the readings over whole minutes instead.");
        Self::new("signal/minute", error.to_string(), remedy)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wave_of_two_minutes_loses_three_decibels_untruncated() {
        let x: Vec<f64> = (0..6000).map(|t| libm::cos(2.0 * PI * f64::from(t) / 600.0)).collect();
        let found = minute_values(&x, 1, 0).unwrap();
        assert_eq!(found.len(), 100);
        assert!((found[50] - 0.98675).abs() < 2e-5);
        let untruncated = libm::exp(-2.0 * (PI * width_s() / 120.0).powi(2));
        assert!((untruncated - std::f64::consts::FRAC_1_SQRT_2).abs() < 1e-12);
    }

    #[test]
    fn a_minute_with_less_than_nine_tenths_is_missing_and_a_level_survives_the_rest() {
        let mut x = vec![48_000.0; 600];
        x[120] = f64::NAN;
        x[236..245].fill(f64::NAN);
        let found = minute_values(&x, 1, 0).unwrap();
        // The first minute has only the later half of its weight.
        assert!(found[0].is_nan());
        assert!((found[2] - 48_000.0).abs() < 1e-9);
        assert!(found[4].is_nan());
        assert!((found[6] - 48_000.0).abs() < 1e-9);
    }

    #[test]
    fn other_intervals_are_refused() {
        assert_eq!(minute_values(&[1.0], 2, 0), Err(MinuteError::Interval(2)));
        assert!(minute_values(&[], 1, 0).unwrap().is_empty());
    }
}
