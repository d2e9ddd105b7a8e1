//! A turn in one plane, as on a turntable: the offset in that plane and one scale or, of an
//! ellipse, the two scales and the skew that soft iron makes there.
//!
//! Serves headings at that tilt only: what soft iron makes of the steady field across the plane is
//! part of the offset that is found.  Nothing is learnt across the plane: the offset there is
//! left at nought and its uncertainty is not a number, and its scale is the mean of those within.

use super::cloud::Cloud;
use super::coverage;
use super::gate::Seen;
use super::geometric::{Circle, Family, Surface};
use super::solve;
use super::tell::tell;
use super::{Calibration, CalibrationError, Model, Options, shape};
use crate::gram::condition;
use nalgebra::SMatrix;
use record::vector::{self, Mat3, Vec3};

/// Spread across the plane over the spread along it, beyond which the log is no turn in a plane.
const THICK: f64 = 0.25;
/// A turn about an axis this near to a sensor axis, degrees, is taken as one about that axis: its
/// own tilt cannot be told from noise, and would shift the offset by tilt times the steady field.
const NEAR_AXIS_DEG: f64 = 3.0;
/// Sectors of the turn that are counted for coverage.
const SECTORS: usize = 24;

/// A circle or, with `P` 5, an ellipse.
pub(super) fn fit<const P: usize, F: Family<P>>(
    cloud: &Cloud,
    length: usize,
    options: &Options,
) -> Result<Calibration, CalibrationError> {
    let model = options.model;
    let (flat, long, across) = cloud.spread();
    if flat > THICK * long {
        return Err(CalibrationError::NotPlanar { ratio: flat / long });
    }
    let frame = frame(across);
    let mut turned = cloud.clone();
    for p in &mut turned.points {
        *p = vector::apply(&frame, *p);
        p[2] = 0.0;
    }
    let poor = |condition: f64, coverage: f64| CalibrationError::PoorCoverage {
        coverage,
        condition,
        limit: model.condition_limit(),
        model,
        least_seen: "",
    };
    let Some(found) = solve::surface_of::<P, F>(&turned, options) else {
        // What of the turn a circle shows tells why.
        let circle = Options { model: Model::Circle, ..*options };
        let round = solve::surface_of::<3, Circle>(&turned, &circle);
        let share = round.map_or(0.0, |found| sectors(&found.used, &found.surface, model).1);
        return Err(poor(f64::INFINITY, share));
    };
    let (condition, share) = sectors(&found.used, &found.surface, model);
    if condition.is_nan() || condition >= model.condition_limit() {
        return Err(poor(condition, share));
    }
    let axis_ratio = shape::axes(&found.surface.root).ratio;
    let sound = shape::square_root(&found.surface.root).is_some();
    if found.rms > super::LARGEST_RESIDUAL || !sound || axis_ratio > super::LONGEST_RATIO {
        let residual_relative = found.rms;
        return Err(CalibrationError::NotEllipsoid { residual_relative, axis_ratio, model });
    }
    let seen: Seen = (condition, cells(&found.used, &found.surface, &frame));
    let mut out = tell::<P, F>(&found, length, options, seen).ok_or(poor(f64::INFINITY, share))?;
    out.coverage = share;
    turn_back(&mut out, &found.used, found.surface.offset, &frame);
    Ok(out)
}

/// Rows: two axes along the plane, the first as near the sensor's x as can be, and the one across.
fn frame(across: Vec3) -> Mat3 {
    let steepest = (0..3).max_by(|a, b| across[*a].abs().total_cmp(&across[*b].abs()));
    let sign = if steepest.is_some_and(|k| across[k] < 0.0) { -1.0 } else { 1.0 };
    let mut n = across.map(|v| sign * v);
    if let Some(axis) = steepest.filter(|k| n[*k] > libm::cos(NEAR_AXIS_DEG.to_radians())) {
        n = [0.0; 3];
        n[axis] = 1.0;
    }
    let first = if n[0].abs() < 0.9 { [1.0, 0.0, 0.0] } else { [0.0, 1.0, 0.0] };
    let along = vector::dot(first, n);
    let e = vector::sub(first, n.map(|v| v * along));
    let size = vector::norm(e);
    let e = e.map(|v| v / size);
    [e, vector::cross(n, e), n]
}

/// Condition number of the design in unit directions, and share of the sectors with a reading.
fn sectors(cloud: &Cloud, surface: &Surface, model: Model) -> (f64, f64) {
    let mut seen = [false; SECTORS];
    let mut sums = [[0.0; 5]; 5];
    for p in &cloud.points {
        let b = surface.bring(*p);
        let length = libm::hypot(b[0], b[1]);
        let (x, y) = (b[0] / length, b[1] / length);
        let row = match model {
            Model::Ellipse => [x, y, x * x, y * y, 2.0 * x * y],
            _ => [x, y, 1.0, 0.0, 0.0],
        };
        for (line, a) in sums.iter_mut().zip(row) {
            line.iter_mut().zip(row).for_each(|(sum, b)| *sum += a * b);
        }
        let turn = (libm::atan2(b[1], b[0]) / std::f64::consts::TAU + 1.0) % 1.0;
        seen[((turn * SECTORS as f64) as usize).min(SECTORS - 1)] = true;
    }
    let share = seen.iter().filter(|s| **s).count() as f64 / SECTORS as f64;
    let ill = match model {
        Model::Ellipse => condition(&SMatrix::<f64, 5, 5>::from_fn(|i, j| sums[i][j])),
        _ => condition(&SMatrix::<f64, 3, 3>::from_fn(|i, j| sums[i][j])),
    };
    (ill, share)
}

fn cells(cloud: &Cloud, surface: &Surface, frame: &Mat3) -> Vec<super::CellCount> {
    let back = vector::transpose(frame);
    let direction = |p: &Vec3| {
        let b = vector::apply(&back, surface.bring(*p));
        vector::scale(b, 1.0 / vector::norm(b))
    };
    coverage::count(cloud.points.iter().map(direction))
}

/// Offset, matrix and covariance from the plane's axes to the sensor's.
fn turn_back(out: &mut Calibration, cloud: &Cloud, offset: Vec3, frame: &Mat3) {
    let back = vector::transpose(frame);
    let across = frame[2];
    let inside = vector::apply(&back, offset);
    let whole: Vec3 = std::array::from_fn(|k| cloud.centre[k] + cloud.scale * inside[k]);
    let along = vector::dot(whole, across);
    out.offset = std::array::from_fn(|k| whole[k] - along * across[k]);
    let turned = |m: &Mat3| vector::multiply(&back, &vector::multiply(m, frame));
    out.matrix = turned(&out.matrix);
    let mut turn = SMatrix::<f64, 9, 9>::zeros();
    for a in 0..3 {
        for b in 0..3 {
            turn[(a, b)] = back[a][b];
        }
    }
    for k in 0..6 {
        let mut one = [0.0; 6];
        one[k] = 1.0;
        for (row, v) in shape::entries(&turned(&shape::symmetric(one))).into_iter().enumerate() {
            turn[(3 + row, 3 + k)] = v;
        }
    }
    let old = SMatrix::<f64, 9, 9>::from_fn(|a, b| out.covariance[a][b]);
    let new = turn * old * turn.transpose();
    out.covariance = (0..9).map(|a| (0..9).map(|b| new[(a, b)]).collect()).collect();
    let sigma = |k: usize| new[(k, k)].max(0.0).sqrt();
    out.matrix_sigma = shape::symmetric(std::array::from_fn(|k| sigma(3 + k)));
    out.offset_sigma = std::array::from_fn(|k| {
        let known = across[k] * across[k] < 0.5;
        if known { sigma(k) } else { f64::NAN }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::fit as any_fit;
    use crate::testing::Random;

    fn level_turn(arc_deg: f64, noise: f64, seed: u64) -> [Vec<f64>; 3] {
        let mut random = Random::new(seed);
        let mut out = [vec![], vec![], vec![]];
        for k in 0..200 {
            let (sin, cos) = libm::sincos((arc_deg * f64::from(k) / 200.0).to_radians());
            let b = [18_000.0 * cos + 900.0, -18_000.0 * sin - 2_500.0, 40_000.0];
            for (list, v) in out.iter_mut().zip(b) {
                list.push(v + noise * random.normal());
            }
        }
        out
    }

    fn options(field: Option<(f64, f64)>) -> Options {
        Options { model: Model::Circle, field, ..Options::default() }
    }

    #[test]
    fn a_full_turn_gives_the_offset_in_its_plane_and_none_across() {
        let (mut inside, mut total) = (0u32, 0u32);
        for seed in 0..100 {
            let [x, y, z] = level_turn(360.0, 100.0, seed);
            let found = any_fit([&x, &y, &z], |_| true, &options(Some((18_000.0, 130.0)))).unwrap();
            assert!(found.offset_sigma[2].is_nan());
            assert!((found.matrix[0][0] - 1.0).abs() < 0.01 && found.coverage == 1.0);
            for (axis, truth) in [(0, 900.0), (1, -2_500.0)] {
                total += 1;
                inside += u32::from((found.offset[axis] - truth).abs() < found.offset_sigma[axis]);
            }
        }
        let share = f64::from(inside) / f64::from(total);
        assert!((0.58..0.82).contains(&share), "{share}");
    }

    #[test]
    fn an_eighth_of_a_turn_is_refused() {
        let [x, y, z] = level_turn(45.0, 100.0, 1);
        let error = any_fit([&x, &y, &z], |_| true, &options(None)).unwrap_err();
        assert!(matches!(error, CalibrationError::PoorCoverage { .. }), "{error:?}");
        let [x, y, z] = level_turn(120.0, 100.0, 1);
        assert!(any_fit([&x, &y, &z], |_| true, &options(None)).is_ok());
    }

    #[test]
    fn a_turn_through_all_directions_is_no_circle() {
        let mut random = Random::new(4);
        let points: Vec<Vec3> = (0..200).map(|_| random.direction(180.0)).collect();
        let [x, y, z]: [Vec<f64>; 3] =
            std::array::from_fn(|axis| points.iter().map(|p| p[axis]).collect());
        let error = any_fit([&x, &y, &z], |_| true, &options(None)).unwrap_err();
        assert!(matches!(error, CalibrationError::NotPlanar { .. }));
        let fault = record::Fault::from(error);
        assert_eq!(fault.code, "calibrate/not-planar");
    }

    #[test]
    fn a_tilted_turntable_gives_the_same_circle() {
        let [x, y, z] = level_turn(360.0, 0.0, 1);
        let tilt = crate::orientation::tilt(20.0, 10.0);
        let turned: Vec<Vec3> =
            (0..200).map(|k| vector::apply(&tilt, [x[k], y[k], z[k]])).collect();
        let [x, y, z]: [Vec<f64>; 3] =
            std::array::from_fn(|axis| turned.iter().map(|p| p[axis]).collect());
        let found = any_fit([&x, &y, &z], |_| true, &options(None)).unwrap();
        assert!((found.radius_raw - 18_000.0).abs() < 1e-6);
        let want = vector::apply(&tilt, [900.0, -2_500.0, 0.0]);
        for (got, want) in found.offset.iter().zip(want) {
            assert!((got - want).abs() < 1e-6);
        }
    }

    /// A level turn through soft iron: gains 1.06 and 0.95 in the plane, a skew of 0.03.
    fn soft_turn(arc_deg: f64, noise: f64, seed: u64) -> [Vec<f64>; 3] {
        let [x, y, mut z] = level_turn(arc_deg, 0.0, seed);
        let mut random = Random::new(seed);
        let (mut u, mut v) = (vec![], vec![]);
        for ((x, y), z) in x.iter().zip(&y).zip(&mut z) {
            let (e, n) = (x - 900.0, y + 2_500.0);
            u.push(1.06 * e + 0.03 * n + 900.0 + noise * random.normal());
            v.push(0.03 * e + 0.95 * n - 2_500.0 + noise * random.normal());
            *z += noise * random.normal();
        }
        [u, v, z]
    }

    fn ellipse() -> Options {
        Options { model: Model::Ellipse, ..options(Some((18_000.0, 0.0))) }
    }

    #[test]
    fn an_ellipse_gives_the_offset_and_the_soft_iron_of_its_plane_at_the_stated_rate() {
        let truth = vector::inverse(&[[1.06, 0.03, 0.0], [0.03, 0.95, 0.0], [0.0, 0.0, 1.0]]);
        let truth = truth.unwrap();
        let (mut inside, mut total) = (0u32, 0u32);
        for seed in 0..200 {
            let [x, y, z] = soft_turn(360.0, 100.0, seed);
            let found = any_fit([&x, &y, &z], |_| true, &ellipse()).unwrap();
            assert!(found.offset_sigma[2].is_nan() && found.coverage == 1.0);
            let mut score = |error: f64, sigma: f64| {
                total += 1;
                inside += u32::from(error.abs() < 1.96 * sigma);
            };
            score(found.offset[0] - 900.0, found.offset_sigma[0]);
            score(found.offset[1] + 2_500.0, found.offset_sigma[1]);
            for (a, b) in [(0, 0), (0, 1), (1, 1)] {
                score(found.matrix[a][b] - truth[a][b], found.matrix_sigma[a][b]);
            }
            // Nothing is known across: the mean scale of the plane, and no skew.
            let mean = (truth[0][0] * truth[1][1] - truth[0][1] * truth[0][1]).sqrt();
            assert!((found.matrix[2][2] - mean).abs() < 0.01 && found.matrix[0][2] == 0.0);
        }
        // 1000 scores: a binomial error of 0.7 %.
        let share = f64::from(inside) / f64::from(total);
        assert!((0.93..=0.97).contains(&share), "{share}");
    }

    #[test]
    fn an_ellipse_needs_more_than_half_a_turn_and_is_told_so() {
        let [x, y, z] = soft_turn(170.0, 100.0, 1);
        let error = any_fit([&x, &y, &z], |_| true, &ellipse()).unwrap_err();
        let fault = record::Fault::from(error);
        assert_eq!(fault.code, "calibrate/coverage");
        assert!(fault.message.contains("ellipse") && fault.remedy.contains("fit a circle"));
        let [x, y, z] = soft_turn(240.0, 100.0, 1);
        assert!(any_fit([&x, &y, &z], |_| true, &ellipse()).is_ok());
    }

    #[test]
    fn a_tilted_turntable_gives_the_same_ellipse_turned() {
        let [x, y, z] = soft_turn(360.0, 0.0, 1);
        let tilt = crate::orientation::tilt(20.0, 10.0);
        let turned: Vec<Vec3> =
            (0..200).map(|k| vector::apply(&tilt, [x[k], y[k], z[k]])).collect();
        let [u, v, w]: [Vec<f64>; 3] =
            std::array::from_fn(|axis| turned.iter().map(|p| p[axis]).collect());
        let level = any_fit([&x, &y, &z], |_| true, &ellipse()).unwrap();
        let tilted = any_fit([&u, &v, &w], |_| true, &ellipse()).unwrap();
        let back = vector::transpose(&tilt);
        let want = vector::multiply(&tilt, &vector::multiply(&level.matrix, &back));
        for (got, want) in tilted.matrix.iter().flatten().zip(want.iter().flatten()) {
            assert!((got - want).abs() < 1e-9, "{got} {want}");
        }
        assert!(tilted.residuals.iter().all(|r| r.abs() < 1e-6));
    }
}
