//! Harmonics of readings at any times.
//!
//! In: times in seconds, values, periods.  Out: [`Harmonics`] with phases
//! counted from time 0.

use super::solve::{Triangle, alike, conclude};
use super::{HarmonicError, Harmonics, check_periods};
use crate::rotor::pair;
use crate::stats::mean;

/// Fits a mean and sines of given periods to readings at any times.
///
/// # Arguments and units
///
/// * `times_s` - seconds from any origin, any order; phases count from 0
/// * `values` - any unit; missing ones (not finite) are skipped and counted
/// * `periods_s` - seconds, all different
///
/// Uncertainties are scaled by the root of samples over `effective_count` of
/// the residuals in the order given, s sqrt(2 / N_eff) for a long record.
///
/// # Errors
///
/// [`HarmonicError`]: lengths, periods, too few readings, or a record that
/// cannot tell the periods apart.
///
/// # Accuracy
///
/// NIST's ENSO set to 1e-9; see the tests.
///
/// # Source
///
/// Least squares; time needed to part two periods: Lord Rayleigh's criterion,
/// a record of 1 / |1/P - 1/Q|.
pub fn fit(times_s: &[f64], values: &[f64], periods_s: &[f64]) -> Result<Harmonics, HarmonicError> {
    check_periods(periods_s)?;
    if times_s.len() != values.len() {
        let (times, values) = (times_s.len(), values.len());
        return Err(HarmonicError::Length { times, values });
    }
    let both = || times_s.iter().zip(values);
    let present: Vec<(f64, f64)> =
        both().filter(|(t, y)| t.is_finite() && y.is_finite()).map(|(t, y)| (*t, *y)).collect();
    let unknowns = 2 * periods_s.len() + 1;
    if present.len() < unknowns {
        return Err(HarmonicError::TooFew { samples: present.len(), unknowns });
    }
    let level = mean(values).unwrap_or(0.0);
    let sums = products(&present, level, periods_s);
    let triangle = Triangle::new(&sums.columns, unknowns).map_err(|column| {
        let first = present.iter().map(|(t, _)| *t).fold(f64::INFINITY, f64::min);
        let last = present.iter().map(|(t, _)| *t).fold(f64::NEG_INFINITY, f64::max);
        alike(column, periods_s, last - first)
    })?;
    let mut coefficients = triangle.solve(&sums.right);
    let mut rest = residuals(&present, level, &coefficients, periods_s);
    // Once more on what is left takes off the rounding of the first solution.
    let again: Vec<(f64, f64)> = present.iter().zip(&rest).map(|((t, _), r)| (*t, *r)).collect();
    let more = triangle.solve(&products(&again, 0.0, periods_s).right);
    coefficients.iter_mut().zip(&more).for_each(|(c, m)| *c += m);
    rest = residuals(&present, level, &coefficients, periods_s);
    coefficients[0] += level;
    let left_out = values.len() - present.len();
    Ok(conclude(&triangle, &coefficients, periods_s, &rest, present.len(), left_out))
}

struct Products {
    columns: Vec<f64>,
    right: Vec<f64>,
}

/// 1 and the cosines and sines at a time.
fn row(time_s: f64, periods_s: &[f64], out: &mut [f64]) {
    out[0] = 1.0;
    for (period_s, pair_of) in periods_s.iter().zip(out[1..].chunks_exact_mut(2)) {
        (pair_of[0], pair_of[1]) = pair(time_s / period_s);
    }
}

fn products(readings: &[(f64, f64)], level: f64, periods_s: &[f64]) -> Products {
    let size = 2 * periods_s.len() + 1;
    let (mut columns, mut right) = (vec![0.0; size * size], vec![0.0; size]);
    let mut at = vec![0.0; size];
    for (time_s, value) in readings {
        row(*time_s, periods_s, &mut at);
        for (i, a) in at.iter().enumerate() {
            right[i] += a * (value - level);
            for (j, b) in at[..=i].iter().enumerate() {
                columns[i * size + j] += a * b;
            }
        }
    }
    Products { columns, right }
}

fn residuals(
    readings: &[(f64, f64)],
    level: f64,
    coefficients: &[f64],
    periods_s: &[f64],
) -> Vec<f64> {
    let mut at = vec![0.0; coefficients.len()];
    readings
        .iter()
        .map(|(time_s, value)| {
            row(*time_s, periods_s, &mut at);
            value - level - at.iter().zip(coefficients).map(|(a, c)| a * c).sum::<f64>()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sines_at_uneven_times_are_recovered_with_their_phases() {
        let times: Vec<f64> =
            (0..400).map(|i| 900.0 * f64::from(i) + f64::from(i * i % 97)).collect();
        let wave = |t: f64, p: f64, a: f64, m: f64| a * pair((t - m) / p).0;
        let mut values: Vec<f64> = times
            .iter()
            .map(|t| {
                48_000.0 + wave(*t, 86_400.0, 30.0, 40_000.0) + wave(*t, 43_200.0, 5.0, 1000.0)
            })
            .collect();
        values[5] = f64::NAN;
        let found = fit(&times, &values, &[86_400.0, 43_200.0]).unwrap();
        assert!((found.level - 48_000.0).abs() < 1e-9);
        assert!((found.terms[0].amplitude - 30.0).abs() < 1e-9);
        assert!((found.terms[0].maximum_s() - 40_000.0).abs() < 1e-5);
        assert!((found.terms[1].maximum_s() - 1000.0).abs() < 1e-4);
        assert_eq!((found.samples_used, found.samples_left_out), (399, 1));
        assert!((found.at(times[9]) - values[9]).abs() < 1e-8);
    }

    #[test]
    fn periods_too_near_for_the_record_are_refused_by_name() {
        let times: Vec<f64> = (0..96).map(|i| 900.0 * f64::from(i)).collect();
        let error = fit(&times, &vec![1.0; 96], &[86_400.0, 86_164.1]).unwrap_err();
        assert!(matches!(error, HarmonicError::Alike { period_s, .. } if period_s == 86_164.1));
        let long = fit(&times, &vec![1.0; 96], &[1e9]).unwrap_err();
        assert!(matches!(long, HarmonicError::Alike { .. }));
    }

    #[test]
    fn what_cannot_be_fitted_is_refused() {
        assert!(matches!(fit(&[1.0], &[], &[5.0]), Err(HarmonicError::Length { .. })));
        assert!(matches!(fit(&[1.0], &[1.0], &[]), Err(HarmonicError::Period(_))));
        assert!(matches!(fit(&[1.0], &[1.0], &[-3.0]), Err(HarmonicError::Period(_))));
        assert!(matches!(fit(&[1.0; 2], &[1.0; 2], &[5.0]), Err(HarmonicError::TooFew { .. })));
    }
}
