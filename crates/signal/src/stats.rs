//! Mean, spread, serial correlation, and how many independent values a
//! correlated series is worth.
//!
//! In: a slice, missing values (not finite) skipped unless said otherwise.
//! Out: numbers, `None` when there are too few samples to know.

use crate::products::products;

/// The mean; `None` when nothing is there.
///
/// The sum is corrected by the mean residual, so that its error stays at the
/// last digit whatever the level.
pub fn mean(x: &[f64]) -> Option<f64> {
    let (count, rough) = rough_mean(x)?;
    let rest: f64 = finite(x).map(|value| value - rough).sum();
    Some(rough + rest / count)
}

fn finite(x: &[f64]) -> impl Iterator<Item = f64> {
    x.iter().copied().filter(|value| value.is_finite())
}

fn rough_mean(x: &[f64]) -> Option<(f64, f64)> {
    let count = finite(x).count() as f64;
    (count > 0.0).then(|| (count, finite(x).map(|value| value / count).sum()))
}

/// The sample standard deviation (n - 1); `None` for fewer than two samples.
///
/// Two passes with the correction of T. F. Chan, G. H. Golub and R. J.
/// LeVeque, Am. Stat. 37 (1983) 242.
pub fn sd(x: &[f64]) -> Option<f64> {
    let middle = mean(x)?;
    let (mut count, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for value in finite(x) {
        count += 1.0;
        sum += value - middle;
        squares += (value - middle) * (value - middle);
    }
    (count > 1.0).then(|| ((squares - sum * sum / count) / (count - 1.0)).max(0.0).sqrt())
}

/// Autocorrelation at lags 0 to `most`: the sum of products of deviations from
/// the mean over the sum of their squares.
///
/// Missing values take part in no product, and each lag is scaled up by the
/// share of its products that are missing.  Lags beyond the series, and a
/// series without spread, give NaN.
///
/// # Source
///
/// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.12.
pub fn autocorrelation(x: &[f64], most: usize) -> Vec<f64> {
    let middle = mean(x).unwrap_or(f64::NAN);
    let off: Vec<f64> = x.iter().map(|v| if v.is_finite() { v - middle } else { 0.0 }).collect();
    let reach = most.min(x.len().saturating_sub(1));
    let mut r = products(&off, &off, reach);
    let squares = r.first().copied().unwrap_or(0.0);
    if squares > 0.0 {
        r.iter_mut().for_each(|value| *value /= squares);
    } else {
        r.fill(f64::NAN);
    }
    let present = finite(x).count();
    if present < x.len() {
        let there: Vec<f64> = x.iter().map(|v| f64::from(u8::from(v.is_finite()))).collect();
        for (lag, (value, pairs)) in r.iter_mut().zip(products(&there, &there, reach)).enumerate() {
            let whole = present as f64 * (1.0 - lag as f64 / x.len() as f64);
            *value = if pairs > 0.5 { *value * whole / pairs } else { f64::NAN };
        }
    }
    r.resize(most + 1, f64::NAN);
    r
}

/// How many independent values would give the mean the same uncertainty:
/// n / (1 + 2 sum of (1 - k/n) r_k), the sum ending where neighbouring
/// pairs of r_k first fail to be positive, or after 4000 lags.
///
/// Between 1 and the number of samples; 0 for none.
///
/// # Source
///
/// The variance of a mean: G. V. Bayley and J. M. Hammersley, J. R. Stat. Soc.
/// Suppl. 8 (1946) 184; where the sum ends: C. J. Geyer, Stat. Sci. 7 (1992)
/// 473 (initial positive sequence).  For a first-order series it tends to
/// n (1 - r) / (1 + r).
pub fn effective_count(x: &[f64]) -> f64 {
    let n = finite(x).count() as f64;
    if n < 2.0 {
        return n;
    }
    // Most residuals are nearly white: a few lags settle them.
    let mut sum = positive_sum(&autocorrelation(x, FEW_LAGS), n);
    if sum.is_none() {
        let r = autocorrelation(x, MOST_LAGS.min(x.len() - 1));
        sum = positive_sum(&r, n).or_else(|| positive_sum(&[&r[..], &[-2.0, 0.0]].concat(), n));
    }
    (n / sum.unwrap_or(1.0).max(1.0)).clamp(1.0, n)
}

/// 1 + 2 sum of (1 - k/n) r_k over the first pairs with positive sums; `None`
/// when all pairs have.
fn positive_sum(r: &[f64], n: f64) -> Option<f64> {
    let mut sum = -1.0;
    for (pair, values) in r.chunks(2).enumerate() {
        let both: f64 = values.iter().sum();
        if both <= 0.0 || both.is_nan() {
            return Some(if pair == 0 { 1.0 } else { sum });
        }
        for (side, value) in values.iter().enumerate() {
            sum += 2.0 * value * (1.0 - (2 * pair + side) as f64 / n);
        }
    }
    None
}

const FEW_LAGS: usize = 3;

/// Lags that are looked at; a series correlated over longer times is worth
/// hardly more than one value per so many samples anyway.
const MOST_LAGS: usize = 4000;

/// Counts of values in bins of equal width.
#[derive(Clone, Debug, PartialEq)]
pub struct Histogram {
    /// Edges, one more than bins.
    pub edges: Vec<f64>,
    /// Values in each bin, its lower edge included; the last has its upper
    /// edge too.
    pub counts: Vec<u64>,
    /// Values that were missing (not finite).
    pub missing: u64,
}

/// A histogram of `bins` equal bins from the least to the greatest value.
/// `None` when nothing is there or `bins` is 0.  Values all equal get bins
/// around them of total width 1.
pub fn histogram(x: &[f64], bins: usize) -> Option<Histogram> {
    let low = finite(x).reduce(f64::min)?;
    let high = finite(x).reduce(f64::max)?;
    if bins == 0 {
        return None;
    }
    let (low, high) = if high > low { (low, high) } else { (low - 0.5, high + 0.5) };
    let width = (high - low) / bins as f64;
    let mut counts = vec![0; bins];
    for value in finite(x) {
        let bin = ((value - low) / width) as usize;
        counts[bin.min(bins - 1)] += 1;
    }
    let edges = (0..=bins).map(|edge| low + width * edge as f64).collect();
    let missing = x.iter().filter(|value| !value.is_finite()).count() as u64;
    Some(Histogram { edges, counts, missing })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Seeded;
    use proptest::prelude::*;

    #[test]
    fn a_large_level_costs_no_digits() {
        let x = [10_000_001.0, 10_000_003.0, 10_000_002.0];
        assert_eq!(mean(&x), Some(10_000_002.0));
        assert_eq!(sd(&x), Some(1.0));
        assert_eq!(autocorrelation(&x, 1)[1], -0.5);
    }

    #[test]
    fn too_few_samples_have_no_spread() {
        assert_eq!(mean(&[f64::NAN]), None);
        assert_eq!(sd(&[3.0, f64::NAN]), None);
        assert!(autocorrelation(&[2.0, 2.0], 3).iter().all(|r| r.is_nan()));
        assert_eq!(effective_count(&[]), 0.0);
    }

    #[test]
    fn a_first_order_series_is_worth_the_textbook_fraction() {
        let fraction = effective_count(&Seeded(1).remembering(40_000, 0.5)) / 40_000.0;
        assert!((fraction - 1.0 / 3.0).abs() < 0.03, "{fraction}");
    }

    proptest! {
        #[test]
        fn a_histogram_counts_every_value_once(
            x in prop::collection::vec(-1e3..1e3f64, 1..60), bins in 1..20usize
        ) {
            let found = histogram(&x, bins).unwrap();
            prop_assert_eq!(found.counts.iter().sum::<u64>(), x.len() as u64);
            prop_assert_eq!(found.edges.len(), bins + 1);
        }
    }
}
