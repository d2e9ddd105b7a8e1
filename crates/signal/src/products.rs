//! Sums of products of two series at every lag of a range.
//!
//! In: two series of one length.  Out: for each lag, the sum of a_i b_(i + lag).
//! A few lags are summed directly, many by transforms of blocks.

use crate::fft::{Complex, Plan, inverse_in_place, quick_length};

/// Sums for lags 0 to `most`; beyond the length they are 0.
pub(crate) fn products(a: &[f64], b: &[f64], most: usize) -> Vec<f64> {
    if most < FEW_LAGS || b.len() < SHORT {
        let at = |lag: usize| a.iter().zip(&b[lag.min(b.len())..]).map(|(u, v)| u * v).sum();
        return (0..=most).map(at).collect();
    }
    let block = (2 * most).max(4096);
    let size = quick_length(block + most);
    let mut sum = vec![Complex::new(0.0, 0.0); size];
    let mut work = sum.clone();
    let forward = Plan::forward(size);
    for start in (0..a.len()).step_by(block) {
        load(a, b, start, block, block + most, &mut work);
        forward.run(&mut work);
        for (k, slot) in sum.iter_mut().enumerate() {
            // The two real parts' transforms, told apart by symmetry.
            let (z, mirrored) = (work[k], work[(size - k) % size].conj());
            let second = (z - mirrored) * Complex::new(0.0, -0.5);
            *slot += (z + mirrored).conj() * 0.5 * second;
        }
    }
    inverse_in_place(&mut sum);
    sum[..=most].iter().map(|v| v.re / size as f64).collect()
}

/// A block of the first series as real parts, the same and what follows it of
/// the second as imaginary parts.
fn load(a: &[f64], b: &[f64], start: usize, block: usize, reach: usize, work: &mut [Complex]) {
    for (place, slot) in work.iter_mut().enumerate() {
        let at = |x: &[f64], len: usize| {
            if place < len { x.get(start + place).copied().unwrap_or(0.0) } else { 0.0 }
        };
        *slot = Complex::new(at(a, block), at(b, reach));
    }
}

const FEW_LAGS: usize = 64;
const SHORT: usize = 1024;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Seeded;

    #[test]
    fn transforms_and_sums_give_the_same_products() {
        for (n, most) in [(1024, 64), (3000, 299), (9000, 1500), (1500, 1499)] {
            let (a, b) = (Seeded(n as u64).centred(n), Seeded(most as u64).centred(n));
            for (lag, found) in products(&a, &b, most).iter().enumerate() {
                let slow: f64 = a.iter().zip(&b[lag..]).map(|(u, v)| u * v).sum();
                assert!((found - slow).abs() < 1e-11, "{n} {lag}");
            }
        }
    }

    #[test]
    fn lags_beyond_the_series_have_no_products() {
        assert_eq!(products(&[1.0, 2.0], &[3.0, 4.0], 3), [11.0, 4.0, 0.0, 0.0]);
        assert_eq!(products(&[], &[], 1), [0.0, 0.0]);
    }
}
