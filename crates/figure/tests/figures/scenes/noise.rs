//! Seeded noise.

/// A generator of numbers that only seem random (splitmix64, S. Vigna, public
/// domain reference code).
pub struct Noise(u64);

impl Noise {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// Evenly from 0 to 1.
    pub fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Nearly normal, with a standard deviation of 1.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.even()).sum::<f64>() - 6.0
    }
}
