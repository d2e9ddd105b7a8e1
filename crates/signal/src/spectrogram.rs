//! Spectra of successive segments: how the spectrum changes with time.
//!
//! In: an evenly spaced series, gaps as NaN.  Out: one density a segment and
//! frequency; a segment with a missing sample is blank (NaN), never filled.

use crate::spectrum::{Machine, Segments, SpectrumError, frequencies};

/// Densities by segment and frequency.
#[derive(Clone, Debug, PartialEq)]
pub struct Spectrogram {
    /// Frequencies from 0 to half the rate, hertz.
    pub frequency_hz: Vec<f64>,
    /// Place of the first sample of each segment.
    pub start: Vec<usize>,
    /// Samples in a segment.
    pub segment_len: usize,
    /// One-sided densities, (unit of the series)^2 / Hz, segment after
    /// segment; NaN throughout a segment that misses a sample.
    pub density: Vec<f64>,
    /// Segments left blank.
    pub blank: usize,
}

impl Spectrogram {
    /// The densities of a segment.
    pub fn segment(&self, number: usize) -> &[f64] {
        let bins = self.frequency_hz.len();
        self.density.get(number * bins..(number + 1) * bins).unwrap_or_default()
    }
}

/// Densities of successive segments.
///
/// # Arguments and units
///
/// * `x` - evenly spaced, any unit u; missing samples (not finite) blank the
///   segments they lie in
/// * `rate_hz` - samples a second
/// * `segments` - length, overlap, taper, what is taken off each
///
/// Returns densities in u^2 / Hz, each with 2 degrees of freedom.
///
/// # Errors
///
/// [`SpectrumError`] for a rate that is not positive, segments that cannot be
/// cut, or a series shorter than one.
pub fn spectrogram(
    x: &[f64],
    rate_hz: f64,
    segments: &Segments,
) -> Result<Spectrogram, SpectrumError> {
    spectrogram_telling(x, rate_hz, segments, &mut |_| ())
}

/// The same, telling the share that is done, 0 to 1, as it goes.
///
/// # Errors
///
/// As [`spectrogram`].
pub fn spectrogram_telling(
    x: &[f64],
    rate_hz: f64,
    segments: &Segments,
    tell: &mut dyn FnMut(f64),
) -> Result<Spectrogram, SpectrumError> {
    if !(rate_hz > 0.0 && rate_hz.is_finite()) {
        return Err(SpectrumError::Rate(rate_hz));
    }
    segments.check()?;
    let start: Vec<usize> = segments.starts(x.len()).collect();
    if start.is_empty() {
        return Err(SpectrumError::TooShort { samples: x.len(), needed: segments.len });
    }
    let mut machine = Machine::new(segments, rate_hz)?;
    let frequency_hz = frequencies(segments.len, rate_hz);
    let bins = frequency_hz.len();
    let mut density = Vec::with_capacity(start.len() * bins);
    let (mut blank, mut looked, mut last_gap) = (0, 0, None);
    for (done, first) in start.iter().enumerate() {
        let end = first + segments.len;
        let from = looked.max(*first);
        let gap = x[from..end].iter().rposition(|value| !value.is_finite());
        (looked, last_gap) = (end, gap.map(|place| from + place).or(last_gap));
        if last_gap.is_some_and(|place| place >= *first) {
            density.resize(density.len() + bins, f64::NAN);
            blank += 1;
        } else {
            machine.push_density(&x[*first..end], &mut density);
        }
        tell((done + 1) as f64 / start.len() as f64);
    }
    Ok(Spectrogram { frequency_hz, start, segment_len: segments.len, density, blank })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::detrend::Detrend;
    use crate::spectrum::welch;
    use crate::window::Window;

    const CUT: Segments =
        Segments { len: 60, overlap: 20, window: Window::Hann, detrend: Detrend::Line };

    fn wave(n: usize) -> Vec<f64> {
        (0..n).map(|i| libm::sin(0.02 * (i * i) as f64 / 10.0)).collect()
    }

    #[test]
    fn the_mean_over_segments_is_the_welch_spectrum() {
        let x = wave(500);
        let (found, mean) = (spectrogram(&x, 2.0, &CUT).unwrap(), welch(&x, 2.0, &CUT).unwrap());
        for (bin, expected) in mean.density.iter().enumerate() {
            let sum: f64 = (0..found.start.len()).map(|k| found.segment(k)[bin]).sum();
            assert!((sum / found.start.len() as f64 - expected).abs() < 1e-12);
        }
        assert_eq!(found.blank, 0);
    }

    #[test]
    fn a_gap_blanks_the_segments_it_lies_in_and_no_other() {
        let mut x = wave(500);
        x[130] = f64::NAN;
        let found = spectrogram(&x, 2.0, &CUT).unwrap();
        for (number, start) in found.start.iter().enumerate() {
            let blank = (*start..start + 60).contains(&130);
            assert!(found.segment(number).iter().all(|d| d.is_nan() == blank));
        }
        assert_eq!(found.blank, 2);
        assert!(found.segment(99).is_empty());
    }

    #[test]
    fn a_series_shorter_than_a_segment_is_refused() {
        let short = spectrogram(&wave(59), 2.0, &CUT);
        assert_eq!(short, Err(SpectrumError::TooShort { samples: 59, needed: 60 }));
    }
}
