//! Seeded noise for tests: the same numbers on every machine.
//!
//! In: a seed.  Out: uniform and normal values.  A 64-bit linear congruential
//! generator with D. E. Knuth's constants (MMIX); not for anything but tests.

use crate::chi2::normal_quantile;

/// A generator.
pub(crate) struct Seeded(pub(crate) u64);

impl Seeded {
    /// A value between 0 and 1, never either.
    pub(crate) fn uniform(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// Values between -1/2 and 1/2.
    pub(crate) fn centred(&mut self, n: usize) -> Vec<f64> {
        (0..n).map(|_| self.uniform() - 0.5).collect()
    }

    /// Normal values of mean 0 and standard deviation 1.
    pub(crate) fn normal(&mut self, n: usize) -> Vec<f64> {
        (0..n).map(|_| normal_quantile(self.uniform())).collect()
    }

    /// A first-order series: each value is `memory` times the last, plus a
    /// centred one.
    pub(crate) fn remembering(&mut self, n: usize, memory: f64) -> Vec<f64> {
        let mut last = 0.0;
        (0..n)
            .map(|_| {
                last = memory * last + self.uniform() - 0.5;
                last
            })
            .collect()
    }
}
