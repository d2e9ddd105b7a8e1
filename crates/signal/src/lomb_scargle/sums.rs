//! The sums of which a periodogram is made, and the direct way to them.
//!
//! In: centred times, weights and values.  Out: power and amplitude at one
//! frequency.  The slow twin of the fast method; also its refuge where a sine
//! and a mean are nearly the same thing.

use super::LombError;
use crate::rotor::pair;

/// What is done about the mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mean {
    /// Fitted with each sine (M. Zechmeister and M. Kuerster, Astron.
    /// Astrophys. 496 (2009) 577).  The one to use.
    Floating,
    /// The weighted mean taken off once (J. D. Scargle, Astrophys. J. 263
    /// (1982) 835).
    Subtracted,
}

/// Usable samples: times from their middle, weights of sum 1, values less
/// their weighted mean.
pub(super) struct Samples {
    pub(super) times_s: Vec<f64>,
    pub(super) weights: Vec<f64>,
    pub(super) values: Vec<f64>,
    /// Weighted mean square.
    pub(super) scatter: f64,
    /// Sum of 1 / sigma^2.
    pub(super) total_weight: f64,
    pub(super) span_s: f64,
    pub(super) left_out: usize,
}

impl Samples {
    pub(super) fn new(
        times_s: &[f64],
        values: &[f64],
        sigmas: Option<&[f64]>,
    ) -> Result<Self, LombError> {
        let times = times_s.len();
        for other in [Some(values), sigmas].into_iter().flatten() {
            if other.len() != times {
                return Err(LombError::Length { times, values: other.len() });
            }
        }
        let weight = |place: usize| sigmas.map_or(1.0, |s| 1.0 / (s[place] * s[place]));
        let usable = |place: &usize| {
            let w = weight(*place);
            times_s[*place].is_finite() && values[*place].is_finite() && w.is_finite() && w > 0.0
        };
        let places: Vec<usize> = (0..times).filter(usable).collect();
        let left_out = times - places.len();
        let pick = |x: &[f64]| places.iter().map(|place| x[*place]).collect::<Vec<f64>>();
        let (mut t, mut y) = (pick(times_s), pick(values));
        let mut w: Vec<f64> = places.iter().map(|place| weight(*place)).collect();
        let (first, last) =
            t.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
        let level = y.windows(2).all(|pair| pair[0] == pair[1]);
        let total_weight: f64 = w.iter().sum();
        w.iter_mut().for_each(|v| *v /= total_weight);
        t.iter_mut().for_each(|v| *v -= first + (last - first) / 2.0);
        for _ in 0..2 {
            let mean: f64 = w.iter().zip(&y).map(|(w, y)| w * y).sum();
            y.iter_mut().for_each(|v| *v -= mean);
        }
        let scatter: f64 = w.iter().zip(&y).map(|(w, y)| w * y * y).sum();
        if t.len() < 4 || level || !(scatter > 0.0 && last > first) {
            return Err(LombError::TooFew(t.len()));
        }
        let span_s = last - first;
        Ok(Self { times_s: t, weights: w, values: y, scatter, total_weight, span_s, left_out })
    }

    /// Weighted sums over the samples at one frequency.
    pub(super) fn sums(&self, frequency_hz: f64) -> Sums {
        let mut sums = Sums::default();
        for ((t, w), y) in self.times_s.iter().zip(&self.weights).zip(&self.values) {
            let (c, s) = pair(frequency_hz * t);
            sums.yc += w * y * c;
            sums.ys += w * y * s;
            sums.c += w * c;
            sums.s += w * s;
            sums.c2 += w * (c * c - s * s);
            sums.s2 += w * 2.0 * c * s;
        }
        sums
    }
}

/// Weighted sums of cosines and sines, alone and times the values; c2 and s2
/// at twice the frequency.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Sums {
    pub(super) yc: f64,
    pub(super) ys: f64,
    pub(super) c: f64,
    pub(super) s: f64,
    pub(super) c2: f64,
    pub(super) s2: f64,
}

/// The best sine at one frequency.
pub(super) struct Sine {
    /// Explained share of the scatter, 0 to 1.
    pub(super) power: f64,
    pub(super) amplitude: f64,
    /// Determinant of the two sines' products: 1/4 when they are independent
    /// of each other and of the mean, near 0 when they are hard to tell apart.
    pub(super) determinant: f64,
}

impl Sums {
    pub(super) fn solve(&self, mean: Mean, scatter: f64) -> Sine {
        let free = if mean == Mean::Floating { 1.0 } else { 0.0 };
        let cc = 0.5 * (1.0 + self.c2) - free * self.c * self.c;
        let ss = 0.5 * (1.0 - self.c2) - free * self.s * self.s;
        let cs = 0.5 * self.s2 - free * self.c * self.s;
        let determinant = cc * ss - cs * cs;
        if determinant > SINGULAR {
            let a = (self.yc * ss - self.ys * cs) / determinant;
            let b = (self.ys * cc - self.yc * cs) / determinant;
            let power = ((a * self.yc + b * self.ys) / scatter).clamp(0.0, 1.0);
            return Sine { power, amplitude: libm::hypot(a, b), determinant };
        }
        // One direction alone is left: the sine along it.
        let total = (cc + ss).max(f64::MIN_POSITIVE);
        let along = (self.yc * self.yc + self.ys * self.ys) / total;
        let power = if total > SINGULAR { (along / scatter).clamp(0.0, 1.0) } else { 0.0 };
        Sine {
            power,
            amplitude: (along / total).sqrt() * f64::from(u8::from(power > 0.0)),
            determinant,
        }
    }
}

/// Below this the determinant of double-precision sums means nothing.
const SINGULAR: f64 = 1e-13;

/// Power at any frequencies, by sums over all samples for each: time grows
/// with the product of their numbers.
///
/// # Arguments and units
///
/// * `times_s` - seconds, any order and origin
/// * `values` - any unit; missing ones (not finite) are skipped
/// * `sigmas` - standard uncertainties of the values, or none
/// * `frequencies_hz` - hertz
///
/// # Errors
///
/// [`LombError`] when lengths differ or fewer than 4 values can be used.
pub fn direct(
    times_s: &[f64],
    values: &[f64],
    sigmas: Option<&[f64]>,
    frequencies_hz: &[f64],
    mean: Mean,
) -> Result<Vec<f64>, LombError> {
    let samples = Samples::new(times_s, values, sigmas)?;
    let power = |f: &f64| samples.sums(*f).solve(mean, samples.scatter).power;
    Ok(frequencies_hz.iter().map(power).collect())
}
