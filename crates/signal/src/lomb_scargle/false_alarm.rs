//! How often white noise makes a peak as high as one found.
//!
//! In: a power (explained share of the scatter), the number of values, the
//! spread of times and the highest frequency.  Out: chances.  All suppose
//! white, normal noise; geomagnetic noise is red, and then these chances are
//! far too small.

use crate::special::rising_root;
use std::f64::consts::PI;

/// Chance that one frequency chosen beforehand has so high a power:
/// (1 - P)^((N - 3) / 2).
pub fn single(power: f64, n_values: usize) -> f64 {
    libm::pow(1.0 - power.clamp(0.0, 1.0), (n_values as f64 - 3.0).max(0.0) / 2.0)
}

/// Chance that any frequency up to the highest has so high a power.
///
/// `spread` is W = f_max sqrt(4 pi var t), see
/// `Periodogram::bandwidth_times_spread`.
///
/// # Source
///
/// R. V. Baluev, Mon. Not. R. Astron. Soc. 385 (2008) 1279, equations 5 and 6
/// and table 1, for a mean fitted with the sine; an upper bound that is close
/// where the chance is small.
pub fn baluev(power: f64, spread: f64, n_values: usize) -> f64 {
    let power = power.clamp(0.0, 1.0);
    let one = single(power, n_values);
    let upcrossings = expected_peaks(power, spread, n_values);
    // 1 - (1 - one) e^-tau, without loss where both are small.
    one - (1.0 - one) * libm::expm1(-upcrossings)
}

/// Baluev's tau.
fn expected_peaks(power: f64, spread: f64, n_values: usize) -> f64 {
    let n_mean = n_values as f64 - 1.0;
    let gamma = libm::exp(libm::lgamma(n_mean / 2.0) - libm::lgamma((n_mean - 1.0) / 2.0));
    let factor = (2.0 / n_mean).sqrt() * gamma;
    let tail = libm::exp(0.5 * (n_values as f64 - 4.0) * libm::log1p(-power));
    factor * spread * tail * (0.5 * n_mean * power).sqrt()
}

/// The power that white noise passes somewhere with this chance; NaN outside 0
/// to 1.
pub fn baluev_level(chance: f64, spread: f64, n_values: usize) -> f64 {
    if !(chance > 0.0 && chance < 1.0) {
        return f64::NAN;
    }
    // The chance falls with the power from its top, which lies near 1 / N.
    let top = (1.0 / n_values as f64).min(0.5);
    rising_root(top, 1.0, 0.5, |power| {
        let step = 1e-7 * power;
        let at = |p: f64| libm::log(chance) - libm::log(baluev(p, spread, n_values));
        (at(power), (at(power + step) - at(power - step)) / (2.0 * step))
    })
}

/// W = f_max sqrt(4 pi var t), the variance of the times weighted as the values
/// are; weights have sum 1.
pub(super) fn bandwidth_times_spread(times_s: &[f64], weights: &[f64], highest_hz: f64) -> f64 {
    let weighted = |f: &dyn Fn(f64) -> f64| -> f64 {
        times_s.iter().zip(weights).map(|(t, w)| w * f(*t)).sum()
    };
    let mean = weighted(&|t| t);
    let variance = weighted(&|t| (t - mean) * (t - mean));
    highest_hz * (4.0 * PI * variance).sqrt()
}

/// The number of independent frequencies of N evenly spaced values,
/// -6.362 + 1.193 N + 0.00098 N^2.
///
/// # Source
///
/// J. H. Horne and S. L. Baliunas, Astrophys. J. 302 (1986) 757; the formula
/// from memory.
pub fn independent_frequencies(n_values: usize) -> f64 {
    let n = n_values as f64;
    -6.362 + 1.193 * n + 0.000_98 * n * n
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_level_undoes_the_chance() {
        for chance in [0.5, 0.1, 1e-3, 1e-9] {
            let level = baluev_level(chance, 200.0, 100);
            assert!((baluev(level, 200.0, 100) / chance - 1.0).abs() < 1e-9, "{chance}");
        }
        assert!(baluev_level(0.0, 1.0, 10).is_nan() && baluev_level(2.0, 1.0, 10).is_nan());
    }

    #[test]
    fn chances_stay_between_zero_and_one() {
        for power in [-1.0, 0.0, 0.3, 1.0, 2.0] {
            for n in [0, 3, 4, 1000] {
                let chance = single(power, n);
                assert!((0.0..=1.0).contains(&chance));
            }
            assert!((0.0..=1.0).contains(&baluev(power, 100.0, 50)));
        }
    }
}
