//! Reads the tables of published figures and compares with them.
//!
//! Each row keeps its source; a figure that is off is reported with it.

#![allow(dead_code, missing_docs, clippy::unwrap_used, clippy::panic, reason = "shared by tests")]

pub mod kept;

use std::collections::BTreeMap;

/// A row of a table: `id,quantity,inputs,expected,tolerance,source`.
#[derive(Clone, Debug)]
pub struct Row {
    pub id: String,
    pub quantity: String,
    pub inputs: String,
    pub expected: String,
    pub tolerance: String,
    pub source: String,
}

impl Row {
    /// The numbers of the expected value, signs and separators apart.
    pub fn numbers(&self) -> Vec<f64> {
        numbers(&self.expected)
    }

    /// Whether a figure agrees with this row's only number.
    pub fn check(&self, found: f64) {
        self.check_all(&[found]);
    }

    /// Whether figures agree with this row's numbers, in order.
    pub fn check_all(&self, found: &[f64]) {
        let expected = self.numbers();
        assert_eq!(expected.len(), found.len(), "{}: {expected:?} {found:?}", self.id);
        for (a, b) in expected.iter().zip(found) {
            let limit = self.limit(*a);
            assert!((a - b).abs() <= limit, "{}: {b}, but {a} in {}", self.id, self.source);
        }
    }

    fn limit(&self, expected: f64) -> f64 {
        let mut words = self.tolerance.split_whitespace();
        let kind = words.next().unwrap_or_default();
        let size = || self.tolerance.split_whitespace().nth(1).unwrap().parse::<f64>().unwrap();
        match kind {
            "abs" => size(),
            "rel" => size() * expected.abs(),
            "exact" => 0.0,
            other => panic!("{}: no tolerance is called {other}", self.id),
        }
    }
}

/// All numbers in a text.
pub fn numbers(text: &str) -> Vec<f64> {
    let parts = text.split(|c: char| !(c.is_ascii_alphanumeric() || "+-.".contains(c)));
    parts.filter_map(|part| part.parse().ok()).collect()
}

/// The rows of a table by id.
pub fn rows(table: &str) -> BTreeMap<String, Row> {
    let mut out = BTreeMap::new();
    for line in table.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let fields = fields(line);
        let [id, quantity, inputs, expected, tolerance, source] = <[String; 6]>::try_from(fields)
            .unwrap_or_else(|fields| panic!("six fields are needed: {fields:?}"));
        out.insert(id.clone(), Row { id, quantity, inputs, expected, tolerance, source });
    }
    out
}

fn fields(line: &str) -> Vec<String> {
    let (mut out, mut quoted) = (vec![String::new()], false);
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => out.push(String::new()),
            _ => out.last_mut().unwrap().push(c),
        }
    }
    out
}

/// Seeded numbers, uniform in 0..1 (a 64-bit linear congruential generator
/// with D. E. Knuth's constants, MMIX).
pub struct Seeded(pub u64);

impl Seeded {
    pub fn uniform(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    pub fn normal(&mut self) -> f64 {
        signal::chi2::normal_quantile(self.uniform())
    }
}
