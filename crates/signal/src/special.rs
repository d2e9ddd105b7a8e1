//! Special functions behind the distributions: incomplete gamma and beta,
//! digamma, trigamma, and a safeguarded root finder.
//!
//! In: plain numbers.  Out: plain numbers, NaN where the function is not
//! defined.  Relative accuracy is about 1e-13 unless a function says less.

use std::f64::consts::PI;

/// x^a e^-x / gamma(a + 1), without the loss that large a would bring.
///
/// # Source
///
/// C. Loader, "Fast and accurate computation of binomial probabilities" (2000):
/// the saddle-point form, with the deviance summed as a series near a = x.
pub(crate) fn poisson_weight(a: f64, x: f64) -> f64 {
    if a == 0.0 {
        return libm::exp(-x);
    }
    if x <= 0.0 {
        return 0.0;
    }
    libm::exp(-stirling_error(a) - deviance(a, x)) / (2.0 * PI * a).sqrt()
}

/// ln gamma(a + 1) less Stirling's formula.
fn stirling_error(a: f64) -> f64 {
    if a <= 15.0 {
        return libm::lgamma(a + 1.0) - (a + 0.5) * libm::log(a) + a - 0.5 * libm::log(2.0 * PI);
    }
    let square = 1.0 / (a * a);
    // 1/12, 1/360, 1/1260, 1/1680, 1/1188: Abramowitz and Stegun 1964, 6.1.41.
    (1.0 / 12.0
        - square
            * (1.0 / 360.0 - square * (1.0 / 1260.0 - square * (1.0 / 1680.0 - square / 1188.0))))
        / a
}

/// a ln(a / x) + x - a.
fn deviance(a: f64, x: f64) -> f64 {
    if (a - x).abs() >= 0.1 * (a + x) {
        return a * libm::log(a / x) + x - a;
    }
    let v = (a - x) / (a + x);
    let (mut sum, mut term) = ((a - x) * v, 2.0 * a * v);
    for j in 1..1000 {
        term *= v * v;
        let next = sum + term / f64::from(2 * j + 1);
        if next == sum {
            break;
        }
        sum = next;
    }
    sum
}

/// Regularised incomplete gamma functions, lower P and upper Q = 1 - P.
/// NaN for a <= 0 or x < 0.
///
/// # Source
///
/// Series below x = a + 1, continued fraction above (Abramowitz and Stegun
/// 1964, 6.5.29 and 6.5.31).
pub(crate) fn gamma_p_q(a: f64, x: f64) -> (f64, f64) {
    if a.is_nan() || x.is_nan() || a <= 0.0 || x < 0.0 {
        return (f64::NAN, f64::NAN);
    }
    if x == 0.0 {
        return (0.0, 1.0);
    }
    if x.is_infinite() {
        return (1.0, 0.0);
    }
    let weight = poisson_weight(a, x);
    if x < a + 1.0 {
        let p = (weight * gamma_series(a, x)).min(1.0);
        (p, 1.0 - p)
    } else {
        let q = (weight * a * gamma_fraction(a, x)).min(1.0);
        (1.0 - q, q)
    }
}

fn gamma_series(a: f64, x: f64) -> f64 {
    let (mut term, mut sum, mut n) = (1.0, 1.0, a);
    for _ in 0..1_000_000 {
        n += 1.0;
        term *= x / n;
        sum += term;
        if term < sum * 1e-17 {
            break;
        }
    }
    sum
}

fn gamma_fraction(a: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / b;
    let mut h = d;
    for i in 1..1_000_000 {
        let step = f64::from(i);
        let an = -step * (step - a);
        b += 2.0;
        d = 1.0 / not_zero(an * d + b, TINY);
        c = not_zero(b + an / c, TINY);
        let factor = d * c;
        h *= factor;
        if (factor - 1.0).abs() < 1e-16 {
            break;
        }
    }
    h
}

fn not_zero(value: f64, tiny: f64) -> f64 {
    if value.abs() < tiny { tiny } else { value }
}

/// Regularised incomplete beta function I_x(a, b), with `y` = 1 - x given apart
/// so that either may be tiny; NaN outside 0..=1 or for parameters that are not
/// positive.
///
/// # Source
///
/// Continued fraction of Abramowitz and Stegun 1964, 26.5.8, on the side
/// where it converges fast; its front factor in Loader's saddle-point form.
pub(crate) fn beta(x: f64, y: f64, a: f64, b: f64) -> f64 {
    if x.is_nan() || a.is_nan() || b.is_nan() || a <= 0.0 || b <= 0.0 || !(0.0..=1.0).contains(&x) {
        return f64::NAN;
    }
    if x == 0.0 || y == 0.0 {
        return x;
    }
    let n = a + b;
    let error = stirling_error(n) - stirling_error(a) - stirling_error(b);
    let weight = libm::exp(error - deviance(a, n * x) - deviance(b, n * y));
    let front = weight * (a * b / (2.0 * PI * n)).sqrt();
    if x < (a + 1.0) / (n + 2.0) {
        front * beta_fraction(x, a, b) / a
    } else {
        1.0 - front * beta_fraction(y, b, a) / b
    }
}

fn beta_fraction(x: f64, a: f64, b: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let mut c = 1.0;
    let mut d = 1.0 / not_zero(1.0 - (a + b) * x / (a + 1.0), TINY);
    let mut h = d;
    for i in 1..100_000 {
        let m = f64::from(i);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        for term in [even, odd] {
            d = 1.0 / not_zero(1.0 + term * d, TINY);
            c = not_zero(1.0 + term / c, TINY);
            h *= d * c;
        }
        if (d * c - 1.0).abs() < 1e-16 {
            break;
        }
    }
    h
}

/// Digamma, the derivative of ln gamma, for x > 0.
pub(crate) fn digamma(x: f64) -> f64 {
    let (mut x, mut below) = (x, 0.0);
    while x < 12.0 {
        below -= 1.0 / x;
        x += 1.0;
    }
    let s = 1.0 / (x * x);
    // Abramowitz and Stegun 1964, 6.3.18.
    let tail = s
        * (1.0 / 12.0
            - s * (1.0 / 120.0 - s * (1.0 / 252.0 - s * (1.0 / 240.0 - s * (1.0 / 132.0)))));
    below + libm::log(x) - 0.5 / x - tail
}

/// Trigamma, the derivative of digamma, for x > 0.
pub(crate) fn trigamma(x: f64) -> f64 {
    let (mut x, mut above) = (x, 0.0);
    while x < 12.0 {
        above += 1.0 / (x * x);
        x += 1.0;
    }
    let s = 1.0 / (x * x);
    // Abramowitz and Stegun 1964, 6.4.12.
    let tail =
        s * (1.0 / 6.0 - s * (1.0 / 30.0 - s * (1.0 / 42.0 - s * (1.0 / 30.0 - s * 5.0 / 66.0))));
    above + 1.0 / x + 0.5 * s + tail / x
}

/// The root of a rising function between two places, by Newton steps that fall
/// back to halving; `f` gives value and slope.
pub(crate) fn rising_root(
    mut low: f64,
    mut high: f64,
    start: f64,
    f: impl Fn(f64) -> (f64, f64),
) -> f64 {
    let mut x = start.clamp(low, high);
    for _ in 0..300 {
        let (value, slope) = f(x);
        if value == 0.0 {
            return x;
        }
        if value < 0.0 {
            low = x;
        } else {
            high = x;
        }
        let newton = x - value / slope;
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - x).abs() <= 1e-15 * next.abs() || next == low && next == high {
            return next;
        }
        x = next;
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digamma_and_trigamma_have_their_closed_forms_at_one_and_a_half() {
        const EULER: f64 = 0.577_215_664_901_532_9;
        assert!((digamma(1.0) + EULER).abs() < 1e-14);
        assert!((digamma(0.5) + EULER + 2.0 * std::f64::consts::LN_2).abs() < 1e-14);
        assert!((trigamma(1.0) - PI * PI / 6.0).abs() < 1e-14);
        assert!((trigamma(0.5) - PI * PI / 2.0).abs() < 1e-13);
    }

    #[test]
    fn the_gamma_pair_of_order_one_is_the_exponential() {
        for x in [1e-8, 0.3, 1.0, 1.9, 2.1, 20.0, 600.0] {
            let (p, q) = gamma_p_q(1.0, x);
            assert!((q - libm::exp(-x)).abs() <= 1e-13 * libm::exp(-x).max(1e-3));
            assert!((p + libm::expm1(-x)).abs() <= 1e-14);
        }
    }

    #[test]
    fn the_beta_function_of_half_orders_is_the_arcsine() {
        for x in [0.01, 0.2, 0.5, 0.9, 0.999] {
            let arcsine = 2.0 / PI * libm::asin(f64::sqrt(x));
            assert!((beta(x, 1.0 - x, 0.5, 0.5) - arcsine).abs() < 1e-14);
        }
    }

    #[test]
    fn outside_their_domain_the_functions_are_nan() {
        assert!(gamma_p_q(0.0, 1.0).0.is_nan() && gamma_p_q(1.0, -1.0).1.is_nan());
        assert!(beta(1.5, -0.5, 1.0, 1.0).is_nan() && beta(0.5, 0.5, 0.0, 1.0).is_nan());
    }
}
