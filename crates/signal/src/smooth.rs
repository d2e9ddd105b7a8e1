//! Means: running, and over blocks.
//!
//! In: a series with gaps as NaN.  Out: means of what is there, with counts;
//! missing where too little is.

use crate::rotor::pair;
use crate::stats::{mean, sd};

/// The mean of the `2 half_width + 1` samples around each sample.
///
/// The window is cut short at the ends, missing samples (not finite) are
/// skipped, and where less than `least_share` of a whole window is there the
/// mean is missing.
pub fn running_mean(x: &[f64], half_width: usize, least_share: f64) -> Vec<f64> {
    let level = mean(x).unwrap_or(0.0);
    let half_width = half_width.min(x.len());
    let whole = (2 * half_width + 1) as f64;
    let (mut sums, mut counts) = (vec![0.0], vec![0_u32]);
    for value in x {
        let there = value.is_finite();
        sums.push(sums[sums.len() - 1] + if there { value - level } else { 0.0 });
        counts.push(counts[counts.len() - 1] + u32::from(there));
    }
    let at = |place: usize| {
        let (from, to) = (place.saturating_sub(half_width), (place + half_width + 1).min(x.len()));
        let count = f64::from(counts[to] - counts[from]);
        let enough = count > 0.0 && count >= least_share * whole;
        if enough { level + (sums[to] - sums[from]) / count } else { f64::NAN }
    };
    (0..x.len()).map(at).collect()
}

/// Gain of a running mean of `n` samples at a frequency in cycles a sample,
/// with sign: sin(pi n f) / (n sin(pi f)).
pub fn mean_response(n: usize, cycles_per_sample: f64) -> f64 {
    let bottom = pair(cycles_per_sample / 2.0).1;
    if bottom == 0.0 {
        return 1.0;
    }
    pair(cycles_per_sample * n as f64 / 2.0).1 / (n as f64 * bottom)
}

/// The mean of one block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Mean, NaN when too little is there.
    pub mean: f64,
    /// Standard error of the mean as if values were independent; NaN for
    /// fewer than two.
    pub sigma: f64,
    /// Values that are there.
    pub count: usize,
}

/// Means of successive blocks of `len` samples, the last one as long as what is
/// left.  A block with less than `least_share` of `len` has no mean
/// (INTERMAGNET's rule is 0.9).  No blocks for a length of 0.
pub fn block_means(x: &[f64], len: usize, least_share: f64) -> Vec<Block> {
    if len == 0 {
        return Vec::new();
    }
    x.chunks(len).map(|block| block_mean(block, len, least_share)).collect()
}

/// The mean of one block of which `len` samples should be there.
pub fn block_mean(block: &[f64], len: usize, least_share: f64) -> Block {
    let count = block.iter().filter(|v| v.is_finite()).count();
    let enough = count > 0 && count as f64 >= least_share * len as f64;
    let sigma = sd(block).map_or(f64::NAN, |sd| sd / (count as f64).sqrt());
    let mean = if enough { mean(block).unwrap_or(f64::NAN) } else { f64::NAN };
    Block { mean, sigma: if enough { sigma } else { f64::NAN }, count }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn each_running_mean_is_that_of_its_own_window(
            x in prop::collection::vec(
                prop_oneof![5 => 48_000.0..48_010.0f64, 1 => Just(f64::NAN)], 0..60),
            half in 0..9usize
        ) {
            for (place, found) in running_mean(&x, half, 0.5).into_iter().enumerate() {
                let around = &x[place.saturating_sub(half)..(place + half + 1).min(x.len())];
                let count = around.iter().filter(|v| v.is_finite()).count();
                if count as f64 >= 0.5 * (2 * half + 1) as f64 {
                    prop_assert!((found - mean(around).unwrap()).abs() < 1e-9);
                } else {
                    prop_assert!(found.is_nan());
                }
            }
        }
    }

    #[test]
    fn a_block_needs_nine_tenths_of_its_values() {
        let mut x = vec![7.0; 60];
        x[..6].fill(f64::NAN);
        assert_eq!(block_means(&x, 60, 0.9)[0], Block { mean: 7.0, sigma: 0.0, count: 54 });
        x[6] = f64::NAN;
        assert!(block_means(&x, 60, 0.9)[0].mean.is_nan());
        assert!(block_means(&x, 0, 0.9).is_empty());
        assert!(block_means(&[1.0; 70], 60, 0.9)[1].mean.is_nan());
    }

    #[test]
    fn a_running_mean_has_its_closed_response() {
        let x: Vec<f64> = (0..500).map(|i| pair(f64::from(i) / 31.0).0).collect();
        let smoothed = running_mean(&x, 5, 0.9);
        let gain = mean_response(11, 1.0 / 31.0);
        assert!((100..400).all(|i| (smoothed[i] - gain * x[i]).abs() < 1e-12));
        assert_eq!(mean_response(60, 0.0), 1.0);
    }
}
