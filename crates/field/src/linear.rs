//! Linear least squares on long, gappy series, with uncertainties for neighbours that are alike.

use crate::gram::{BLOCK, Block, Gram};
use crate::serial;

/// Coefficients of a linear fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Linear<const P: usize> {
    pub coefficients: [f64; P],
    /// Standard uncertainty of each, serial correlation of the residuals taken into account.
    pub sigma: [f64; P],
    /// Root-mean-square residual.
    pub rms: f64,
    /// Root-mean-square of the right-hand side about its mean.
    pub spread: f64,
    pub n: usize,
}

impl<const P: usize> Linear<P> {
    /// Share of the variance explained, 0 to 1; NaN for a constant right-hand side.
    pub(crate) fn r_squared(&self) -> f64 {
        1.0 - (self.rms * self.rms) / (self.spread * self.spread)
    }
}

/// Least squares of `row(k) = (design, right)` over `0..n`; rows with a NaN are passed over.
/// `None` when fewer than `P + 1` rows are left or the columns repeat each other.
///
/// Each coefficient is a sum over the rows, so its standard uncertainty is that of the mean of
/// its summands ([`serial`]): neighbours that are alike count for less.
pub(crate) fn fit<const P: usize>(
    n: usize,
    row: impl Fn(usize) -> ([f64; P], f64),
) -> Option<Linear<P>> {
    let whole = |(design, right): &([f64; P], f64)| {
        right.is_finite() && design.iter().all(|v| v.is_finite())
    };
    let rows = || (0..n).map(&row).filter(whole);
    let mut gram = Gram::<P>::empty();
    let mut block = Block::empty();
    let (mut used, mut sum) = (0usize, 0.0);
    for (design, right) in rows() {
        block.set(used % BLOCK, design, right);
        used += 1;
        sum += right;
        if used.is_multiple_of(BLOCK) {
            gram.add(&block);
            block = Block::empty();
        }
    }
    gram.add(&block);
    if used <= P {
        return None;
    }
    let coefficients = gram.solve(0.0)?;
    let inverse = gram.matrix().try_inverse()?;
    let value = |design: &[f64; P]| dot(design, &coefficients);
    let mean = sum / used as f64;
    let (mut squares, mut spread) = (0.0, 0.0);
    for (design, right) in rows() {
        let r = right - value(&design);
        squares += r * r;
        spread += (right - mean) * (right - mean);
    }
    // Degrees of freedom spent on the coefficients.
    let spent = (used as f64 / (used - P) as f64).sqrt();
    let sigma = std::array::from_fn(|k| {
        let line: [f64; P] = std::array::from_fn(|j| inverse[(k, j)]);
        let parts = rows().map(|(design, right)| dot(&line, &design) * (right - value(&design)));
        serial::mean(parts).sigma_mean * used as f64 * spent
    });
    Some(Linear {
        coefficients,
        sigma,
        rms: (squares / used as f64).sqrt(),
        spread: (spread / used as f64).sqrt(),
        n: used,
    })
}

fn dot<const P: usize>(a: &[f64; P], b: &[f64; P]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;

    #[test]
    fn coefficients_lie_within_their_uncertainty_also_when_noise_has_memory() {
        let (mut inside, mut total) = (0u32, 0u32);
        for seed in 0..120 {
            let mut random = Random::new(seed);
            let mut state = 0.0;
            let mut wander = 0.0;
            let rows: Vec<([f64; 2], f64)> = (0..4000)
                .map(|_| {
                    state = 0.95 * state + random.normal();
                    wander = 0.98 * wander + random.normal();
                    ([1.0, wander], 3.0 + 2.0 * wander + state)
                })
                .collect();
            let found = fit(rows.len(), |k| rows[k]).unwrap();
            for (got, (want, sigma)) in
                found.coefficients.iter().zip([3.0, 2.0].into_iter().zip(found.sigma))
            {
                total += 1;
                inside += u32::from((got - want).abs() < sigma);
            }
        }
        // 68 % when the uncertainty is right; less than 25 % if neighbours were taken as
        // independent.
        let share = f64::from(inside) / f64::from(total);
        assert!((0.55..0.8).contains(&share), "{share}");
    }

    #[test]
    fn rows_with_a_hole_are_passed_over_and_too_few_give_nothing() {
        let found = fit::<1>(5, |k| ([1.0], if k == 2 { f64::NAN } else { k as f64 })).unwrap();
        assert_eq!((found.n, found.coefficients[0]), (4, 2.0));
        assert!(fit::<2>(2, |k| ([1.0, k as f64], 0.0)).is_none());
        assert!(fit::<2>(9, |_| ([1.0, 1.0], 0.0)).is_none());
    }
}
