//! Two series side by side: how far apart, how alike, how much the one is late.
//!
//! Both on one even grid, gaps as NaN; pairs with a NaN or that `keep` refuses take no part.

mod bands;
mod slope;

pub use bands::{Band, bands};
pub use slope::{Slope, slope};

/// How well two series agree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreement {
    /// Root-mean-square difference, nT.
    pub rms_nt: f64,
    /// Mean of the first minus the second, nT.
    pub mean_difference_nt: f64,
    /// Root-mean-square difference about that mean, nT: for records whose baselines differ.
    pub rms_about_mean_nt: f64,
    /// Correlation coefficient; NaN when one of the two is constant.
    pub correlation: f64,
    /// Slope of the first on the second; noise of the second shrinks it.
    pub slope: f64,
    /// Pairs used.
    pub n: usize,
}

/// Agreement of a series with a reference of the same unit; all NaN for no pair.
pub fn agreement(series: &[f64], reference: &[f64], keep: impl Fn(usize) -> bool) -> Agreement {
    let pairs = || {
        series
            .iter()
            .zip(reference)
            .enumerate()
            .filter(|(k, (a, b))| keep(*k) && a.is_finite() && b.is_finite())
            .map(|(_, (a, b))| (*a, *b))
    };
    let n = pairs().count();
    let count = n as f64;
    let (mean_a, mean_b) =
        pairs().fold((0.0, 0.0), |(a, b), (x, y)| (a + x / count, b + y / count));
    let (mut aa, mut bb, mut ab, mut squares) = (0.0, 0.0, 0.0, 0.0);
    for (x, y) in pairs() {
        let (p, q) = (x - mean_a, y - mean_b);
        aa += p * p;
        bb += q * q;
        ab += p * q;
        squares += (x - y) * (x - y);
    }
    let apart = if n == 0 { f64::NAN } else { mean_a - mean_b };
    Agreement {
        rms_nt: (squares / count).sqrt(),
        mean_difference_nt: apart,
        rms_about_mean_nt: (squares / count - apart * apart).max(0.0).sqrt()
            + if n == 0 { f64::NAN } else { 0.0 },
        correlation: ab / (aa * bb).sqrt(),
        slope: ab / bb,
        n,
    }
}

/// Samples by which `series` shows the same changes later than `reference`, with a fraction, up
/// to `most` either way; zero when nothing correlates.
///
/// The shift with the largest sum of squared correlations of every component of the one with
/// every component of the other, so that it does not matter which way the axes point.
pub fn best_shift(series: &[Vec<f64>; 3], reference: &[Vec<f64>; 3], most: usize) -> f64 {
    let clean = |list: &Vec<f64>| -> Vec<f64> {
        list.iter().map(|v| if v.is_finite() { *v } else { 0.0 }).collect()
    };
    let (a, b) = ([0, 1, 2].map(|k| clean(&series[k])), [0, 1, 2].map(|k| clean(&reference[k])));
    let powers = |lists: &[Vec<f64>; 3]| [0, 1, 2].map(|k| dot(&lists[k], &lists[k], 0));
    let (pa, pb) = (powers(&a), powers(&b));
    let at = |shift: i64| -> f64 {
        let mut sum = 0.0;
        for (x, px) in a.iter().zip(pa) {
            for (y, py) in b.iter().zip(pb) {
                let c = dot(x, y, shift);
                sum += if px > 0.0 && py > 0.0 { c * c / (px * py) } else { 0.0 };
            }
        }
        sum
    };
    let most = most as i64;
    let values: Vec<f64> = (-most..=most).map(at).collect();
    let best = (0..values.len())
        .max_by(|p, q| values[*p].total_cmp(&values[*q]))
        .filter(|k| values[*k] > 0.0);
    let Some(best) = best else { return 0.0 };
    let whole = best as f64 - most as f64;
    if best == 0 || best + 1 == values.len() {
        return whole;
    }
    // Of the root, so that a sharp peak does not pull the parabola.
    let [l, m, r] = [best - 1, best, best + 1].map(|k| values[k].sqrt());
    let bend = l - 2.0 * m + r;
    whole + if bend < 0.0 { (0.5 * (l - r) / bend).clamp(-0.5, 0.5) } else { 0.0 }
}

/// Σ a[k + shift] b[k].
fn dot(a: &[f64], b: &[f64], shift: i64) -> f64 {
    let later = shift.max(0) as usize;
    let earlier = (-shift).max(0) as usize;
    let a = a.get(later..).unwrap_or(&[]);
    let b = b.get(earlier..).unwrap_or(&[]);
    // Eight sums side by side, in a fixed order: one chain of additions would wait for itself.
    let n = a.len().min(b.len());
    let whole = n - n % 8;
    let mut sums = [0.0; 8];
    for (x, y) in a[..whole].chunks_exact(8).zip(b[..whole].chunks_exact(8)) {
        for (sum, (x, y)) in sums.iter_mut().zip(x.iter().zip(y)) {
            *sum += x * y;
        }
    }
    let rest: f64 = a[whole..n].iter().zip(&b[whole..n]).map(|(x, y)| x * y).sum();
    sums.iter().sum::<f64>() + rest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;

    #[test]
    fn a_series_agrees_with_itself_and_a_shifted_one_is_apart() {
        let a: Vec<f64> = (0..100).map(|k| libm::sin(f64::from(k))).collect();
        let b: Vec<f64> = a.iter().map(|v| 2.0 * v + 5.0).collect();
        let same = agreement(&a, &a, |_| true);
        assert_eq!((same.rms_nt, same.n), (0.0, 100));
        assert!((same.correlation - 1.0).abs() < 1e-15 && (same.slope - 1.0).abs() < 1e-15);
        let apart = agreement(&b, &a, |k| k != 4);
        assert_eq!(apart.n, 99);
        assert!((apart.slope - 2.0).abs() < 1e-12 && (apart.correlation - 1.0).abs() < 1e-12);
        assert!((apart.mean_difference_nt - 5.0).abs() < 0.02);
        assert!((apart.rms_about_mean_nt - 0.5f64.sqrt()).abs() < 0.01);
    }

    #[test]
    fn bands_keep_what_is_shared_and_what_is_not_apart() {
        // A wave of eight hours in both, one of half an hour in the first alone.
        let wave =
            |k: i32, period: f64| libm::sin(std::f64::consts::TAU * f64::from(k) * 300.0 / period);
        let slow: Vec<f64> = (0..4_320).map(|k| 10.0 * wave(k, 28_800.0)).collect();
        let mut random = Random::new(9);
        let both: Vec<f64> = (0..4_320)
            .map(|k| slow[k as usize] + 5.0 * wave(k, 1_800.0) + 0.1 * random.normal())
            .collect();
        let slow: Vec<f64> = slow.iter().map(|v| v + 0.1 * random.normal()).collect();
        let found = bands(&both, &slow, 300.0);
        assert_eq!(found.len(), 4);
        assert_eq!(found[1].periods_s, [1_200.0, 3_600.0]);
        assert!(found[1].rms_nt > 10.0 * found[1].reference_rms_nt, "{found:?}");
        assert!(found[1].agreement.correlation.abs() < 0.2);
        assert!(found[3].agreement.correlation > 0.99 && found[3].coherence > 0.5);
        assert!(found[3].coherence > found[1].coherence && found[0].unrelated < 0.2);
        assert!(bands(&both, &slow, 0.0).is_empty() && bands(&[], &[], 300.0).is_empty());
    }

    #[test]
    fn nothing_in_common_gives_nothing() {
        let none = agreement(&[f64::NAN], &[1.0], |_| true);
        assert!(none.rms_nt.is_nan() && none.correlation.is_nan() && none.n == 0);
        assert!(none.rms_about_mean_nt.is_nan() && none.mean_difference_nt.is_nan());
    }

    #[test]
    fn the_shift_of_changes_is_found_through_turned_axes() {
        let mut random = Random::new(2);
        let b = [0; 3].map(|_| (0..500).map(|_| random.normal()).collect::<Vec<f64>>());
        let late = |list: &Vec<f64>, sign: f64| -> Vec<f64> {
            (0..500).map(|k: usize| if k >= 12 { sign * list[k - 12] } else { f64::NAN }).collect()
        };
        let a = [late(&b[2], -1.0), late(&b[0], 1.0), late(&b[1], 3.0)];
        assert!((best_shift(&a, &b, 30) - 12.0).abs() < 0.1);
        assert!((best_shift(&b, &a, 30) + 12.0).abs() < 0.1);
        assert_eq!(best_shift(&[vec![], vec![], vec![]], &b, 30), 0.0);
    }
}
