//! Fourier transforms of real series, of any length.
//!
//! The only file that knows the transform library.  Even lengths are done as
//! one complex transform of half the length.  Of the library's algorithms the
//! scalar ones are used on every platform, so that the page and a native run do
//! the same arithmetic; and only a few of them, since its planner would bring
//! every one into the page: powers of two by radix 4, other factors up to 7 by
//! mixed radix, and lengths with a larger prime factor by Bluestein's method.

use rustfft::algorithm::butterflies::{Butterfly1, Butterfly3, Butterfly5, Butterfly7, Butterfly9};
use rustfft::algorithm::{BluesteinsAlgorithm, MixedRadix, Radix4};
use rustfft::num_complex::Complex64;
use rustfft::{Fft, FftDirection};
use std::f64::consts::PI;
use std::sync::Arc;

pub use rustfft::num_complex::Complex64 as Complex;

/// A transform of real series of one length, with its buffers.
pub(crate) struct RealFft {
    len: usize,
    plan: Arc<dyn Fft<f64>>,
    turns: Vec<Complex64>,
    buffer: Vec<Complex64>,
    scratch: Vec<Complex64>,
}

impl RealFft {
    /// Prepares for series of `len` samples.
    pub(crate) fn new(len: usize) -> Self {
        let even = len.is_multiple_of(2);
        let inner = if even { len / 2 } else { len };
        let plan = transform(inner, FftDirection::Forward);
        let count = if even { inner / 2 + 1 } else { 0 };
        let turns = (0..count).map(|k| turn(k, len)).collect();
        let zero = Complex64::new(0.0, 0.0);
        let scratch = vec![zero; plan.get_inplace_scratch_len()];
        Self { len, plan, turns, buffer: vec![zero; inner], scratch }
    }

    /// Number of bins from 0 Hz to half the rate.
    pub(crate) fn bins(&self) -> usize {
        self.len / 2 + 1
    }

    /// Takes in a tapered series less a line (value at the first sample, rise
    /// per sample), all of the length prepared for.
    pub(crate) fn load(&mut self, x: &[f64], taper: &[f64], (level, slope): (f64, f64)) {
        let at = |n: usize, value: f64, weight: f64| (value - level - slope * n as f64) * weight;
        if self.len.is_multiple_of(2) {
            // Even samples go in as real parts, odd ones as imaginary parts.
            let pairs = x.chunks_exact(2).zip(taper.chunks_exact(2));
            for (n, (slot, (v, w))) in self.buffer.iter_mut().zip(pairs).enumerate() {
                *slot = Complex64::new(at(2 * n, v[0], w[0]), at(2 * n + 1, v[1], w[1]));
            }
        } else {
            for (n, (slot, (v, w))) in self.buffer.iter_mut().zip(x.iter().zip(taper)).enumerate() {
                *slot = Complex64::new(at(n, *v, *w), 0.0);
            }
        }
    }

    /// Transforms what was taken in and hands each bin from 0 to half the rate
    /// to `take`, not in order.
    pub(crate) fn run(&mut self, mut take: impl FnMut(usize, Complex64)) {
        self.plan.process_with_scratch(&mut self.buffer, &mut self.scratch);
        if self.len.is_multiple_of(2) {
            self.part(take);
        } else {
            for (k, value) in self.buffer[..self.len / 2 + 1].iter().enumerate() {
                take(k, *value);
            }
        }
    }

    // The half-length spectra of even and odd samples are told apart by
    // symmetry and joined.
    fn part(&self, mut take: impl FnMut(usize, Complex64)) {
        let half = self.len / 2;
        let Some(z0) = self.buffer.first() else { return };
        take(0, Complex64::new(z0.re + z0.im, 0.0));
        take(half, Complex64::new(z0.re - z0.im, 0.0));
        for k in 1..half.div_ceil(2) {
            let (z, mirrored) = (self.buffer[k], self.buffer[half - k].conj());
            let (sum, difference) = ((z + mirrored) * 0.5, (z - mirrored) * 0.5);
            let turned = Complex64::new(difference.im, -difference.re) * self.turns[k];
            take(k, sum + turned);
            take(half - k, (sum - turned).conj());
        }
        if half.is_multiple_of(2) {
            take(half / 2, self.buffer[half / 2].conj());
        }
    }
}

/// exp(-2 pi i k / n).
pub(crate) fn turn(k: usize, n: usize) -> Complex64 {
    turn_by(k as f64 / n as f64)
}

/// exp(-2 pi i turns).
pub(crate) fn turn_by(turns: f64) -> Complex64 {
    let angle = 2.0 * PI * turns;
    Complex64::new(libm::cos(angle), -libm::sin(angle))
}

/// Bins 0 to half the rate of a real series.
pub fn real(x: &[f64]) -> Vec<Complex64> {
    let mut out = vec![Complex64::new(0.0, 0.0); if x.is_empty() { 0 } else { x.len() / 2 + 1 }];
    if !x.is_empty() {
        let mut fft = RealFft::new(x.len());
        fft.load(x, &vec![1.0; x.len()], (0.0, 0.0));
        fft.run(|k, value| out[k] = value);
    }
    out
}

/// A complex transform of one length, for many series.
pub(crate) struct Plan(Arc<dyn Fft<f64>>);

impl Plan {
    /// With exp(-2 pi i k n / N).
    pub(crate) fn forward(len: usize) -> Self {
        Self(transform(len, FftDirection::Forward))
    }

    /// With the other sign of the exponent, unscaled.
    pub(crate) fn inverse(len: usize) -> Self {
        Self(transform(len, FftDirection::Inverse))
    }

    /// Transforms in place; the length is that of the plan.
    pub(crate) fn run(&self, x: &mut [Complex64]) {
        self.0.process(x);
    }
}

/// Transforms in place with the other sign of the exponent, unscaled.
pub(crate) fn inverse_in_place(x: &mut [Complex64]) {
    if !x.is_empty() {
        transform(x.len(), FftDirection::Inverse).process(x);
    }
}

// The transform of one length.
fn transform(len: usize, direction: FftDirection) -> Arc<dyn Fft<f64>> {
    if len == 0 {
        return Arc::new(Butterfly1::new(direction));
    }
    let twos = len.trailing_zeros();
    let mut rest = len >> twos;
    let mut odd = Vec::new();
    for factor in [9, 7, 5, 3] {
        while rest.is_multiple_of(factor) {
            odd.push(factor);
            rest /= factor;
        }
    }
    if rest > 1 {
        // Bluestein's method: a convolution at a length that is quick.
        let inner = transform(quick_length(2 * len - 1), direction);
        return Arc::new(BluesteinsAlgorithm::new(len, inner));
    }
    let even = (twos > 0).then(|| Arc::new(Radix4::new(1 << twos, direction)) as Arc<dyn Fft<f64>>);
    match (even, mixed(&odd, direction)) {
        (Some(even), Some(odd)) => Arc::new(MixedRadix::new(even, odd)),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => Arc::new(Butterfly1::new(direction)),
    }
}

// The transform of a product of small odd factors, split in halves of nearly
// one size; none of an empty product.
fn mixed(factors: &[usize], direction: FftDirection) -> Option<Arc<dyn Fft<f64>>> {
    Some(match factors {
        [] => return None,
        [3] => Arc::new(Butterfly3::new(direction)),
        [5] => Arc::new(Butterfly5::new(direction)),
        [7] => Arc::new(Butterfly7::new(direction)),
        [_] => Arc::new(Butterfly9::new(direction)),
        several => {
            let (some, others) = several.split_at(several.len() / 2);
            let (some, others) = (mixed(some, direction)?, mixed(others, direction)?);
            Arc::new(MixedRadix::new(some, others))
        }
    })
}

/// The least length of at least `n` with no prime factor above 5.
pub(crate) fn quick_length(n: usize) -> usize {
    let smooth = |mut m: usize| {
        for factor in [2, 3, 5] {
            while m.is_multiple_of(factor) {
                m /= factor;
            }
        }
        m == 1
    };
    (n.max(1)..).find(|m| smooth(*m)).unwrap_or(n)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn slow(x: &[f64]) -> Vec<Complex64> {
        let n = x.len();
        (0..n / 2 + 1)
            .map(|k| x.iter().enumerate().map(|(j, v)| turn(k * j % n, n) * v).sum())
            .collect()
    }

    proptest! {
        #[test]
        fn the_fast_transform_equals_the_sum_that_defines_it(
            x in prop::collection::vec(-1e3..1e3f64, 1..90)
        ) {
            for (a, b) in real(&x).iter().zip(slow(&x)) {
                prop_assert!((a - b).norm() < 1e-9);
            }
        }
    }

    #[test]
    fn every_kind_of_length_comes_back_from_its_spectrum() {
        // Powers of two, mixed factors, large primes and their multiples.
        for n in [1, 2, 3, 64, 1 << 13, 2_880, 11 * 64, 3_125, 7_776, 15_015, 9_973, 2 * 9_973] {
            let mut draw = crate::trial::Seeded(n as u64);
            let (re, im) = (draw.normal(n), draw.normal(n));
            let x: Vec<Complex64> =
                re.iter().zip(&im).map(|(a, b)| Complex64::new(*a, *b)).collect();
            let mut y = x.clone();
            Plan::forward(n).run(&mut y);
            let energy = |v: &[Complex64]| v.iter().map(|c| c.norm_sqr()).sum::<f64>();
            let ratio = energy(&y) / energy(&x) / n as f64;
            assert!((ratio - 1.0).abs() < 1e-12, "length {n}: {ratio}");
            inverse_in_place(&mut y);
            for (a, b) in x.iter().zip(&y) {
                assert!((a - b / n as f64).norm() < 1e-12, "length {n}");
            }
        }
    }

    #[test]
    fn the_transform_of_nothing_is_nothing() {
        assert!(real(&[]).is_empty());
    }
}
