//! What neighbouring readings that are alike take from the certainty of a fit.
//!
//! Each number of a fit is, near its end, a sum over the readings: of its part of (JᵀJ)⁻¹Jᵢ times
//! the residual.  The uncertainty of that sum is the number's own, and where neighbouring
//! summands are alike it is longer than that of as many independent ones.

// Plain indices in the loops over points: see `gram`.
#![allow(clippy::needless_range_loop)]

use super::geometric::{Family, Loss, Surface, scores};
use crate::serial;
use nalgebra::SMatrix;
use record::vector::Vec3;

/// In a longer log sums of neighbours stand for single readings; they show noise that lasts as
/// well.
const MOST: usize = 16_384;

/// Factors by which the variance of each number is to grow, 1 or more, over the one for readings
/// that are independent.  `inverse` is (JᵀJ)⁻¹, `psi` the mean square of the weighed residuals.
///
/// # Source
///
/// The variance of a sum of scores in place of its expectation for independent errors: White
/// 1980, Econometrica 48, 817 (from memory); for neighbours that are alike by block means, as
/// [`serial::mean`] says.
pub(super) fn inflation<const P: usize, F: Family<P>>(
    points: &[Vec3],
    surface: &Surface,
    loss: Loss,
    inverse: &SMatrix<f64, P, P>,
    psi: f64,
) -> [f64; P] {
    let sums = scores::<P, F>(points, surface, loss, MOST);
    std::array::from_fn(|k| {
        let mut line = [0.0; P];
        for j in 0..P {
            line[j] = inverse[(k, j)];
        }
        let part = |score: &[f64; P]| {
            let mut sum = 0.0;
            for j in 0..P {
                sum += line[j] * score[j];
            }
            sum
        };
        let found = serial::mean(sums.iter().map(part));
        let sigma = found.sigma_mean * found.n as f64;
        let factor = sigma * sigma / (psi * inverse[(k, k)]);
        if factor > 1.0 { factor } else { 1.0 }
    })
}
