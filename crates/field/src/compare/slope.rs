//! The slope of a series on a reference, with what the reference's own noise takes off it.

use crate::serial;
use signal::robust;

/// A slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    /// Change of the series for a change of 1 in the reference.
    pub value: f64,
    /// Standard uncertainty, from the scatter about the line with its memory in time.
    pub sigma: f64,
    /// What plain least squares gives; the reference's noise dilutes it.
    pub diluted: f64,
    /// Standard deviation of the reference's noise, as taken, nT.
    pub noise_nt: f64,
}

/// Slope of a series on a reference; NaN for fewer than three pairs or a reference that does not
/// change.
///
/// Plain least squares is too flat by σ²/(σ² + s²), s² being the variance of the reference and
/// σ² that of its noise, which is read off its second differences (whose variance is 6 σ² for
/// noise without memory).  Quick changes of the field pass for noise there, so the correction is
/// rather too large than too small; it is given beside the plain slope.
///
/// # Source
///
/// Fuller 1987, Measurement Error Models, section 1.2 (from memory).
pub fn slope(series: &[f64], reference: &[f64]) -> Slope {
    let pairs: Vec<(f64, f64)> = series
        .iter()
        .zip(reference)
        .filter(|(a, b)| a.is_finite() && b.is_finite())
        .map(|(a, b)| (*a, *b))
        .collect();
    let n = pairs.len() as f64;
    let (sum_a, sum_b) = pairs.iter().fold((0.0, 0.0), |(p, q), (a, b)| (p + a, q + b));
    let (mean_a, mean_b) = (sum_a / n, sum_b / n);
    let (mut across, mut own) = (0.0, 0.0);
    for (a, b) in &pairs {
        across += (a - mean_a) * (b - mean_b);
        own += (b - mean_b) * (b - mean_b);
    }
    let bends: Vec<f64> = reference
        .windows(3)
        .map(|w| (w[0] - 2.0 * w[1] + w[2]).abs())
        .filter(|v| v.is_finite())
        .collect();
    let noise_nt = 1.4826 * robust::median(&bends).unwrap_or(f64::NAN) / 6f64.sqrt();
    let noise = if noise_nt.is_finite() { n * noise_nt * noise_nt } else { 0.0 };
    // More noise than change: nothing to correct with.
    let corrected = if noise < 0.5 * own { own - noise } else { own };
    let value = if n < 3.0 { f64::NAN } else { across / corrected };
    let scores = pairs.iter().map(|(a, b)| (a - mean_a - value * (b - mean_b)) * (b - mean_b));
    let sigma = serial::mean(scores).sigma_mean * n / corrected;
    Slope { value, sigma, diluted: across / own, noise_nt }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;

    #[test]
    fn the_slope_comes_back_through_noise_on_both_sides() {
        for seed in 0..6 {
            let mut random = Random::new(seed);
            let truth = |k: f64| 10.0 * libm::sin(k / 90.0) + 4.0 * libm::sin(k / 37.0);
            let reference: Vec<f64> =
                (0..6_000).map(|k| truth(f64::from(k)) + 3.0 * random.normal()).collect();
            let series: Vec<f64> =
                (0..6_000).map(|k| 0.9 * truth(f64::from(k)) + 5.0 * random.normal()).collect();
            let found = slope(&series, &reference);
            assert!((found.value - 0.9).abs() < 4.0 * found.sigma, "{found:?}");
            assert!(found.sigma < 0.02 && found.diluted < found.value - 5.0 * found.sigma);
            assert!((found.noise_nt - 3.0).abs() < 0.2);
        }
    }

    #[test]
    fn nothing_to_go_by_gives_nothing() {
        assert!(slope(&[1.0], &[2.0]).value.is_nan());
        assert!(slope(&[1.0, 2.0, 3.0, 4.0], &[5.0; 4]).value.is_nan());
    }
}
