//! What the directions and the shape allow: a fit that succeeds may still be nonsense.

use super::cloud::Cloud;
use super::coverage::{self, Design};
use super::geometric::{Loss, Sphere, Surface, refine};
use super::solve::{FIRST, Found};
use super::{CalibrationError, CellCount, Model, Options, algebraic, shape};
use record::vector::{self, Vec3};

/// Residuals about a sphere beyond this share of its radius are not those of an ellipsoid.
const ROUGH: f64 = 0.35;

/// Condition number and cells of the directions seen.
pub(super) type Seen = (f64, Vec<CellCount>);

/// Condition number and cells of the directions that a surface gives the points; the condition
/// number is one of directions, not of how many there are of each, and some of them will do.
fn directions(cloud: &Cloud, some: &Cloud, surface: &Surface, model: Model) -> Seen {
    let direction = |p: &Vec3| {
        let b = surface.bring(*p);
        vector::scale(b, 1.0 / vector::norm(b))
    };
    let mut design = Design::new(model);
    some.points.iter().for_each(|p| design.add(direction(p)));
    (design.condition(), coverage::count(cloud.points.iter().map(direction)))
}

/// Refuses what the directions or the shape do not allow; hands back condition and cells.
///
/// Directions are also taken about the fitted sphere, where there is a sound one: an ellipsoid
/// that fits noise may stretch a narrow cap until it looks like a sphere.
pub(super) fn gate<const P: usize>(
    found: &Found<P>,
    options: &Options,
) -> Result<Seen, CalibrationError> {
    let (model, limit) = (options.model, options.model.condition_limit());
    let axis_ratio = shape::axes(&found.surface.root).ratio;
    let residual_relative = found.rms;
    let unlike = CalibrationError::NotEllipsoid { residual_relative, axis_ratio, model };
    if residual_relative.is_nan() || residual_relative > super::LARGEST_RESIDUAL {
        return Err(unlike);
    }
    let refuse = |(condition, cells): Seen| {
        let (coverage, least_seen) = (coverage::share(&cells), coverage::least_seen(&cells));
        Err(CalibrationError::PoorCoverage { coverage, condition, limit, model, least_seen })
    };
    let some = found.used.thinned(FIRST);
    if let Some(sphere) = round_surface(&some).filter(|_| model == Model::Ellipsoid) {
        let seen = directions(&some, &some, &sphere, model);
        if seen.0.is_nan() || seen.0 >= limit {
            return refuse(seen);
        }
    }
    let own = directions(&found.used, &some, &found.surface, model);
    if own.0.is_nan() || own.0 >= limit {
        return refuse(own);
    }
    let sound = shape::square_root(&found.surface.root).is_some();
    if sound && axis_ratio <= super::LONGEST_RATIO { Ok(own) } else { Err(unlike) }
}

/// The sphere through the points, for their directions.
fn round_surface(cloud: &Cloud) -> Option<Surface> {
    let guess = algebraic::sphere(cloud)?;
    let fitted = refine::<4, Sphere>(&cloud.points, &guess, Loss::Square);
    Some(fitted.map_or(guess, |fitted| fitted.surface))
}

/// Why no surface was found: too few directions or, where the readings do not lie on a sphere
/// even roughly, no surface to be found.
pub(super) fn why_none(cloud: &Cloud, model: Model) -> CalibrationError {
    let (residual_relative, axis_ratio) = (f64::NAN, f64::NAN);
    let unlike = CalibrationError::NotEllipsoid { residual_relative, axis_ratio, model };
    let some = cloud.thinned(FIRST);
    let Some(sphere) = round_surface(&some) else { return unlike };
    let squares: f64 = cloud.points.iter().map(|p| sphere.residual(*p)).map(|r| r * r).sum();
    let (condition, cells) = directions(cloud, &some, &sphere, model);
    let limit = model.condition_limit();
    if (squares / cloud.len() as f64).sqrt() > ROUGH || condition < limit {
        return unlike;
    }
    let (coverage, least_seen) = (coverage::share(&cells), coverage::least_seen(&cells));
    CalibrationError::PoorCoverage { coverage, condition, limit, model, least_seen }
}
