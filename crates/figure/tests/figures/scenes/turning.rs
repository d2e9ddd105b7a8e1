//! A turning log and its calibration.

use super::noise::Noise;
use super::words;
use figure::{Frame, Plan, View, plan};
use record::Unit;
use record::vector::{apply, inverse};

/// A sensor turned through most directions, and the truth as its fit.
pub fn turning(frame: Frame) -> Plan {
    let mut noise = Noise::new(21);
    let matrix = [[1.04, 0.03, -0.02], [0.03, 0.93, 0.04], [-0.02, 0.04, 1.02]];
    let back = inverse(&matrix).unwrap();
    let offset = [18_200.0, -9_400.0, 6_100.0];
    let radius = 49_300.0;
    let mut raw: [Vec<f64>; 3] = [vec![], vec![], vec![]];
    for k in 0..900 {
        let turn = f64::from(k) * 0.073;
        let tilt = 1.45 * (f64::from(k) * 0.0061).sin();
        let to = [tilt.cos() * turn.cos(), tilt.cos() * turn.sin(), tilt.sin()];
        let at = apply(&back, to.map(|c| c * radius + 160.0 * noise.normal()));
        (0..3).for_each(|c| raw[c].push(at[c] + offset[c]));
    }
    raw[0][400] += 21_000.0;
    let data = plan::calibration::CalibrationData {
        raw: [&raw[0], &raw[1], &raw[2]],
        raw_unit: Unit::Nanotesla,
        unit: Unit::Nanotesla,
        offset,
        matrix,
        radius,
        rejected: &[400],
    };
    let words = words("calibration", "The turning before and after calibration.");
    plan::calibration::calibration(&data, frame, View::ALL, &words)
}

/// Mean residuals in the directions of a turning that missed some.
pub fn residual_map(frame: Frame) -> Plan {
    let mut noise = Noise::new(23);
    let (mut cells, mut left) = (Vec::new(), Vec::new());
    for (lo, hi, n) in [(0.5, 1.0, 8), (0.0, 0.5, 8), (-0.5, 0.0, 8), (-1.0, -0.5, 8)] {
        for k in 0..n {
            let width = 360.0 / f64::from(n);
            let azimuth_deg = [width * f64::from(k), width * f64::from(k + 1)];
            cells.push(plan::sphere_map::SphereCell { z: [lo, hi], azimuth_deg, count: 9 });
            left.push(if k == 3 && lo < -0.7 { f64::NAN } else { 42.0 * noise.normal() });
        }
    }
    let words = words("residual-map", "Mean residual in each direction.");
    plan::sphere_map::residual_map(&cells, (&left, Unit::Nanotesla), frame, &words)
}

/// Lengths before and after a calibration.
pub fn lengths(frame: Frame) -> Plan {
    let edges: Vec<f64> = (0..=40).map(|k| 30_000.0 + 1_000.0 * f64::from(k)).collect();
    let before: Vec<u64> = (0..40).map(|k: u64| 30 + 7 * (k * 13 % 11)).collect();
    let mut after = vec![0; 40];
    (after[19], after[20]) = (900, 1_300);
    let bins = plan::histogram::Bins {
        quantity: "|B|",
        unit: Unit::Nanotesla,
        edges: &edges,
        counts: &after,
        behind: &before,
        normal: None,
    };
    plan::histogram::histogram(&bins, frame, View::ALL, &words("lengths", "Lengths."))
}

/// The field at a station in the north, in plan and in section.
pub fn field_vector(frame: Frame) -> Plan {
    let field = plan::vector::FieldVector {
        up: "N",
        level_deg: (-14.0, 3.5),
        forward_deg: Some(40.0),
        inclination_deg: (70.4, 1.1),
        plan_words: "D = −14.0 ± 3.5°\nH = 16,880 ± 420 nT",
        section_words: "I = 70.4 ± 1.1°\nF = 50,797 ± 140 nT",
    };
    plan::vector::vector(&field, frame, View::ALL, &words("field-vector", "The field vector."))
}
