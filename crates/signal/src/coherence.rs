//! Coherence of two series: how much of one is a filtered copy of the other,
//! frequency by frequency, and with what lag.
//!
//! In: two series on the same even time axis, unbroken, or their common
//! unbroken runs.  Out: magnitude-squared coherence, gain and phase, with
//! degrees of freedom.  One segment alone would make it 1 everywhere, so at
//! least two are needed.

use crate::detrend;
use crate::fft::{Complex, RealFft};
use crate::first_missing;
use crate::spectrum::{Segments, SpectrumError, degrees_of_freedom, frequencies};

/// Coherence and transfer between two series.
#[derive(Clone, Debug, PartialEq)]
pub struct Coherence {
    /// Frequencies from 0 to half the rate, hertz.
    pub frequency_hz: Vec<f64>,
    /// |Sxy|^2 / (Sxx Syy), 0 to 1; NaN where a series has no power.
    pub coherence: Vec<f64>,
    /// |Sxy| / Sxx: amplitude of the second for a unit of the first.
    pub gain: Vec<f64>,
    /// Phase of the second behind the first, radians, -pi to pi; positive when
    /// the second lags.
    pub lag_rad: Vec<f64>,
    /// Segments averaged.
    pub segments: usize,
    /// Independent segments that the overlapped ones are worth.
    pub effective_segments: f64,
}

impl Coherence {
    /// The coherence that unrelated series stay below with this probability,
    /// 1 - (1 - p)^(1 / (K - 1)).
    ///
    /// # Source
    ///
    /// R. O. R. Y. Thompson, J. Atmos. Sci. 36 (1979) 2020; G. C. Carter,
    /// Proc. IEEE 75 (1987) 236; the formula from memory.
    pub fn zero_level(&self, probability: f64) -> f64 {
        zero_level(self.effective_segments, probability)
    }

    /// Standard uncertainty of the phase at a bin, radians, at most pi.
    ///
    /// # Source
    ///
    /// sqrt((1 - c) / (2 K c)): J. S. Bendat and A. G. Piersol, Random Data
    /// (2010), section 9.2.
    pub fn lag_sigma_rad(&self, bin: usize) -> f64 {
        let c = self.coherence.get(bin).copied().unwrap_or(f64::NAN);
        let sigma = ((1.0 - c) / (2.0 * self.effective_segments * c)).sqrt();
        if sigma < std::f64::consts::PI { sigma } else { std::f64::consts::PI }
    }
}

/// The coherence that unrelated series stay below with a probability, for a
/// number of independent segments more than 1; NaN otherwise.
pub fn zero_level(segments: f64, probability: f64) -> f64 {
    if segments > 1.0 {
        1.0 - libm::pow(1.0 - probability, 1.0 / (segments - 1.0))
    } else {
        f64::NAN
    }
}

/// Coherence of two unbroken series.
///
/// # Arguments and units
///
/// * `x`, `y` - evenly spaced at the same times, any units
/// * `rate_hz` - samples a second
/// * `segments` - as for a Welch spectrum
///
/// # Errors
///
/// [`SpectrumError`]: a missing sample in either, series of different length
/// (as too short), or fewer than two segments.
///
/// # Source
///
/// Averages as in P. D. Welch, IEEE Trans. Audio Electroacoust. 15 (1967) 70.
pub fn coherence(
    x: &[f64],
    y: &[f64],
    rate_hz: f64,
    segments: &Segments,
) -> Result<Coherence, SpectrumError> {
    coherence_runs(&[(x, y)], rate_hz, segments)
}

/// Coherence from segments inside common unbroken runs of two series.
///
/// # Errors
///
/// As [`coherence`]; the place of a missing sample is counted through all runs.
pub fn coherence_runs(
    runs: &[(&[f64], &[f64])],
    rate_hz: f64,
    segments: &Segments,
) -> Result<Coherence, SpectrumError> {
    check(runs, rate_hz, segments)?;
    let counts: Vec<usize> = runs.iter().map(|(x, _)| segments.count(x.len())).collect();
    let n_segments: usize = counts.iter().sum();
    let taper = segments.taper()?;
    let mut fft = RealFft::new(segments.len);
    let mut sums = Sums::new(fft.bins());
    for (x, y) in runs {
        for start in segments.starts(x.len()) {
            let part = start..start + segments.len;
            sums.add(&mut fft, &taper, segments, &x[part.clone()], &y[part]);
        }
    }
    let freedom = degrees_of_freedom(&taper, segments.hop(), &counts);
    Ok(sums.finish(frequencies(segments.len, rate_hz), n_segments, freedom / 2.0))
}

fn check(
    runs: &[(&[f64], &[f64])],
    rate_hz: f64,
    segments: &Segments,
) -> Result<(), SpectrumError> {
    if !(rate_hz > 0.0 && rate_hz.is_finite()) {
        return Err(SpectrumError::Rate(rate_hz));
    }
    segments.check()?;
    let (mut before, mut longest, mut n_segments) = (0, 0, 0);
    for (x, y) in runs {
        if x.len() != y.len() {
            let (samples, needed) = (x.len().min(y.len()), x.len().max(y.len()));
            return Err(SpectrumError::TooShort { samples, needed });
        }
        if let Some(sample) = first_missing(x).into_iter().chain(first_missing(y)).min() {
            return Err(SpectrumError::Gap(before + sample));
        }
        before += x.len();
        longest = longest.max(x.len());
        n_segments += segments.count(x.len());
    }
    if n_segments < 2 {
        return Err(SpectrumError::TooShort {
            samples: longest,
            needed: segments.len + segments.hop(),
        });
    }
    Ok(())
}

struct Sums {
    xx: Vec<f64>,
    yy: Vec<f64>,
    xy: Vec<Complex>,
    work: Vec<Complex>,
}

impl Sums {
    fn new(bins: usize) -> Self {
        let zero = Complex::new(0.0, 0.0);
        let (xy, work) = (vec![zero; bins], vec![zero; bins]);
        Self { xx: vec![0.0; bins], yy: vec![0.0; bins], xy, work }
    }

    fn add(&mut self, fft: &mut RealFft, taper: &[f64], cut: &Segments, x: &[f64], y: &[f64]) {
        let (xx, yy, xy, work) = (&mut self.xx, &mut self.yy, &mut self.xy, &mut self.work);
        fft.load(x, taper, detrend::fit_whole(x, cut.detrend));
        fft.run(|bin, value| work[bin] = value);
        fft.load(y, taper, detrend::fit_whole(y, cut.detrend));
        fft.run(|bin, value| {
            xx[bin] += work[bin].norm_sqr();
            yy[bin] += value.norm_sqr();
            xy[bin] += work[bin].conj() * value;
        });
    }

    fn finish(self, frequency_hz: Vec<f64>, segments: usize, effective_segments: f64) -> Coherence {
        let all = || self.xx.iter().zip(&self.yy).zip(&self.xy);
        let coherence = all().map(|((xx, yy), xy)| (xy.norm_sqr() / (xx * yy)).min(1.0)).collect();
        let gain = all().map(|((xx, _), xy)| libm::hypot(xy.re, xy.im) / xx).collect();
        let lag_rad = self.xy.iter().map(|xy| libm::atan2(-xy.im, xy.re)).collect();
        Coherence { frequency_hz, coherence, gain, lag_rad, segments, effective_segments }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::detrend::Detrend;
    use crate::window::Window;

    fn noise(n: usize, seed: u64) -> Vec<f64> {
        crate::trial::Seeded(seed).centred(n)
    }

    const CUT: Segments =
        Segments { len: 128, overlap: 64, window: Window::Hann, detrend: Detrend::Mean };

    #[test]
    fn a_delayed_copy_is_coherent_with_a_phase_that_grows_with_frequency() {
        let all = noise(5000, 1);
        let y: Vec<f64> = all[..4998].iter().map(|v| 3.0 * v).collect();
        let found = coherence(&all[2..], &y, 1.0, &CUT).unwrap();
        for bin in 3..30 {
            // Two samples late.
            let expected = 2.0 * std::f64::consts::PI * found.frequency_hz[bin] * 2.0;
            assert!((found.lag_rad[bin] - expected).abs() < 0.05);
            assert!(found.coherence[bin] > 0.97);
            assert!((found.gain[bin] / 3.0 - 1.0).abs() < 0.05);
        }
    }

    #[test]
    fn unrelated_series_stay_below_the_level_as_often_as_it_says() {
        let found = coherence(&noise(20_000, 2), &noise(20_000, 3), 1.0, &CUT).unwrap();
        let level = found.zero_level(0.95);
        let above = found.coherence[2..63].iter().filter(|c| **c > level).count();
        assert!(above <= 9, "{above} of 61");
        let mean = found.coherence[2..63].iter().sum::<f64>() / 61.0;
        assert!((mean * found.effective_segments - 1.0).abs() < 0.5, "{mean}");
    }

    #[test]
    fn one_segment_or_series_of_different_length_are_refused() {
        let x = noise(150, 4);
        assert!(matches!(coherence(&x, &x, 1.0, &CUT), Err(SpectrumError::TooShort { .. })));
        let y = noise(400, 5);
        assert!(coherence(&y[..399], &y, 1.0, &CUT).is_err());
        let mut z = y.clone();
        z[33] = f64::NAN;
        assert_eq!(coherence(&y, &z, 1.0, &CUT), Err(SpectrumError::Gap(33)));
    }
}
