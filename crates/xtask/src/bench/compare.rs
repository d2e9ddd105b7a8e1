//! Times side by side, and whether the figures agree.

use serde_json::Value;
use std::fmt::Write;

/// What each side measured: lines of `{task, peer, median_s, ...}`.
pub struct Side {
    /// The Python libraries, several a task.
    pub peers: Vec<Value>,
    /// Our functions, natively.
    pub native: Vec<Value>,
    /// The same in Chromium.
    pub wasm: Vec<Value>,
    /// The peers' figures, by task and peer.
    pub figures: Value,
}

/// Bars: our time over that of the fastest peer.
const NATIVE_BAR: f64 = 0.5;
const WASM_BAR: f64 = 1.0;

/// The tolerance of a task's figures, as the shared tasks state it: relative
/// and absolute.
fn tolerance(task: &str) -> (f64, f64) {
    match task {
        t if t.starts_with("lombscargle_100k") => (1e-6, 1e-6),
        t if t.starts_with("lombscargle") => (1e-6, 1e-7),
        t if t.starts_with("multitaper") => (1e-7, 1e-9),
        // Another loss: the same within what ten thousand points can tell, 0.004 microtesla.
        t if t.starts_with("ellipsoid_robust") => (0.0, 1e-2),
        t if t.starts_with("ellipsoid") => (0.0, 1e-4),
        "butter_zero_phase" => (1e-9, 1e-6),
        "harmonic6" => (0.0, 1e-6),
        "coherence_4096" => (0.0, 1e-9),
        "field_elements" => (1e-12, 0.0),
        "tilt_heading" => (1e-10, 1e-9),
        _ => (1e-9, 1e-12),
    }
}

/// The table: a row a task.
pub fn table(tasks: &[&str], side: &Side) -> String {
    let mut out = format!(
        "{:<24}{:>10}  {:<34}{:>10}{:>8}{:>10}{:>8}  {}\n",
        "task", "peer s", "fastest peer", "native s", "ratio", "wasm s", "ratio", "figures"
    );
    let mut over = Vec::new();
    for task in tasks {
        let fastest = fastest(&side.peers, task);
        let (peer, peer_s) = fastest.map_or(("none", f64::NAN), |(name, s)| (name, s));
        let (native, wasm) = (of(&side.native, task), of(&side.wasm, task));
        let seconds =
            |line: Option<&Value>| line.and_then(|l| l["median_s"].as_f64()).unwrap_or(f64::NAN);
        let (native_s, wasm_s) = (seconds(native), seconds(wasm));
        let words = [("native", native), ("wasm", wasm)]
            .map(|(name, line)| agreement(name, task, line, &side.figures[*task]));
        let _ = writeln!(
            out,
            "{task:<24}{peer_s:>10.4}  {peer:<34}{native_s:>10.4}{:>8.2}{wasm_s:>10.4}{:>8.2}  {}",
            native_s / peer_s,
            wasm_s / peer_s,
            words.concat()
        );
        // A ratio that is not a number meets no bar.
        if !matches!((native_s / peer_s).partial_cmp(&NATIVE_BAR), Some(o) if o.is_le())
            || !matches!((wasm_s / peer_s).partial_cmp(&WASM_BAR), Some(o) if o.is_le())
        {
            over.push(*task);
        }
    }
    let _ = match over.is_empty() {
        true => writeln!(out, "All meet the bars: native {NATIVE_BAR}, wasm {WASM_BAR}."),
        false => writeln!(
            out,
            "Over the bars (native {NATIVE_BAR}, wasm {WASM_BAR}): {}.",
            over.join(", ")
        ),
    };
    out
}

fn of<'a>(lines: &'a [Value], task: &str) -> Option<&'a Value> {
    lines.iter().find(|line| line["task"] == task)
}

fn fastest<'a>(lines: &'a [Value], task: &str) -> Option<(&'a str, f64)> {
    let all = lines.iter().filter(|line| line["task"] == task);
    let timed = all.filter_map(|line| Some((line["peer"].as_str()?, line["median_s"].as_f64()?)));
    timed.min_by(|a, b| a.1.total_cmp(&b.1))
}

/// `native ok `, or what is wrong.
fn agreement(name: &str, task: &str, line: Option<&Value>, peers: &Value) -> String {
    let Some(line) = line else { return format!("{name} missing ") };
    if let Some(why) = line["error"].as_str() {
        return format!("{name} failed: {why} ");
    }
    let Some(peers) = peers.as_object().filter(|p| !p.is_empty()) else {
        return format!("{name} unchecked ");
    };
    // Some peers are an approximation: one that agrees is enough.
    let worst = |peer: &Value| worst(&line["figures"], peer, tolerance(task));
    let best = peers.values().map(worst).fold(f64::INFINITY, f64::min);
    if best <= 1.0 { format!("{name} ok ") } else { format!("{name} OFF {best:.1e} ") }
}

/// The largest difference in units of the tolerance; infinite for a figure
/// that the other does not have.
fn worst(ours: &Value, theirs: &Value, (rel, abs): (f64, f64)) -> f64 {
    match (ours, theirs) {
        (Value::Object(a), Value::Object(b)) => {
            let each = a.iter().map(|(key, value)| match b.get(key) {
                Some(other) => worst(value, other, (rel, abs)),
                None => f64::INFINITY,
            });
            each.fold(0.0, f64::max)
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            a.iter().zip(b).map(|(a, b)| worst(a, b, (rel, abs))).fold(0.0, f64::max)
        }
        (a, b) => match (a.as_f64(), b.as_f64()) {
            (Some(a), Some(b)) if a == b => 0.0,
            (Some(a), Some(b)) => (a - b).abs() / (rel * b.abs() + abs),
            _ => f64::INFINITY,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn the_fastest_peer_is_the_one_compared_with_and_the_bars_are_judged() {
        let line = |task: &str, peer: &str, s: f64| json!({ "task": task, "peer": peer, "median_s": s, "figures": { "sum": 1.0 } });
        let side = Side {
            peers: vec![line("welch_4096", "slow", 4.0), line("welch_4096", "quick", 2.0)],
            native: vec![line("welch_4096", "native", 1.2)],
            wasm: vec![line("welch_4096", "wasm", 1.9)],
            figures: json!({ "welch_4096": { "quick": { "sum": 1.0 + 1e-12 } } }),
        };
        let text = table(&["welch_4096"], &side);
        assert!(text.contains("quick") && text.contains("0.60") && text.contains("0.95"), "{text}");
        assert!(text.contains("native ok wasm ok"), "{text}");
        assert!(text.contains("Over the bars (native 0.5, wasm 1): welch_4096."), "{text}");
    }

    #[test]
    fn a_figure_that_is_off_or_missing_is_told() {
        let ours = json!({ "sum": 1.0, "at": [1.0, 2.0] });
        assert_eq!(worst(&ours, &json!({ "sum": 1.0, "at": [1.0, 2.0] }), (1e-9, 0.0)), 0.0);
        assert!(worst(&ours, &json!({ "sum": 1.1, "at": [1.0, 2.0] }), (1e-9, 0.0)) > 1e7);
        assert_eq!(worst(&ours, &json!({ "sum": 1.0 }), (1e-9, 0.0)), f64::INFINITY);
    }
}
