//! The same tasks for a browser's worker: it hands over files, and times.

use crate::{Done, Inputs, tasks};
use serde_json::json;
use wasm_bindgen::prelude::wasm_bindgen;

/// The inputs and the last result, in the module's memory.
#[wasm_bindgen]
#[derive(Default)]
pub struct Bench {
    inputs: Inputs,
    done: Option<Done>,
}

#[wasm_bindgen]
impl Bench {
    /// Holds nothing yet.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// The tasks: JSON `[{name, files}]`.
    pub fn tasks() -> String {
        let list = tasks();
        let each = list.iter().map(|t| json!({ "name": t.name, "files": t.files }));
        json!(each.collect::<Vec<_>>()).to_string()
    }

    /// Takes the bytes of an input.
    pub fn give(&mut self, name: &str, bytes: &[u8]) {
        self.inputs.give(name, bytes);
    }

    /// Whether an input is there.
    pub fn holds(&self, name: &str) -> bool {
        self.inputs.holds(name)
    }

    /// Forgets the last result, and every input but those of a task.
    pub fn drop_but(&mut self, task: &str) {
        self.done = None;
        let list = tasks();
        let files = list.iter().find(|t| t.name == task).map_or(&[][..], |t| t.files);
        self.inputs.drop_but(files);
    }

    /// Makes a task ready.
    pub fn ready(&mut self, task: &str) {
        if let Some(task) = tasks().iter().find(|t| t.name == task) {
            (task.ready)(&mut self.inputs);
        }
    }

    /// Runs a task, its result kept; says why when it cannot.
    pub fn run(&mut self, task: &str) -> Option<String> {
        self.done = None;
        let Some(task) = tasks().into_iter().find(|t| t.name == task) else {
            return Some("there is no such task".to_owned());
        };
        match (task.run)(&self.inputs) {
            Ok(done) => {
                self.done = Some(done);
                None
            }
            Err(why) => Some(why),
        }
    }

    /// The figures of the last result, JSON.
    pub fn check(&self, task: &str) -> String {
        let list = tasks();
        let task = list.iter().find(|t| t.name == task);
        match (task, &self.done) {
            (Some(task), Some(done)) => (task.check)(&self.inputs, done).to_string(),
            _ => "{}".to_owned(),
        }
    }
}
