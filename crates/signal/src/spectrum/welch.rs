//! Welch's method: the mean periodogram of tapered, overlapped segments.
//!
//! In: one unbroken series or several.  Out: a [`Spectrum`].  Segments start a
//! hop apart from the first sample of each run; an incomplete last one is left
//! out and counted.

use super::{Spectrum, SpectrumError};
use crate::detrend::{self, Detrend};
use crate::fft::RealFft;
use crate::first_missing;
use crate::window::{Window, noise_bandwidth_bins, shifted_correlation};

/// How to cut a series into segments.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segments {
    /// Samples in a segment.
    pub len: usize,
    /// Samples shared with the next segment.
    pub overlap: usize,
    /// The taper.
    pub window: Window,
    /// What is taken off each segment.
    pub detrend: Detrend,
}

impl Segments {
    pub(crate) fn check(&self) -> Result<(), SpectrumError> {
        if self.len < 2 || self.overlap >= self.len {
            return Err(SpectrumError::Segments { len: self.len, overlap: self.overlap });
        }
        Ok(())
    }

    /// The weights of a segment.
    pub(crate) fn taper(&self) -> Result<Vec<f64>, SpectrumError> {
        let taper = self.window.values(self.len);
        let squares: f64 = taper.iter().map(|w| w * w).sum();
        let sum: f64 = taper.iter().sum();
        if squares > 0.0 && sum > 0.0 && squares.is_finite() {
            Ok(taper)
        } else {
            Err(SpectrumError::Window)
        }
    }

    /// Samples from one segment to the next.
    pub(crate) fn hop(&self) -> usize {
        self.len - self.overlap
    }

    /// Segments that fit into a run.
    pub(crate) fn count(&self, run: usize) -> usize {
        if run < self.len { 0 } else { (run - self.len) / self.hop() + 1 }
    }

    /// The places where they start.
    pub(crate) fn starts(&self, run: usize) -> impl Iterator<Item = usize> {
        let hop = self.hop();
        (0..self.count(run)).map(move |segment| segment * hop)
    }
}

/// The density of a whole series from one tapered transform.
///
/// # Arguments and units
///
/// * `x` - evenly spaced, any unit u
/// * `rate_hz` - samples a second
///
/// Returns densities in u^2 / Hz with 2 degrees of freedom.
///
/// # Errors
///
/// [`SpectrumError`]: the first sample that is not finite, fewer than two
/// samples, or a rate that is not positive.
pub fn periodogram(
    x: &[f64],
    rate_hz: f64,
    window: Window,
    detrend: Detrend,
) -> Result<Spectrum, SpectrumError> {
    if x.len() < 2 {
        return Err(SpectrumError::TooShort { samples: x.len(), needed: 2 });
    }
    welch(x, rate_hz, &Segments { len: x.len(), overlap: 0, window, detrend })
}

/// The mean density of overlapped segments of an unbroken series.
///
/// # Arguments and units
///
/// * `x` - evenly spaced, any unit u
/// * `rate_hz` - samples a second
/// * `segments` - length, overlap, taper, what is taken off each
///
/// Returns `segments.len / 2 + 1` densities in u^2 / Hz.
///
/// # Errors
///
/// [`SpectrumError`]: the first sample that is not finite, segments that
/// cannot be cut or do not fit, or a rate that is not positive.
///
/// # Accuracy
///
/// The density of a sine of amplitude a whose period divides the segment,
/// summed times the step, is a^2 / 2 within rounding.
///
/// # Source
///
/// P. D. Welch, IEEE Trans. Audio Electroacoust. 15 (1967) 70-73, also for the
/// variance of overlapped segments, from which the degrees of freedom are
/// twice the squared mean over the variance.
///
/// # Example
///
/// ```
/// use signal::detrend::Detrend;
/// use signal::spectrum::{Segments, welch};
/// use signal::window::Window;
///
/// let x: Vec<f64> = (0..1024).map(|i| (i as f64 * 0.25).cos()).collect();
/// let segments =
///     Segments { len: 256, overlap: 128, window: Window::Hann, detrend: Detrend::Mean };
/// let found = welch(&x, 1.0, &segments)?;
/// assert_eq!(found.density.len(), 129);
/// assert_eq!(found.segments, 7);
/// # Ok::<(), signal::spectrum::SpectrumError>(())
/// ```
pub fn welch(x: &[f64], rate_hz: f64, segments: &Segments) -> Result<Spectrum, SpectrumError> {
    welch_runs(&[x], rate_hz, segments)
}

/// The mean density of segments cut inside several unbroken runs, none across
/// a gap.  Runs shorter than a segment are left out and counted.
///
/// # Errors
///
/// As [`welch`]; the place of a missing sample is counted through all runs.
pub fn welch_runs(
    runs: &[&[f64]],
    rate_hz: f64,
    segments: &Segments,
) -> Result<Spectrum, SpectrumError> {
    welch_runs_telling(runs, rate_hz, segments, &mut |_| ())
}

/// The same, telling the share that is done, 0 to 1, as it goes.
///
/// # Errors
///
/// As [`welch_runs`].
pub fn welch_runs_telling(
    runs: &[&[f64]],
    rate_hz: f64,
    segments: &Segments,
    tell: &mut dyn FnMut(f64),
) -> Result<Spectrum, SpectrumError> {
    check(runs, rate_hz, segments)?;
    let counts: Vec<usize> = runs.iter().map(|run| segments.count(run.len())).collect();
    let n_segments = counts.iter().sum();
    if n_segments == 0 {
        let samples = runs.iter().map(|run| run.len()).max().unwrap_or(0);
        return Err(SpectrumError::TooShort { samples, needed: segments.len });
    }
    let mut machine = Machine::new(segments, rate_hz)?;
    let mut density = vec![0.0; machine.fft.bins()];
    let mut done = 0.0;
    for run in runs {
        for start in segments.starts(run.len()) {
            machine.add_power(&run[start..start + segments.len], &mut density);
            done += 1.0;
            tell(done / n_segments as f64);
        }
    }
    machine.scale(&mut density, n_segments);
    let used = counts.iter().map(|count| covered(segments, *count)).sum();
    let total: usize = runs.iter().map(|run| run.len()).sum();
    Ok(Spectrum {
        frequency_hz: frequencies(segments.len, rate_hz),
        density,
        segments: n_segments,
        segment_len: segments.len,
        degrees_of_freedom: degrees_of_freedom(&machine.taper, segments.hop(), &counts),
        noise_bandwidth_hz: noise_bandwidth_bins(&machine.taper) * rate_hz / segments.len as f64,
        window: segments.window,
        samples_used: used,
        samples_left_out: total - used,
    })
}

fn check(runs: &[&[f64]], rate_hz: f64, segments: &Segments) -> Result<(), SpectrumError> {
    if !(rate_hz > 0.0 && rate_hz.is_finite()) {
        return Err(SpectrumError::Rate(rate_hz));
    }
    segments.check()?;
    let mut before = 0;
    for run in runs {
        if let Some(sample) = first_missing(run) {
            return Err(SpectrumError::Gap(before + sample));
        }
        before += run.len();
    }
    Ok(())
}

/// Samples inside `count` segments of one run.
fn covered(segments: &Segments, count: usize) -> usize {
    if count == 0 { 0 } else { (count - 1) * segments.hop() + segments.len }
}

/// Frequencies of the bins of a transform, hertz.
pub(crate) fn frequencies(len: usize, rate_hz: f64) -> Vec<f64> {
    (0..len / 2 + 1).map(|bin| bin as f64 * rate_hz / len as f64).collect()
}

/// Twice the squared mean over the variance of a mean of overlapped segments,
/// `counts` in each run.
///
/// The correlation of two segments' densities is the square of their tapers'
/// shifted product.  For Hann at half overlap and K segments the variance is
/// (1 + 2 c^2) / K - 2 c^2 / K^2 with c = 1/6 (F. J. Harris, Proc. IEEE 66
/// (1978) 51, equation 20).
pub(crate) fn degrees_of_freedom(taper: &[f64], hop: usize, counts: &[usize]) -> f64 {
    let total: usize = counts.iter().sum();
    let mut pairs = total as f64;
    let mut apart = 1;
    while apart * hop < taper.len() {
        let correlation = shifted_correlation(taper, apart * hop);
        let number: usize = counts.iter().map(|count| count.saturating_sub(apart)).sum();
        pairs += 2.0 * number as f64 * correlation * correlation;
        apart += 1;
    }
    let total = total as f64;
    2.0 * total * total / pairs
}

/// A taper and a transform, ready for segments.
pub(crate) struct Machine {
    pub(crate) taper: Vec<f64>,
    pub(crate) fft: RealFft,
    detrend: Detrend,
    scale: f64,
}

impl Machine {
    pub(crate) fn new(segments: &Segments, rate_hz: f64) -> Result<Self, SpectrumError> {
        let taper = segments.taper()?;
        let squares: f64 = taper.iter().map(|w| w * w).sum();
        let fft = RealFft::new(segments.len);
        Ok(Self { taper, fft, detrend: segments.detrend, scale: 1.0 / (rate_hz * squares) })
    }

    /// Adds |X_k|^2 of a segment.
    pub(crate) fn add_power(&mut self, segment: &[f64], power: &mut [f64]) {
        let fitted = detrend::fit_whole(segment, self.detrend);
        self.fft.load(segment, &self.taper, fitted);
        self.fft.run(|bin, value| power[bin] += value.norm_sqr());
    }

    /// The one-sided densities of one segment, added to the end of a list.
    pub(crate) fn push_density(&mut self, segment: &[f64], list: &mut Vec<f64>) {
        let start = list.len();
        list.resize(start + self.fft.bins(), 0.0);
        self.add_power(segment, &mut list[start..]);
        self.scale(&mut list[start..], 1);
    }

    /// Sums of |X_k|^2 over segments become one-sided densities.
    pub(crate) fn scale(&self, power: &mut [f64], n_segments: usize) {
        let last = self.taper.len() / 2;
        let even = self.taper.len().is_multiple_of(2);
        let scale = self.scale / n_segments as f64;
        // Negative frequencies carry as much as positive ones, except at
        // 0 Hz and, for an even number of samples, at half the rate.
        power.iter_mut().for_each(|value| *value *= 2.0 * scale);
        power[0] *= 0.5;
        if even {
            power[last] *= 0.5;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use record::Fault;

    fn segments(len: usize, overlap: usize) -> Segments {
        Segments { len, overlap, window: Window::Hann, detrend: Detrend::Mean }
    }

    fn sine(n: usize, cycles_per_sample: f64, amplitude: f64) -> Vec<f64> {
        let turn = 2.0 * std::f64::consts::PI * cycles_per_sample;
        (0..n).map(|i| amplitude * libm::sin(turn * i as f64)).collect()
    }

    #[test]
    fn the_density_of_a_sine_sums_to_half_its_squared_amplitude() {
        use Window::{Bohman, Cosine, Kaiser, Riesz, Triangle, Tukey};
        for window in crate::window::ALL {
            // Exact when the squared taper holds no frequency twice the sine's;
            // what is not a sum of a few cosines holds a little of every one.
            let mixed = matches!(window, Bohman | Cosine | Kaiser(_) | Riesz | Triangle | Tukey(_));
            let tolerance = if mixed { 1e-3 } else { 1e-9 };
            for len in [240, 225] {
                let x = sine(len * 3, 1.0 / 15.0, 3.0);
                let cut = Segments { len, overlap: len / 2, window, detrend: Detrend::None };
                let power = welch(&x, 10.0, &cut).unwrap().variance_between(0.0, 5.0);
                assert!((power / 4.5 - 1.0).abs() < tolerance, "{} {power}", window.id());
            }
        }
    }

    #[test]
    fn the_amplitude_of_a_sine_on_a_bin_is_read_off_at_its_bin() {
        let x = sine(640, 1.0 / 16.0, 3.0);
        let found = welch(&x, 1.0, &segments(128, 64)).unwrap();
        assert!((found.amplitude()[8] - 3.0).abs() < 1e-9);
    }

    #[test]
    fn eight_half_overlapped_hann_segments_count_for_a_little_over_seven() {
        let found = welch(&sine(9 * 512, 0.1, 1.0), 1.0, &segments(1024, 512)).unwrap();
        assert_eq!(found.segments, 8);
        assert!((2.0 / found.degrees_of_freedom - 0.131_076).abs() < 1e-6);
    }

    #[test]
    fn segments_stay_inside_runs_and_what_is_left_out_is_counted() {
        let (a, b, c) = (sine(300, 0.1, 1.0), sine(99, 0.1, 1.0), sine(170, 0.1, 1.0));
        let found = welch_runs(&[&a, &b, &c], 1.0, &segments(100, 50)).unwrap();
        assert_eq!(found.segments, 5 + 2);
        assert_eq!((found.samples_used, found.samples_left_out), (450, 119));
    }

    #[test]
    fn a_gap_is_refused_at_its_first_sample() {
        let mut x = sine(300, 0.1, 1.0);
        x[137] = f64::NAN;
        let error = welch(&x, 1.0, &segments(100, 50)).unwrap_err();
        assert_eq!(error, SpectrumError::Gap(137));
        assert_eq!(Fault::from(error).place, "sample 138");
    }

    #[test]
    fn what_cannot_be_cut_is_refused_with_the_numbers() {
        let x = sine(90, 0.1, 1.0);
        let short = welch(&x, 1.0, &segments(100, 50)).unwrap_err();
        assert_eq!(short, SpectrumError::TooShort { samples: 90, needed: 100 });
        assert!(matches!(welch(&x, 1.0, &segments(10, 10)), Err(SpectrumError::Segments { .. })));
        assert!(matches!(welch(&x, 0.0, &segments(10, 5)), Err(SpectrumError::Rate(_))));
        assert!(matches!(
            welch_runs(&[], 1.0, &segments(10, 5)),
            Err(SpectrumError::TooShort { .. })
        ));
        assert!(periodogram(&[1.0], 1.0, Window::Hann, Detrend::None).is_err());
    }

    proptest! {
        #[test]
        fn doubling_the_rate_halves_the_density(x in prop::collection::vec(-9.0..9.0f64, 64..200)) {
            let slow = welch(&x, 1.0, &segments(32, 16)).unwrap();
            let fast = welch(&x, 2.0, &segments(32, 16)).unwrap();
            for (a, b) in slow.density.iter().zip(&fast.density) {
                prop_assert!((a - 2.0 * b).abs() <= 1e-12 * a.abs());
            }
        }

        #[test]
        fn power_is_kept_without_a_taper(x in prop::collection::vec(-9.0..9.0f64, 2..200)) {
            let found = periodogram(&x, 3.0, Window::Rectangle, Detrend::None).unwrap();
            let mean_square = x.iter().map(|v| v * v).sum::<f64>() / x.len() as f64;
            prop_assert!((found.variance_between(0.0, 2.0) - mean_square).abs() < 1e-9);
        }
    }
}
