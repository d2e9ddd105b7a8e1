//! The fit itself: gather, start, refine, reject, gate, and tell.

use super::cloud::Cloud;
use super::coverage::{self, Design};
use super::geometric::{Ellipsoid, Family, Loss, Sphere, Surface, plain_gram, refine};
use super::{Calibration, CalibrationError, Model, Options, algebraic, robust, shape, validate};
use crate::elements::DEGREES;
use nalgebra::SMatrix;
use record::vector::{self, Mat3, Vec3};

/// Flatter than this share of its length, a cloud is a plane.
const FLAT: f64 = 0.005;
/// Residuals about a sphere beyond this share of its radius are not those of an ellipsoid.
const ROUGH: f64 = 0.35;
/// A centre further than this from the middle of the readings, in their root-mean-square
/// distance, has run away; for a cap of 30 degrees it is 2.6.
const FAR: f64 = 6.0;
/// Points for the first fit of a long log; the last fit uses all.
const FIRST: usize = 20_000;

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
/// their stated uncertainty at the rate of a normal distribution.
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
    let cloud = Cloud::gather(raw, keep);
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
    match model {
        Model::Ellipsoid => finish::<9, Ellipsoid>(&cloud, length, options),
        Model::Sphere => finish::<4, Sphere>(&cloud, length, options),
        Model::Circle => super::circle::fit(&cloud, length, options),
        Model::Given => Err(CalibrationError::NothingToFit),
    }
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
pub(super) struct Found {
    pub surface: Surface,
    pub used: Cloud,
    pub rejected: Vec<usize>,
    pub variance: f64,
}

/// Condition number and cells of the directions seen.
pub(super) type Seen = (f64, Vec<super::CellCount>);

pub(super) fn surface_of<const P: usize, F: Family<P>>(
    cloud: &Cloud,
    options: &Options,
) -> Option<Found> {
    let first = cloud.thinned(FIRST);
    let careful = options.robust || options.reject_beyond > 0.0;
    let guess = start(&first, options.model, careful)?;
    let (mut surface, loss) = if options.robust {
        robust::settle::<P, F>(&first, &guess)?
    } else {
        (refine::<P, F>(&first, &guess, Loss::Square)?, Loss::Square)
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
        surface = refine::<P, F>(&used, &surface, Loss::Square)?;
        let variance = robust::variance::<P, F>(&used, &surface, Loss::Square);
        return Some(Found { surface, used, rejected, variance });
    }
    surface = refine::<P, F>(cloud, &surface, loss)?;
    let variance = robust::variance::<P, F>(cloud, &surface, loss);
    Some(Found { surface, used: cloud.clone(), rejected: Vec::new(), variance })
}

/// Condition number and cells of the directions that a surface gives the points.
fn directions(cloud: &Cloud, surface: &Surface, model: Model) -> Seen {
    let mut design = Design::new(model);
    let mut cells = coverage::cells();
    for p in &cloud.points {
        let b = surface.bring(*p);
        let length = vector::norm(b);
        let u = b.map(|v| v / length);
        design.add(u);
        cells[coverage::cell_of(u)].count += 1;
    }
    (design.condition(), cells)
}

/// Refuses what the directions or the shape do not allow; hands back condition and cells.
///
/// Directions are also taken about the fitted sphere, where there is a sound one: an ellipsoid
/// that fits noise may stretch a narrow cap until it looks like a sphere.
fn gate(found: &Found, options: &Options) -> Result<Seen, CalibrationError> {
    let (model, limit) = (options.model, options.model.condition_limit());
    let axis_ratio = shape::axes(&found.surface.root).ratio;
    let squares: f64 =
        found.used.points.iter().map(|p| found.surface.residual(*p)).map(|r| r * r).sum();
    let residual_relative = (squares / found.used.len() as f64).sqrt();
    let unlike = CalibrationError::NotEllipsoid { residual_relative, axis_ratio, model };
    if residual_relative.is_nan() || residual_relative > super::LARGEST_RESIDUAL {
        return Err(unlike);
    }
    let refuse = |(condition, cells): Seen| {
        let (coverage, least_seen) = (coverage::share(&cells), coverage::least_seen(&cells));
        Err(CalibrationError::PoorCoverage { coverage, condition, limit, model, least_seen })
    };
    if let Some(sphere) = round_surface(&found.used).filter(|_| model == Model::Ellipsoid) {
        let seen = directions(&found.used, &sphere, model);
        if seen.0.is_nan() || seen.0 >= limit {
            return refuse(seen);
        }
    }
    let own = directions(&found.used, &found.surface, model);
    if own.0.is_nan() || own.0 >= limit {
        return refuse(own);
    }
    let sound = shape::square_root(&found.surface.root).is_some();
    if sound && axis_ratio <= super::LONGEST_RATIO { Ok(own) } else { Err(unlike) }
}

/// The sphere through the points, for their directions.
fn round_surface(cloud: &Cloud) -> Option<Surface> {
    let first = cloud.thinned(FIRST);
    let guess = algebraic::sphere(&first)?;
    Some(refine::<4, Sphere>(&first, &guess, Loss::Square).unwrap_or(guess))
}

/// Why no surface was found: too few directions or, where the readings do not lie on a sphere
/// even roughly, no surface to be found.
fn why_none(cloud: &Cloud, model: Model) -> CalibrationError {
    let (residual_relative, axis_ratio) = (f64::NAN, f64::NAN);
    let unlike = CalibrationError::NotEllipsoid { residual_relative, axis_ratio, model };
    let Some(sphere) = round_surface(cloud) else { return unlike };
    let squares: f64 = cloud.points.iter().map(|p| sphere.residual(*p)).map(|r| r * r).sum();
    let (condition, cells) = directions(cloud, &sphere, model);
    let limit = model.condition_limit();
    if (squares / cloud.len() as f64).sqrt() > ROUGH || condition < limit {
        return unlike;
    }
    let (coverage, least_seen) = (coverage::share(&cells), coverage::least_seen(&cells));
    CalibrationError::PoorCoverage { coverage, condition, limit, model, least_seen }
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

/// The whole calibration from a sound surface and the directions it gives the readings; `None`
/// when its numbers are not fixed by the readings after all.
pub(super) fn tell<const P: usize, F: Family<P>>(
    found: &Found,
    length: usize,
    options: &Options,
    (condition, directions): Seen,
) -> Option<Calibration> {
    let surface = found.surface;
    let unit = Unit::of(&found.used, &surface, options);
    let mut residuals = vec![f64::NAN; length];
    let in_order = found.used.points.iter().map(|p| surface.residual(*p));
    for (r, sample) in in_order.clone().zip(&found.used.samples) {
        residuals[*sample] = r * unit.radius;
    }
    let serial_inflation = crate::serial::mean(in_order.clone()).inflation();
    let inverse = plain_gram::<P, F>(&found.used, &surface).matrix().try_inverse();
    let parameters = F::spread(&surface, &(inverse? * (found.variance * serial_inflation)));
    let calibrated = unit.calibration(&surface, &parameters, options);
    let squares: f64 = in_order.clone().map(|r| r * r).sum();
    let relative = (squares / found.used.len() as f64).sqrt();
    let largest = in_order.fold(0.0, |most: f64, r| if r.abs() > most.abs() { r } else { most });
    let mut out = Calibration {
        model: options.model,
        residual_rms: relative * unit.radius,
        residual_relative: relative,
        residual_max: largest * unit.radius,
        coverage: coverage::share(&directions),
        directions,
        condition,
        used: found.used.len(),
        rejected: found.rejected.clone(),
        residuals,
        noise_sigma: found.variance.sqrt() / F::unit(&surface) * unit.radius,
        serial_inflation,
        held_out_rms: validate::held_out_rms::<P, F>(&found.used, &surface)
            .map(|rms| rms * unit.radius),
        ..calibrated
    };
    out.heading_error_deg = heading_error_deg(&out);
    Some(out)
}

/// How scaled points become raw ones and unit lengths become field.
struct Unit {
    centre: Vec3,
    scale: f64,
    radius_raw: f64,
    radius: f64,
    field_sigma: f64,
}

impl Unit {
    fn of(cloud: &Cloud, surface: &Surface, options: &Options) -> Self {
        let radius_raw = cloud.scale / libm::cbrt(vector::determinant(&surface.root));
        let (radius, sigma) = options.field.unwrap_or((radius_raw, 0.0));
        let field_sigma = sigma / radius;
        Self { centre: cloud.centre, scale: cloud.scale, radius_raw, radius, field_sigma }
    }

    /// The calibration in raw and field units; what only the residuals tell is left blank.
    fn calibration(
        &self,
        surface: &Surface,
        parameters: &SMatrix<f64, 9, 9>,
        options: &Options,
    ) -> Calibration {
        let gain = self.radius / self.scale;
        let symmetric = surface.root.map(|row| row.map(|v| v * gain));
        let mut change = SMatrix::<f64, 9, 9>::identity();
        for k in 0..9 {
            change[(k, k)] = if k < 3 { self.scale } else { gain };
        }
        let mut matrix = symmetric;
        let tied = shape::tied(&symmetric).zip(shape::tied_derivatives(&symmetric));
        let tied = tied.filter(|_| options.tied_to_x);
        if let Some((triangular, slopes)) = tied {
            matrix = triangular;
            let mut part = SMatrix::<f64, 9, 9>::identity();
            part.fixed_view_mut::<6, 6>(3, 3).copy_from(&slopes);
            change = part * change;
        }
        let covariance = change * parameters * change.transpose();
        let sigma = |k: usize| covariance[(k, k)].max(0.0).sqrt();
        let offset = vector::apply(&vector::IDENTITY, surface.offset);
        let axes = shape::axes(&matrix);
        Calibration {
            tied_to_x: tied.is_some(),
            offset: std::array::from_fn(|k| self.centre[k] + self.scale * offset[k]),
            offset_sigma: std::array::from_fn(sigma),
            matrix,
            matrix_sigma: sigma_matrix(tied.is_some(), sigma),
            radius: self.radius,
            radius_raw: self.radius_raw,
            radius_sigma: libm::hypot(self.field_sigma, relative_radius_sigma(surface, parameters)),
            covariance: (0..9).map(|a| (0..9).map(|b| covariance[(a, b)]).collect()).collect(),
            axis_ratio: axes.ratio,
            non_orthogonality_deg: axes.non_orthogonality_deg,
            ..Calibration::given([0.0; 3], vector::IDENTITY)
        }
    }
}

fn sigma_matrix(triangular: bool, sigma: impl Fn(usize) -> f64) -> Mat3 {
    let mut out = [[0.0; 3]; 3];
    for (k, (a, b)) in shape::ENTRIES.into_iter().enumerate() {
        out[b][a] = sigma(3 + k);
        if !triangular {
            out[a][b] = sigma(3 + k);
        }
    }
    out
}

/// Relative uncertainty of the raw radius: a third of that of the determinant.
fn relative_radius_sigma(surface: &Surface, parameters: &SMatrix<f64, 9, 9>) -> f64 {
    let Some(inverse) = vector::inverse(&surface.root) else { return f64::NAN };
    let mut slope = SMatrix::<f64, 9, 1>::zeros();
    for (k, (a, b)) in shape::ENTRIES.into_iter().enumerate() {
        slope[3 + k] = inverse[a][b] * if a == b { 1.0 } else { 2.0 } / 3.0;
    }
    (slope.transpose() * parameters * slope)[(0, 0)].max(0.0).sqrt()
}

/// Residual and parameter uncertainty as an angle across the field: root of their squares over
/// the radius, the parameters' averaged over the directions seen.
fn heading_error_deg(c: &Calibration) -> f64 {
    let Some(back) = vector::inverse(&c.matrix) else { return f64::NAN };
    let seen = c.directions.iter().filter(|cell| cell.count > 0);
    let (mut sum, mut weight) = (0.0, 0.0);
    for cell in seen {
        let field = cell.centre.map(|v| v * c.radius);
        let raw = vector::apply(&back, field);
        let covariance = c.covariance_of(std::array::from_fn(|k| raw[k] + c.offset[k]));
        sum += (covariance[0][0] + covariance[1][1] + covariance[2][2]) / 3.0;
        weight += 1.0;
    }
    (c.residual_rms * c.residual_rms + sum / weight).sqrt() / c.radius * DEGREES
}
