//! The deviations themselves: differences of neighbouring means, squared and
//! averaged.
//!
//! In: readings and an averaging factor m.  Out: a [`Point`].
//!
//! # Method
//!
//! With x the running sum of the readings (less their mean, which changes no
//! difference but keeps digits), the mean of m readings from i on is
//! (x_(i+m) - x_i) / m.  Second and third differences of x at distance m give
//! the Allan and Hadamard families; a running count of missing readings says
//! which terms are whole.
//!
//! # Source
//!
//! W. J. Riley, Handbook of Frequency Stability Analysis, NIST SP 1065 (2008),
//! section 5.2.

use super::confidence::{Noise, degrees_of_freedom};
use super::{AllanError, Point};
use crate::stats::mean;

/// Which deviation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Means that do not overlap.
    Allan,
    /// Means at every start: the one to use.
    Overlapping,
    /// Means of means: tells white from flicker phase noise.
    Modified,
    /// tau / sqrt 3 times the modified one.
    Time,
    /// Third differences, not overlapping: blind to a steady drift.
    Hadamard,
    /// Third differences at every start.
    OverlappingHadamard,
}

/// Running sums of the readings and of how many are missing.
pub(super) struct Sums {
    pub(super) x: Vec<f64>,
    /// Empty when none is missing.
    pub(super) missing: Vec<u32>,
}

impl Sums {
    pub(super) fn new(y: &[f64]) -> Self {
        let level = mean(y).unwrap_or(0.0);
        let (mut x, mut missing) = (Vec::with_capacity(y.len() + 1), Vec::new());
        x.push(0.0);
        let (mut sum, mut gone) = (0.0, 0);
        let gappy = y.iter().any(|value| !value.is_finite());
        if gappy {
            missing.reserve(y.len() + 1);
            missing.push(0);
        }
        for value in y {
            if value.is_finite() {
                sum += value - level;
            } else {
                gone += 1;
            }
            x.push(sum);
            if gappy {
                missing.push(gone);
            }
        }
        Self { x, missing }
    }

    /// Readings that are there.
    fn readings(&self) -> usize {
        self.x.len() - 1 - self.missing.last().map_or(0, |gone| *gone as usize)
    }

    /// Whether no reading of a stretch is missing.
    fn whole(&self, start: usize, len: usize) -> bool {
        self.missing.is_empty() || self.missing[start] == self.missing[start + len]
    }
}

/// One deviation at averaging factor `m`.
///
/// # Arguments and units
///
/// * `y` - readings, evenly spaced, any unit; missing ones are skipped with
///   every term that needs them
/// * `interval_s` - seconds from reading to reading
/// * `m` - readings in a mean
/// * `kind` - which deviation
///
/// Degrees of freedom suppose white noise; [`curve`] judges the noise itself.
///
/// # Errors
///
/// [`AllanError`] when the interval is not positive or no whole term fits.
///
/// # Example
///
/// ```
/// use signal::allan::{Kind, deviation};
/// let y = [892.0, 809.0, 823.0, 798.0, 671.0, 644.0, 883.0, 903.0, 677.0];
/// let point = deviation(&y, 1.0, 1, Kind::Overlapping)?;
/// assert!((point.deviation - 91.22945).abs() < 1e-5);
/// # Ok::<(), signal::allan::AllanError>(())
/// ```
pub fn deviation(y: &[f64], interval_s: f64, m: usize, kind: Kind) -> Result<Point, AllanError> {
    at(&Sums::new(y), interval_s, m, kind)
}

/// Deviations at m = 1, 2, 4... as far as terms fit; with `per_octave` more
/// than 1, that many steps an octave, rounded to whole m.
///
/// # Errors
///
/// [`AllanError`] when the interval is not positive or not even m = 1 fits.
pub fn curve(
    y: &[f64],
    interval_s: f64,
    kind: Kind,
    per_octave: usize,
) -> Result<Vec<Point>, AllanError> {
    curve_telling(y, interval_s, kind, per_octave, &mut |_| ())
}

/// The same, telling the share that is done, 0 to 1, as it goes.
///
/// # Errors
///
/// As [`curve`].
pub fn curve_telling(
    y: &[f64],
    interval_s: f64,
    kind: Kind,
    per_octave: usize,
    tell: &mut dyn FnMut(f64),
) -> Result<Vec<Point>, AllanError> {
    let sums = Sums::new(y);
    let octaves = libm::log2(y.len().max(2) as f64);
    let mut points = vec![at(&sums, interval_s, 1, kind)?];
    let (mut last, mut step) = (1, 0.0);
    loop {
        step += 1.0 / per_octave.max(1) as f64;
        let m = libm::round(libm::exp2(step)) as usize;
        if m > y.len() {
            break;
        }
        if m > last {
            points.extend(at(&sums, interval_s, m, kind));
            last = m;
            tell(step / octaves);
        }
    }
    if kind == Kind::Overlapping {
        judge_noise(&mut points, sums.readings() + 1);
    }
    Ok(points)
}

/// Degrees of freedom by the noise that the curve's own slope shows at each
/// point.
fn judge_noise(points: &mut [Point], n_sums: usize) {
    let slope =
        |a: &Point, b: &Point| libm::log(b.deviation / a.deviation) / libm::log(b.tau_s / a.tau_s);
    let last = points.len() - 1;
    let slopes: Vec<f64> = (0..points.len())
        .map(|k| slope(&points[k.saturating_sub(1)], &points[(k + 1).min(last)]))
        .collect();
    for (point, slope) in points.iter_mut().zip(slopes) {
        if slope.is_finite() {
            let noise = Noise::from_slope(slope);
            point.degrees_of_freedom = degrees_of_freedom(noise, n_sums, point.m);
        }
    }
}

fn at(sums: &Sums, interval_s: f64, m: usize, kind: Kind) -> Result<Point, AllanError> {
    if !(interval_s > 0.0 && interval_s.is_finite()) {
        return Err(AllanError::Interval(interval_s));
    }
    let samples = sums.x.len() - 1;
    let none = AllanError::TooShort { samples, m };
    // How many readings one term spans, in m.
    let order = if matches!(kind, Kind::Hadamard | Kind::OverlappingHadamard) { 3 } else { 2 };
    let smoothed = matches!(kind, Kind::Modified | Kind::Time);
    let span = (order + usize::from(smoothed)) as u64 * m as u64 - u64::from(smoothed);
    if m == 0 || span > samples as u64 {
        return Err(none);
    }
    let stride = if matches!(kind, Kind::Allan | Kind::Hadamard) { m } else { 1 };
    let total = match kind {
        Kind::Modified | Kind::Time => smoothed_terms(sums, m),
        _ => plain_terms(sums, m, stride, order),
    };
    if total.terms == 0 {
        return Err(none);
    }
    let scale = if order == 3 { 6.0 } else { 2.0 };
    let tau_s = m as f64 * interval_s;
    let value = (total.squares / (scale * total.terms as f64)).sqrt() / m as f64;
    let deviation = if kind == Kind::Time { value * tau_s / 3.0_f64.sqrt() } else { value };
    let (terms, terms_left_out) = (total.terms, total.left_out);
    let overlapping = matches!(kind, Kind::Overlapping | Kind::OverlappingHadamard) || smoothed;
    let degrees_of_freedom = if overlapping {
        degrees_of_freedom(Noise::White, sums.readings() + 1, m)
    } else {
        // White noise: neighbouring terms share a mean.
        (terms as f64 * 2.0 / 3.0).max(1.0)
    };
    Ok(Point { tau_s, m, deviation, terms, terms_left_out, degrees_of_freedom })
}

#[derive(Default)]
struct Total {
    squares: f64,
    terms: usize,
    left_out: usize,
}

/// Second or third differences of the running sum, `stride` apart.
fn plain_terms(sums: &Sums, m: usize, stride: usize, order: usize) -> Total {
    let (x, span) = (&sums.x, order * m);
    let starts = x.len() - span;
    if sums.missing.is_empty() && stride == 1 && order == 2 {
        let squares = second_squares(&x[..starts], &x[m..m + starts], &x[span..]);
        return Total { squares, terms: starts, left_out: 0 };
    }
    let difference = |i: usize| match order {
        3 => (x[i + 3 * m] - x[i]) - 3.0 * (x[i + 2 * m] - x[i + m]),
        _ => (x[i + 2 * m] - x[i + m]) - (x[i + m] - x[i]),
    };
    let mut total = Total::default();
    for start in (0..starts).step_by(stride) {
        if sums.whole(start, span) {
            total.squares += difference(start) * difference(start);
            total.terms += 1;
        } else {
            total.left_out += 1;
        }
    }
    total
}

/// Squares of the second differences of three rows, added up side by side:
/// quicker, and with less rounding.
fn second_squares(a: &[f64], b: &[f64], c: &[f64]) -> f64 {
    const SIDE: usize = 8;
    let mut sums = [0.0; SIDE];
    let rows = a.chunks(SIDE).zip(b.chunks(SIDE)).zip(c.chunks(SIDE));
    for ((a, b), c) in rows {
        for (sum, ((a, b), c)) in sums.iter_mut().zip(a.iter().zip(b).zip(c)) {
            let d = (c - b) - (b - a);
            *sum += d * d;
        }
    }
    sums.iter().sum()
}

/// Second differences averaged over m starts.
fn smoothed_terms(sums: &Sums, m: usize) -> Total {
    let x = &sums.x;
    let second = |i: usize| (x[i + 2 * m] - x[i + m]) - (x[i + m] - x[i]);
    let mut total = Total::default();
    let mut sum: f64 = (0..m).map(second).sum();
    let last = x.len() - 3 * m;
    for start in 0..=last {
        if sums.whole(start, 3 * m - 1) {
            total.squares += (sum / m as f64) * (sum / m as f64);
            total.terms += 1;
        } else {
            total.left_out += 1;
        }
        if start < last {
            sum += second(start + m) - second(start);
        }
    }
    total
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The definition, block means and all.
    fn slow(y: &[f64], m: usize) -> (f64, usize) {
        let block = |i: usize| y[i..i + m].iter().sum::<f64>() / m as f64;
        let terms: Vec<f64> = (0..(y.len() + 1).saturating_sub(2 * m))
            .map(|i| block(i + m) - block(i))
            .filter(|d| d.is_finite())
            .collect();
        let mean = terms.iter().map(|d| d * d).sum::<f64>() / terms.len() as f64;
        ((mean / 2.0).sqrt(), terms.len())
    }

    proptest! {
        #[test]
        fn overlapping_deviations_are_those_of_block_means_gaps_or_not(
            y in prop::collection::vec(
                prop_oneof![19 => 48_000.0..48_100.0f64, 1 => Just(f64::NAN)], 2..80),
            m in 1..9usize
        ) {
            let (expected, terms) = slow(&y, m);
            match deviation(&y, 1.0, m, Kind::Overlapping) {
                Ok(point) => {
                    prop_assert_eq!(point.terms, terms);
                    prop_assert!((point.deviation - expected).abs() < 1e-9);
                }
                Err(_) => prop_assert_eq!(terms, 0),
            }
        }
    }

    #[test]
    fn a_steady_drift_has_deviation_drift_tau_over_root_two_and_no_hadamard_deviation() {
        let y: Vec<f64> = (0..100).map(|i| 2.0 * f64::from(i)).collect();
        for m in [1, 7] {
            let expected = 2.0 * m as f64 / 2.0_f64.sqrt();
            let found = deviation(&y, 1.0, m, Kind::Overlapping).unwrap().deviation;
            assert!((found - expected).abs() < 1e-9);
            let blind = deviation(&y, 1.0, m, Kind::OverlappingHadamard).unwrap().deviation;
            assert!(blind < 1e-9);
        }
    }

    #[test]
    fn a_curve_ends_where_terms_do_and_a_short_one_is_refused() {
        let y: Vec<f64> = (0..100).map(|i| f64::from(i * i % 13)).collect();
        let factors: Vec<usize> =
            curve(&y, 1.0, Kind::Overlapping, 1).unwrap().iter().map(|p| p.m).collect();
        assert_eq!(factors, [1, 2, 4, 8, 16, 32]);
        assert!(curve(&y[..1], 1.0, Kind::Overlapping, 1).is_err());
        assert!(deviation(&y, 0.0, 1, Kind::Overlapping).is_err());
        assert!(deviation(&y, 1.0, 0, Kind::Overlapping).is_err());
    }
}
