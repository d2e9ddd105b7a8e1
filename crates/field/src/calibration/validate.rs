//! Readings left out and foretold: how well a fit speaks of turns it has not seen.

use super::cloud::Cloud;
use super::geometric::{Family, Loss, NEAR, Surface, plain_gram, refine};
use crate::gram::Gram;
use record::vector::Vec3;

/// Contiguous stretches, each left out once.
const STRETCHES: usize = 5;
/// Enough points to tell a residual to a per cent.
const MOST: usize = 20_000;
/// Fewer readings are not worth cutting.
const FEWEST: usize = 50;

/// Root-mean-square residual (of length one) of readings that took no part in the fit.  The cuts
/// are contiguous in time, since neighbouring readings are near-copies.
/// `None` for fewer than 50 readings.  Infinite when a rest alone fixes no surface.
pub(super) fn held_out_rms<const P: usize, F: Family<P>>(
    cloud: &Cloud,
    full: &Surface,
) -> Option<f64> {
    if cloud.len() < FEWEST {
        return None;
    }
    let cloud = cloud.thinned(MOST);
    let n = cloud.len();
    let edge = |k: usize| (k * n).div_ceil(STRETCHES);
    let parts: [&[Vec3]; STRETCHES] = std::array::from_fn(|k| &cloud.points[edge(k)..edge(k + 1)]);
    let grams = parts.map(|part| plain_gram::<P, F>(part, full));
    let mut squares = 0.0;
    for (out, part) in parts.iter().enumerate() {
        let rest = || (0..STRETCHES).filter(|k| *k != out);
        let mut sums = Gram::empty();
        rest().for_each(|k| sums.join(&grams[k]));
        let surface = one_step::<P, F>(&sums, full).or_else(|| {
            let points: Vec<Vec3> = rest().flat_map(|k| parts[k]).copied().collect();
            refine::<P, F>(&points, full, Loss::Square).map(|fitted| fitted.surface)
        });
        let Some(surface) = surface else { return Some(f64::INFINITY) };
        squares += part.iter().map(|p| surface.residual(*p)).map(|r| r * r).sum::<f64>();
    }
    Some((squares / n as f64).sqrt())
}

/// The surface one step away, where the step is so small that another would change nothing.
fn one_step<const P: usize, F: Family<P>>(sums: &Gram<P>, full: &Surface) -> Option<Surface> {
    let step = sums.solve(0.0)?;
    let numbers = F::numbers(full);
    step.iter()
        .all(|v| v.abs() < NEAR)
        .then(|| F::surface(&std::array::from_fn(|k| numbers[k] + step[k])))
}
