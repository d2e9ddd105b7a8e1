//! Butterworth design by the bilinear transform, the band edges prewarped so
//! that they fall where they were asked for.
//!
//! In: order, band, rate.  Out: second-order sections in order of rising
//! sharpness.

use super::{FilterError, Section};
use crate::fft::Complex;
use std::f64::consts::PI;

/// The highest order that is made.  Sections stay stable beyond it too, but no
/// record is long enough to tell such filters apart.
pub const MOST_ORDER: usize = 40;

/// What passes, hertz.  At the edges the gain is 1/sqrt(2) (-3.01 dB).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Band {
    /// All below.
    Low(f64),
    /// All above.
    High(f64),
    /// All between.
    Pass(f64, f64),
    /// All but what lies between.
    Stop(f64, f64),
}

impl Band {
    fn edges(self) -> (f64, Option<f64>) {
        match self {
            Self::Low(f) | Self::High(f) => (f, None),
            Self::Pass(f, g) | Self::Stop(f, g) => (f, Some(g)),
        }
    }

    fn check(self, rate_hz: f64) -> Result<(), FilterError> {
        if !(rate_hz > 0.0 && rate_hz.is_finite()) {
            return Err(FilterError::Rate(rate_hz));
        }
        let limit_hz = rate_hz / 2.0;
        let (first, second) = self.edges();
        for cutoff_hz in std::iter::once(first).chain(second) {
            if !(cutoff_hz > 0.0 && cutoff_hz < limit_hz) {
                return Err(FilterError::CutOff { cutoff_hz, limit_hz });
            }
        }
        match second {
            Some(high_hz) if high_hz <= first => Err(FilterError::Edges { low_hz: first, high_hz }),
            _ => Ok(()),
        }
    }
}

/// A Butterworth filter as second-order sections.
///
/// # Arguments and units
///
/// * `order` - 1 to [`MOST_ORDER`], of the low-pass prototype: a band filter
///   has twice as many poles
/// * `band` - hertz, between 0 and half the rate
/// * `rate_hz` - samples a second
///
/// # Errors
///
/// [`FilterError`] for an order, rate or band that cannot be.
///
/// # Source
///
/// S. Butterworth, Wireless Engineer 7 (1930) 536; bilinear transform and band
/// transformations as in A. V. Oppenheim and R. W. Schafer, Discrete-Time
/// Signal Processing, chapter 7.
///
/// # Example
///
/// ```
/// use signal::butterworth::{Band, design, response};
/// let sections = design(4, Band::Low(0.01), 1.0)?;
/// let (gain, _) = response(&sections, 0.01, 1.0);
/// assert!((20.0 * gain.log10() + 3.0103).abs() < 1e-4);
/// # Ok::<(), signal::butterworth::FilterError>(())
/// ```
pub fn design(order: usize, band: Band, rate_hz: f64) -> Result<Vec<Section>, FilterError> {
    if !(1..=MOST_ORDER).contains(&order) {
        return Err(FilterError::Order(order));
    }
    band.check(rate_hz)?;
    let warp = |f: f64| libm::tan(PI * f / rate_hz);
    let mut sections = Vec::new();
    for pole in prototype(order) {
        match band {
            Band::Low(f) => sections.push(low(pole, warp(f))),
            Band::High(f) => sections.push(high(pole, warp(f))),
            Band::Pass(f, g) => banded(pole, warp(f), warp(g), true, &mut sections),
            Band::Stop(f, g) => banded(pole, warp(f), warp(g), false, &mut sections),
        }
    }
    Ok(sections)
}

/// Poles of the prototype with cut-off 1 rad/s, in the upper half plane; the
/// real one, if any, first.
fn prototype(order: usize) -> impl Iterator<Item = Complex> {
    let odd = order % 2 == 1;
    let real = odd.then_some(Complex::new(-1.0, 0.0));
    let pairs = (0..order / 2).map(move |k| {
        let step = if odd { (k + 1) as f64 } else { k as f64 + 0.5 };
        let angle = PI * step / order as f64;
        Complex::new(-libm::cos(angle), libm::sin(angle))
    });
    real.into_iter().chain(pairs)
}

/// 1 / (s^2 + damping s + stiffness) with s = (z - 1) / (z + 1): the three
/// denominator coefficients, not yet divided by the first.
fn digital(damping: f64, stiffness: f64) -> [f64; 3] {
    [1.0 + damping + stiffness, 2.0 * (stiffness - 1.0), 1.0 - damping + stiffness]
}

fn section(b: [f64; 3], a: [f64; 3]) -> Section {
    Section { b: b.map(|v| v / a[0]), a: [1.0, a[1] / a[0], a[2] / a[0]] }
}

fn first_order(cut: f64) -> [f64; 3] {
    [1.0 + cut, cut - 1.0, 0.0]
}

// The gain for a constant is made 1 for the rounded denominator: with a low
// cut-off its sum has few digits left, and a field of 50,000 nT shows it.
fn low(pole: Complex, cut: f64) -> Section {
    if pole.im == 0.0 {
        let mut out = section([0.0; 3], first_order(cut));
        let sum = 1.0 + out.a[1];
        out.b = [sum / 2.0, sum / 2.0, 0.0];
        return out;
    }
    let mut out = section([0.0; 3], digital(-2.0 * pole.re * cut, cut * cut));
    let sum = (1.0 + out.a[2]) + out.a[1];
    out.b = [sum / 4.0, sum / 2.0, sum / 4.0];
    out
}

fn high(pole: Complex, cut: f64) -> Section {
    if pole.im == 0.0 {
        return section([1.0, -1.0, 0.0], first_order(cut));
    }
    section([1.0, -2.0, 1.0], digital(-2.0 * pole.re * cut, cut * cut))
}

/// Sections of a band filter for one prototype pole (and its mirror image).
fn banded(pole: Complex, low: f64, high: f64, pass: bool, out: &mut Vec<Section>) {
    let (width, middle) = (high - low, low * high);
    let top = if pass {
        [width, 0.0, -width]
    } else {
        [1.0 + middle, 2.0 * (middle - 1.0), 1.0 + middle]
    };
    if pole.im == 0.0 {
        out.push(section(top, digital(width, middle)));
        return;
    }
    let half = pole * (width / 2.0);
    let root = square_root(half * half - middle);
    for s in [half + root, half - root] {
        out.push(section(top, digital(-2.0 * s.re, s.norm_sqr())));
    }
}

fn square_root(z: Complex) -> Complex {
    let size = libm::hypot(z.re, z.im);
    let re = (0.5 * (size + z.re)).max(0.0).sqrt();
    let im = (0.5 * (size - z.re)).max(0.0).sqrt();
    Complex::new(re, if z.im < 0.0 { -im } else { im })
}

/// (sqrt 2 - 1)^(1 / (2 order)): where a low-pass filter used in both
/// directions has its -3 dB point, as a fraction of its design cut-off.
///
/// So a low-pass is designed at the wanted cut-off divided by this, a
/// high-pass at the wanted cut-off times this; [`for_zero_phase`] does both
/// and band edges, on the warped axis where it is exact.
///
/// # Source
///
/// D. A. Winter, Biomechanics and Motor Control of Human Movement: 0.802 for
/// order 2.
pub fn zero_phase_cutoff_factor(order: usize) -> f64 {
    libm::pow(std::f64::consts::SQRT_2 - 1.0, 0.5 / order.max(1) as f64)
}

/// The band to design for, so that the filter used in both directions has its
/// -3 dB points where `band` says.
///
/// # Errors
///
/// [`FilterError`] for an order, rate or band that cannot be.
pub fn for_zero_phase(order: usize, band: Band, rate_hz: f64) -> Result<Band, FilterError> {
    if !(1..=MOST_ORDER).contains(&order) {
        return Err(FilterError::Order(order));
    }
    band.check(rate_hz)?;
    let factor = zero_phase_cutoff_factor(order);
    let warp = |f: f64| libm::tan(PI * f / rate_hz);
    let hertz = |w: f64| libm::atan(w) * rate_hz / PI;
    // Both edges move, their product (the middle of the band) stays.
    let widened = |f: f64, g: f64, scale: f64| {
        let (low, high) = (warp(f), warp(g));
        let half = (high - low) * scale / 2.0;
        let top = half + (half * half + low * high).sqrt();
        (hertz(low * high / top), hertz(top))
    };
    Ok(match band {
        Band::Low(f) => Band::Low(hertz(warp(f) / factor)),
        Band::High(f) => Band::High(hertz(warp(f) * factor)),
        Band::Pass(f, g) => {
            let (low, high) = widened(f, g, 1.0 / factor);
            Band::Pass(low, high)
        }
        Band::Stop(f, g) => {
            let (low, high) = widened(f, g, factor);
            Band::Stop(low, high)
        }
    })
}

#[cfg(test)]
mod tests {
    use super::super::response;
    use super::*;
    use proptest::prelude::*;

    fn bands() -> impl Strategy<Value = Band> {
        (0.01..0.49f64, 0.01..0.49f64, 0..4u8).prop_filter_map("a band", |(f, g, kind)| {
            let wide = (g - f).abs() > 0.02;
            match kind {
                0 => Some(Band::Low(f)),
                1 => Some(Band::High(f)),
                2 => wide.then_some(Band::Pass(f.min(g), f.max(g))),
                _ => wide.then_some(Band::Stop(f.min(g), f.max(g))),
            }
        })
    }

    fn decibels(sections: &[Section], f: f64) -> f64 {
        20.0 * libm::log10(response(sections, f, 1.0).0)
    }

    proptest! {
        #[test]
        fn every_edge_is_three_decibels_down(order in 1..9usize, band in bands()) {
            let sections = design(order, band, 1.0).unwrap();
            let (first, second) = band.edges();
            for edge in std::iter::once(first).chain(second) {
                prop_assert!((decibels(&sections, edge) + 3.0103).abs() < 1e-4);
            }
        }

        #[test]
        fn both_directions_are_three_decibels_down_where_asked(order in 1..9usize, band in bands()) {
            let sections = design(order, for_zero_phase(order, band, 1.0).unwrap(), 1.0).unwrap();
            let (first, second) = band.edges();
            for edge in std::iter::once(first).chain(second) {
                prop_assert!((2.0 * decibels(&sections, edge) + 3.0103).abs() < 1e-4);
            }
        }

        #[test]
        fn the_gain_is_that_of_the_closed_form(order in 1..13usize, cut in 0.01..0.49f64, f in 0.001..0.49f64) {
            let sections = design(order, Band::Low(cut), 1.0).unwrap();
            let ratio = libm::tan(PI * f) / libm::tan(PI * cut);
            let closed = 1.0 / (1.0 + libm::pow(ratio, 2.0 * order as f64)).sqrt();
            prop_assert!((response(&sections, f, 1.0).0 - closed).abs() < 1e-9);
        }
    }

    #[test]
    fn a_constant_passes_or_stops_exactly() {
        let gain = |band| {
            let sections = design(5, band, 1.0).unwrap();
            sections.iter().map(Section::gain_at_rest).product::<f64>()
        };
        assert!((gain(Band::Low(1e-5)) - 1.0).abs() < 1e-12);
        assert_eq!(gain(Band::High(0.1)), 0.0);
        assert_eq!(gain(Band::Pass(0.1, 0.2)), 0.0);
        assert!((gain(Band::Stop(0.1, 0.2)) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn impossible_requests_are_refused_by_what_is_wrong() {
        assert_eq!(design(0, Band::Low(0.1), 1.0), Err(FilterError::Order(0)));
        assert!(matches!(design(2, Band::Low(0.1), f64::NAN), Err(FilterError::Rate(_))));
        assert!(matches!(design(2, Band::High(f64::NAN), 1.0), Err(FilterError::CutOff { .. })));
        assert!(matches!(design(2, Band::Pass(0.2, 0.1), 1.0), Err(FilterError::Edges { .. })));
    }
}
