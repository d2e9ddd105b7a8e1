//! Taking off the mean, a straight line or a polynomial.
//!
//! In: an evenly spaced series, missing values NaN.  Out: the series less the
//! fit, missing values still missing, and the fit with its uncertainty.  Never
//! fills a gap.

use crate::lsq::{self, FitError};

/// What is taken off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Detrend {
    /// Nothing.
    None,
    /// The mean.
    Mean,
    /// The least-squares straight line.
    Line,
}

/// What was taken off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fitted {
    /// Value of the fit at the first sample, in the unit of the series.
    pub level: f64,
    /// Rise per sample; 0 unless a line was taken off.
    pub slope_per_sample: f64,
    /// Standard uncertainty of the level, as if residuals were independent;
    /// NaN with too few samples.
    pub level_sigma: f64,
    /// Standard uncertainty of the slope, likewise; 0 unless a line was taken off.
    pub slope_sigma: f64,
    /// Samples that were there.
    pub used: usize,
}

impl Fitted {
    /// The fit at a sample.
    pub fn at(&self, sample: usize) -> f64 {
        self.level + self.slope_per_sample * sample as f64
    }
}

/// Takes the mean or a line off a series.
///
/// Missing values (not finite) are skipped in the fit and come back as they
/// were.  With no sample at all, or one for a line, as much is taken off as
/// can be known: nothing, or the mean.
///
/// # Accuracy
///
/// Sums are taken about the mean, so a large level costs no digits.
/// Uncertainties suppose independent residuals of equal spread; for a
/// correlated series divide by the root of `stats::effective_count` over
/// the count.
pub fn remove(x: &[f64], how: Detrend) -> (Vec<f64>, Fitted) {
    let fitted = fit(x, how);
    let rest = match how {
        Detrend::None => x.to_vec(),
        _ => x.iter().enumerate().map(|(sample, value)| value - fitted.at(sample)).collect(),
    };
    (rest, fitted)
}

/// The fit alone.
pub fn fit(x: &[f64], how: Detrend) -> Fitted {
    let present = || x.iter().enumerate().filter(|(_, value)| value.is_finite());
    let used = present().count();
    if how == Detrend::None || used == 0 {
        return Fitted { used, ..NOTHING };
    }
    let count = used as f64;
    let mean_place = present().map(|(sample, _)| sample as f64).sum::<f64>() / count;
    let rough = present().map(|(_, value)| value / count).sum::<f64>();
    let mean = rough + present().map(|(_, value)| value - rough).sum::<f64>() / count;
    let (mut spread, mut product) = (0.0, 0.0);
    if how == Detrend::Line {
        for (sample, value) in present() {
            let off = sample as f64 - mean_place;
            spread += off * off;
            product += off * (value - mean);
        }
    }
    let slope = if spread > 0.0 { product / spread } else { 0.0 };
    let rest = |(sample, value): (usize, &f64)| value - mean - slope * (sample as f64 - mean_place);
    let squares: f64 = present().map(|pair| rest(pair) * rest(pair)).sum();
    let line = Line { mean, mean_place, slope, spread };
    line.fitted(squares, used)
}

const NOTHING: Fitted =
    Fitted { level: 0.0, slope_per_sample: 0.0, level_sigma: 0.0, slope_sigma: 0.0, used: 0 };

/// A line through the mean of its points; `spread` is the sum of squared
/// distances of their places, 0 when only a mean was fitted.
struct Line {
    mean: f64,
    mean_place: f64,
    slope: f64,
    spread: f64,
}

impl Line {
    fn fitted(&self, residual_squares: f64, used: usize) -> Fitted {
        let sloped = self.spread > 0.0;
        let free = used as f64 - if sloped { 2.0 } else { 1.0 };
        let sigma = if free > 0.0 { (residual_squares / free).sqrt() } else { f64::NAN };
        let reach = if sloped { self.mean_place * self.mean_place / self.spread } else { 0.0 };
        Fitted {
            level: self.mean - self.slope * self.mean_place,
            slope_per_sample: self.slope,
            level_sigma: sigma * (1.0 / used as f64 + reach).sqrt(),
            slope_sigma: if sloped { sigma / self.spread.sqrt() } else { 0.0 },
            used,
        }
    }
}

/// Level at the first sample and rise per sample of a fit to a series that
/// misses nothing: the quick way for segments of spectra.
pub(crate) fn fit_whole(x: &[f64], how: Detrend) -> (f64, f64) {
    let n = x.len() as f64;
    if how == Detrend::None || x.is_empty() {
        return (0.0, 0.0);
    }
    let first = x[0];
    let mean = first + sum_of(x, |value, _| value - first) / n;
    if how == Detrend::Mean || x.len() < 2 {
        return (mean, 0.0);
    }
    let middle = (n - 1.0) / 2.0;
    let product = sum_of(x, |value, place| (place - middle) * (value - mean));
    let slope = product * 12.0 / (n * (n * n - 1.0));
    (mean - slope * middle, slope)
}

/// A sum over values and places in four lanes.
fn sum_of(x: &[f64], term: impl Fn(f64, f64) -> f64) -> f64 {
    let (mut lanes, whole) = ([0.0; 4], x.len() / 4 * 4);
    for (block, four) in x.chunks_exact(4).enumerate() {
        for (lane, value) in four.iter().enumerate() {
            lanes[lane] += term(*value, (4 * block + lane) as f64);
        }
    }
    let rest: f64 =
        x[whole..].iter().enumerate().map(|(k, value)| term(*value, (whole + k) as f64)).sum();
    (lanes[0] + lanes[1]) + (lanes[2] + lanes[3]) + rest
}

/// A polynomial taken off.
#[derive(Clone, Debug, PartialEq)]
pub struct Polynomial {
    /// Coefficients of the Chebyshev polynomials of u, u going from -1 at the
    /// first sample to 1 at the last.
    pub chebyshev: Vec<f64>,
    /// Standard uncertainty of each, for independent residuals.
    pub sigma: Vec<f64>,
    /// Residual standard deviation, in the unit of the series.
    pub residual_sd: f64,
    /// Samples that were there.
    pub used: usize,
}

/// The highest degree that is taken off.
pub const MOST_DEGREE: usize = 12;

/// Takes a least-squares polynomial off a series.
///
/// Missing values (not finite) are skipped in the fit and come back as they
/// were.  The fit is made in Chebyshev polynomials of the place scaled to
/// -1..1, so that a high degree costs few digits.
///
/// # Errors
///
/// [`FitError`] when there are fewer samples than coefficients, or `degree` is
/// more than [`MOST_DEGREE`].
pub fn polynomial(x: &[f64], degree: usize) -> Result<(Vec<f64>, Polynomial), FitError> {
    let present: Vec<usize> = (0..x.len()).filter(|sample| x[*sample].is_finite()).collect();
    if degree > MOST_DEGREE {
        return Err(FitError::TooFew { rows: present.len(), columns: degree.saturating_add(1) });
    }
    let half = (x.len().max(2) - 1) as f64 / 2.0;
    let terms = |sample: usize| chebyshev(sample as f64 / half - 1.0, degree);
    let mut columns = vec![Vec::with_capacity(present.len()); degree + 1];
    for sample in &present {
        for (column, term) in columns.iter_mut().zip(terms(*sample)) {
            column.push(term);
        }
    }
    let values: Vec<f64> = present.iter().map(|sample| x[*sample]).collect();
    let fit = lsq::solve(&columns, &values)?;
    let at = |sample: usize| -> f64 {
        terms(sample).iter().zip(&fit.coefficients).map(|(term, c)| term * c).sum()
    };
    let rest = x.iter().enumerate().map(|(sample, value)| value - at(sample)).collect();
    let residual_sd = fit.residual_sd();
    let used = present.len();
    Ok((rest, Polynomial { chebyshev: fit.coefficients, sigma: fit.sigma, residual_sd, used }))
}

/// Chebyshev polynomials 0 to `degree` at `u`.
fn chebyshev(u: f64, degree: usize) -> Vec<f64> {
    let mut terms = vec![1.0, u];
    for k in 2..=degree {
        terms.push(2.0 * u * terms[k - 1] - terms[k - 2]);
    }
    terms.truncate(degree + 1);
    terms
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_taken_off_whole_and_gaps_stay() {
        let mut x: Vec<f64> = (0..20).map(|i| 48_000.0 - 0.5 * f64::from(i)).collect();
        x[7] = f64::NAN;
        let (rest, fitted) = remove(&x, Detrend::Line);
        assert!((fitted.slope_per_sample + 0.5).abs() < 1e-12);
        assert!((fitted.level - 48_000.0).abs() < 1e-9);
        assert_eq!(fitted.used, 19);
        assert!(rest[7].is_nan());
        assert!(rest.iter().filter(|v| v.is_finite()).all(|v| v.abs() < 1e-9));
    }

    #[test]
    fn the_level_of_a_mean_has_the_standard_error_of_the_mean() {
        let fitted = fit(&[1.0, 2.0, 3.0, 4.0], Detrend::Mean);
        assert_eq!(fitted.level, 2.5);
        assert!((fitted.level_sigma - (5.0_f64 / 12.0).sqrt()).abs() < 1e-15);
    }

    #[test]
    fn the_quick_fit_is_the_same_line() {
        for n in [1, 2, 3, 4, 7, 64, 101] {
            let x: Vec<f64> = (0..n).map(|i| 500.0 + f64::from(i * i % 17)).collect();
            for how in [Detrend::None, Detrend::Mean, Detrend::Line] {
                let (slow, (level, slope)) = (fit(&x, how), fit_whole(&x, how));
                assert!((slow.level - level).abs() < 1e-10, "{n} {how:?}");
                assert!((slow.slope_per_sample - slope).abs() < 1e-11);
            }
        }
        assert_eq!(fit_whole(&[], Detrend::Line), (0.0, 0.0));
    }

    #[test]
    fn one_sample_or_none_is_answered_without_a_slope() {
        assert_eq!(fit(&[f64::NAN, 5.0], Detrend::Line).level, 5.0);
        assert_eq!(fit(&[], Detrend::Line).used, 0);
        assert_eq!(remove(&[f64::NAN], Detrend::Mean).0.len(), 1);
    }

    #[test]
    fn a_cubic_is_taken_off_whole_by_degree_three_and_gaps_stay() {
        let mut x: Vec<f64> = (0..500)
            .map(|i| {
                let t = f64::from(i);
                48_000.0 + t - 0.02 * t * t + 3e-5 * t * t * t
            })
            .collect();
        x[100] = f64::NAN;
        let (rest, found) = polynomial(&x, 3).unwrap();
        assert!(rest[100].is_nan());
        assert!(rest.iter().filter(|v| v.is_finite()).all(|v| v.abs() < 1e-8));
        assert_eq!(found.used, 499);
        assert!(polynomial(&x, 13).is_err());
        assert!(polynomial(&[1.0, f64::NAN], 1).is_err());
    }
}
