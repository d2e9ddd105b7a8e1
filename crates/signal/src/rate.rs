//! Rate of change of an evenly spaced series.
//!
//! In: a slice and its step.  Out: one rate a sample, missing where a
//! neighbour is.  Shifts nothing in time.

/// The change from `half` samples before to `half` samples after, for each
/// second.
///
/// # Arguments and units
///
/// * `x` - evenly spaced, any unit u; missing values are not finite
/// * `step_s` - seconds from sample to sample
/// * `half` - samples on either side; 0 is taken as 1
///
/// Returns u / s, NaN where either end is missing.  White noise of standard
/// deviation s gives a rate of s / (sqrt(2) half step).
///
/// # Accuracy
///
/// Exact for a straight line and a parabola; a wave keeps the share
/// [`rate_response`] of its rate.
///
/// # Source
///
/// Central difference, M. Abramowitz and I. A. Stegun 1964, 25.3.21.
pub fn rate_of_change(x: &[f64], step_s: f64, half: usize) -> Vec<f64> {
    let half = half.max(1);
    let over_s = 2.0 * half as f64 * step_s;
    let at = |k: usize| {
        let before = k.checked_sub(half).map_or(f64::NAN, |p| x[p]);
        let after = x.get(k + half).copied().unwrap_or(f64::NAN);
        let rate = (after - before) / over_s;
        if rate.is_finite() { rate } else { f64::NAN }
    };
    (0..x.len()).map(at).collect()
}

/// Share of a wave's rate of change that [`rate_of_change`] finds,
/// sin(2 pi f half step) / (2 pi f half step).
pub fn rate_response(frequency_hz: f64, step_s: f64, half: usize) -> f64 {
    let turn = std::f64::consts::TAU * frequency_hz * half.max(1) as f64 * step_s;
    if turn == 0.0 { 1.0 } else { libm::sin(turn) / turn }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_parabola_has_its_exact_rate_and_the_ends_have_none() {
        let x: Vec<f64> = (0..9).map(|k| f64::from(k * k)).collect();
        let found = rate_of_change(&x, 0.5, 2);
        assert_eq!(found[4], 16.0);
        assert!(found[1].is_nan() && found[7].is_nan() && !found[2].is_nan());
    }

    #[test]
    fn a_missing_sample_takes_the_rates_beside_it_and_no_other() {
        let mut x = vec![3.0; 9];
        x[4] = f64::NAN;
        let missing: Vec<usize> =
            (0..9).filter(|k| rate_of_change(&x, 1.0, 1)[*k].is_nan()).collect();
        assert_eq!(missing, [0, 3, 5, 8]);
    }

    #[test]
    fn a_wave_keeps_the_share_that_the_response_says() {
        let f = 1.0 / 20.0;
        let x: Vec<f64> =
            (0..200).map(|k| libm::sin(std::f64::consts::TAU * f * f64::from(k) * 2.0)).collect();
        let found = rate_of_change(&x, 2.0, 3);
        let true_rate = std::f64::consts::TAU * f;
        // At sample 100 the wave passes zero upward.
        assert!((found[100] / true_rate - rate_response(f, 2.0, 3)).abs() < 1e-12);
    }
}
