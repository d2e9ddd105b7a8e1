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
            Pass::new(sections, stretch[0]).run(stretch, false);
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
            Pass::new(sections, 0.0).run(stretch, false);
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
    zero_phase_telling(sections, x, &mut |_| ())
}

/// The same, telling the share that is done, 0 to 1, as it goes.
///
/// # Errors
///
/// As [`zero_phase`].
pub fn zero_phase_telling(
    sections: &[Section],
    x: &[f64],
    tell: &mut dyn FnMut(f64),
) -> Result<Vec<f64>, FilterError> {
    if let Some(sample) = first_missing(x) {
        return Err(FilterError::Gap(sample));
    }
    let pad = continuation(sections);
    let n = x.len();
    if n <= pad {
        return Err(FilterError::TooShort { samples: n, needed: pad + 1 });
    }
    let mut before: Vec<f64> = x[1..=pad].iter().rev().map(|value| 2.0 * x[0] - value).collect();
    let mut after: Vec<f64> =
        x[n - 1 - pad..n - 1].iter().rev().map(|value| 2.0 * x[n - 1] - value).collect();
    let mut y = Vec::with_capacity(n);
    let mut forward = Pass::new(sections, before[0]);
    forward.run(&mut before, false);
    for block in x.chunks(BLOCK) {
        let start = y.len();
        y.extend_from_slice(block);
        forward.run(&mut y[start..], false);
        tell(0.5 * y.len() as f64 / n as f64);
    }
    forward.run(&mut after, false);
    let mut backward = Pass::new(sections, after[pad - 1]);
    backward.run(&mut after, true);
    let mut left = n;
    for block in y.rchunks_mut(BLOCK) {
        backward.run(block, true);
        left -= block.len();
        tell(1.0 - 0.5 * left as f64 / n as f64);
    }
    Ok(y)
}

/// Samples that go through all sections before the next ones do.
const BLOCK: usize = 1 << 14;

/// Samples by which a series is continued: three times as many as a filter of
/// this many poles has coefficients.
fn continuation(sections: &[Section]) -> usize {
    let zeros = sections.iter().filter(|s| s.b[2] == 0.0).count();
    let at_origin = sections.iter().filter(|s| s.a[2] == 0.0).count();
    3 * (2 * sections.len() + 1 - zeros.min(at_origin))
}

/// Sections on their way along a series, block by block.
///
/// Taking off the first value and putting back what becomes of it starts every
/// section settled, and spares digits.
struct Pass<'a> {
    sections: &'a [Section],
    states: Vec<[f64; 2]>,
    level: f64,
    after: f64,
}

impl<'a> Pass<'a> {
    /// As if `level` had stood there for ever.
    fn new(sections: &'a [Section], level: f64) -> Self {
        let gain: f64 = sections.iter().map(Section::gain_at_rest).product();
        Self { sections, states: vec![[0.0; 2]; sections.len()], level, after: level * gain }
    }

    /// Filters the next block in place; of a backward pass the one before.
    fn run(&mut self, x: &mut [f64], backward: bool) {
        let (level, after) = (self.level, self.after);
        x.iter_mut().for_each(|value| *value -= level);
        for (pair, states) in self.sections.chunks(2).zip(self.states.chunks_mut(2)) {
            match (pair, states) {
                ([a, b], [s, t]) => {
                    let (mut first, mut second) = (Stepper::new(a, *s), Stepper::new(b, *t));
                    each(x, backward, |value| second.step(first.step(value)));
                    (*s, *t) = (first.state, second.state);
                }
                ([a], [s]) => {
                    let mut only = Stepper::new(a, *s);
                    each(x, backward, |value| only.step(value));
                    *s = only.state;
                }
                _ => {}
            }
        }
        x.iter_mut().for_each(|value| *value += after);
    }
}

fn each(x: &mut [f64], backward: bool, mut step: impl FnMut(f64) -> f64) {
    let mut renew = |value: &mut f64| *value = step(*value);
    if backward { x.iter_mut().rev().for_each(renew) } else { x.iter_mut().for_each(&mut renew) }
}

/// One section.  Its next state is worked out from the input and the state, not
/// from the output, so that less waits for the sample before.
struct Stepper {
    state: [f64; 2],
    gain: f64,
    input: [f64; 2],
    back: [f64; 2],
}

impl Stepper {
    fn new(section: &Section, state: [f64; 2]) -> Self {
        let ([b0, b1, b2], [_, a1, a2]) = (section.b, section.a);
        Self { state, gain: b0, input: [b1 - a1 * b0, b2 - a2 * b0], back: [a1, a2] }
    }

    #[inline(always)]
    fn step(&mut self, value: f64) -> f64 {
        let [s1, s2] = self.state;
        self.state = [
            (self.input[0] * value + s2) - self.back[0] * s1,
            self.input[1] * value - self.back[1] * s1,
        ];
        self.gain * value + s1
    }
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
