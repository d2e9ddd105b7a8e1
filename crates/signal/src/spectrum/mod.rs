//! Power spectral density by the transform: one periodogram, or the mean of
//! many over overlapped segments (Welch's method).
//!
//! In: evenly spaced series without gaps, or the unbroken runs of one with
//! gaps.  Out: one-sided densities, (unit of the series)^2 / Hz, with the
//! degrees of freedom that intervals need.  Never fills or joins over a gap.

mod error;
mod welch;

pub use error::SpectrumError;
pub(crate) use welch::{Machine, degrees_of_freedom, frequencies};
pub use welch::{Segments, periodogram, welch, welch_runs, welch_runs_telling};

use crate::chi2;
use crate::window::Window;

/// A one-sided power spectral density and what its reader must know.
#[derive(Clone, Debug, PartialEq)]
pub struct Spectrum {
    /// Frequencies from 0 to half the rate, hertz.
    pub frequency_hz: Vec<f64>,
    /// Density at each, (unit of the series)^2 / Hz.
    pub density: Vec<f64>,
    /// Segments averaged.
    pub segments: usize,
    /// Samples in each.
    pub segment_len: usize,
    /// Degrees of freedom of each density (half as many at 0 Hz and at half
    /// the rate).
    pub degrees_of_freedom: f64,
    /// Equivalent noise bandwidth of one bin, hertz.
    pub noise_bandwidth_hz: f64,
    /// The taper.
    pub window: Window,
    /// Samples inside segments.
    pub samples_used: usize,
    /// Samples of the input in no segment.
    pub samples_left_out: usize,
}

impl Spectrum {
    /// The factors by which to multiply a density for the interval that holds
    /// the true one with this probability, lower and upper.
    ///
    /// The same for all frequencies, so that on a logarithmic axis it is one
    /// bar.  It supposes a spectrum that is smooth within the bandwidth.
    ///
    /// # Source
    ///
    /// nu / chi-squared quantiles: J. S. Bendat and A. G. Piersol, Random
    /// Data (2010), section 8.5.
    pub fn interval(&self, probability: f64) -> (f64, f64) {
        let nu = self.degrees_of_freedom;
        let tail = (1.0 - probability) / 2.0;
        (nu / chi2::quantile(1.0 - tail, nu), nu / chi2::quantile(tail, nu))
    }

    /// The amplitude of the sine that would give each bin its density,
    /// sqrt(2 density bandwidth), in the unit of the series.
    pub fn amplitude(&self) -> Vec<f64> {
        let scale = 2.0 * self.noise_bandwidth_hz;
        self.density.iter().map(|density| (scale * density).sqrt()).collect()
    }

    /// Step from bin to bin, hertz; 0 with fewer than two bins.
    pub fn step_hz(&self) -> f64 {
        self.frequency_hz.get(1).copied().unwrap_or(0.0)
    }

    /// Variance between two frequencies, both ends included: the sum of
    /// densities times the step, (unit of the series)^2.
    pub fn variance_between(&self, low_hz: f64, high_hz: f64) -> f64 {
        let inside = self.frequency_hz.iter().zip(&self.density);
        let sum: f64 =
            inside.filter(|(f, _)| (low_hz..=high_hz).contains(*f)).map(|(_, d)| d).sum();
        sum * self.step_hz()
    }
}

/// Where a frequency appears after sampling: |f - rate round(f / rate)|.
///
/// A mains wave of 50 Hz sampled at 40 Hz looks like one of 10 Hz.
pub fn alias_hz(frequency_hz: f64, rate_hz: f64) -> f64 {
    (frequency_hz - rate_hz * libm::round(frequency_hz / rate_hz)).abs()
}

/// One-sided density of the rounding noise of a digitiser, step^2 / (6 rate):
/// the floor below which no density of its readings can fall.
///
/// Holds where the signal crosses several steps (G. Heinzel, A. Ruediger and
/// R. Schilling 2002, section 13).
pub fn rounding_density(step: f64, rate_hz: f64) -> f64 {
    step * step / (6.0 * rate_hz)
}
