//! A turn in one plane, as on a turntable: the offset in that plane and one scale.
//!
//! Serves headings at that tilt only.  Nothing is learnt across the plane: the offset there is
//! left at nought and its uncertainty is not a number.

use super::cloud::Cloud;
use super::coverage;
use super::gate::Seen;
use super::geometric::{Circle, Surface};
use super::solve::{self, Found};
use super::tell::tell;
use super::{Calibration, CalibrationError, Model, Options};
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

pub(super) fn fit(
    cloud: &Cloud,
    length: usize,
    options: &Options,
) -> Result<Calibration, CalibrationError> {
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
        limit: Model::Circle.condition_limit(),
        model: Model::Circle,
        least_seen: "",
    };
    let found = solve::surface_of::<3, Circle>(&turned, options).ok_or(poor(f64::INFINITY, 0.0))?;
    let (condition, share) = sectors(&found.used, &found.surface);
    if condition.is_nan() || condition >= Model::Circle.condition_limit() {
        return Err(poor(condition, share));
    }
    if found.rms > super::LARGEST_RESIDUAL {
        let (residual_relative, axis_ratio) = (found.rms, f64::NAN);
        return Err(CalibrationError::NotEllipsoid {
            residual_relative,
            axis_ratio,
            model: Model::Circle,
        });
    }
    let seen: Seen = (condition, cells(&found, &frame));
    let mut out =
        tell::<3, Circle>(&found, length, options, seen).ok_or(poor(f64::INFINITY, share))?;
    out.coverage = share;
    turn_back(&mut out, &found, &frame);
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
fn sectors(cloud: &Cloud, surface: &Surface) -> (f64, f64) {
    let mut seen = [false; SECTORS];
    let mut sums = SMatrix::<f64, 3, 3>::zeros();
    for p in &cloud.points {
        let b = surface.bring(*p);
        let length = libm::hypot(b[0], b[1]);
        let row = [b[0] / length, b[1] / length, 1.0];
        sums += SMatrix::from_fn(|i, j| row[i] * row[j]);
        let turn = (libm::atan2(b[1], b[0]) / std::f64::consts::TAU + 1.0) % 1.0;
        seen[((turn * SECTORS as f64) as usize).min(SECTORS - 1)] = true;
    }
    let share = seen.iter().filter(|s| **s).count() as f64 / SECTORS as f64;
    (condition(&sums), share)
}

fn cells(found: &Found<3>, frame: &Mat3) -> Vec<super::CellCount> {
    let back = vector::transpose(frame);
    let direction = |p: &Vec3| {
        let b = vector::apply(&back, found.surface.bring(*p));
        let length = vector::norm(b);
        b.map(|v| v / length)
    };
    coverage::count(found.used.points.iter().map(direction))
}

/// Offset and covariance from the plane's axes to the sensor's.
fn turn_back(out: &mut Calibration, found: &Found<3>, frame: &Mat3) {
    let back = vector::transpose(frame);
    let across = frame[2];
    let inside = vector::apply(&back, found.surface.offset);
    let whole: Vec3 = std::array::from_fn(|k| found.used.centre[k] + found.used.scale * inside[k]);
    let along = vector::dot(whole, across);
    out.offset = std::array::from_fn(|k| whole[k] - along * across[k]);
    let mut turn = SMatrix::<f64, 9, 9>::identity();
    for a in 0..3 {
        for b in 0..3 {
            turn[(a, b)] = back[a][b];
        }
    }
    let old = SMatrix::<f64, 9, 9>::from_fn(|a, b| out.covariance[a][b]);
    let new = turn * old * turn.transpose();
    out.covariance = (0..9).map(|a| (0..9).map(|b| new[(a, b)]).collect()).collect();
    out.offset_sigma = std::array::from_fn(|k| {
        let known = across[k] * across[k] < 0.5;
        if known { new[(k, k)].max(0.0).sqrt() } else { f64::NAN }
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
}
