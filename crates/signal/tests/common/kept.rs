//! The figures that `tests/reference/signal_reference.py` keeps, and the series
//! that it and the tests make alike.

use super::Seeded;
use serde_json::Value;

pub fn reference() -> Value {
    serde_json::from_str(include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../tests/reference/signal_reference.json"
    )))
    .unwrap()
}

pub fn cases(name: &str) -> Vec<Value> {
    reference()[name].as_array().unwrap().clone()
}

/// Cases of `series_reference.py`.
pub fn of_series(name: &str) -> Vec<Value> {
    let all: Value = serde_json::from_str(include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../tests/reference/series_reference.json"
    )))
    .unwrap();
    all[name].as_array().unwrap().clone()
}

pub fn floats(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

pub fn count(value: &Value) -> usize {
    value.as_u64().unwrap() as usize
}

pub fn series(name: &Value) -> Vec<f64> {
    let parts: Vec<&str> = name.as_str().unwrap().split('-').collect();
    let (n, mut seeded) = (parts[1].parse().unwrap(), Seeded(parts[2].parse().unwrap()));
    let mut level = 100.0;
    let mut next = || match parts[0] {
        "white" => seeded.uniform() - 0.5,
        "red" => {
            level += seeded.uniform() - 0.5;
            level
        }
        _ => {
            let value = seeded.uniform() - 0.5;
            if seeded.uniform() < 0.1 { f64::NAN } else { value }
        }
    };
    (0..n).map(|_: usize| next()).collect()
}

/// 1e-10 of each value, plus rounding against the largest.
pub fn close(found: &[f64], expected: &[f64], what: &Value) {
    assert_eq!(found.len(), expected.len(), "{what}");
    let largest = expected.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
    for (place, (a, b)) in found.iter().zip(expected).enumerate() {
        let limit = 1e-10 * b.abs() + 1e-13 * largest + 1e-16;
        assert!((a - b).abs() <= limit, "{what} at {place}: {a}, but {b}");
    }
}

/// The picked values and the sum of all.
pub fn close_every(found: &[f64], expected: &Value, what: &Value) {
    let step = count(&expected["step"]);
    let picked: Vec<f64> = found.iter().step_by(step).copied().collect();
    close(&picked, &floats(&expected["values"]), what);
    let (sum, total) = (found.iter().sum::<f64>(), expected["sum"].as_f64().unwrap());
    let size: f64 = found.iter().map(|v| v.abs()).sum();
    assert!((sum - total).abs() <= 1e-10 * size + 1e-15, "{what}: sum {sum}, but {total}");
}
