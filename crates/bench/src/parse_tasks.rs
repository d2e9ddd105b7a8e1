//! The tasks that read a log: bytes in memory to five columns of doubles.
//!
//! What is timed is the whole reading, with its report of every decision and the
//! figures of every column.  The SHA-256 of the file is left out: the page leaves that
//! of a large log to the browser, which works it out meanwhile, and no peer has one.

use crate::figures::{sum, sum_less};
use crate::{Done, Inputs, Task};
use serde_json::{Value, json};

const NAMES: [&str; 4] = ["x", "y", "z", "temperature"];

/// In the order of the shared tasks.
pub const TASKS: &[Task] = &[
    task("parse_small", &["log-small.csv"], |inputs| read(inputs, "log-small.csv")),
    task("parse_large", &["log-large.csv"], |inputs| read(inputs, "log-large.csv")),
    task("parse_epoch", &["log-epoch.csv"], |inputs| read(inputs, "log-epoch.csv")),
];

const fn task(
    name: &'static str,
    files: &'static [&'static str],
    run: fn(&Inputs) -> Result<Done, String>,
) -> Task {
    Task { name, files, ready: |_| {}, run, check }
}

fn read(inputs: &Inputs, name: &str) -> Result<Done, String> {
    let bytes = inputs.bytes(name);
    let mut reader = intake::Reader::new(name, &intake::Choices::default());
    reader.leave_hash();
    reader.expect_bytes(bytes.len() as u64);
    let reading =
        reader.push(bytes).and_then(|()| reader.finish()).map_err(|error| error.to_string())?;
    let record = &reading.record;
    let mut columns = vec![record.times_ns().iter().map(|ns| *ns as f64 / 1e9).collect()];
    for name in NAMES {
        let channel = record.named(name).ok_or_else(|| format!("no column {name}"))?;
        // The field is written in microtesla; it is held in nanotesla, or as it is
        // written where it cannot be told from raw counts.
        let scale = if channel.unit.symbol() == "nT" { 1e-3 } else { 1.0 };
        columns.push(channel.values.iter().map(|value| value * scale).collect());
    }
    Ok(Done::Many(columns))
}

fn check(_: &Inputs, done: &Done) -> Value {
    let [t, x, y, z, temperature] = done.all() else { return json!({}) };
    let (Some(first), Some(last)) = (t.first(), t.last()) else { return json!({}) };
    let total = |column: &[f64]| sum_less(column, 0.0);
    json!({
        "rows": t.len(), "t_first": first, "t_last": last,
        "mean_dt": (last - first) / (t.len() - 1) as f64,
        "sum_t_minus_first": sum(t.iter().map(|t| t - first)),
        "sum_x": total(x), "sum_y": total(y), "sum_z": total(z),
        "sum_temp": total(temperature),
    })
}
