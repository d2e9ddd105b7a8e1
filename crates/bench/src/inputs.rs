//! Inputs in memory, as numbers.

use signal::multitaper::Dpss;
use std::collections::BTreeMap;

/// What was handed over, by the name of its file, and what was made from it.
#[derive(Default)]
pub struct Inputs {
    columns: BTreeMap<String, Vec<Vec<f64>>>,
    bytes: BTreeMap<String, Vec<u8>>,
    /// Tapers made before the clock starts.
    pub tapers: Option<Dpss>,
}

impl Inputs {
    /// Takes the bytes of a file: little-endian doubles (`.f64`), text with commas
    /// and one header row, or a log (`log-…`), which is kept as it is.
    pub fn give(&mut self, name: &str, bytes: &[u8]) {
        if name.starts_with("log-") {
            self.bytes.insert(name.to_owned(), bytes.to_vec());
            return;
        }
        let columns = if name.ends_with(".f64") { vec![doubles(bytes)] } else { table(bytes) };
        self.columns.insert(name.to_owned(), columns);
    }

    /// Keeps lists under a name of their own.
    pub fn keep(&mut self, name: &str, columns: Vec<Vec<f64>>) {
        self.columns.insert(name.to_owned(), columns);
    }

    /// Whether something is there under a name.
    pub fn holds(&self, name: &str) -> bool {
        self.columns.contains_key(name) || self.bytes.contains_key(name)
    }

    /// Forgets all but the named ones.
    pub fn drop_but(&mut self, names: &[&str]) {
        self.columns.retain(|name, _| names.contains(&name.as_str()));
        self.bytes.retain(|name, _| names.contains(&name.as_str()));
        self.tapers = None;
    }

    /// The bytes of a log, none when it is not there.
    pub fn bytes(&self, name: &str) -> &[u8] {
        self.bytes.get(name).map_or(&[], Vec::as_slice)
    }

    /// The columns of a file, none when it is not there.
    pub fn columns(&self, name: &str) -> &[Vec<f64>] {
        self.columns.get(name).map_or(&[], Vec::as_slice)
    }

    /// The first column of a file.
    pub fn first(&self, name: &str) -> &[f64] {
        self.columns(name).first().map_or(&[], Vec::as_slice)
    }
}

fn doubles(bytes: &[u8]) -> Vec<f64> {
    let number = |c: &[u8]| c.try_into().map_or(f64::NAN, f64::from_le_bytes);
    bytes.chunks_exact(8).map(number).collect()
}

fn table(bytes: &[u8]) -> Vec<Vec<f64>> {
    let mut columns: Vec<Vec<f64>> = Vec::new();
    for line in String::from_utf8_lossy(bytes).lines().skip(1) {
        for (place, field) in line.split(',').enumerate() {
            if columns.len() <= place {
                columns.push(Vec::new());
            }
            columns[place].push(field.trim().parse().unwrap_or(f64::NAN));
        }
    }
    columns
}
