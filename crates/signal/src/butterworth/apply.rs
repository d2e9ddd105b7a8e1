//! Running a series through second-order sections.
//!
//! In: sections and a series.  Out: a series of the same length.  One way the
//! output lags; both ways it does not, but then it knows the future: a step
//! shows before it happens.

use super::{FilterError, Section};
use crate::first_missing;

/// Filters in the direction of time, each unbroken stretch on its own, as if
/// its first value had stood there for ever.
///
/// A missing sample (not finite) stays missing and ends the stretch.
pub fn causal(sections: &[Section], x: &[f64]) -> Vec<f64> {
    let mut out = x.to_vec();
    for stretch in out.chunk_by_mut(|a, b| a.is_finite() && b.is_finite()) {
        if stretch[0].is_finite() {
            settled(sections, stretch, false);
        }
    }
    out
}

/// Filters in the direction of time as if all had been zero before.
///
/// A missing sample (not finite) stays missing and ends the stretch.
pub fn causal_from_rest(sections: &[Section], x: &[f64]) -> Vec<f64> {
    let mut out = x.to_vec();
    for stretch in out.chunk_by_mut(|a, b| a.is_finite() && b.is_finite()) {
        if stretch[0].is_finite() {
            from_rest(sections, stretch, false);
        }
    }
    out
}

/// Filters forward and then backward: twice the attenuation, no lag.
///
/// The series is first continued at both ends by its point reflection in the
/// end sample, over 3 (poles + 1) samples, and each pass starts as if its
/// first value had stood there for ever.
///
/// # Errors
///
/// [`FilterError::Gap`] at the first sample that is not finite,
/// [`FilterError::TooShort`] when the series is not longer than the
/// continuation.
///
/// # Source
///
/// F. Gustafsson, IEEE Trans. Signal Process. 44 (1996) 988 discusses the
/// start; reflection and length are common practice, no source.
pub fn zero_phase(sections: &[Section], x: &[f64]) -> Result<Vec<f64>, FilterError> {
    if let Some(sample) = first_missing(x) {
        return Err(FilterError::Gap(sample));
    }
    let pad = continuation(sections);
    let n = x.len();
    if n <= pad {
        return Err(FilterError::TooShort { samples: n, needed: pad + 1 });
    }
    let mut y = Vec::with_capacity(n + 2 * pad);
    y.extend(x[1..=pad].iter().rev().map(|value| 2.0 * x[0] - value));
    y.extend_from_slice(x);
    y.extend(x[n - 1 - pad..n - 1].iter().rev().map(|value| 2.0 * x[n - 1] - value));
    settled(sections, &mut y, false);
    settled(sections, &mut y, true);
    y.truncate(n + pad);
    y.drain(..pad);
    Ok(y)
}

/// Samples by which a series is continued: three times as many as a filter of
/// this many poles has coefficients.
fn continuation(sections: &[Section]) -> usize {
    let zeros = sections.iter().filter(|s| s.b[2] == 0.0).count();
    let at_origin = sections.iter().filter(|s| s.a[2] == 0.0).count();
    3 * (2 * sections.len() + 1 - zeros.min(at_origin))
}

/// Filters in place.  Taking off the first value and putting back what
/// becomes of it starts every section settled, and spares digits.
fn settled(sections: &[Section], x: &mut [f64], backward: bool) {
    let first = if backward { x.last() } else { x.first() };
    let Some(level) = first.copied() else { return };
    let gain: f64 = sections.iter().map(Section::gain_at_rest).product();
    x.iter_mut().for_each(|value| *value -= level);
    from_rest(sections, x, backward);
    x.iter_mut().for_each(|value| *value += level * gain);
}

/// Filters in place from a state of rest, up to four sections a sweep.
fn from_rest(sections: &[Section], x: &mut [f64], backward: bool) {
    for group in sections.chunks(4) {
        match *group {
            [a] => sweep([a], x, backward),
            [a, b] => sweep([a, b], x, backward),
            [a, b, c] => sweep([a, b, c], x, backward),
            [a, b, c, d] => sweep([a, b, c, d], x, backward),
            _ => {}
        }
    }
}

fn sweep<const N: usize>(sections: [Section; N], x: &mut [f64], backward: bool) {
    let mut state = [[0.0; 2]; N];
    let mut step = |value: &mut f64| {
        let mut v = *value;
        for (section, [s1, s2]) in sections.iter().zip(&mut state) {
            let y = section.b[0] * v + *s1;
            *s1 = section.b[1] * v - section.a[1] * y + *s2;
            *s2 = section.b[2] * v - section.a[2] * y;
            v = y;
        }
        *value = v;
    };
    if backward { x.iter_mut().rev().for_each(&mut step) } else { x.iter_mut().for_each(&mut step) }
}

#[cfg(test)]
mod tests {
    use super::super::{Band, design, response};
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn time_reversed_input_gives_time_reversed_output_in_the_middle(
            x in prop::collection::vec(-1.0..1.0f64, 400..401)
        ) {
            let sections = design(3, Band::Low(0.2), 1.0).unwrap();
            let there = zero_phase(&sections, &x).unwrap();
            let turned: Vec<f64> = x.iter().rev().copied().collect();
            let back = zero_phase(&sections, &turned).unwrap();
            for place in 100..300 {
                prop_assert!((there[place] - back[399 - place]).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn a_sine_comes_through_with_the_squared_gain_and_no_lag() {
        let sections = design(4, Band::Low(0.02), 1.0).unwrap();
        let sine = |i: usize| libm::sin(i as f64 * 0.1);
        let x: Vec<f64> = (0..2000).map(sine).collect();
        let y = zero_phase(&sections, &x).unwrap();
        let gain = response(&sections, 0.1 / (2.0 * std::f64::consts::PI), 1.0).0;
        for place in 700..1300 {
            assert!((y[place] - gain * gain * x[place]).abs() < 1e-6);
        }
    }

    #[test]
    fn a_constant_field_comes_through_unchanged_however_low_the_cut_off() {
        for band in [Band::Low(1e-4), Band::Low(0.3), Band::Stop(0.1, 0.2)] {
            let y = zero_phase(&design(4, band, 1.0).unwrap(), &[48_500.25; 300]).unwrap();
            assert!(y.iter().all(|v| (v - 48_500.25).abs() < 1e-7), "{band:?}");
        }
    }

    #[test]
    fn a_gap_ends_a_stretch_and_the_next_starts_anew() {
        let sections = design(2, Band::Low(0.05), 1.0).unwrap();
        let mut x = vec![7.0; 20];
        x[9] = f64::NAN;
        x[10..].fill(-3.0);
        let y = causal(&sections, &x);
        assert!(y[9].is_nan());
        assert!(y[..9].iter().all(|v| (v - 7.0).abs() < 1e-12));
        assert!(y[10..].iter().all(|v| (v + 3.0).abs() < 1e-12));
    }

    #[test]
    fn a_series_no_longer_than_its_continuation_is_refused() {
        let sections = design(4, Band::Low(0.1), 1.0).unwrap();
        let error = zero_phase(&sections, &[0.0; 15]).unwrap_err();
        assert_eq!(error, FilterError::TooShort { samples: 15, needed: 16 });
        assert_eq!(zero_phase(&sections, &[0.0; 16]).unwrap().len(), 16);
    }
}
