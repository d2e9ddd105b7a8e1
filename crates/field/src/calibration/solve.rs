//! The fit itself: gather, start, refine, reject.

use super::cloud::Cloud;
use super::gate::{gate, why_none};
use super::geometric::{Ellipsoid, Family, Fitted, Loss, Sphere, Surface, plain_gram, refine};
use super::tell::tell;
use super::{Calibration, CalibrationError, Model, Options, algebraic, robust};
use crate::gram::Gram;
use record::vector;

/// Flatter than this share of its length, a cloud is a plane.
const FLAT: f64 = 0.005;
/// A centre further than this from the middle of the readings, in their root-mean-square
/// distance, has run away; for a cap of 30 degrees it is 2.6.
const FAR: f64 = 6.0;
/// Points for the first fit of a long log; the last fit uses all.
pub(super) const FIRST: usize = 20_000;

/// Fits a turning log.
///
/// # Arguments and units
///
/// * `raw` - three components of equal length, any one unit; what stands beyond the shortest is
///   left out
/// * `keep` - whether a sample takes part; NaN samples never do
/// * `options` - model, scale, robustness
///
/// Minimises Σ(|S(m − V)| − F)² over the readings kept, after an algebraic start.  A robust fit
/// first weighs wild readings down (Huber, then Tukey, scaled by the median absolute deviation);
/// those beyond `reject_beyond` scales are then left out and plain least squares repeated.
/// Uncertainties are s²(JᵀJ)⁻¹ with s² = RSS/(n − p), times the number of readings that one
/// independent reading takes.
///
/// # Errors
///
/// [`CalibrationError`] says what the readings cannot support: an ellipsoid is given only with a
/// condition number below 50, a sphere below 100.
///
/// # Accuracy
///
/// The minimum is found to 1e-9 of the radius or better; offsets of simulated logs lie within
/// their stated uncertainty at the rate of a normal distribution.  Noise that drifts in one
/// component while the directions jump about from reading to reading is seen only in part: for a
/// correlation of 0.7 between neighbours the uncertainties come out a sixth too small.
///
/// # Source
///
/// Merayo et al. 2000, doi 10.1088/0957-0233/11/2/304 (scalar calibration); Holland and Welsch
/// 1977 (weights); JCGM 100:2008 (GUM) for uncertainties.
///
/// ```
/// use field::calibration::{Options, fit};
/// let turn = |k: u32| {
///     let (a, b) = (f64::from(k) * 2.4, f64::from(k) / 200.0 * 2.0 - 1.0);
///     let across = (1.0 - b * b).sqrt();
///     [across * a.cos(), across * a.sin(), b]
/// };
/// let points: Vec<[f64; 3]> = (0..=200).map(turn).collect();
/// let axis = |k: usize, gain: f64, offset: f64| -> Vec<f64> {
///     points.iter().map(|p| gain * p[k] + offset).collect()
/// };
/// let (x, y, z) = (axis(0, 480.0, 12.0), axis(1, 500.0, -30.0), axis(2, 510.0, 7.0));
/// let options = Options { field: Some((48_000.0, 140.0)), ..Options::default() };
/// let found = fit([&x, &y, &z], |_| true, &options)?;
/// assert!((found.offset[1] + 30.0).abs() < 1e-6);
/// assert!((found.matrix[0][0] - 100.0).abs() < 1e-6);
/// # Ok::<(), field::calibration::CalibrationError>(())
/// ```
pub fn fit(
    raw: [&[f64]; 3],
    keep: impl Fn(usize) -> bool,
    options: &Options,
) -> Result<Calibration, CalibrationError> {
    let model = options.model;
    let (field_nt, sigma_nt) = options.field.unwrap_or((1.0, 0.0));
    if !(field_nt > 0.0 && field_nt.is_finite() && sigma_nt >= 0.0 && sigma_nt.is_finite()) {
        return Err(CalibrationError::NoScale { field_nt, sigma_nt });
    }
    let length = raw.iter().map(|list| list.len()).min().unwrap_or(0);
    let careful = options.robust || options.reject_beyond > 0.0;
    let far = if careful { far_readings(raw, &keep, length) } else { Vec::new() };
    let cloud = Cloud::gather(raw, |k| keep(k) && far.binary_search(&k).is_err());
    if cloud.len() < model.fewest() {
        let (usable, needed) = (cloud.len(), model.fewest());
        return Err(CalibrationError::TooFew { usable, needed, model });
    }
    let (flat, long, across) = cloud.spread();
    let flat_is_fine = model == Model::Circle && long > 0.0 && long.is_finite();
    if !flat_is_fine && (flat.is_nan() || flat <= FLAT * long) {
        let ratio = if long > 0.0 { flat / long } else { 0.0 };
        return Err(CalibrationError::Flat { across, ratio, model });
    }
    let mut found = match model {
        Model::Ellipsoid => finish::<9, Ellipsoid>(&cloud, length, options),
        Model::Sphere => finish::<4, Sphere>(&cloud, length, options),
        Model::Circle => super::circle::fit(&cloud, length, options),
        Model::Given => Err(CalibrationError::NothingToFit),
    }?;
    found.rejected.extend(far);
    found.rejected.sort_unstable();
    Ok(found)
}

/// Readings that no sensor in the Earth's field gave, such as a torn number: more than twenty
/// times further from the median of each axis than half of the readings are.  In order.
fn far_readings(raw: [&[f64]; 3], keep: impl Fn(usize) -> bool, length: usize) -> Vec<usize> {
    let finite = |k: &usize| raw.iter().all(|list| list[*k].is_finite());
    let used: Vec<usize> = (0..length).filter(|k| keep(*k)).filter(finite).collect();
    let some = || used.iter().copied().step_by(used.len().div_ceil(FIRST).max(1));
    let middle: [f64; 3] = std::array::from_fn(|axis| median(some().map(|k| raw[axis][k])));
    let distance = |k: usize| -> f64 {
        (0..3).map(|axis| (raw[axis][k] - middle[axis]).abs()).fold(0.0, f64::max)
    };
    let usual = median(some().map(distance));
    // Readings that hardly differ have no scale to be far by.
    if usual.is_nan() || usual <= 0.0 {
        return Vec::new();
    }
    used.into_iter().filter(|k| distance(*k) > 20.0 * usual).collect()
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut list: Vec<f64> = values.collect();
    let middle = list.len() / 2;
    if list.is_empty() {
        return f64::NAN;
    }
    record::sort::nth(&mut list, middle)
}

/// The fit asked for or, where the directions or the shape do not allow it, the next simpler one,
/// with the reason for each step down.
///
/// # Errors
///
/// The error of the last fit tried.
pub fn fit_or_fall_back(
    raw: [&[f64]; 3],
    keep: impl Fn(usize) -> bool,
    options: &Options,
) -> Result<(Calibration, Vec<CalibrationError>), CalibrationError> {
    let simpler: &[Model] = match options.model {
        Model::Ellipsoid => &[Model::Ellipsoid, Model::Sphere],
        Model::Sphere => &[Model::Sphere],
        _ => &[],
    };
    let mut reasons = Vec::new();
    for model in simpler {
        match fit(raw, &keep, &Options { model: *model, ..*options }) {
            Ok(found) => return Ok((found, reasons)),
            Err(error) => reasons.push(error),
        }
    }
    Err(reasons.pop().unwrap_or(CalibrationError::NothingToFit))
}

/// A start for a family: algebraic, with points far off left out and the fit repeated.
fn start(cloud: &Cloud, model: Model, trim: bool) -> Option<Surface> {
    let guess = |cloud: &Cloud| match model {
        Model::Ellipsoid => algebraic::ellipsoid(cloud).or_else(|| algebraic::sphere(cloud)),
        Model::Circle => algebraic::circle(cloud),
        _ => algebraic::sphere(cloud),
    };
    let mut surface = guess(cloud)?;
    for _ in 0..if trim { 5 } else { 0 } {
        let limit = 6.0 * robust::spread_on(cloud, &surface).max(1e-9);
        let near = cloud.only(|k| surface.residual(cloud.points[k]).abs() <= limit);
        if near.len() == cloud.len() || near.len() < model.fewest() {
            break;
        }
        let Some(next) = guess(&near) else { break };
        surface = next;
    }
    Some(surface)
}

/// The surface of a family, the readings it rests on, and the variance of one about it.
pub(super) struct Found<const P: usize> {
    pub surface: Surface,
    pub used: Cloud,
    pub rejected: Vec<usize>,
    /// Variance of one reading, in the unit of the family's residual.
    pub variance: f64,
    /// Normal equations of plain least squares at the surface.
    pub gram: Gram<P>,
    /// Root-mean-square of the residuals, of length one.
    pub rms: f64,
}

impl<const P: usize> Found<P> {
    fn of<F: Family<P>>(fitted: Fitted<P>, used: Cloud, rejected: Vec<usize>, loss: Loss) -> Self {
        let surface = fitted.surface;
        let variance = robust::variance::<P, F>(&used, &surface, loss);
        let squares: f64 = used.points.iter().map(|p| surface.residual(*p)).map(|r| r * r).sum();
        let rms = (squares / used.len() as f64).sqrt();
        let gram = match loss {
            Loss::Square => fitted.gram,
            _ => plain_gram::<P, F>(&used, &surface),
        };
        Self { surface, used, rejected, variance, gram, rms }
    }
}

pub(super) fn surface_of<const P: usize, F: Family<P>>(
    cloud: &Cloud,
    options: &Options,
) -> Option<Found<P>> {
    let first = cloud.thinned(FIRST);
    let careful = options.robust || options.reject_beyond > 0.0;
    let guess = start(&first, options.model, careful)?;
    let (surface, loss) = if options.robust {
        robust::settle::<P, F>(&first, &guess)?
    } else {
        (refine::<P, F>(&first, &guess, Loss::Square)?.surface, Loss::Square)
    };
    if vector::norm(surface.offset) > FAR {
        return None;
    }
    if options.reject_beyond > 0.0 {
        let limit = options.reject_beyond * robust::spread_on(cloud, &surface).max(1e-9);
        let near = |k: usize| surface.residual(cloud.points[k]).abs() <= limit;
        let used = cloud.only(near);
        let far = (0..cloud.len()).filter(|k| !near(*k)).map(|k| cloud.samples[k]);
        let rejected = far.collect();
        if used.len() < options.model.fewest() {
            return None;
        }
        let fitted = refine::<P, F>(&used, &surface, Loss::Square)?;
        return Some(Found::of::<F>(fitted, used, rejected, Loss::Square));
    }
    let fitted = refine::<P, F>(cloud, &surface, loss)?;
    Some(Found::of::<F>(fitted, cloud.clone(), Vec::new(), loss))
}

fn finish<const P: usize, F: Family<P>>(
    cloud: &Cloud,
    length: usize,
    options: &Options,
) -> Result<Calibration, CalibrationError> {
    let model = options.model;
    let found = surface_of::<P, F>(cloud, options).ok_or_else(|| why_none(cloud, model))?;
    let seen = gate(&found, options)?;
    tell::<P, F>(&found, length, options, seen).ok_or_else(|| why_none(cloud, model))
}
