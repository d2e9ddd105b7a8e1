//! Windows, filters, spectra and robust statistics over plain slices.
//!
//! Every function is pure: slices of `f64` in, vectors and plain structs out;
//! no clock, no random numbers, no threads, no files.  Sampling is even unless
//! a function takes times.  Missing values are NaN, and each function says
//! whether it skips, keeps or refuses them.
//!
//! Conventions, once for all modules:
//!
//! * transform: X_k = sum over n of x_n exp(-2 pi i k n / N), unscaled;
//! * densities are one-sided, (unit of the series)^2 / Hz: twice
//!   |X_k|^2 / (rate * sum w^2), but not twice at 0 Hz and at half the rate;
//! * windows are periodic (divide by N) wherever a spectrum is made;
//! * sine, exponential and their kin come from `libm`, so that the page and a
//!   native replay agree.

mod special;

pub mod allan;
pub mod angle;
pub mod butterworth;
pub mod candidates;
pub mod chi2;
pub mod coherence;
pub mod detrend;
pub mod fft;
pub mod fir;
pub mod harmonics;
pub mod lag;
pub mod lomb_scargle;
pub mod lsq;
pub mod minute;
pub mod multitaper;
pub mod peaks;
mod products;
pub mod quantum;
pub mod rate;
pub mod response;
pub mod robust;
mod rotor;
pub mod slope;
pub mod smooth;
pub mod spectrogram;
pub mod spectrum;
pub mod stats;
#[cfg(test)]
mod trial;
mod uneven;
pub mod window;

/// The first place that is NaN or infinite.
pub(crate) fn first_missing(x: &[f64]) -> Option<usize> {
    x.iter().position(|value| !value.is_finite())
}
