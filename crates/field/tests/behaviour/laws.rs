//! Laws that hold for every calibration, on made-up sensors.

use field::calibration::{Calibration, Model, Options, fit};
use field::orientation;
use proptest::prelude::*;
use record::vector::{self, Mat3, Vec3};

const FIELD: f64 = 48_000.0;

/// Evenly spread directions.
fn directions(n: u32) -> Vec<Vec3> {
    (0..n)
        .map(|k| {
            let z = (f64::from(k) + 0.5) / f64::from(n) * 2.0 - 1.0;
            let (sin, cos) = libm::sincos(f64::from(k) * 2.399_963);
            let across = (1.0 - z * z).sqrt();
            [across * cos, across * sin, z]
        })
        .collect()
}

fn readings(w: &Mat3, offset: Vec3) -> Vec<Vec3> {
    let read = |u: &Vec3| -> Vec3 {
        let b = vector::apply(w, u.map(|v| v * FIELD));
        std::array::from_fn(|k| b[k] + offset[k])
    };
    directions(120).iter().map(read).collect()
}

fn solve(points: &[Vec3], tied_to_x: bool) -> Calibration {
    let [x, y, z]: [Vec<f64>; 3] =
        std::array::from_fn(|axis| points.iter().map(|p| p[axis]).collect());
    let options = Options { field: Some((FIELD, 0.0)), tied_to_x, ..Options::default() };
    fit([&x, &y, &z], |_| true, &options).unwrap()
}

fn symmetric([a, b, c, d, e, f]: [f64; 6]) -> Mat3 {
    [[1.0 + a, d, e], [d, 1.0 + b, f], [e, f, 1.0 + c]]
}

fn near(a: &Mat3, b: &Mat3, tolerance: f64) -> bool {
    a.iter().flatten().zip(b.iter().flatten()).all(|(x, y)| (x - y).abs() < tolerance)
}

fn matrices() -> impl Strategy<Value = Mat3> {
    prop::array::uniform6(-0.15..0.15).prop_map(symmetric)
}

fn offsets() -> impl Strategy<Value = Vec3> {
    prop::array::uniform3(-60_000.0..60_000.0)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn a_sensor_without_noise_is_undone_exactly(w in matrices(), offset in offsets()) {
        let found = solve(&readings(&w, offset), false);
        for axis in 0..3 {
            prop_assert!((found.offset[axis] - offset[axis]).abs() < 1e-5);
        }
        prop_assert!(near(&found.matrix, &vector::inverse(&w).unwrap(), 1e-9));
        prop_assert!(found.residual_max.abs() < 1e-4 && found.rejected.is_empty());
        prop_assert_eq!(found.model, Model::Ellipsoid);
    }

    #[test]
    fn turning_the_sensor_turns_its_calibration(
        w in matrices(), offset in offsets(), roll in -180.0..180.0, pitch in -80.0..80.0,
    ) {
        let turn = orientation::tilt(roll, pitch);
        let points = readings(&w, offset);
        let turned: Vec<Vec3> = points.iter().map(|p| vector::apply(&turn, *p)).collect();
        let (here, there) = (solve(&points, false), solve(&turned, false));
        let back = vector::apply(&vector::transpose(&turn), there.offset);
        for axis in 0..3 {
            prop_assert!((back[axis] - here.offset[axis]).abs() < 1e-4);
        }
        let want = vector::multiply(&vector::multiply(&turn, &here.matrix), &vector::transpose(&turn));
        prop_assert!(near(&there.matrix, &want, 1e-8));
    }

    #[test]
    fn the_form_tied_to_x_differs_by_a_rotation_alone(w in matrices(), offset in offsets()) {
        let points = readings(&w, offset);
        let (free, tied) = (solve(&points, false), solve(&points, true));
        prop_assert!(tied.tied_to_x && tied.matrix[0][1] == 0.0);
        prop_assert!(tied.matrix[0][2] == 0.0 && tied.matrix[1][2] == 0.0);
        prop_assert_eq!(tied.offset, free.offset);
        for p in points.iter().step_by(17) {
            let (a, b) = (vector::norm(free.apply(*p)), vector::norm(tied.apply(*p)));
            prop_assert!((a - b).abs() < 1e-6);
        }
        for (a, b) in tied.non_orthogonality_deg.iter().zip(free.non_orthogonality_deg) {
            prop_assert!((a - b).abs() < 1e-9);
        }
    }

    #[test]
    fn the_raw_unit_and_the_order_of_readings_do_not_matter(
        w in matrices(), offset in offsets(), scale in 0.001f64..1000.0,
    ) {
        let points = readings(&w, offset);
        let mut scaled: Vec<Vec3> = points.iter().map(|p| p.map(|v| v * scale)).collect();
        scaled.reverse();
        let (here, there) = (solve(&points, false), solve(&scaled, false));
        for axis in 0..3 {
            prop_assert!((there.offset[axis] / scale - here.offset[axis]).abs() < 1e-4);
        }
        prop_assert!((there.radius_raw / scale / here.radius_raw - 1.0).abs() < 1e-9);
        prop_assert!((there.condition - here.condition).abs() < 1e-6 * here.condition);
    }
}
