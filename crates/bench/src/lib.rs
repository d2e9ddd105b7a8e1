//! The tasks that are timed against general-purpose libraries.
//!
//! The same code runs natively (`cargo xtask bench`) and in a browser's worker.
//! An input is handed over once and stays in memory; a task leaves its whole
//! result there; then its figures are read off, so that peers can be held
//! against them.  Nothing of this reaches the page.

mod field_tasks;
mod figures;
mod inputs;
mod parse_tasks;
mod signal_tasks;
mod wasm;

pub use inputs::Inputs;
use serde_json::Value;

/// What a task leaves behind.
pub enum Done {
    /// One list of numbers.
    One(Vec<f64>),
    /// Several.
    Many(Vec<Vec<f64>>),
}

/// A task.
pub struct Task {
    /// Its name among the shared tasks.
    pub name: &'static str,
    /// The input files it needs.
    pub files: &'static [&'static str],
    /// Makes ready what is not timed, once.
    pub ready: fn(&mut Inputs),
    /// What is timed; a sentence when it cannot be done.
    pub run: fn(&Inputs) -> Result<Done, String>,
    /// The figures that are compared.
    pub check: fn(&Inputs, &Done) -> Value,
}

/// Every task, in the order in which they run.
pub fn tasks() -> Vec<&'static Task> {
    parse_tasks::TASKS.iter().chain(signal_tasks::TASKS).chain(field_tasks::TASKS).collect()
}

impl Done {
    /// The list, or the first of several.
    pub fn first(&self) -> &[f64] {
        match self {
            Self::One(list) => list,
            Self::Many(lists) => lists.first().map_or(&[], Vec::as_slice),
        }
    }

    /// The lists.
    pub fn all(&self) -> &[Vec<f64>] {
        match self {
            Self::One(list) => std::slice::from_ref(list),
            Self::Many(lists) => lists,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_task_runs_on_small_inputs_and_tells_figures() {
        let wave = |k: i32| 48_500.0 + 20.0 * (f64::from(k) * 0.01).sin() + f64::from(k * 37 % 11);
        let series: Vec<f64> = (0..140_000).map(wave).collect();
        let bytes = |x: &[f64]| x.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>();
        let uneven: String = (0..6000)
            .map(|k| format!("{},{}\n", f64::from(k) * 60.0 + f64::from(k % 7), wave(k)))
            .collect();
        let turn = |k: i32| {
            let (a, b) = (f64::from(k) * 2.4, f64::from(k) / 1000.0 - 1.0);
            let across = (1.0 - b * b).sqrt();
            format!("{},{},{}\n", 48.0 * across * a.cos() + 3.0, 50.0 * across * a.sin(), 51.0 * b)
        };
        let tumble: String = (0..=2000).map(turn).collect();
        let mut inputs = Inputs::default();
        inputs.give("series-10M.f64", &bytes(&series));
        inputs.give("series-b-10M.f64", &bytes(&series));
        inputs.give("uneven-100k.csv", format!("t_s,value\n{uneven}").as_bytes());
        inputs.give("tumble-10k.csv", format!("x,y,z\n{tumble}").as_bytes());
        inputs.give("tumble-1M.csv", format!("x,y,z\n{tumble}").as_bytes());
        let row = |k: i32| {
            let (minute, second) = (k / 2 % 60, k % 2 * 30);
            let time = format!("2026-03-01T{:02}:{minute:02}:{second:02}Z", k / 120);
            format!("{time},{:.3},-4.1,{:.3},12.5\n", 18.0 + f64::from(k % 7) * 0.01, 45.0)
        };
        let log: String = (0..600).map(row).collect();
        for name in ["log-small.csv", "log-large.csv", "log-epoch.csv"] {
            inputs.give(name, format!("time,x,y,z,temperature\n{log}").as_bytes());
        }
        for task in tasks() {
            (task.ready)(&mut inputs);
            let done = (task.run)(&inputs).unwrap_or_else(|why| panic!("{}: {why}", task.name));
            assert!((task.check)(&inputs, &done).is_object(), "{}", task.name);
        }
    }
}
