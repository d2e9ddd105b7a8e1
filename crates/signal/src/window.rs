//! Windows (tapers): their values and the figures that describe them.
//!
//! In: a length.  Out: weights, largest 1 at the middle except for the flat
//! tops, whose mean is 1 as their source gives them.  Nothing here scales a
//! spectrum: `spectrum` divides by the sum of squares.
//!
//! Periodic windows (divide by n) are for spectra, symmetric ones (divide by
//! n - 1) for filters.

use std::f64::consts::PI;

/// A window by name.
#[derive(Copy, Clone, PartialEq, Debug)]
pub enum Window {
    /// No taper: w = 1.
    Rectangle,
    /// 1 - |u|, with u from -1 to 1 along the window.
    Triangle,
    /// One half period of a sine.
    Cosine,
    /// One half less half a cosine.
    Hann,
    /// 0.54 less 0.46 of a cosine.
    Hamming,
    /// Three terms: 0.42, 0.50, 0.08.
    Blackman,
    /// Four terms with side lobes below -92 dB.
    BlackmanHarris,
    /// Four terms with a continuous first derivative, side lobes below -93 dB.
    Nuttall4c,
    /// 1 - u^2, also called Welch's or parabolic.
    Riesz,
    /// A cosine lobe convolved with itself.
    Bohman,
    /// Fourth power of half a sine period.
    Cosine4,
    /// Flat, with cosine ends that take this fraction of the length in all.
    Tukey(f64),
    /// Kaiser-Bessel with parameter alpha (beta = pi alpha).
    Kaiser(f64),
    /// Flat top, side lobes -70 dB, amplitude good to 0.007 dB.
    FlatTop70,
    /// Flat top, side lobes -95 dB, amplitude good to 0.004 dB.
    FlatTop95,
    /// Flat top with differentiable ends, side lobes -116 dB, amplitude good to 0.003 dB.
    FlatTop116d,
}

/// The windows offered by name, with usual parameters.
pub const ALL: [Window; 16] = [
    Window::Rectangle,
    Window::Triangle,
    Window::Cosine,
    Window::Hann,
    Window::Hamming,
    Window::Blackman,
    Window::BlackmanHarris,
    Window::Nuttall4c,
    Window::Riesz,
    Window::Bohman,
    Window::Cosine4,
    Window::Tukey(0.25),
    Window::Kaiser(3.0),
    Window::FlatTop70,
    Window::FlatTop95,
    Window::FlatTop116d,
];

// Cosine-sum coefficients, sum of (-1)^k a_k cos(2 pi k n / N).
// Hann to Blackman-Harris: F. J. Harris, Proc. IEEE 66 (1978) 51-83.
// Nuttall 4c and the flat tops: G. Heinzel, A. Ruediger, R. Schilling, "Spectrum
// and spectral density estimation by the DFT" (2002), appendix C.
const HANN: [f64; 2] = [0.5, 0.5];
const HAMMING: [f64; 2] = [0.54, 0.46];
const BLACKMAN: [f64; 3] = [0.42, 0.50, 0.08];
const BLACKMAN_HARRIS: [f64; 4] = [0.35875, 0.48829, 0.14128, 0.01168];
const NUTTALL_4C: [f64; 4] = [0.363_581_9, 0.489_177_5, 0.136_599_5, 0.010_641_1];
const FLAT_TOP_70: [f64; 4] = [1.0, 1.90796, 1.07349, 0.18199];
const FLAT_TOP_95: [f64; 5] = [1.0, 1.938_337_9, 1.304_520_2, 0.402_827, 0.035_066_5];
const FLAT_TOP_116D: [f64; 6] =
    [1.0, 1.957_537_5, 1.478_070_5, 0.636_743_1, 0.122_838_9, 0.006_628_8];

impl Window {
    /// Weights for a spectrum of `n` samples (periodic: the next one would
    /// repeat the first).  A single weight is 1.
    pub fn values(self, n: usize) -> Vec<f64> {
        match n {
            1 => vec![1.0],
            _ => (0..n).map(|place| self.weight(place, n)).collect(),
        }
    }

    /// Weights for a filter of `n` taps (symmetric: last equals first).  One
    /// tap is 1.
    pub fn symmetric(self, n: usize) -> Vec<f64> {
        match n {
            0 => Vec::new(),
            1 => vec![1.0],
            // Mirrored, so that both halves agree to the last bit.
            _ => (0..n).map(|place| self.weight(place.min(n - 1 - place), n - 1)).collect(),
        }
    }

    /// Stable name, for saved procedures.
    pub fn id(self) -> &'static str {
        match self {
            Self::Rectangle => "rectangle",
            Self::Triangle => "triangle",
            Self::Cosine => "cosine",
            Self::Hann => "hann",
            Self::Hamming => "hamming",
            Self::Blackman => "blackman",
            Self::BlackmanHarris => "blackman-harris",
            Self::Nuttall4c => "nuttall-4c",
            Self::Riesz => "riesz",
            Self::Bohman => "bohman",
            Self::Cosine4 => "cosine-4",
            Self::Tukey(_) => "tukey",
            Self::Kaiser(_) => "kaiser",
            Self::FlatTop70 => "flat-top-70",
            Self::FlatTop95 => "flat-top-95",
            Self::FlatTop116d => "flat-top-116d",
        }
    }

    /// The window with a name, Tukey and Kaiser with usual parameters.
    pub fn from_id(id: &str) -> Option<Self> {
        ALL.into_iter().find(|window| window.id() == id)
    }

    /// Weight at a place of a period.
    fn weight(self, place: usize, period: usize) -> f64 {
        let turn = place as f64 / period as f64;
        let u = 2.0 * turn - 1.0;
        match self {
            Self::Rectangle => 1.0,
            Self::Triangle => 1.0 - u.abs(),
            Self::Cosine => libm::sin(PI * turn),
            Self::Cosine4 => libm::sin(PI * turn).powi(4),
            Self::Riesz => 1.0 - u * u,
            Self::Bohman => {
                let u = u.abs();
                (1.0 - u) * libm::cos(PI * u) + libm::sin(PI * u) / PI
            }
            Self::Tukey(fraction) => tukey(turn, fraction),
            Self::Kaiser(alpha) => kaiser(u, PI * alpha),
            Self::Hann => cosine_sum(&HANN, place, period),
            Self::Hamming => cosine_sum(&HAMMING, place, period),
            Self::Blackman => cosine_sum(&BLACKMAN, place, period),
            Self::BlackmanHarris => cosine_sum(&BLACKMAN_HARRIS, place, period),
            Self::Nuttall4c => cosine_sum(&NUTTALL_4C, place, period),
            Self::FlatTop70 => cosine_sum(&FLAT_TOP_70, place, period),
            Self::FlatTop95 => cosine_sum(&FLAT_TOP_95, place, period),
            Self::FlatTop116d => cosine_sum(&FLAT_TOP_116D, place, period),
        }
    }
}

fn cosine_sum(terms: &[f64], place: usize, period: usize) -> f64 {
    let mut sum = 0.0;
    for (k, a) in terms.iter().enumerate() {
        // Whole turns are taken off first, so that no accuracy goes with them.
        let steps = (k as u64 * place as u64) % period as u64;
        let c = libm::cos(2.0 * PI * steps as f64 / period as f64);
        sum += if k % 2 == 0 { a * c } else { -a * c };
    }
    sum
}

fn tukey(turn: f64, fraction: f64) -> f64 {
    let edge = turn.min(1.0 - turn);
    let width = fraction.clamp(0.0, 1.0) / 2.0;
    if edge >= width { 1.0 } else { 0.5 - 0.5 * libm::cos(PI * edge / width) }
}

fn kaiser(u: f64, beta: f64) -> f64 {
    bessel_i0(beta * (1.0 - u * u).max(0.0).sqrt()) / bessel_i0(beta)
}

/// Modified Bessel function of the first kind and order 0, by its power
/// series; relative error below 1e-14 for |x| < 100.
pub(crate) fn bessel_i0(x: f64) -> f64 {
    let quarter = x * x / 4.0;
    let (mut term, mut sum, mut k) = (1.0, 1.0, 1.0);
    while term > sum * 1e-17 {
        term *= quarter / (k * k);
        sum += term;
        k += 1.0;
    }
    sum
}

/// Coherent gain: the mean weight.  A sine's line in |X_k| is A n / 2 times this.
pub fn coherent_gain(w: &[f64]) -> f64 {
    w.iter().sum::<f64>() / w.len() as f64
}

/// Equivalent noise bandwidth in bins, n sum(w^2) / sum(w)^2: the width of the
/// box that passes as much white noise.
pub fn noise_bandwidth_bins(w: &[f64]) -> f64 {
    let sum: f64 = w.iter().sum();
    let squares: f64 = w.iter().map(|v| v * v).sum();
    w.len() as f64 * squares / (sum * sum)
}

/// Scallop loss, decibels, positive: how much too small a sine's line is when
/// its frequency falls midway between two bins.
pub fn scallop_loss_db(w: &[f64]) -> f64 {
    let sum: f64 = w.iter().sum();
    let (mut re, mut im) = (0.0, 0.0);
    for (place, v) in w.iter().enumerate() {
        let angle = PI * place as f64 / w.len() as f64;
        re += v * libm::cos(angle);
        im -= v * libm::sin(angle);
    }
    -20.0 * libm::log10(libm::hypot(re, im) / sum.abs())
}

/// Correlation of the estimates of two segments that share this fraction of
/// their length, 0 to 1 (Harris 1978, equation 17; not squared).
pub fn overlap_correlation(w: &[f64], fraction: f64) -> f64 {
    let shared = libm::round(fraction.clamp(0.0, 1.0) * w.len() as f64) as usize;
    shifted_correlation(w, w.len() - shared)
}

/// The same for two segments that start `shift` samples apart.
pub(crate) fn shifted_correlation(w: &[f64], shift: usize) -> f64 {
    if shift >= w.len() {
        return 0.0;
    }
    let squares: f64 = w.iter().map(|v| v * v).sum();
    w.iter().zip(&w[shift..]).map(|(a, b)| a * b).sum::<f64>() / squares
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_periodic_window_is_the_symmetric_one_of_one_more_without_its_last() {
        for window in ALL {
            for n in [2, 7, 64] {
                let long = window.symmetric(n + 1);
                for (a, b) in window.values(n).iter().zip(&long) {
                    assert!((a - b).abs() < 1e-14, "{} {n}", window.id());
                }
            }
        }
    }

    #[test]
    fn every_window_is_found_again_by_its_id() {
        for window in ALL {
            assert_eq!(Window::from_id(window.id()), Some(window));
        }
        assert_eq!(Window::from_id("none of these"), None);
    }

    #[test]
    fn no_weight_is_missing_even_at_the_smallest_lengths() {
        for window in ALL.into_iter().chain([Window::Tukey(0.0), Window::Tukey(2.0)]) {
            for n in 0..6 {
                assert_eq!(window.values(n).len(), n);
                assert!(window.values(n).iter().all(|v| v.is_finite()));
                assert!(window.symmetric(n).iter().all(|v| v.is_finite()));
            }
        }
    }

    #[test]
    fn the_bessel_function_agrees_with_its_table() {
        // Abramowitz and Stegun 1964, table 9.8: e^-x I0(x) at 1 and 10.
        assert!((bessel_i0(1.0) * libm::exp(-1.0) - 0.465_759_607_6).abs() < 1e-9);
        assert!((bessel_i0(10.0) * libm::exp(-10.0) - 0.127_833_337_2).abs() < 1e-9);
    }
}
