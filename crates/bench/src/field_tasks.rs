//! Calibration fits, elements, headings.

use crate::figures::{at, sum_less};
use crate::{Done, Inputs, Task};
use field::calibration::{Calibration, Options, fit};
use field::{elements, heading};
use serde_json::{Map, Value, json};
use std::f64::consts::TAU;

const TUMBLE_10K: &str = "tumble-10k.csv";
const TUMBLE_1M: &str = "tumble-1M.csv";
const BODY: &str = "body";
/// Rows of the made-up vectors; the peers take as many as the long series has.
const SERIES: &str = "series-10M.f64";
/// The field that the tumbled points are brought to, microtesla.
const FIELD: f64 = 49.2;

/// The tasks of this file.
pub static TASKS: &[Task] = &[
    Task {
        name: "ellipsoid_norm_10k",
        files: &[TUMBLE_10K],
        ready: |_| {},
        run: |i| ellipsoid(i, TUMBLE_10K, PLAIN),
        check: ellipsoid_check,
    },
    Task {
        name: "ellipsoid_norm_1M",
        files: &[TUMBLE_1M],
        ready: |_| {},
        run: |i| ellipsoid(i, TUMBLE_1M, PLAIN),
        check: ellipsoid_check,
    },
    Task {
        name: "ellipsoid_robust_10k",
        files: &[TUMBLE_10K],
        ready: |_| {},
        run: |i| ellipsoid(i, TUMBLE_10K, ROBUST),
        check: ellipsoid_check,
    },
    Task {
        name: "ellipsoid_robust_1M",
        files: &[TUMBLE_1M],
        ready: |_| {},
        run: |i| ellipsoid(i, TUMBLE_1M, ROBUST),
        check: ellipsoid_check,
    },
    Task {
        name: "field_elements",
        files: &[SERIES],
        ready: body,
        run: elements_run,
        check: |_, d| sums(&["F", "H", "D", "I"], d),
    },
    Task {
        name: "tilt_heading",
        files: &[SERIES],
        ready: body,
        run: heading_run,
        check: |_, d| sums(&["heading"], d),
    },
];

/// Robust and rejecting, as the page fits: not the peers' loss but the same question.
const ROBUST: (bool, f64) = (true, 4.0);
/// Least squares of all points.
const PLAIN: (bool, f64) = (false, 0.0);

// All that our fit tells comes along: uncertainties, coverage, held-out rest.
fn ellipsoid(
    inputs: &Inputs,
    name: &str,
    (robust, reject_beyond): (bool, f64),
) -> Result<Done, String> {
    let [x, y, z] = inputs.columns(name) else { return Err("three columns are needed".to_owned()) };
    let options =
        Options { field: Some((FIELD, 0.0)), robust, reject_beyond, ..Options::default() };
    let found: Calibration =
        fit([x, y, z], |_| true, &options).map_err(|error| format!("{error:?}"))?;
    let m = found.matrix;
    let entries = vec![m[0][0], m[1][1], m[2][2], m[0][1], m[0][2], m[1][2]];
    Ok(Done::Many(vec![found.offset.to_vec(), entries]))
}

fn ellipsoid_check(_: &Inputs, done: &Done) -> Value {
    json!({ "V": done.all()[0], "W_xx_yy_zz_xy_xz_yz": done.all()[1] })
}

/// The vectors that the shared tasks describe: a field turned by known angles.
fn body(inputs: &mut Inputs) {
    if inputs.holds(BODY) {
        return;
    }
    let n = inputs.first(SERIES).len();
    let [north, east, down] = [18.94, 1.12, 45.63];
    let mut columns: Vec<Vec<f64>> = (0..6).map(|_| Vec::with_capacity(n)).collect();
    for i in 0..n {
        let at = |period: f64| TAU * i as f64 / period;
        let (roll, pitch) = (0.3 * at(10_007.0).sin(), 0.2 * at(7919.0).cos());
        let yaw = TAU * (i % 100_003) as f64 / 100_003.0;
        let ((sr, cr), (sp, cp), (sy, cy)) = (roll.sin_cos(), pitch.sin_cos(), yaw.sin_cos());
        let row = [
            cp * cy * north + cp * sy * east - sp * down,
            (sr * sp * cy - cr * sy) * north + (sr * sp * sy + cr * cy) * east + sr * cp * down,
            (cr * sp * cy + sr * sy) * north + (cr * sp * sy - sr * cy) * east + cr * cp * down,
            -sp,
            sr * cp,
            cr * cp,
        ];
        columns.iter_mut().zip(row).for_each(|(column, value)| column.push(value));
    }
    inputs.keep(BODY, columns);
}

fn elements_run(inputs: &Inputs) -> Result<Done, String> {
    let b = inputs.columns(BODY);
    let e = elements::of(&b[0], &b[1], &b[2]);
    Ok(Done::Many(vec![e.f, e.h, e.d, e.i]))
}

fn heading_run(inputs: &Inputs) -> Result<Done, String> {
    let b = inputs.columns(BODY);
    let of = |from: usize| [from, from + 1, from + 2].map(|k| b[k].as_slice());
    Ok(Done::One(heading::all_tilted_deg(of(3), of(0))))
}

fn sums(names: &[&str], done: &Done) -> Value {
    let mut out = Map::new();
    for (name, list) in names.iter().zip(done.all()) {
        let places = [0, 12_345, list.len() - 1];
        out.insert(format!("sum_{name}"), json!(sum_less(list, 0.0)));
        out.insert(format!("at_{name}"), at(list, &places));
    }
    Value::Object(out)
}
