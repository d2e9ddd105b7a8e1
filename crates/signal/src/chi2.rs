//! Distributions that intervals are made from: chi-squared, normal, Student t
//! and F.
//!
//! In: probabilities and degrees of freedom, which need not be whole.  Out:
//! quantiles and probabilities; NaN outside the domain.  Relative accuracy is
//! 1e-10 or better.

use crate::special::{beta, gamma_p_q, poisson_weight, rising_root};
use std::f64::consts::PI;

/// Probability that a chi-squared value of `nu` degrees of freedom is at most `x`.
pub fn cdf(x: f64, nu: f64) -> f64 {
    gamma_p_q(nu / 2.0, x.max(0.0) / 2.0).0
}

/// Probability that it is more than `x`, accurate far out in the tail.
pub fn survival(x: f64, nu: f64) -> f64 {
    gamma_p_q(nu / 2.0, x.max(0.0) / 2.0).1
}

/// The value that chi-squared of `nu` degrees of freedom stays below with
/// probability `p`: 0 at p = 0, infinite at p = 1, NaN outside.
///
/// # Source
///
/// Root of the incomplete gamma function, started from E. B. Wilson and
/// M. M. Hilferty, Proc. Natl. Acad. Sci. 17 (1931) 684.
///
/// # Example
///
/// ```
/// let x = signal::chi2::quantile(0.975, 10.0);
/// assert!((x - 20.4831774).abs() < 1e-6);
/// ```
pub fn quantile(p: f64, nu: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) || nu.is_nan() || nu <= 0.0 {
        return f64::NAN;
    }
    if p == 0.0 || p == 1.0 {
        return if p == 0.0 { 0.0 } else { f64::INFINITY };
    }
    let a = nu / 2.0;
    let spread = 2.0 / (9.0 * nu);
    let start = nu * (1.0 - spread + normal_quantile(p) * spread.sqrt()).max(1e-3).powi(3);
    let mut high = start.max(1.0);
    while cdf(high, nu) < p && high.is_finite() {
        high *= 2.0;
    }
    rising_root(0.0, high, start, |x| {
        let (low, up) = gamma_p_q(a, x / 2.0);
        // Above the median the upper tail keeps the digits.
        let value = if p < 0.5 { low - p } else { (1.0 - p) - up };
        (value, poisson_weight(a, x / 2.0) * a / x)
    })
}

/// Probability that a standard normal value is at most `x`.
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * libm::erfc(-x / std::f64::consts::SQRT_2)
}

/// The value a standard normal stays below with probability `p`; infinite at
/// 0 and 1, NaN outside.
pub fn normal_quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p == 0.0 || p == 1.0 {
        return if p == 0.0 { f64::NEG_INFINITY } else { f64::INFINITY };
    }
    let tail = p.min(1.0 - p);
    // Abramowitz and Stegun 1964, 26.2.22 (error 3e-3) starts the root finder.
    let t = (-2.0 * libm::log(tail)).sqrt();
    let start = t - (2.30753 + 0.27061 * t) / (1.0 + t * (0.99229 + 0.04481 * t));
    let x = rising_root(0.0, 40.0, start, |x| {
        (tail - normal_cdf(-x), libm::exp(-x * x / 2.0) / (2.0 * PI).sqrt())
    });
    if p < 0.5 { -x } else { x }
}

/// Probability that Student's t of `nu` degrees of freedom is at most `t`.
pub fn student_cdf(t: f64, nu: f64) -> f64 {
    let whole = nu + t * t;
    let tail = 0.5 * beta(nu / whole, t * t / whole, nu / 2.0, 0.5);
    if t < 0.0 { tail } else { 1.0 - tail }
}

/// The value Student's t stays below with probability `p`.
pub fn student_quantile(p: f64, nu: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) || nu.is_nan() || nu <= 0.0 {
        return f64::NAN;
    }
    if p == 0.0 || p == 1.0 {
        return if p == 0.0 { f64::NEG_INFINITY } else { f64::INFINITY };
    }
    if p == 0.5 {
        return 0.0;
    }
    let tail = p.min(1.0 - p);
    let mut high = 1.0 + normal_quantile(1.0 - tail).abs();
    while student_cdf(-high, nu) > tail && high < 1e300 {
        high *= 2.0;
    }
    let scale =
        libm::exp(libm::lgamma((nu + 1.0) / 2.0) - libm::lgamma(nu / 2.0)) / (nu * PI).sqrt();
    let x = rising_root(0.0, high, high / 2.0, |t| {
        let density = scale * libm::pow(1.0 + t * t / nu, -(nu + 1.0) / 2.0);
        (tail - student_cdf(-t, nu), density)
    });
    if p < 0.5 { -x } else { x }
}

/// Probability that F of `nu1` and `nu2` degrees of freedom is more than `f`.
pub fn f_survival(f: f64, nu1: f64, nu2: f64) -> f64 {
    if f <= 0.0 {
        return 1.0;
    }
    let whole = nu2 + nu1 * f;
    beta(nu2 / whole, nu1 * f / whole, nu2 / 2.0, nu1 / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn two_degrees_of_freedom_have_a_closed_quantile() {
        for p in [1e-12, 0.025, 0.5, 0.975, 0.999_999] {
            let closed = -2.0 * libm::log1p(-p);
            assert!((quantile(p, 2.0) / closed - 1.0).abs() < 1e-11, "{p}");
        }
    }

    #[test]
    fn a_normal_quartile_is_the_factor_of_the_median_deviation() {
        assert!((1.0 / normal_quantile(0.75) - 1.482_602_218_505_602).abs() < 1e-14);
    }

    #[test]
    fn students_t_of_one_degree_is_the_cauchy_distribution() {
        for p in [0.001, 0.2, 0.5, 0.9, 0.975] {
            let closed = -1.0 / libm::tan(PI * p);
            assert!((student_quantile(p, 1.0) - closed).abs() < 1e-9 * closed.abs().max(1.0));
        }
    }

    #[test]
    fn f_of_two_and_n_has_a_closed_tail() {
        for f in [0.1, 1.0, 8.0] {
            let closed = libm::pow(1.0 + 2.0 * f / 12.0, -6.0);
            assert!((f_survival(f, 2.0, 12.0) - closed).abs() < 1e-13);
        }
    }

    #[test]
    fn probabilities_outside_zero_to_one_give_nan_and_the_ends_give_the_ends() {
        assert!(quantile(-0.1, 3.0).is_nan() && quantile(0.5, 0.0).is_nan());
        assert!(quantile(f64::NAN, 3.0).is_nan());
        assert_eq!(quantile(0.0, 3.0), 0.0);
        assert_eq!(quantile(1.0, 3.0), f64::INFINITY);
        assert!(normal_quantile(2.0).is_nan() && student_quantile(1.5, 3.0).is_nan());
    }

    proptest! {
        #[test]
        fn the_quantile_undoes_the_distribution(p in 1e-6..0.999_999f64, nu in 0.2..5e5f64) {
            let back = cdf(quantile(p, nu), nu);
            prop_assert!((back - p).abs() < 1e-10 * p, "{back} {p} {nu}");
        }
    }
}
