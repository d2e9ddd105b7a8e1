//! A few harmonics of a day through its values, by least squares.

use nalgebra::{DMatrix, DVector};

/// Constant and harmonics of one period over equally long bins.
#[derive(Clone, Debug, PartialEq)]
pub struct Harmonics {
    /// The constant.
    pub mean: f64,
    /// Cosine and sine of each harmonic, the first being the whole period.
    pub pairs: Vec<[f64; 2]>,
}

impl Harmonics {
    /// The value at a share of the period, 0 to 1.
    pub fn at(&self, share: f64) -> f64 {
        let mut sum = self.mean;
        for (k, [c, s]) in self.pairs.iter().enumerate() {
            let turn = std::f64::consts::TAU * (k + 1) as f64 * share;
            let (sin, cos) = libm::sincos(turn);
            sum += c * cos + s * sin;
        }
        sum
    }

    /// Amplitude of a harmonic (from 1) and the share of the whole period at which it first is
    /// greatest, 0 up to 1/k.
    pub fn amplitude_and_peak(&self, harmonic: usize) -> Option<(f64, f64)> {
        let [c, s] = *self.pairs.get(harmonic.checked_sub(1)?)?;
        let turn = libm::atan2(s, c) / std::f64::consts::TAU;
        let turn = if turn < 0.0 { turn + 1.0 } else { turn };
        Some((libm::hypot(c, s), turn / harmonic as f64))
    }
}

/// Fits `degree` harmonics to values at the middles of equal bins of the period; NaN are left
/// out.  `None` when fewer than `2 degree + 1` values are left or a gap leaves a harmonic
/// unknown.
pub fn fit(values: &[f64], degree: usize) -> Option<Harmonics> {
    let n = values.len() as f64;
    let present: Vec<(f64, f64)> = values
        .iter()
        .enumerate()
        .filter(|(_, v)| v.is_finite())
        .map(|(k, v)| ((k as f64 + 0.5) / n, *v))
        .collect();
    let columns = 2 * degree + 1;
    if present.len() < columns {
        return None;
    }
    let row = |share: f64| -> Vec<f64> {
        let mut row = vec![1.0];
        for k in 1..=degree {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * k as f64 * share);
            row.extend([cos, sin]);
        }
        row
    };
    let mut normal = DMatrix::<f64>::zeros(columns, columns);
    let mut right = DVector::<f64>::zeros(columns);
    // About the first value, so that a level of 50,000 nT costs no digits.
    let level = present[0].1;
    for (share, v) in &present {
        let row = row(*share);
        for a in 0..columns {
            for b in 0..columns {
                normal[(a, b)] += row[a] * row[b];
            }
            right[a] += row[a] * (v - level);
        }
    }
    let factor = normal.clone().cholesky()?;
    let lower = factor.l_dirty();
    if (0..columns).any(|k| lower[(k, k)] * lower[(k, k)] < 1e-10 * normal[(k, k)]) {
        return None;
    }
    let found = factor.solve(&right);
    let pairs = (0..degree).map(|k| [found[2 * k + 1], found[2 * k + 2]]).collect();
    Some(Harmonics { mean: found[0] + level, pairs })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn harmonics_come_back_through_a_gap() {
        let truth = Harmonics { mean: 48_000.0, pairs: vec![[3.0, -4.0], [0.0, 2.0]] };
        let values: Vec<f64> =
            (0..24)
                .map(|k| {
                    if (5..9).contains(&k) {
                        f64::NAN
                    } else {
                        truth.at((f64::from(k) + 0.5) / 24.0)
                    }
                })
                .collect();
        let found = fit(&values, 2).unwrap();
        assert!((found.mean - 48_000.0).abs() < 1e-9);
        for (got, want) in found.pairs.iter().flatten().zip(truth.pairs.iter().flatten()) {
            assert!((got - want).abs() < 1e-10);
        }
        let (amplitude, peak) = found.amplitude_and_peak(1).unwrap();
        assert!((amplitude - 5.0).abs() < 1e-10);
        assert!((found.at(peak) - truth.at(peak)).abs() < 1e-9);
        assert!(found.amplitude_and_peak(0).is_none() && found.amplitude_and_peak(3).is_none());
    }

    #[test]
    fn too_few_values_give_none() {
        assert!(fit(&[1.0, 2.0, f64::NAN, 4.0], 2).is_none());
        let mut half = vec![f64::NAN; 48];
        half[..5].fill(1.0);
        assert!(fit(&half, 5).is_none());
    }
}
