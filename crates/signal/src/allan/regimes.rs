//! Stretches of an Allan deviation curve with one slope, and what the slope
//! means.
//!
//! In: the points of a curve.  Out: stretches of at least an octave.  A slope
//! is a sign of a kind of noise, not a proof.

use super::Point;
use record::words::word;

/// A stretch of averaging times over which the deviation goes as one power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Regime {
    /// From this averaging time, seconds.
    pub from_s: f64,
    /// To this one.
    pub to_s: f64,
    /// Slope of log deviation against log averaging time over the stretch.
    pub slope: f64,
    /// What such a slope means.
    pub meaning: Meaning,
}

/// What a slope means for readings of a field or a temperature.
///
/// # Source
///
/// IEEE Std 952-2020, annex C (slopes -1, -1/2, 0, +1/2, +1).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// Slope -1: rounding, or differences of white noise.
    Rounding,
    /// Slope -1/2: white noise.
    White,
    /// Slope 0: flicker.
    Flicker,
    /// Slope +1/2: a random walk.
    Walk,
    /// Slope +1: a steady drift.
    Drift,
}

impl Meaning {
    fn of(slope: f64) -> Self {
        match slope {
            s if s < -0.75 => Self::Rounding,
            s if s < -0.25 => Self::White,
            s if s < 0.25 => Self::Flicker,
            s if s < 0.75 => Self::Walk,
            _ => Self::Drift,
        }
    }

    /// In words for a student.
    pub fn words(self) -> &'static str {
        match self {
            Self::Rounding => word("rounding: averaging helps in full"),
            Self::White => word("white noise: averaging helps as the square root"),
            Self::Flicker => word("flicker: averaging no longer helps"),
            Self::Walk => word("a random walk: averaging makes it worse"),
            Self::Drift => word("a steady drift, or the rise of a slow wave"),
        }
    }
}

/// The stretches of a curve, from short times to long; points with fewer than
/// 3 degrees of freedom take no part, and what is shorter than an octave is
/// left out.
pub fn regimes(points: &[Point]) -> Vec<Regime> {
    let sure = |p: &&Point| p.degrees_of_freedom >= 3.0 && p.deviation > 0.0;
    let points: Vec<&Point> = points.iter().filter(sure).collect();
    let slope =
        |a: &Point, b: &Point| libm::log(b.deviation / a.deviation) / libm::log(b.tau_s / a.tau_s);
    // The slope at a point is that of the neighbours on both sides.
    let local = |k: usize| {
        Meaning::of(slope(points[k.saturating_sub(1)], points[(k + 1).min(points.len() - 1)]))
    };
    let mut out = Vec::new();
    let mut start = 0;
    for k in 1..=points.len() {
        if k < points.len() && local(k) == local(start) {
            continue;
        }
        let (a, b) = (points[start], points[k - 1]);
        if b.tau_s >= 2.0 * a.tau_s {
            let found = slope(a, b);
            let (from_s, to_s, meaning) = (a.tau_s, b.tau_s, local(start));
            out.push(Regime { from_s, to_s, slope: found, meaning });
        }
        start = k;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::super::{Kind, curve};
    use super::*;
    use crate::trial::Seeded;

    #[test]
    fn white_noise_on_a_drift_falls_and_then_rises() {
        let mut seeded = Seeded(5);
        let x: Vec<f64> =
            seeded.centred(40_000).iter().enumerate().map(|(k, v)| v + 2e-5 * k as f64).collect();
        let found = regimes(&curve(&x, 1.0, Kind::Overlapping, 2).unwrap());
        let (first, last) = (found[0], found[found.len() - 1]);
        assert_eq!((first.meaning, last.meaning), (Meaning::White, Meaning::Drift));
        assert!((first.slope + 0.5).abs() < 0.05 && (last.slope - 1.0).abs() < 0.1);
        assert!(first.to_s <= last.from_s);
    }

    #[test]
    fn a_curve_of_one_point_or_none_has_no_stretch() {
        assert!(regimes(&[]).is_empty());
        let one = curve(&[1.0, 2.0, 1.5], 1.0, Kind::Overlapping, 1).unwrap();
        assert!(regimes(&one[..1]).is_empty());
    }
}
