//! Seeded random numbers for the tests of this crate.

/// SplitMix64 (Steele, Lea and Flood 2014), with Box-Muller normals.
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xD1B5_4A32_D192_ED03)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Between 0 and 1.
    pub(crate) fn uniform(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Mean 0, standard deviation 1.
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * libm::log(self.uniform())).sqrt();
        radius * libm::cos(std::f64::consts::TAU * self.uniform())
    }

    /// A direction, even over the cap of directions within `half_angle_deg` of +z.
    pub(crate) fn direction(&mut self, half_angle_deg: f64) -> [f64; 3] {
        let lowest = libm::cos(half_angle_deg.to_radians());
        let z = lowest + (1.0 - lowest) * self.uniform();
        let (sin, cos) = libm::sincos(std::f64::consts::TAU * self.uniform());
        let across = (1.0 - z * z).max(0.0).sqrt();
        [across * cos, across * sin, z]
    }
}
