//! Degrees of freedom of an overlapping Allan deviation, by kind of noise.
//!
//! In: the noise, the number of running sums, the averaging factor.  Out: the
//! equivalent degrees of freedom for a chi-squared interval.

/// Noise of the readings, by the power of frequency its density follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Noise {
    /// f^2: quantisation, differences of white noise ("white phase").
    Differenced,
    /// f^0: white ("white frequency").
    White,
    /// f^-1: flicker ("flicker frequency").
    Flicker,
    /// f^-2: a random walk of the reading.
    Walk,
}

impl Noise {
    /// The noise nearest to a slope of log deviation against log tau.
    pub fn from_slope(slope: f64) -> Self {
        match slope {
            s if s < -0.75 => Self::Differenced,
            s if s < -0.25 => Self::White,
            s if s < 0.25 => Self::Flicker,
            _ => Self::Walk,
        }
    }
}

/// Equivalent degrees of freedom of an overlapping Allan deviation of `n_sums`
/// running sums (readings + 1) at averaging factor `m`; at least 1.
///
/// # Source
///
/// D. A. Howe, D. W. Allan and J. A. Barnes, Proc. 35th Freq. Control Symp.
/// (1981) 669, as printed in NIST SP 1065 (2008), table 5; from memory.
pub fn degrees_of_freedom(noise: Noise, n_sums: usize, m: usize) -> f64 {
    let (n, m) = (n_sums as f64, m as f64);
    let value = match noise {
        Noise::Differenced => (n + 1.0) * (n - 2.0 * m) / (2.0 * (n - m)),
        Noise::White => {
            (3.0 * (n - 1.0) / (2.0 * m) - 2.0 * (n - 2.0) / n) * 4.0 * m * m / (4.0 * m * m + 5.0)
        }
        Noise::Flicker if m == 1.0 => 2.0 * (n - 2.0) / (2.3 * n - 4.9),
        Noise::Flicker => 5.0 * n * n / (4.0 * m * (n + 3.0 * m)),
        Noise::Walk => {
            (n - 2.0) / m * ((n - 1.0) * (n - 1.0) - 3.0 * m * (n - 1.0) + 4.0 * m * m)
                / ((n - 3.0) * (n - 3.0))
        }
    };
    if value.is_finite() { value.max(1.0) } else { 1.0 }
}
