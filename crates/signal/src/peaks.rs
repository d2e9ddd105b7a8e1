//! Peaks of a spectrum: local maxima that stand out of a smooth background.
//!
//! In: a [`Spectrum`].  Out: the peaks, most significant first, each with the
//! chance that noise alone would show one as high anywhere.  A peak is not yet
//! a line: red noise and broad humps make peaks too.

use crate::chi2;
use crate::robust::median;
use crate::spectrum::Spectrum;

/// A peak of a spectrum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// Frequency, from a parabola through three log densities, hertz.
    pub frequency_hz: f64,
    /// Standard uncertainty of that frequency for a steady line in the
    /// background noise, hertz; never below 1/100 of a bin, the parabola's
    /// own error.
    pub frequency_sigma_hz: f64,
    /// Period, seconds.
    pub period_s: f64,
    /// Amplitude of a steady sine of that height, background taken off, in
    /// the unit of the series.
    pub amplitude: f64,
    /// Standard uncertainty of the amplitude from the background noise.
    pub amplitude_sigma: f64,
    /// Height of the density, (unit of the series)^2 / Hz.
    pub density: f64,
    /// The background there, same unit.
    pub background: f64,
    /// Height over background, decibels.
    pub prominence_db: f64,
    /// Chance that noise with this background has a bin so high anywhere.
    pub false_alarm: f64,
    /// The bin of the local maximum.
    pub bin: usize,
}

/// Fewest bins on each side from which the background is taken.
const FEWEST: usize = 8;
/// The lowest bin with as many below it.
const LOWEST: usize = FEWEST + 1;

/// The strongest `how_many` peaks above 0 Hz, most significant first.
///
/// The background at a bin is the median density from 1/2 to 3/2 of its
/// frequency, at least 8 bins on each side, divided by the median of
/// chi-squared over its mean so that it estimates the mean density; below bin 9
/// the slope above goes on.  A local maximum is kept when it stands above its
/// background.
///
/// # Source
///
/// Parabola through log densities: F. J. Harris's main lobes are nearly
/// Gaussian; the false alarm is 1 - (1 - Q)^M for M independent bins with
/// chi-squared tail Q (J. D. Scargle, Astrophys. J. 263 (1982) 835).
pub fn find(spectrum: &Spectrum, how_many: usize) -> Vec<Peak> {
    let density = &spectrum.density;
    let back = background(spectrum);
    let mut peaks: Vec<Peak> = (1..density.len().saturating_sub(1))
        .filter(|bin| density[*bin] > density[bin - 1] && density[*bin] >= density[bin + 1])
        .filter(|bin| density[*bin] > back[*bin])
        .map(|bin| measure(spectrum, &back, bin))
        .collect();
    record::sort::by(&mut peaks, |a, b| b.prominence_db.total_cmp(&a.prominence_db));
    peaks.truncate(how_many);
    peaks
}

/// The smooth background of a spectrum, one value a bin: medians at places a
/// twentieth apart in log frequency, joined by straight lines in log density.
pub fn background(spectrum: &Spectrum) -> Vec<f64> {
    let density = &spectrum.density;
    let nu = spectrum.degrees_of_freedom;
    let median_over_mean = chi2::quantile(0.5, nu) / nu;
    let last = density.len().saturating_sub(1);
    // As many bins above as below: the median of a slope is its middle.
    let around = |bin: usize| {
        let half = (bin / 2).min(last.saturating_sub(bin)).max(FEWEST).min(bin.saturating_sub(1));
        let inside = density.get(bin - half..=(bin + half).min(last)).unwrap_or_default();
        median(inside).unwrap_or(f64::NAN) / median_over_mean
    };
    // The lowest bins have too few below them: the slope above goes on.
    let (first, second) = (around(LOWEST), around(2 * LOWEST));
    let slope = (libm::log2(second / first)).clamp(-4.0, 0.0);
    let slope = if slope.is_finite() { slope } else { 0.0 };
    let level = |bin: usize| {
        if bin >= LOWEST {
            return around(bin);
        }
        first * libm::pow(bin.max(1) as f64 / LOWEST as f64, slope)
    };
    let mut out = Vec::with_capacity(density.len());
    let (mut from, mut height) = (0, level(0));
    while out.len() < density.len() {
        let to = from.max(1) + (from / 20).max(usize::from(from > 0));
        let next = level(to.min(last));
        out.extend((from..to.min(last + 1)).map(|bin| between(bin, (from, height), (to, next))));
        (from, height) = (to, next);
    }
    out
}

/// On the straight line between two places, in logarithms of both.
fn between(bin: usize, (from, a): (usize, f64), (to, b): (usize, f64)) -> f64 {
    if bin == from || from == 0 || !(a > 0.0 && b > 0.0) {
        return a;
    }
    let log = |n: usize| libm::log(n as f64);
    let share = (log(bin) - log(from)) / (log(to) - log(from));
    a * libm::pow(b / a, share)
}

fn measure(spectrum: &Spectrum, back: &[f64], bin: usize) -> Peak {
    let log = |place: usize| libm::log(spectrum.density[place].max(f64::MIN_POSITIVE));
    let (before, at, after) = (log(bin - 1), log(bin), log(bin + 1));
    let bend = before - 2.0 * at + after;
    let shift = if bend < 0.0 { 0.5 * (before - after) / bend } else { 0.0 };
    let height = libm::exp(at - 0.25 * (before - after) * shift);
    let step = spectrum.step_hz();
    let frequency_hz = (bin as f64 + shift) * step;
    let bandwidth = spectrum.noise_bandwidth_hz;
    let amplitude = (2.0 * (height - back[bin]).max(0.0) * bandwidth).sqrt();
    let effective = spectrum.degrees_of_freedom / 2.0;
    let amplitude_sigma = (back[bin] * bandwidth / effective).sqrt();
    let relative = amplitude_sigma / amplitude.max(f64::MIN_POSITIVE);
    Peak {
        frequency_hz,
        frequency_sigma_hz: step * relative.max(0.01),
        period_s: 1.0 / frequency_hz,
        amplitude,
        amplitude_sigma,
        density: height,
        background: back[bin],
        prominence_db: 10.0 * libm::log10(height / back[bin]),
        false_alarm: false_alarm(spectrum, spectrum.density[bin] / back[bin]),
        bin,
    }
}

fn false_alarm(spectrum: &Spectrum, ratio: f64) -> f64 {
    let nu = spectrum.degrees_of_freedom;
    let one = chi2::survival(ratio * nu, nu);
    let width = spectrum.step_hz() / spectrum.noise_bandwidth_hz;
    let independent = (spectrum.density.len() as f64 * width).max(1.0);
    -libm::expm1(independent * libm::log1p(-one))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::detrend::Detrend;
    use crate::spectrum::{Segments, welch};
    use crate::trial::Seeded;
    use crate::window::Window;

    /// Seeded normal noise plus a sine.
    fn noisy(n: usize, amplitude: f64, frequency: f64, seed: u64) -> Vec<f64> {
        let turn = 2.0 * std::f64::consts::PI;
        let sine = |i: usize| amplitude * libm::cos(turn * frequency * i as f64 + 0.7);
        Seeded(seed).normal(n).iter().enumerate().map(|(i, noise)| noise + sine(i)).collect()
    }

    fn spectrum(x: &[f64]) -> Spectrum {
        let cut = Segments { len: 512, overlap: 256, window: Window::Hann, detrend: Detrend::Mean };
        welch(x, 1.0, &cut).unwrap()
    }

    #[test]
    fn a_sine_is_found_with_its_frequency_and_amplitude_within_the_stated_errors() {
        let (mut f_off, mut a_off) = (0.0, 0.0);
        for seed in 1..=40 {
            let frequency = 0.1 + seed as f64 * 1.7e-4;
            let peak = find(&spectrum(&noisy(8192, 0.5, frequency, seed)), 1)[0];
            f_off += ((peak.frequency_hz - frequency) / peak.frequency_sigma_hz).powi(2);
            a_off += ((peak.amplitude - 0.5) / peak.amplitude_sigma).powi(2);
            assert!(peak.false_alarm < 1e-6);
        }
        // Mean squares of 40 normal deviates stay within 0.5 to 1.6 nearly always.
        assert!((0.2..1.8).contains(&(f_off / 40.0)), "{}", f_off / 40.0);
        assert!((0.4..1.8).contains(&(a_off / 40.0)), "{}", a_off / 40.0);
    }

    #[test]
    fn noise_alone_seldom_shows_a_significant_peak() {
        let mut alarms = 0;
        for seed in 100..200 {
            let peaks = find(&spectrum(&noisy(4096, 0.0, 0.1, seed)), 5);
            alarms += usize::from(peaks.first().is_some_and(|peak| peak.false_alarm < 0.05));
        }
        assert!(alarms <= 15, "{alarms} of 100");
    }

    #[test]
    fn red_noise_shows_hardly_more_peaks_than_its_chances_say() {
        let mut alarms = 0;
        for seed in 300..400 {
            let peaks = find(&spectrum(&Seeded(seed).remembering(4096, 0.98)), 5);
            alarms += usize::from(peaks.first().is_some_and(|peak| peak.false_alarm < 0.05));
        }
        assert!(alarms <= 20, "{alarms} of 100");
    }

    #[test]
    fn the_background_of_a_power_law_is_that_law_and_a_line_does_not_lift_it() {
        let mut found = spectrum(&noisy(2048, 0.0, 0.1, 1));
        found.degrees_of_freedom = 1e6;
        for (f, d) in found.frequency_hz.iter().zip(&mut found.density) {
            *d = libm::pow(f.max(1e-4), -1.5);
        }
        found.density[100] *= 1e4;
        let back = background(&found);
        assert_eq!(back.len(), found.density.len());
        for (bin, level) in back.iter().enumerate().take(240).skip(1) {
            let law = libm::pow(found.frequency_hz[bin], -1.5);
            assert!((level / law - 1.0).abs() < 0.1, "{bin} {}", level / law);
        }
    }

    #[test]
    fn a_flat_or_tiny_spectrum_has_no_peaks_and_no_panic() {
        let flat = spectrum(&[0.0; 600]);
        assert!(find(&flat, 5).is_empty());
        let tiny = crate::spectrum::periodogram(&[1.0, 2.0], 1.0, Window::Rectangle, Detrend::None);
        assert!(find(&tiny.unwrap(), 5).is_empty());
    }
}
