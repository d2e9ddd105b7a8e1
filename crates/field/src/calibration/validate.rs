//! Readings left out and foretold: how well a fit speaks of turns it has not seen.

use super::cloud::Cloud;
use super::geometric::{Family, Loss, Surface, refine};

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
    let stretch = |k: usize| (k as u64 * STRETCHES as u64 / n as u64) as usize;
    let mut squares = 0.0;
    for out in 0..STRETCHES {
        let rest = cloud.only(|k| stretch(k) != out);
        let Some(fitted) = refine::<P, F>(&rest, full, Loss::Square) else {
            return Some(f64::INFINITY);
        };
        for (k, p) in cloud.points.iter().enumerate() {
            if stretch(k) == out {
                let r = fitted.surface.residual(*p);
                squares += r * r;
            }
        }
    }
    Some((squares / n as f64).sqrt())
}
