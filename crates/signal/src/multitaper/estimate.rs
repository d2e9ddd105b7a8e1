//! The multitaper estimate, its weights, and the F ratio for lines.
//!
//! In: a series and tapers.  Out: a [`Multitaper`].

use super::sums::{Sums, one_sided};
use super::{Dpss, TaperError, dpss};
use crate::chi2;
use crate::fft::RealFft;
use crate::first_missing;
use crate::spectrum::{Spectrum, SpectrumError, frequencies};
use crate::stats::mean;
use crate::window::Window;
use std::f64::consts::PI;

/// A family of tapers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tapers {
    /// Slepian's, for a time-bandwidth product.
    Dpss {
        /// Half bandwidth times duration.
        nw: f64,
        /// How many; at most twice `nw` less 1 are good.
        count: usize,
    },
    /// Sines of 1, 2, 3... half periods (K. S. Riedel and A. Sidorenko, IEEE
    /// Trans. Signal Process. 43 (1995) 188): least local bias.
    Sine {
        /// How many.
        count: usize,
    },
}

/// How the periodograms are weighted in the mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weighting {
    /// All alike.
    Equal,
    /// By concentration.
    Concentration,
    /// Anew at each frequency: less weight for tapers that would leak there
    /// (D. J. Thomson, Proc. IEEE 70 (1982) 1055, section V).
    Adaptive,
}

/// A multitaper spectrum.
#[derive(Clone, Debug, PartialEq)]
pub struct Multitaper {
    /// Frequencies from 0 to half the rate, hertz.
    pub frequency_hz: Vec<f64>,
    /// One-sided density at each, (unit of the series)^2 / Hz.
    pub density: Vec<f64>,
    /// Degrees of freedom at each (half as many at 0 Hz and half the rate).
    pub degrees_of_freedom: Vec<f64>,
    /// Thomson's F ratio for a steady line at each, with 2 and 2 K - 2 degrees
    /// of freedom; NaN for a single taper.
    pub line_f: Vec<f64>,
    /// Amplitude of the best line at each, in the unit of the series.
    pub line_amplitude: Vec<f64>,
    /// Number of tapers.
    pub tapers: usize,
    /// Equivalent noise bandwidth, hertz: density times this is the mean
    /// square of a line.
    pub noise_bandwidth_hz: f64,
    /// The shape that `window` of a [`Spectrum`] made from this will state.
    window: Window,
    samples: usize,
}

impl Multitaper {
    /// Chance that noise alone gives as great an F ratio at one frequency.
    pub fn line_chance(&self, bin: usize) -> f64 {
        match self.line_f.get(bin) {
            Some(f) if self.tapers > 1 => chi2::f_survival(*f, 2.0, 2.0 * self.tapers as f64 - 2.0),
            _ => f64::NAN,
        }
    }

    /// The same densities as a [`Spectrum`], for peaks, slopes and figures:
    /// one segment, the median of the degrees of freedom, and as window the
    /// one nearest to the first taper.
    pub fn spectrum(&self) -> Spectrum {
        Spectrum {
            frequency_hz: self.frequency_hz.clone(),
            density: self.density.clone(),
            segments: 1,
            segment_len: self.samples,
            degrees_of_freedom: crate::robust::median(&self.degrees_of_freedom).unwrap_or(2.0),
            noise_bandwidth_hz: self.noise_bandwidth_hz,
            window: self.window,
            samples_used: self.samples,
            samples_left_out: 0,
        }
    }
}

/// Sine tapers of unit energy.
///
/// # Errors
///
/// [`TaperError::Count`] unless 1 <= count <= n.
pub fn sine_tapers(n: usize, count: usize) -> Result<Vec<Vec<f64>>, TaperError> {
    if count == 0 || count > n {
        return Err(TaperError::Count { count, samples: n });
    }
    let scale = (2.0 / (n as f64 + 1.0)).sqrt();
    let value = |order: usize, t: usize| {
        // Whole turns are taken off first: (order + 1)(t + 1) may be large.
        let half_turns = ((order as u64 + 1) * (t as u64 + 1)) % (2 * (n as u64 + 1));
        scale * libm::sin(PI * half_turns as f64 / (n as f64 + 1.0))
    };
    Ok((0..count).map(|order| (0..n).map(|t| value(order, t)).collect()).collect())
}

/// The multitaper spectrum of a series, its mean taken off.
///
/// # Arguments and units
///
/// * `x` - evenly spaced, any unit u
/// * `rate_hz` - samples a second
/// * `tapers`, `weighting` - [`Tapers`], [`Weighting`]
///
/// Returns n / 2 + 1 densities in u^2 / Hz.
///
/// # Errors
///
/// [`TaperError`]: a sample that is not finite, a rate that is not positive,
/// or tapers that cannot be made for this length.
///
/// # Source
///
/// D. J. Thomson, Proc. IEEE 70 (1982) 1055; D. B. Percival and A. T. Walden,
/// Spectral Analysis for Physical Applications (1993), chapters 7 and 10.
///
/// # Example
///
/// ```
/// use signal::multitaper::{Tapers, Weighting, multitaper};
/// let x: Vec<f64> = (0..500).map(|i| (i as f64 * 0.5).sin()).collect();
/// let found = multitaper(&x, 1.0, Tapers::Dpss { nw: 4.0, count: 7 }, Weighting::Adaptive)?;
/// let best = (0..251).max_by(|a, b| found.line_f[*a].total_cmp(&found.line_f[*b])).unwrap();
/// assert_eq!(best, 40); // 0.5 / (2 pi) = 0.0796 = 39.8 / 500
/// # Ok::<(), signal::multitaper::TaperError>(())
/// ```
pub fn multitaper(
    x: &[f64],
    rate_hz: f64,
    tapers: Tapers,
    weighting: Weighting,
) -> Result<Multitaper, TaperError> {
    let family = match tapers {
        Tapers::Dpss { nw, count } => dpss(x.len(), nw, count)?,
        Tapers::Sine { count } => {
            Dpss { tapers: sine_tapers(x.len(), count)?, concentration: vec![1.0; count] }
        }
    };
    let mut found = given(x, rate_hz, &family, weighting)?;
    found.window = match tapers {
        // The first sequence is nearly a Kaiser window (J. F. Kaiser 1974).
        Tapers::Dpss { nw, .. } => Window::Kaiser(nw),
        Tapers::Sine { .. } => Window::Cosine,
    };
    Ok(found)
}

/// The same with tapers ready: for many series of one length.
///
/// # Errors
///
/// As [`multitaper`]; tapers of another length than the series are refused.
pub fn given(
    x: &[f64],
    rate_hz: f64,
    family: &Dpss,
    weighting: Weighting,
) -> Result<Multitaper, TaperError> {
    check(x, rate_hz, family)?;
    let level = mean(x).unwrap_or(0.0);
    let mut fft = RealFft::new(x.len());
    let mut sums = Sums::new(family, weighting, fft.bins());
    for (order, taper) in family.tapers.iter().enumerate() {
        sums.powers.push(vec![0.0; if sums.adaptive { fft.bins() } else { 0 }]);
        fft.load(x, taper, (level, 0.0));
        fft.run(|bin, y| sums.add(order, bin, y));
    }
    let squares: f64 = x.iter().map(|v| (v - level) * (v - level)).sum();
    let (mut density, degrees_of_freedom) = sums.densities(family, squares / x.len() as f64);
    one_sided(&mut density, x.len(), rate_hz);
    let (line_f, line_amplitude) = sums.lines(x.len());
    Ok(Multitaper {
        frequency_hz: frequencies(x.len(), rate_hz),
        density,
        degrees_of_freedom,
        line_f,
        line_amplitude,
        tapers: family.tapers.len(),
        noise_bandwidth_hz: rate_hz / sums.height_at_zero(),
        window: Window::Rectangle,
        samples: x.len(),
    })
}

fn check(x: &[f64], rate_hz: f64, family: &Dpss) -> Result<(), TaperError> {
    if !(rate_hz > 0.0 && rate_hz.is_finite()) {
        return Err(TaperError::Series(SpectrumError::Rate(rate_hz)));
    }
    if x.len() < 2 {
        let error = SpectrumError::TooShort { samples: x.len(), needed: 2 };
        return Err(TaperError::Series(error));
    }
    if let Some(sample) = first_missing(x) {
        return Err(TaperError::Series(SpectrumError::Gap(sample)));
    }
    let count = family.tapers.len();
    let fits = |taper: &Vec<f64>| taper.len() == x.len();
    if count == 0 || family.concentration.len() != count || !family.tapers.iter().all(fits) {
        return Err(TaperError::Count { count, samples: x.len() });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn normal(n: usize, seed: u64) -> Vec<f64> {
        crate::trial::Seeded(seed).normal(n)
    }

    const SLEPIAN: Tapers = Tapers::Dpss { nw: 4.0, count: 7 };

    #[test]
    fn the_density_of_white_noise_is_flat_and_scatters_as_its_degrees_of_freedom_say() {
        for (tapers, weighting) in [
            (SLEPIAN, Weighting::Concentration),
            (SLEPIAN, Weighting::Adaptive),
            (Tapers::Sine { count: 7 }, Weighting::Equal),
        ] {
            let found = multitaper(&normal(20_000, 3), 4.0, tapers, weighting).unwrap();
            let inner = &found.density[20..9980];
            let level = inner.iter().sum::<f64>() / inner.len() as f64;
            let scatter =
                inner.iter().map(|d| (d / level - 1.0).powi(2)).sum::<f64>() / inner.len() as f64;
            assert!((level / 0.5 - 1.0).abs() < 0.03, "{level}");
            let freedom = found.degrees_of_freedom[5000];
            assert!((scatter * freedom / 2.0 - 1.0).abs() < 0.15, "{scatter} {freedom}");
        }
    }

    #[test]
    fn a_line_is_found_with_its_amplitude_and_white_noise_gives_chances_that_are_uniform() {
        let turn = 2.0 * PI * 0.125;
        let mut x = normal(4096, 5);
        let quiet = multitaper(&x, 1.0, SLEPIAN, Weighting::Adaptive).unwrap();
        let rare = (5..2044).filter(|bin| quiet.line_chance(*bin) < 0.01).count();
        assert!((8..36).contains(&rare), "{rare}");
        for (i, value) in x.iter_mut().enumerate() {
            *value += 0.5 * libm::cos(turn * i as f64 + 1.0);
        }
        let found = multitaper(&x, 1.0, SLEPIAN, Weighting::Adaptive).unwrap();
        assert!(found.line_chance(512) < 1e-8);
        assert!((found.line_amplitude[512] - 0.5).abs() < 0.05);
        let power = found.density[512] * found.noise_bandwidth_hz;
        assert!((power / 0.125 - 1.0).abs() < 0.1, "{power}");
    }

    #[test]
    fn adaptive_weights_keep_leakage_of_a_strong_line_out_of_the_floor() {
        let x: Vec<f64> = normal(2000, 9)
            .iter()
            .enumerate()
            .map(|(i, v)| 1e-4 * v + libm::sin(0.3 * i as f64))
            .collect();
        let floor = |weighting| {
            let found = multitaper(&x, 1.0, SLEPIAN, weighting).unwrap();
            mean(&found.density[600..]).unwrap()
        };
        let (quiet, loud) = (floor(Weighting::Adaptive), floor(Weighting::Equal));
        assert!((quiet / 2e-8 - 1.0).abs() < 0.3, "{quiet} {loud}");
        assert!(loud > 10.0 * quiet, "{quiet} {loud}");
    }

    #[test]
    fn gaps_rates_and_tapers_of_another_length_are_refused() {
        let mut x = normal(50, 1);
        let family = dpss(49, 3.0, 4).unwrap();
        assert!(matches!(given(&x, 1.0, &family, Weighting::Equal), Err(TaperError::Count { .. })));
        assert!(multitaper(&x, -1.0, SLEPIAN, Weighting::Equal).is_err());
        x[30] = f64::NAN;
        let error = multitaper(&x, 1.0, SLEPIAN, Weighting::Equal).unwrap_err();
        assert_eq!(error, TaperError::Series(SpectrumError::Gap(30)));
    }

    #[test]
    fn a_constant_series_has_no_density_and_no_panic() {
        let found = multitaper(&[5.0; 64], 1.0, SLEPIAN, Weighting::Adaptive).unwrap();
        assert!(found.density.iter().all(|d| *d == 0.0));
    }
}
