//! Fits that a few wild readings cannot pull away: reweighted, then rejected by a stated rule.

use super::cloud::Cloud;
use super::geometric::{Family, Loss, Surface, refine};

/// Standard deviation of a normal distribution over its median absolute deviation, 1/Φ⁻¹(3/4).
const MAD_SCALE: f64 = 1.482_602_218_505_602;

/// Most rounds of reweighting.
const ROUNDS: usize = 15;

/// Robust standard deviation of residuals about nought: 1.4826 times the median of their sizes.
/// NaN for none.
pub(super) fn spread(residuals: impl Iterator<Item = f64>) -> f64 {
    let mut sizes: Vec<f64> = residuals.map(f64::abs).collect();
    let n = sizes.len();
    if n == 0 {
        return f64::NAN;
    }
    let upper = record::sort::nth(&mut sizes, n / 2);
    let below = &sizes[..n / 2];
    let middle = if n % 2 == 1 {
        upper
    } else {
        let lower = below.iter().copied().fold(0.0, f64::max);
        0.5 * (lower + upper)
    };
    MAD_SCALE * middle
}

/// Robust standard deviation of the residuals of a cloud on a surface.
pub(super) fn spread_on(cloud: &Cloud, surface: &Surface) -> f64 {
    spread(cloud.points.iter().map(|p| surface.residual(*p)))
}

/// A surface with wild readings weighed down: Huber's loss for two rounds, Tukey's after, the
/// scale renewed each round until it changes by less than 1e-4 of itself.  `None` when the points fix no surface.
pub(super) fn settle<const P: usize, F: Family<P>>(
    cloud: &Cloud,
    start: &Surface,
) -> Option<(Surface, Loss)> {
    let mut surface = *start;
    let mut scale = spread_on(cloud, &surface);
    for round in 0..ROUNDS {
        // A scale of nought (exact data) would weigh every reading away.
        let floor = scale.max(1e-12) * F::unit(&surface);
        let loss = if round < 2 { Loss::Huber(floor) } else { Loss::Tukey(floor) };
        surface = refine::<P, F>(&cloud.points, &surface, loss)?.surface;
        let next = spread_on(cloud, &surface);
        let still = (next - scale).abs() <= 1e-4 * scale + 1e-15;
        scale = next;
        if round >= 2 && still || round + 1 == ROUNDS {
            return Some((surface, loss));
        }
    }
    None
}

/// Mean square of the weighed residuals ψ and mean slope ψ′: a fit's numbers have the variance
/// Σψ²/(n − p) over the squared mean slope, times (JᵀJ)⁻¹.  `unit` turns the residuals into the
/// unit of the family's own, in which the result is; `spent` numbers were fitted.
///
/// # Source
///
/// Huber 1981, Robust Statistics, section 7.6 (from memory).
pub(super) fn influence(residuals: &[f64], unit: f64, spent: usize, loss: Loss) -> (f64, f64) {
    let (mut squares, mut slopes) = (0.0, 0.0);
    for r in residuals {
        let (psi, slope) = loss.influence(unit * r);
        squares += psi * psi;
        slopes += slope;
    }
    let n = residuals.len() as f64;
    (squares / (n - spent as f64).max(1.0), slopes / n)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_robust_spread_of_a_normal_sample_is_its_standard_deviation() {
        let mut random = crate::testing::Random::new(1);
        let found = spread((0..20_001).map(|_| 2.0 * random.normal()));
        assert!((found - 2.0).abs() < 0.05, "{found}");
        assert_eq!(spread([1.0, -3.0].into_iter()), 2.0 * MAD_SCALE);
        assert!(spread(std::iter::empty()).is_nan());
    }
}
