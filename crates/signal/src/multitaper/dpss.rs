//! Discrete prolate spheroidal sequences: the tapers that keep most of their
//! energy within a bandwidth (Slepian's tapers).
//!
//! In: a length, a time-bandwidth product, a number of tapers.  Out: tapers of
//! unit energy and the fraction of it they keep in the band.
//!
//! # Method
//!
//! The sequences are eigenvectors of Slepian's tridiagonal matrix.  With
//! b_t = t (n - t) / 2 and m = (n - 1) / 2 - t, that matrix is (n^2 - 1) / 4
//! less the difference operator
//!
//! (L v)_t = -b_t (v_(t-1) - v_t) - b_(t+1) (v_(t+1) - v_t) + q_t v_t,
//! q_t = 2 sin^2(pi W) m^2,
//!
//! whose small eigenvalues are found without the cancellation that the matrix
//! has for large n.  From the edge inward the wanted solution grows, so it is
//! computed step by step up to the middle, where it must be even or odd.  That
//! condition is solved for the eigenvalue by Newton's method, from the value
//! of a short sequence of the same time-bandwidth product: it depends on n
//! only by terms in 1/n^2.
//!
//! # Source
//!
//! D. Slepian, Bell Syst. Tech. J. 57 (1978) 1371 (the matrix); D. B. Percival
//! and A. T. Walden, Spectral Analysis for Physical Applications (1993),
//! chapter 8.  The operator form is ours; scipy agrees.

use super::TaperError;
use crate::rotor::Rotor;
use std::f64::consts::PI;

/// Tapers and how well they keep to their band.
#[derive(Clone, Debug, PartialEq)]
pub struct Dpss {
    /// Tapers of unit energy, best first; even ones have a positive sum, odd
    /// ones begin with a positive lobe.
    pub tapers: Vec<Vec<f64>>,
    /// Fraction of each taper's energy within the band, 0 to 1.
    pub concentration: Vec<f64>,
}

/// Largest time-bandwidth product; wider bands are smoothing, not tapering.
pub const MOST_NW: f64 = 100.0;

/// The first `count` sequences of `n` samples with half bandwidth `nw / n`
/// cycles a sample.
///
/// # Errors
///
/// [`TaperError`] unless 1 <= count <= n and 0 < nw < min(n / 2, 100).
///
/// # Accuracy
///
/// Tapers to 1e-11 of the largest value, concentrations to 1e-11.
pub fn dpss(n: usize, nw: f64, count: usize) -> Result<Dpss, TaperError> {
    if count == 0 || count > n {
        return Err(TaperError::Count { count, samples: n });
    }
    if !(nw > 0.0 && nw < (n as f64 / 2.0).min(MOST_NW)) {
        return Err(TaperError::Bandwidth { nw, samples: n });
    }
    let tapers: Vec<Vec<f64>> = (0..count).map(|order| sequence(n, nw, order)).collect();
    let concentration = tapers.iter().map(|taper| kept(taper, nw / n as f64)).collect();
    Ok(Dpss { tapers, concentration })
}

fn sequence(n: usize, nw: f64, order: usize) -> Vec<f64> {
    let operator = Operator::new(n, nw, order);
    let mut half = Vec::with_capacity(n);
    operator.shoot(eigenvalue(&operator, nw, order), |v| half.push(v));
    let mirror = if operator.odd { -1.0 } else { 1.0 };
    for place in (0..n / 2).rev() {
        half.push(mirror * half[place]);
    }
    let energy: f64 = half.iter().map(|v| v * v).sum();
    let sum: f64 = half.iter().sum();
    let scale = if !operator.odd && sum < 0.0 { -1.0 } else { 1.0 } / energy.sqrt();
    half.iter_mut().for_each(|v| *v *= scale);
    half
}

/// The eigenvalue of a sequence, by way of a short one where it is long.
fn eigenvalue(operator: &Operator, nw: f64, order: usize) -> f64 {
    let short = 1024.max(16 * (order + 1)).max((16.0 * nw) as usize);
    if operator.n <= 2 * short {
        return operator.halve(order / 2);
    }
    let mut value = Operator::new(short, nw, order).halve(order / 2);
    for _ in 0..12 {
        let shot = operator.shoot(value, |_| {});
        let near = shot.below == order / 2 || shot.below == order / 2 + 1;
        if !(near && shot.correction.is_finite()) {
            return operator.halve(order / 2);
        }
        value += shot.correction;
        if shot.correction.abs() <= 1e-12 * value {
            return value;
        }
    }
    value
}

/// L over the first half of a sequence, closed at the middle by symmetry.
struct Operator {
    n: usize,
    curvature: f64,
    odd: bool,
}

/// How a solution meets the middle.
struct Shot {
    /// Newton's correction of the eigenvalue.
    correction: f64,
    /// Eigenvalues of this symmetry below the one tried.
    below: usize,
}

impl Operator {
    fn new(n: usize, nw: f64, order: usize) -> Self {
        let s = libm::sin(PI * nw / n as f64);
        Self { n, curvature: 2.0 * s * s, odd: order % 2 == 1 }
    }

    /// Solves L v = `value` v from the edge (v = 1) to the middle; each v goes
    /// to `visit`.
    fn shoot(&self, value: f64, mut visit: impl FnMut(f64)) -> Shot {
        let n = self.n as f64;
        let (mut v, mut flux, mut energy, mut nodes) = (1.0_f64, 0.0, 0.0, 0);
        let (mut last, mut b) = (1.0, 0.0);
        for t in 0..self.n / 2 {
            let place = t as f64;
            let m = (n - 1.0) / 2.0 - place;
            visit(v);
            energy += v * v;
            flux += (self.curvature * m * m - value) * v;
            b = (place + 1.0) * (n - place - 1.0) / 2.0;
            last = v;
            v += flux / b;
            nodes += usize::from((v < 0.0) != (last < 0.0));
        }
        let crossed = usize::from((v < 0.0) != (last < 0.0));
        match (self.n.is_multiple_of(2), self.odd) {
            // The next value is the mirror image of the last: no flux,
            (true, false) => {
                let below = nodes - crossed + usize::from(flux * last < 0.0);
                Shot { correction: flux * last / energy, below }
            }
            // or zero half way to it.
            (true, true) => {
                let between = last + flux / (2.0 * b);
                let below = nodes - crossed + usize::from(between * last < 0.0);
                Shot { correction: -between * flux / energy, below }
            }
            // The middle value is its own mirror image,
            (false, false) => {
                visit(v);
                let mismatch = 2.0 * flux - value * v;
                let below = nodes + usize::from(mismatch * v < 0.0);
                Shot { correction: mismatch * v / (2.0 * energy + v * v), below }
            }
            // or zero.
            (false, true) => {
                visit(0.0);
                Shot { correction: -v * flux / energy, below: nodes }
            }
        }
    }

    /// The eigenvalue with `rank` others of this symmetry below it, by halving.
    fn halve(&self, rank: usize) -> f64 {
        let (mut low, mut high) = (0.0, 1.0);
        while self.shoot(high, |_| {}).below <= rank && high < f64::MAX / 4.0 {
            low = high;
            high *= 2.0;
        }
        loop {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                return middle;
            }
            if self.shoot(middle, |_| {}).below <= rank { low = middle } else { high = middle }
        }
    }
}

/// The fraction of a sequence's energy within `half_band` cycles a sample: the
/// eigenvalue of the band's sinc kernel, read off where the taper is largest.
fn kept(taper: &[f64], half_band: f64) -> f64 {
    let larger = |best: usize, place: usize| {
        if taper[place].abs() > taper[best].abs() { place } else { best }
    };
    let top = (0..taper.len()).fold(0, larger);
    let mut sum = 2.0 * half_band * taper[top];
    for (apart, (_, sine)) in Rotor::new(half_band).enumerate().skip(1).take(taper.len()) {
        let before = top.checked_sub(apart).map_or(0.0, |place| taper[place]);
        let after = taper.get(top + apart).copied().unwrap_or(0.0);
        sum += sine / (PI * apart as f64) * (before + after);
    }
    (sum / taper[top]).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The band's kernel applied to a taper, the definition of the sequences.
    fn banded(taper: &[f64], half_band: f64) -> Vec<f64> {
        let kernel = |apart: usize| match apart {
            0 => 2.0 * half_band,
            _ => libm::sin(2.0 * PI * half_band * apart as f64) / (PI * apart as f64),
        };
        let n = taper.len();
        (0..n).map(|t| (0..n).map(|s| kernel(t.abs_diff(s)) * taper[s]).sum()).collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]
        #[test]
        fn sequences_are_eigenvectors_of_the_band_kernel(n in 3..200usize, nw in 0.3..6.0f64) {
            prop_assume!(nw < n as f64 / 2.0);
            let count = ((2.0 * nw) as usize).clamp(1, n);
            let found = dpss(n, nw, count).unwrap();
            for (taper, kept) in found.tapers.iter().zip(&found.concentration) {
                for (a, b) in banded(taper, nw / n as f64).iter().zip(taper) {
                    prop_assert!((a - kept * b).abs() < 1e-11, "{n} {nw}");
                }
            }
        }

        #[test]
        fn sequences_are_orthonormal_to_the_last_one(n in 1..40usize) {
            let found = dpss(n, 0.4 * n as f64, n).unwrap().tapers;
            for (i, a) in found.iter().enumerate() {
                for (j, b) in found.iter().enumerate() {
                    let product: f64 = a.iter().zip(b).map(|(u, v)| u * v).sum();
                    prop_assert!((product - f64::from(u8::from(i == j))).abs() < 1e-10);
                }
            }
        }
    }

    #[test]
    fn a_long_sequence_changes_sign_as_often_as_its_order_says() {
        for n in [30_000, 30_001] {
            for (order, taper) in dpss(n, 4.0, 7).unwrap().tapers.iter().enumerate() {
                let signs = taper.windows(2).filter(|w| (w[0] < 0.0) != (w[1] < 0.0)).count();
                assert_eq!(signs, order);
            }
        }
    }

    #[test]
    fn impossible_tapers_are_refused() {
        assert!(matches!(dpss(10, 2.0, 0), Err(TaperError::Count { .. })));
        assert!(matches!(dpss(10, 2.0, 11), Err(TaperError::Count { .. })));
        assert!(matches!(dpss(10, 5.0, 2), Err(TaperError::Bandwidth { .. })));
        assert!(matches!(dpss(10, f64::NAN, 2), Err(TaperError::Bandwidth { .. })));
    }
}
