//! The figures of a result that are compared with the peers' figures.
//!
//! In: lists of numbers.  Out: JSON.  The peers add in pairs, which loses next
//! to nothing; adding one after another loses 2e-10 of a sum of ten million
//! values that are all nearly alike, more than what is tolerated.  So what each
//! addition rounds off is added up beside (A. Neumaier, Z. Angew. Math. Mech. 54
//! (1974) 39).

use serde_json::{Map, Value, json};

/// The sum, right to its last digits.
pub(crate) fn sum(list: impl IntoIterator<Item = f64>) -> f64 {
    let (mut total, mut rest) = (0.0_f64, 0.0);
    for value in list {
        let next = total + value;
        let (large, small) =
            if total.abs() >= value.abs() { (total, value) } else { (value, total) };
        rest += (large - next) + small;
        total = next;
    }
    total + rest
}

/// The sum of a list, each less a level.
pub(crate) fn sum_less(list: &[f64], level: f64) -> f64 {
    sum(list.iter().map(|v| v - level))
}

/// The value at some places, by place.
pub(crate) fn at(list: &[f64], places: &[usize]) -> Value {
    let inside = places.iter().filter(|k| **k < list.len());
    Value::Object(inside.map(|k| (k.to_string(), json!(list[*k]))).collect::<Map<_, _>>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_sum_of_like_values_keeps_its_digits() {
        let value = 49.417_354_239_173_92;
        let n = 3_000_000;
        let found = sum(std::iter::repeat_n(value, n));
        assert!((found / (value * n as f64) - 1.0).abs() < 1e-15);
        assert_eq!(sum([1e16, 1.0, -1e16]), 1.0);
    }
}
