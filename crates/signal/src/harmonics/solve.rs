//! The normal equations of a mean and sines, and what their solution says.
//!
//! In: products of the columns (1, cos, sin, cos, sin...) with each other and
//! with the readings.  Out: coefficients, and a [`Harmonics`] from residuals.

use super::{HarmonicError, Harmonics, Term};
use crate::stats::effective_count;
use std::f64::consts::PI;

/// A lower triangle with diagonal, of the columns scaled to length 1.
pub(super) struct Triangle {
    size: usize,
    rows: Vec<f64>,
    scales: Vec<f64>,
}

/// A pivot this small means that a column is nearly a sum of others: their
/// uncertainties would be blown up thirtyfold.
const ALIKE: f64 = 1e-3;

impl Triangle {
    /// Cholesky's factor of a matrix of products given row after row.
    ///
    /// # Errors
    ///
    /// The place of a column that cannot be told from those before it.
    pub(super) fn new(products: &[f64], size: usize) -> Result<Self, usize> {
        let scales: Vec<f64> = (0..size).map(|i| products[i * size + i].sqrt()).collect();
        if let Some(column) = scales.iter().position(|scale| *scale == 0.0 || scale.is_nan()) {
            return Err(column);
        }
        let mut rows = vec![0.0; size * size];
        for i in 0..size {
            for j in 0..=i {
                let known: f64 = (0..j).map(|k| rows[i * size + k] * rows[j * size + k]).sum();
                let rest = products[i * size + j] / (scales[i] * scales[j]) - known;
                if i > j {
                    rows[i * size + j] = rest / rows[j * size + j];
                } else if rest > ALIKE {
                    rows[i * size + i] = rest.sqrt();
                } else {
                    return Err(i);
                }
            }
        }
        Ok(Self { size, rows, scales })
    }

    /// Solves for coefficients.
    pub(super) fn solve(&self, right: &[f64]) -> Vec<f64> {
        let n = self.size;
        let mut out: Vec<f64> = right.iter().zip(&self.scales).map(|(r, s)| r / s).collect();
        for i in 0..n {
            let known: f64 = (0..i).map(|k| self.rows[i * n + k] * out[k]).sum();
            out[i] = (out[i] - known) / self.rows[i * n + i];
        }
        for i in (0..n).rev() {
            let known: f64 = (i + 1..n).map(|k| self.rows[k * n + i] * out[k]).sum();
            out[i] = (out[i] - known) / self.rows[i * n + i];
        }
        out.iter().zip(&self.scales).map(|(v, s)| v / s).collect()
    }

    /// Variance of one coefficient, and its covariance with the next, for
    /// residuals of variance 1.
    fn spread(&self, column: usize) -> (f64, f64) {
        let mut unit = vec![0.0; self.size];
        unit[column] = 1.0;
        let inverse = self.solve(&unit);
        (inverse[column], inverse.get(column + 1).copied().unwrap_or(0.0))
    }
}

/// The result from coefficients and residuals (missing ones NaN).
pub(super) fn conclude(
    triangle: &Triangle,
    coefficients: &[f64],
    periods_s: &[f64],
    residuals: &[f64],
    samples_used: usize,
    samples_left_out: usize,
) -> Harmonics {
    let squares: f64 = residuals.iter().filter(|r| r.is_finite()).map(|r| r * r).sum();
    let free = samples_used as f64 - coefficients.len() as f64;
    let variance = if free > 0.0 { squares / free } else { f64::NAN };
    let effective = effective_count(residuals);
    // Correlated residuals are worth fewer values; variances grow in proportion.
    let inflated = variance * samples_used as f64 / effective.max(1.0);
    let terms = periods_s.iter().enumerate().map(|(k, period_s)| {
        let column = 2 * k + 1;
        let (cos, sin) = (coefficients[column], coefficients[column + 1]);
        let (cc, cs) = triangle.spread(column);
        let (ss, _) = triangle.spread(column + 1);
        let amplitude = libm::hypot(cos, sin);
        let (u, v) = if amplitude > 0.0 { (cos / amplitude, sin / amplitude) } else { (1.0, 0.0) };
        let along = u * u * cc + v * v * ss + 2.0 * u * v * cs;
        let across = v * v * cc + u * u * ss - 2.0 * u * v * cs;
        let phase_sigma = (inflated * across).sqrt() / amplitude;
        Term {
            period_s: *period_s,
            cos,
            sin,
            amplitude,
            amplitude_sigma: (inflated * along).sqrt(),
            phase_rad: libm::atan2(sin, cos),
            phase_sigma_rad: if phase_sigma < PI { phase_sigma } else { PI },
        }
    });
    Harmonics {
        level: coefficients[0],
        level_sigma: (inflated * triangle.spread(0).0).sqrt(),
        terms: terms.collect(),
        residual_sd: variance.sqrt(),
        samples_used,
        samples_left_out,
        effective_count: effective,
    }
}

/// The error for a column that is like others.
pub(super) fn alike(column: usize, periods_s: &[f64], span_s: f64) -> HarmonicError {
    let period_s = periods_s[column.saturating_sub(1) / 2];
    HarmonicError::Alike { period_s, span_s }
}
