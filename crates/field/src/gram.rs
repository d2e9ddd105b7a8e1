//! Sums of products of columns, gathered a block of rows at a time.
//!
//! A least-squares fit needs only JᵀJ and Jᵀr, whatever the number of rows: so the rows are made,
//! multiplied and forgotten in blocks that fit the processor's nearest memory.

// Plain indices in the loops over rows: in wasm, iterators that other crates use too are shared
// with them, built for size.
#![allow(clippy::needless_range_loop)]

use nalgebra::allocator::Allocator;
use nalgebra::{Const, DefaultAllocator, DimDiff, DimSub, SMatrix, U1};

/// Rows of a block.
pub(crate) const BLOCK: usize = 64;

/// A block of rows, column by column; unused rows are nought.
pub(crate) struct Block<const P: usize> {
    /// One list a column of the design.
    pub columns: [[f64; BLOCK]; P],
    /// The right-hand side or residual.
    pub right: [f64; BLOCK],
}

impl<const P: usize> Block<P> {
    pub(crate) fn empty() -> Self {
        Self { columns: [[0.0; BLOCK]; P], right: [0.0; BLOCK] }
    }

    /// Sets one row.
    #[inline(always)]
    pub(crate) fn set(&mut self, row: usize, design: [f64; P], right: f64) {
        for k in 0..P {
            self.columns[k][row] = design[k];
        }
        self.right[row] = right;
    }
}

/// JᵀJ (upper triangle filled) and Jᵀr.
#[derive(Clone, Debug)]
pub(crate) struct Gram<const P: usize> {
    pub jtj: [[f64; P]; P],
    pub jtr: [f64; P],
}

impl<const P: usize> Gram<P> {
    pub(crate) fn empty() -> Self {
        Self { jtj: [[0.0; P]; P], jtr: [0.0; P] }
    }

    /// Adds a block.
    #[cfg_attr(target_arch = "wasm32", target_feature(enable = "simd128"))]
    pub(crate) fn add(&mut self, block: &Block<P>) {
        let column = |k: usize| if k < P { &block.columns[k] } else { &block.right };
        for a in 0..P {
            // Three at a time, the right-hand side last, so that a column is read less often.
            let mut b = a;
            while b < P {
                let some = [column(b), column(b + 1), column((b + 2).min(P))];
                let found = dots(&block.columns[a], some);
                for n in 0..3 {
                    if b + n < P {
                        self.jtj[a][b + n] += found[n];
                    } else if b + n == P {
                        self.jtr[a] += found[n];
                    }
                }
                b += 3;
            }
            if b == P {
                self.jtr[a] += dot(&block.columns[a], &block.right);
            }
        }
    }

    /// Adds the Jᵀr of a block alone.
    #[cfg_attr(target_arch = "wasm32", target_feature(enable = "simd128"))]
    pub(crate) fn add_slope(&mut self, block: &Block<P>) {
        for k in 0..P {
            self.jtr[k] += dot(&block.columns[k], &block.right);
        }
    }

    /// Adds the sums of other rows.
    pub(crate) fn join(&mut self, other: &Self) {
        let pairs = self.jtj.iter_mut().flatten().zip(other.jtj.iter().flatten());
        pairs.for_each(|(sum, v)| *sum += v);
        self.jtr.iter_mut().zip(other.jtr).for_each(|(sum, v)| *sum += v);
    }

    /// The whole symmetric matrix.
    pub(crate) fn matrix(&self) -> SMatrix<f64, P, P> {
        SMatrix::from_fn(|a, b| self.jtj[a.min(b)][a.max(b)])
    }

    /// Solves (JᵀJ + λ diag JᵀJ) s = Jᵀr; `None` when the matrix is not positive definite.
    pub(crate) fn solve(&self, damping: f64) -> Option<[f64; P]> {
        let mut m = self.matrix();
        for k in 0..P {
            m[(k, k)] *= 1.0 + damping;
        }
        let right = nalgebra::SVector::<f64, P>::from_column_slice(&self.jtr);
        let factor = m.cholesky()?;
        // A pivot that is rounding alone: the columns repeat each other.
        let lower = factor.l_dirty();
        if (0..P).any(|k| lower[(k, k)] * lower[(k, k)] <= 1e-13 * m[(k, k)]) {
            return None;
        }
        let step: [f64; P] = factor.solve(&right).into();
        step.iter().all(|v| v.is_finite()).then_some(step)
    }
}

/// Ratio of the largest to the smallest singular value of a design, from its sums of products:
/// how many times worse the worst combination of the unknowns is known than the best.  Infinite
/// when one is not known at all or a sum is not finite.
pub(crate) fn condition<const P: usize>(sums: &SMatrix<f64, P, P>) -> f64
where
    Const<P>: DimSub<U1>,
    DefaultAllocator: Allocator<DimDiff<Const<P>, U1>>,
{
    // The iteration for eigenvalues would never end on a NaN.
    if !sums.iter().all(|v| v.is_finite()) {
        return f64::INFINITY;
    }
    let values = sums.symmetric_eigenvalues();
    let (least, most) = (values.min(), values.max());
    if least > 1e-14 * most { (most / least).sqrt() } else { f64::INFINITY }
}

/// Scalar product in four interleaved sums: the same order of additions on every machine, and one
/// that vector units can follow.
#[inline(always)]
pub(crate) fn dot(a: &[f64; BLOCK], b: &[f64; BLOCK]) -> f64 {
    dots(a, [b])[0]
}

#[inline(always)]
fn dots<const N: usize>(a: &[f64; BLOCK], others: [&[f64; BLOCK]; N]) -> [f64; N] {
    let mut sums = [[0.0; 4]; N];
    for k in (0..BLOCK / 4).map(|k| 4 * k) {
        for n in 0..N {
            for lane in 0..4 {
                sums[n][lane] += a[k + lane] * others[n][k + lane];
            }
        }
    }
    let mut found = [0.0; N];
    for n in 0..N {
        found[n] = (sums[n][0] + sums[n][1]) + (sums[n][2] + sums[n][3]);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_of_rows_give_the_plain_sums_of_products() {
        let rows: Vec<[f64; 3]> =
            (0..150).map(f64::from).map(|k| [1.0, libm::sin(k), libm::cos(2.0 * k)]).collect();
        let mut gram = Gram::<3>::empty();
        for chunk in rows.chunks(BLOCK) {
            let mut block = Block::empty();
            for (k, row) in chunk.iter().enumerate() {
                block.set(k, *row, row[1] - 3.0 * row[2] + 0.5);
            }
            gram.add(&block);
        }
        let plain: f64 = rows.iter().map(|row| row[1] * row[2]).sum();
        assert!((gram.jtj[1][2] - plain).abs() < 1e-12);
        let found = gram.solve(0.0).unwrap();
        for (got, want) in found.iter().zip([0.5, 1.0, -3.0]) {
            assert!((got - want).abs() < 1e-12);
        }
    }

    #[test]
    fn columns_that_repeat_each_other_have_no_solution() {
        let mut block = Block::<2>::empty();
        for k in 0..10 {
            block.set(k, [k as f64, 2.0 * k as f64], 1.0);
        }
        let mut gram = Gram::empty();
        gram.add(&block);
        assert!(gram.solve(0.0).is_none());
    }
}
