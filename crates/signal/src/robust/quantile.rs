//! Median, median absolute deviation and quantiles of a whole series.
//!
//! In: a slice, missing values (not finite) skipped.  Out: one number, `None`
//! when nothing is left.

fn finite(x: &[f64]) -> Vec<f64> {
    x.iter().copied().filter(|value| value.is_finite()).collect()
}

/// The middle value, or the mean of the two middle ones.  Missing values are
/// skipped; `None` when nothing is left.
///
/// ```
/// assert_eq!(signal::robust::median(&[3.0, f64::NAN, 1.0, 8.0]), Some(3.0));
/// ```
pub fn median(x: &[f64]) -> Option<f64> {
    median_in_place(&mut finite(x))
}

/// The median of finite values, which are reordered; `None` when there is none.
pub fn median_in_place(x: &mut [f64]) -> Option<f64> {
    let n = x.len();
    if n == 0 {
        return None;
    }
    let middle = record::sort::nth(x, n / 2);
    let below = &x[..n / 2];
    if n % 2 == 1 {
        return Some(middle);
    }
    let lower = below.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Some(midpoint(lower, middle))
}

/// Half way between two values, without overflow for huge ones.
pub(crate) fn midpoint(a: f64, b: f64) -> f64 {
    let sum = a + b;
    if sum.is_finite() { sum / 2.0 } else { a / 2.0 + b / 2.0 }
}

/// The median absolute deviation about the median, not scaled; times
/// [`super::MAD_TO_SIGMA`] it estimates the standard deviation of normal
/// noise.  Missing values are skipped.
pub fn mad(x: &[f64]) -> Option<f64> {
    let mut values = finite(x);
    let middle = median_in_place(&mut values)?;
    for value in &mut values {
        *value = (*value - middle).abs();
    }
    median_in_place(&mut values)
}

/// The value below which the fraction `p` of the series lies, interpolated
/// linearly at place (n - 1) p.  Missing values are skipped; `None` when
/// nothing is left or `p` is outside 0 to 1.
///
/// # Source
///
/// Definition 7 of R. J. Hyndman and Y. Fan, Am. Stat. 50 (1996) 361.
pub fn quantile(x: &[f64], p: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&p) {
        return None;
    }
    let mut values = finite(x);
    if values.is_empty() {
        return None;
    }
    let place = (values.len() - 1) as f64 * p;
    let low = place as usize;
    let at = record::sort::nth(&mut values, low);
    let next = values[low + 1..].iter().copied().fold(f64::INFINITY, f64::min);
    let rest = place - low as f64;
    Some(if rest > 0.0 { at + rest * (next - at) } else { at })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_textbook_deviation_is_one() {
        assert_eq!(mad(&[1.0, 1.0, 2.0, 2.0, 4.0, 6.0, 9.0]), Some(1.0));
    }

    #[test]
    fn an_even_number_has_its_median_half_way() {
        assert_eq!(median(&[4.0, 1.0, 3.0, 2.0]), Some(2.5));
        assert_eq!(median(&[f64::MAX, f64::MAX]), Some(f64::MAX));
    }

    #[test]
    fn nothing_but_missing_values_has_no_median() {
        assert_eq!(median(&[f64::NAN, f64::INFINITY]), None);
        assert_eq!(mad(&[]), None);
        assert_eq!(quantile(&[], 0.5), None);
        assert_eq!(quantile(&[1.0], 1.5), None);
    }

    proptest! {
        #[test]
        fn quantiles_are_those_of_the_sorted_series(
            x in prop::collection::vec(-1e6..1e6f64, 1..40), p in 0.0..=1.0f64
        ) {
            let mut sorted = x.clone();
            record::sort::ascending(&mut sorted);
            let place = (x.len() - 1) as f64 * p;
            let (low, high) = (place.floor() as usize, place.ceil() as usize);
            let expected = sorted[low] + (place - place.floor()) * (sorted[high] - sorted[low]);
            prop_assert!((quantile(&x, p).unwrap() - expected).abs() < 1e-9);
            prop_assert!((quantile(&x, 0.5).unwrap() - median(&x).unwrap()).abs() < 1e-9);
        }
    }
}
