//! From a fitted surface of scaled points to a calibration in raw and field units.

use super::cloud::Cloud;
use super::gate::Seen;
use super::geometric::{Family, Surface};
use super::solve::Found;
use super::{Calibration, Options, alike, coverage, shape, validate};
use crate::elements::DEGREES;
use nalgebra::SMatrix;
use record::vector::{self, Mat3, Vec3};

/// The whole calibration from a sound surface and the directions it gives the readings; `None`
/// when its numbers are not fixed by the readings after all.
pub(super) fn tell<const P: usize, F: Family<P>>(
    found: &Found<P>,
    length: usize,
    options: &Options,
    (condition, directions): Seen,
) -> Option<Calibration> {
    let surface = found.surface;
    let unit = Unit::of(&found.used, &surface, options);
    let mut residuals = vec![f64::NAN; length];
    for (r, sample) in found.residuals.iter().zip(&found.used.samples) {
        residuals[*sample] = r * unit.radius;
    }
    let inverse = found.gram.matrix().try_inverse()?;
    let mut own = inverse * found.variance;
    let factors =
        alike::inflation::<P, F>(&found.used.points, &surface, found.loss, &inverse, found.psi);
    for (a, b) in (0..P).flat_map(|a| (0..P).map(move |b| (a, b))) {
        own[(a, b)] *= (factors[a] * factors[b]).sqrt();
    }
    let serial_inflation = factors.iter().sum::<f64>() / P as f64;
    let parameters = F::spread(&surface, &own);
    let calibrated = unit.calibration(&surface, &parameters, options);
    let relative = found.rms;
    let wider = |most: f64, r: &f64| if r.abs() > most.abs() { *r } else { most };
    let largest = found.residuals.iter().fold(0.0, wider);
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
