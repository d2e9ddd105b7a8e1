//! The slope of a spectrum on logarithmic axes: the colour of its noise.
//!
//! In: a [`Spectrum`] and a range of frequencies.  Out: the power of frequency
//! that the density follows, with its uncertainty: 0 for white noise, -1 for
//! flicker, -2 for a random walk.  Lines in the range pull it.

use crate::special::{digamma, trigamma};
use crate::spectrum::Spectrum;
use record::{Fault, say, words::word};
use std::fmt;

/// A power law, density = level (f / 1 Hz)^slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerLaw {
    /// The power of frequency.
    pub slope: f64,
    /// Its standard uncertainty.
    pub slope_sigma: f64,
    /// Density at 1 Hz, (unit of the series)^2 / Hz.
    pub level: f64,
    /// Bins of the spectrum used.
    pub bins: usize,
}

/// Why a slope cannot be found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SlopeError {
    /// Too few bins with a density lie in the range.
    TooFew {
        /// Bins there are.
        bins: usize,
        /// Lower end, hertz.
        low_hz: f64,
        /// Upper end, hertz.
        high_hz: f64,
    },
}

impl fmt::Display for SlopeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::TooFew { bins, low_hz, high_hz } = self;
        f.write_str(&say!(
            "Between {low_hz} Hz and {high_hz} Hz the spectrum has {bins} frequencies with a \
             density; a slope needs at least {FEWEST}."
        ))
    }
}

impl std::error::Error for SlopeError {}

impl From<SlopeError> for Fault {
    fn from(error: SlopeError) -> Self {
        let remedy = word("Widen the range of frequencies, or take longer segments.");
        Self::new("signal/slope", error.to_string(), remedy)
    }
}

const FEWEST: usize = 4;
/// Bins of the fit for each decade of frequency.
const PER_DECADE: f64 = 10.0;

/// The slope of log density against log frequency, and its standard
/// uncertainty; see [`power_law`].
///
/// # Errors
///
/// [`SlopeError`] when fewer than 4 bins with a density lie in the range.
pub fn log_log(spectrum: &Spectrum, low_hz: f64, high_hz: f64) -> Result<(f64, f64), SlopeError> {
    power_law(spectrum, low_hz, high_hz).map(|law| (law.slope, law.slope_sigma))
}

/// The power law that fits a spectrum between two frequencies, ends included.
///
/// Densities are divided by the present power law, averaged in bins of a tenth
/// of a decade, and their logarithms fitted by a straight line weighted by
/// their variance; three rounds suffice.  The logarithm of chi-squared has
/// mean psi(nu/2) - ln(nu/2), not 0 (-2.5 dB for nu = 2): that is taken off.
/// The uncertainty is the larger of that from the degrees of freedom and that
/// from the scatter about the line.
///
/// # Errors
///
/// [`SlopeError`] when fewer than 4 bins with a density lie in the range.
///
/// # Source
///
/// Mean and variance of log chi-squared: M. Abramowitz and I. A. Stegun 1964,
/// 26.4.36; bins equal in log frequency: common practice, no source.
pub fn power_law(spectrum: &Spectrum, low_hz: f64, high_hz: f64) -> Result<PowerLaw, SlopeError> {
    let points: Vec<(f64, f64)> = spectrum
        .frequency_hz
        .iter()
        .zip(&spectrum.density)
        .filter(|(f, d)| **f > 0.0 && (low_hz..=high_hz).contains(*f) && **d > 0.0)
        .map(|(f, d)| (libm::log(*f), *d))
        .collect();
    if points.len() < FEWEST {
        return Err(SlopeError::TooFew { bins: points.len(), low_hz, high_hz });
    }
    let mut line = Line { slope: 0.0, level: 0.0, sigma: f64::NAN };
    for _ in 0..ROUNDS {
        line = refine(spectrum, &points, &line);
    }
    Ok(PowerLaw {
        slope: line.slope,
        slope_sigma: line.sigma,
        level: libm::exp(line.level),
        bins: points.len(),
    })
}

const ROUNDS: usize = 4;

/// ln density = level + slope ln f.
struct Line {
    slope: f64,
    level: f64,
    sigma: f64,
}

/// The mean ratio to the present line in one bin.
struct Mean {
    log_f: f64,
    log_ratio: f64,
    weight: f64,
}

fn refine(spectrum: &Spectrum, points: &[(f64, f64)], line: &Line) -> Line {
    let width = std::f64::consts::LN_10 / PER_DECADE;
    let first = points[0].0;
    let means: Vec<Mean> = points
        .chunk_by(|a, b| ((a.0 - first) / width) as i64 == ((b.0 - first) / width) as i64)
        .map(|bin| mean_of(spectrum, bin, line))
        .collect();
    let sum = |f: &dyn Fn(&Mean) -> f64| means.iter().map(|m| m.weight * f(m)).sum::<f64>();
    let total = sum(&|_| 1.0);
    let (x, y) = (sum(&|m| m.log_f) / total, sum(&|m| m.log_ratio) / total);
    let spread = sum(&|m| (m.log_f - x) * (m.log_f - x));
    let slope = sum(&|m| (m.log_f - x) * (m.log_ratio - y)) / spread;
    let left = sum(&|m| (m.log_ratio - y - slope * (m.log_f - x)).powi(2));
    let scatter = left / (means.len() as f64 - 2.0).max(1.0);
    Line {
        slope: line.slope + slope,
        level: line.level + y - slope * x,
        sigma: (scatter.max(1.0) / spread).sqrt(),
    }
}

fn mean_of(spectrum: &Spectrum, bin: &[(f64, f64)], line: &Line) -> Mean {
    let count = bin.len() as f64;
    let log_f = bin.iter().map(|(log_f, _)| log_f).sum::<f64>() / count;
    let ratio = bin
        .iter()
        .map(|(log_f, density)| density * libm::exp(-line.level - line.slope * log_f))
        .sum::<f64>()
        / count;
    let shared_hz = spectrum.noise_bandwidth_hz * sharing(spectrum);
    let independent = (count * spectrum.step_hz() / shared_hz).max(1.0);
    let half = independent * spectrum.degrees_of_freedom / 2.0;
    let log_ratio = libm::log(ratio) - (digamma(half) - libm::log(half));
    Mean { log_f, log_ratio, weight: 1.0 / trigamma(half) }
}

/// Neighbouring bins share what the taper spreads: the width over which they
/// do, as a multiple of the noise bandwidth, N sum w^4 / (sum w^2)^2 over
/// N sum w^2 / (sum w)^2.  A Hann taper has 1.944 bins of the one and 1.5 of
/// the other (the squared correlations of its neighbours, 4/9 and 1/36, summed).
fn sharing(spectrum: &Spectrum) -> f64 {
    let w = spectrum.window.values(spectrum.segment_len.clamp(8, 1024));
    let sum = |power: i32| w.iter().map(|v| v.powi(power)).sum::<f64>();
    (sum(4) * sum(1) * sum(1) / (sum(2) * sum(2) * sum(2))).max(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::detrend::Detrend;
    use crate::spectrum::{Segments, periodogram, welch};
    use crate::trial::Seeded;
    use crate::window::Window;

    /// Chi-squared densities about an exact power law.
    fn drawn(slope: f64, seed: u64) -> Spectrum {
        let mut seeded = Seeded(seed);
        let x = seeded.centred(2000);
        let mut found = periodogram(&x, 1.0, Window::Rectangle, Detrend::Mean).unwrap();
        for (f, d) in found.frequency_hz.iter().zip(&mut found.density) {
            *d = -libm::log(seeded.uniform()) * 5.0 * libm::pow(f.max(1e-9), slope);
        }
        found
    }

    #[test]
    fn slopes_of_drawn_spectra_are_unbiased_and_scatter_as_stated() {
        for slope in [0.0, -1.0, -3.0] {
            let (mut sum, mut squares, mut level) = (0.0, 0.0, 0.0);
            for seed in 1..=60 {
                let law = power_law(&drawn(slope, seed), 1e-3, 0.5).unwrap();
                let off = (law.slope - slope) / law.slope_sigma;
                sum += off / 60.0;
                squares += off * off / 60.0;
                level += libm::log(law.level / 5.0) / 60.0;
            }
            assert!(sum.abs() < 0.45, "{slope}: mean {sum}");
            assert!((0.5..1.6).contains(&squares), "{slope}: {squares}");
            assert!(level.abs() < 0.06, "{slope}: level {level}");
        }
    }

    #[test]
    fn a_random_walk_has_slope_minus_two_at_low_frequencies() {
        let x = Seeded(9).remembering(60_000, 1.0);
        let cut =
            Segments { len: 2048, overlap: 1024, window: Window::Hann, detrend: Detrend::Line };
        let (slope, sigma) = log_log(&welch(&x, 1.0, &cut).unwrap(), 0.005, 0.05).unwrap();
        assert!((slope + 2.0).abs() < 4.0 * sigma + 0.03, "{slope} {sigma}");
        assert!(sigma < 0.1);
    }

    #[test]
    fn too_narrow_a_range_is_refused_with_its_numbers() {
        let error = log_log(&drawn(0.0, 1), 0.1, 0.1004).unwrap_err();
        assert!(Fault::from(error).message.contains("0.1004 Hz"));
    }
}
