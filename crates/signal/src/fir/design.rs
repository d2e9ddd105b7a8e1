//! Weights by Kaiser's window method.
//!
//! In: what passes, how sharp, how deep.  Out: an odd number of symmetric
//! weights.

use super::{FirError, MOST_TAPS};
use crate::rotor::pair;
use crate::window::Window;
use std::f64::consts::PI;

/// What passes, hertz.  At the edges the gain is 1/2 (-6 dB).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// All below.
    Low(f64),
    /// All above.
    High(f64),
    /// All between.
    Pass(f64, f64),
    /// All but what lies between.
    Stop(f64, f64),
}

/// Kaiser's window parameter for an attenuation in decibels.
///
/// # Source
///
/// A. V. Oppenheim and R. W. Schafer, Discrete-Time Signal Processing, section
/// 7.5 (after J. F. Kaiser 1974).
pub fn kaiser_beta(attenuation_db: f64) -> f64 {
    let over = attenuation_db - 21.0;
    if attenuation_db > 50.0 {
        0.1102 * (attenuation_db - 8.7)
    } else if over > 0.0 {
        0.5842 * libm::pow(over, 0.4) + 0.07886 * over
    } else {
        0.0
    }
}

/// The order (taps less 1) that gives an attenuation outside a transition of
/// `width` radians a sample, (A - 8) / (2.285 width); same source, not yet
/// rounded up.
pub fn kaiser_taps(attenuation_db: f64, width: f64) -> f64 {
    (attenuation_db - 8.0).max(1.0) / (2.285 * width)
}

/// Weights of a filter: symmetric, odd in number, with gain exactly 1 for a
/// constant when that passes and exactly 0 when it does not.
///
/// # Arguments and units
///
/// * `shape` - hertz, between 0 and half the rate
/// * `transition_hz` - from passing to stopping, hertz
/// * `attenuation_db` - depth of the stop band, and how flat the pass band is
/// * `rate_hz` - samples a second
///
/// # Errors
///
/// [`FirError`] for figures that cannot be.
///
/// # Example
///
/// ```
/// use signal::fir::{Shape, response, taps};
/// let weights = taps(Shape::Low(0.1), 0.02, 60.0, 1.0)?;
/// assert!(response(&weights, 0.12, 1.0).abs() < 1.1e-3);
/// assert!((response(&weights, 0.08, 1.0) - 1.0).abs() < 1.1e-3);
/// # Ok::<(), signal::fir::FirError>(())
/// ```
pub fn taps(
    shape: Shape,
    transition_hz: f64,
    attenuation_db: f64,
    rate_hz: f64,
) -> Result<Vec<f64>, FirError> {
    check(shape, attenuation_db, rate_hz)?;
    let order = kaiser_taps(attenuation_db, 2.0 * PI * transition_hz / rate_hz);
    if !(order > 0.0 && order < MOST_TAPS as f64) {
        return Err(FirError::Transition { width_hz: transition_hz, taps: order });
    }
    let half = libm::ceil(order / 2.0) as usize;
    let window = Window::Kaiser(kaiser_beta(attenuation_db) / PI).symmetric(2 * half + 1);
    let low = |cut: f64| low_pass(cut / rate_hz, &window);
    Ok(match shape {
        Shape::Low(f) => low(f),
        Shape::High(f) => inverted(low(f)),
        Shape::Pass(f, g) => low(g).iter().zip(low(f)).map(|(a, b)| a - b).collect(),
        Shape::Stop(f, g) => inverted(low(g).iter().zip(low(f)).map(|(a, b)| a - b).collect()),
    })
}

fn check(shape: Shape, attenuation_db: f64, rate_hz: f64) -> Result<(), FirError> {
    if !(rate_hz > 0.0 && rate_hz.is_finite()) {
        return Err(FirError::Rate(rate_hz));
    }
    if !(0.0..=200.0).contains(&attenuation_db) {
        return Err(FirError::Attenuation(attenuation_db));
    }
    let limit_hz = rate_hz / 2.0;
    let (low, high) = match shape {
        Shape::Low(f) | Shape::High(f) => (f, limit_hz),
        Shape::Pass(f, g) | Shape::Stop(f, g) => (f, g),
    };
    let inside = |f: f64| f > 0.0 && f < limit_hz;
    let banded = matches!(shape, Shape::Pass(..) | Shape::Stop(..));
    if !(inside(low) && low < high) {
        return Err(FirError::CutOff { cutoff_hz: low, limit_hz });
    }
    if banded && !inside(high) {
        return Err(FirError::CutOff { cutoff_hz: high, limit_hz });
    }
    Ok(())
}

/// A tapered sinc of sum 1; `cut` in cycles a sample.
fn low_pass(cut: f64, window: &[f64]) -> Vec<f64> {
    let half = window.len() / 2;
    let sinc = |apart: usize| match apart {
        0 => 2.0 * cut,
        _ => pair(cut * apart as f64).1 / (PI * apart as f64),
    };
    let raw: Vec<f64> =
        window.iter().enumerate().map(|(k, w)| w * sinc(k.abs_diff(half))).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|v| v / sum).collect()
}

/// What a filter stops.
fn inverted(mut weights: Vec<f64>) -> Vec<f64> {
    let half = weights.len() / 2;
    weights.iter_mut().for_each(|w| *w = -*w);
    weights[half] += 1.0;
    weights
}

/// Gain of symmetric weights at a frequency, with sign: a negative one turns
/// waves upside down.
pub fn response(weights: &[f64], frequency_hz: f64, rate_hz: f64) -> f64 {
    let middle = (weights.len().max(1) - 1) as f64 / 2.0;
    let turned = |(k, w): (usize, &f64)| w * pair(frequency_hz / rate_hz * (k as f64 - middle)).0;
    weights.iter().enumerate().map(turned).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn filters_pass_and_stop_as_deep_as_asked(
            f in 0.08..0.2f64, g in 0.28..0.42f64, db in 25.0..110.0f64
        ) {
            let limit = libm::pow(10.0, -db / 20.0) * 1.35;
            for shape in [Shape::Low(f), Shape::High(f), Shape::Pass(f, g), Shape::Stop(f, g)] {
                let weights = taps(shape, 0.04, db, 1.0).unwrap();
                for step in 0..=200 {
                    let at = f64::from(step) / 400.0;
                    let near = (at - f).abs() < 0.0205
                        || (at - g).abs() < 0.0205 && !matches!(shape, Shape::Low(_) | Shape::High(_));
                    let passes = match shape {
                        Shape::Low(f) => at < f,
                        Shape::High(f) => at > f,
                        Shape::Pass(f, g) => at > f && at < g,
                        Shape::Stop(f, g) => at < f || at > g,
                    };
                    let off = (response(&weights, at, 1.0) - f64::from(u8::from(passes))).abs();
                    // A band adds the ripple of two filters.
                    prop_assert!(near || off < 2.0 * limit, "{shape:?} {at} {off} {limit}");
                }
            }
        }
    }

    #[test]
    fn a_constant_passes_or_stops_exactly() {
        let sum = |shape| taps(shape, 0.05, 60.0, 1.0).unwrap().iter().sum::<f64>();
        assert!((sum(Shape::Low(0.1)) - 1.0).abs() < 1e-14);
        assert!(sum(Shape::High(0.1)).abs() < 1e-14);
        assert!(sum(Shape::Pass(0.1, 0.3)).abs() < 1e-14);
        assert!((sum(Shape::Stop(0.1, 0.3)) - 1.0).abs() < 1e-14);
    }

    #[test]
    fn impossible_filters_are_refused() {
        let error = |shape, width, db, rate| taps(shape, width, db, rate).unwrap_err();
        assert!(matches!(error(Shape::Low(0.1), 0.05, 60.0, 0.0), FirError::Rate(_)));
        assert!(matches!(error(Shape::Low(0.6), 0.05, 60.0, 1.0), FirError::CutOff { .. }));
        assert!(matches!(error(Shape::Pass(0.3, 0.2), 0.1, 60.0, 1.0), FirError::CutOff { .. }));
        assert!(matches!(error(Shape::Pass(0.3, 0.6), 0.1, 60.0, 1.0), FirError::CutOff { .. }));
        assert!(matches!(error(Shape::Low(0.1), 0.0, 60.0, 1.0), FirError::Transition { .. }));
        assert!(matches!(error(Shape::Low(0.1), 1e-9, 60.0, 1.0), FirError::Transition { .. }));
        assert!(matches!(error(Shape::Low(0.1), 0.1, 900.0, 1.0), FirError::Attenuation(_)));
    }
}
