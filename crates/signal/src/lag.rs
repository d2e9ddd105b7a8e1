//! The lag between two series, by the place of greatest correlation.
//!
//! In: two series on the same even axis, gaps as NaN.  Out: how many samples
//! the second is behind the first, to a fraction of a sample, with its
//! uncertainty.  Series that drift should be differenced first: common drift
//! makes every lag fit.

use crate::products::products;
use crate::stats::{effective_count, mean};
use record::{Fault, say, words::word};
use std::fmt;

/// A lag.
#[derive(Clone, Debug, PartialEq)]
pub struct Lag {
    /// Samples by which the second series is behind the first.
    pub samples: f64,
    /// Standard uncertainty, samples; NaN when the peak is too flat to say.
    pub sigma: f64,
    /// Correlation there, -1 to 1.
    pub correlation: f64,
    /// Correlation at each whole lag from `-most` to `most`; NaN where too few
    /// pairs are there.
    pub correlations: Vec<f64>,
}

/// Why there is no lag.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LagError {
    /// The series differ in length.
    Length {
        /// Samples of the first.
        first: usize,
        /// Samples of the second.
        second: usize,
    },
    /// Too few pairs at every lag, or a series without spread.
    TooFew,
    /// The greatest correlation lies at the end of the range tried.
    AtEdge(i64),
}

impl fmt::Display for LagError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Length { first, second } => {
                f.write_str(&say!("The series have {first} and {second} samples."))
            }
            Self::TooFew => f.write_str(&say!(
                "Fewer than {FEWEST} pairs of samples are there at every lag, or a series never \
                 changes."
            )),
            Self::AtEdge(lag) => f.write_str(&say!(
                "The series agree best at a lag of {lag} samples, the end of the range tried."
            )),
        }
    }
}

impl std::error::Error for LagError {}

impl From<LagError> for Fault {
    fn from(error: LagError) -> Self {
        let remedy = match error {
            LagError::Length { .. } => word("Bring both to the same times first."),
            LagError::TooFew => {
                word("Choose a stretch that both series cover, on a disturbed day.")
            }
            LagError::AtEdge(_) => word("Try a wider range of lags."),
        };
        Self::new("signal/lag", error.to_string(), remedy)
    }
}

const FEWEST: f64 = 8.0;

/// The lag, of at most `most` samples either way, at which two series
/// correlate best.
///
/// Missing samples (not finite) take part in no pair.  The fraction comes from
/// a parabola through three correlations; its uncertainty from the peak's
/// curvature and the pairs' effective number:
/// sigma^2 = (1 - r^2) / (N_eff r |r''|).
///
/// # Errors
///
/// [`LagError`].
///
/// # Source
///
/// Normalised cross-correlation: J. S. Bendat and A. G. Piersol, Random Data
/// (2010), chapter 5; the variance by expanding the likelihood of a shifted
/// copy about its peak, checked by trials.
pub fn lag(first: &[f64], second: &[f64], most: usize) -> Result<Lag, LagError> {
    if first.len() != second.len() {
        return Err(LagError::Length { first: first.len(), second: second.len() });
    }
    let most = most.min(first.len().saturating_sub(1));
    let correlations = correlations(&Side::new(first), &Side::new(second), most);
    let most = most as i64;
    let better = |a: &usize, b: &usize| correlations[*a].total_cmp(&correlations[*b]);
    let known = (0..correlations.len()).filter(|k| correlations[*k].is_finite());
    let best = known.max_by(better).ok_or(LagError::TooFew)?;
    if best == 0 || best + 1 == correlations.len() {
        return Err(LagError::AtEdge(best as i64 - most));
    }
    let (before, at, after) = (correlations[best - 1], correlations[best], correlations[best + 1]);
    let bend = before - 2.0 * at + after;
    let shift = if bend < 0.0 { 0.5 * (before - after) / bend } else { 0.0 };
    let peak = (at - 0.25 * (before - after) * shift).min(1.0);
    let samples = best as f64 - most as f64 + shift;
    let effective = effective_count(&residuals(first, second, best as i64 - most));
    let sigma = ((1.0 - peak * peak).max(0.0) / (effective * peak * -bend)).sqrt();
    let shift_known = bend < 0.0 && shift.is_finite();
    let sigma = if shift_known { sigma } else { f64::NAN };
    Ok(Lag { samples, sigma, correlation: peak, correlations })
}

/// Pairs of the first series and the second, `lag` samples later.
fn pairs<'a>(
    first: &'a [f64],
    second: &'a [f64],
    lag: i64,
) -> impl Iterator<Item = (f64, f64)> + 'a {
    let late = usize::try_from(lag).unwrap_or(0);
    let early = usize::try_from(-lag).unwrap_or(0);
    let from = |x: &'a [f64], start: usize| x.get(start..).unwrap_or_default().iter();
    from(first, early).zip(from(second, late)).map(|(a, b)| (*a, *b))
}

/// A series about its mean, missing samples 0; its squares; which are there.
struct Side {
    off: Vec<f64>,
    squares: Vec<f64>,
    there: Vec<f64>,
}

impl Side {
    fn new(x: &[f64]) -> Self {
        let middle = mean(x).unwrap_or(0.0);
        let off: Vec<f64> =
            x.iter().map(|v| if v.is_finite() { v - middle } else { 0.0 }).collect();
        let squares = off.iter().map(|v| v * v).collect();
        let there = x.iter().map(|v| f64::from(u8::from(v.is_finite()))).collect();
        Self { off, squares, there }
    }

    /// Correlations with another at lags 0 to `most` of the other, each about
    /// the means of the pairs that are there.
    fn ahead_of(&self, other: &Self, most: usize) -> Vec<f64> {
        let count = products(&self.there, &other.there, most);
        let a = products(&self.off, &other.there, most);
        let b = products(&self.there, &other.off, most);
        let aa = products(&self.squares, &other.there, most);
        let bb = products(&self.there, &other.squares, most);
        let ab = products(&self.off, &other.off, most);
        let at = |k: usize| {
            // Transforms leave rounding on what are whole numbers.
            let n = libm::round(count[k]);
            let spread = (aa[k] - a[k] * a[k] / n, bb[k] - b[k] * b[k] / n);
            let still = spread.0 <= ROUNDING * aa[0] || spread.1 <= ROUNDING * bb[0];
            if n < FEWEST || still {
                return f64::NAN;
            }
            (ab[k] - a[k] * b[k] / n) / (spread.0 * spread.1).sqrt()
        };
        (0..=most).map(at).collect()
    }
}

/// A spread this small beside the whole series' is rounding.
const ROUNDING: f64 = 1e-13;

/// Correlations at lags -most to most of the second series.
fn correlations(first: &Side, second: &Side, most: usize) -> Vec<f64> {
    let mut out = second.ahead_of(first, most);
    out.reverse();
    out.pop();
    out.extend(first.ahead_of(second, most));
    out
}

/// What the first series, scaled, leaves of the second.
fn residuals(first: &[f64], second: &[f64], lag: i64) -> Vec<f64> {
    let both: Vec<(f64, f64)> = pairs(first, second, lag).collect();
    let whole = || both.iter().filter(|(a, b)| a.is_finite() && b.is_finite());
    let n = whole().count() as f64;
    let (mean_a, mean_b) =
        (whole().map(|p| p.0).sum::<f64>() / n, whole().map(|p| p.1).sum::<f64>() / n);
    let ab: f64 = whole().map(|p| (p.0 - mean_a) * (p.1 - mean_b)).sum();
    let aa: f64 = whole().map(|p| (p.0 - mean_a) * (p.0 - mean_a)).sum();
    both.iter().map(|(a, b)| b - mean_b - ab / aa * (a - mean_a)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::butterworth::{Band, causal, design};

    fn smooth_noise(n: usize, seed: u64) -> Vec<f64> {
        let white = crate::trial::Seeded(seed).centred(n);
        causal(&design(3, Band::Low(0.05), 1.0).unwrap(), &white)
    }

    #[test]
    fn a_whole_delay_is_found_in_either_direction_across_gaps() {
        let mut x = smooth_noise(900, 1);
        x[400..420].fill(f64::NAN);
        for (delay, early, late) in [(7.0, 0, 7), (-4.0, 4, 0)] {
            let n = 800;
            let found = lag(&x[late..late + n], &x[early..early + n], 20).unwrap();
            assert!((found.samples - delay).abs() < 0.02, "{}", found.samples);
            assert!(found.correlation > 0.999);
            assert_eq!(found.correlations.len(), 41);
        }
    }

    #[test]
    fn each_correlation_is_that_of_its_own_pairs() {
        for (n, most) in [(90, 20), (1500, 200)] {
            let (mut x, mut y) = (smooth_noise(n, 7), smooth_noise(n, 8));
            x[10..17].fill(f64::NAN);
            y[40] = f64::NAN;
            let found = correlations(&Side::new(&x), &Side::new(&y), most);
            for (k, found) in found.iter().enumerate() {
                let whole: Vec<(f64, f64)> = pairs(&x, &y, k as i64 - most as i64)
                    .filter(|(a, b)| a.is_finite() && b.is_finite())
                    .collect();
                let (a, b): (Vec<f64>, Vec<f64>) = whole.into_iter().unzip();
                let (mean_a, mean_b) = (mean(&a).unwrap(), mean(&b).unwrap());
                let sum = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
                    a.iter().zip(&b).map(|(a, b)| f(a - mean_a, b - mean_b)).sum()
                };
                let expected =
                    sum(&|a, b| a * b) / (sum(&|a, _| a * a) * sum(&|_, b| b * b)).sqrt();
                assert!((found - expected).abs() < 1e-9, "{n} {k}");
            }
        }
    }

    #[test]
    fn noise_spreads_the_lag_as_much_as_stated() {
        let (mut squares, trials) = (0.0, 60);
        for seed in 1..=trials {
            let signal = smooth_noise(1010, seed);
            let noise = smooth_noise(1000, seed + 1000);
            let late: Vec<f64> =
                signal[..1000].iter().zip(&noise).map(|(s, n)| s + 0.3 * n).collect();
            let found = lag(&signal[3..1003], &late, 30).unwrap();
            squares += ((found.samples - 3.0) / found.sigma).powi(2);
        }
        let ratio = squares / trials as f64;
        assert!((0.3..2.5).contains(&ratio), "{ratio}");
    }

    #[test]
    fn what_has_no_lag_is_refused() {
        let x = smooth_noise(100, 3);
        assert!(matches!(lag(&x, &x[1..], 5), Err(LagError::Length { .. })));
        assert_eq!(lag(&[1.0; 50], &[1.0; 50], 5), Err(LagError::TooFew));
        assert_eq!(lag(&[], &[], 5), Err(LagError::TooFew));
        let ramp: Vec<f64> = (0..100).map(|i| f64::from(i * i)).collect();
        let turned: Vec<f64> = x.iter().rev().copied().collect();
        assert!(lag(&ramp, &turned, 0).is_err());
    }
}
