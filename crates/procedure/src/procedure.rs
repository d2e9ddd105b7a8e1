//! The procedure itself: which steps, in what order, with what values; and
//! the file it is kept in.
//!
//! The file is `{"schema": 1, "steps": [{"step": "spikes", "on": true,
//! "set": {"threshold": 5}}], "readings": [{"log": "garden.csv", "set": {"zone":
//! "+01:00"}}]}`.  A value left out is the default; `readings` holds the decisions
//! of reading a log that the student changed, and may be left out.  A step or
//! parameter that is not known is refused with the nearest known name; a
//! newer schema is refused; an older one is upgraded, never reinterpreted.

use crate::inputs::Inputs;
use crate::param::{Kind, Value, read_instant};
use crate::step::{Context, Stage, Step};
use crate::steps;
use intake::Choices;
use record::{
    Fault, say,
    words::{word, worded},
};
use serde_json::{Map, Value as Json, json};

/// The version of the file's form.
pub const SCHEMA: u64 = 1;

/// A step as the student chose it.
#[derive(Clone)]
pub struct Choice {
    /// Its definition.
    pub step: &'static Step,
    /// Whether it acts.
    pub on: bool,
    /// One value a parameter, in the order of the definition.
    pub values: Vec<Value>,
}

/// The steps in the order in which they act.
#[derive(Clone, Default)]
pub struct Procedure {
    /// The steps.
    pub steps: Vec<Choice>,
    /// Decisions of the reading that were changed, a log.
    pub readings: Vec<LogReading>,
}

/// How a log is to be read, where it is not as proposed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LogReading {
    /// Name of the file.
    pub log: String,
    /// The answers given.
    pub choices: Choices,
}

impl PartialEq for Choice {
    fn eq(&self, other: &Self) -> bool {
        self.step.id == other.step.id && self.on == other.on && self.values == other.values
    }
}

impl PartialEq for Procedure {
    fn eq(&self, other: &Self) -> bool {
        self.steps == other.steps
    }
}

impl Choice {
    /// A step with its defaults.
    pub fn of(step: &'static Step) -> Self {
        let values = step.params.iter().map(crate::Param::initial).collect();
        Self { step, on: true, values }
    }

    /// The same with a value; a key that is not defined changes nothing.
    #[must_use]
    pub fn with(mut self, key: &str, value: Value) -> Self {
        if let Some(place) = self.step.params.iter().position(|p| p.key == key) {
            self.values[place] = value;
        }
        self
    }

    /// The same, switched off.
    #[must_use]
    pub fn off(mut self) -> Self {
        self.on = false;
        self
    }

    /// The sentence, in parts.
    pub fn parts<'a>(&'a self, inputs: &'a Inputs) -> Vec<Part> {
        let context = Context { inputs, step: self.step, values: &self.values, tell: &|_| () };
        split(word((self.step.sentence)(&context)))
    }

    /// The sentence as prose.
    pub fn prose(&self, inputs: &Inputs) -> String {
        let mut out = String::new();
        for part in self.parts(inputs) {
            match part {
                Part::Text(text) => out.push_str(text),
                Part::Slot(key) => {
                    let found =
                        self.step.params.iter().zip(&self.values).find(|(p, _)| p.key == key);
                    if let Some((param, value)) = found {
                        out.push_str(&param.said(value));
                    }
                }
            }
        }
        out
    }

    pub(crate) fn to_json(&self) -> Json {
        let mut set = Map::new();
        for (param, value) in self.step.params.iter().zip(&self.values) {
            set.insert(param.key.to_owned(), value_json(value));
        }
        json!({ "step": self.step.id, "on": self.on, "set": set })
    }
}

/// A piece of a sentence.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// Words.
    Text(&'static str),
    /// A slot, by its parameter's key.
    Slot(&'static str),
}

fn split(template: &'static str) -> Vec<Part> {
    let mut parts = Vec::new();
    let mut rest = template;
    while let Some((text, after)) = rest.split_once('{') {
        let Some((key, tail)) = after.split_once('}') else { break };
        if !text.is_empty() {
            parts.push(Part::Text(text));
        }
        parts.push(Part::Slot(key));
        rest = tail;
    }
    if !rest.is_empty() {
        parts.push(Part::Text(rest));
    }
    parts
}

fn value_json(value: &Value) -> Json {
    match value {
        Value::Number(n) => json!(n),
        Value::Choice(text) | Value::Text(text) => json!(text),
        Value::Span(None) => Json::Null,
        Value::Span(Some((a, b))) => json!([a.iso(), b.iso()]),
    }
}

impl Procedure {
    /// The file's content, complete: every parameter with its value.
    pub fn to_json(&self) -> Json {
        let steps: Vec<Json> = self.steps.iter().map(Choice::to_json).collect();
        let mut out = json!({ "schema": SCHEMA, "steps": steps });
        if !self.readings.is_empty() {
            let each =
                |reading: &LogReading| json!({ "log": reading.log, "set": reading.choices.set });
            out["readings"] = self.readings.iter().map(each).collect();
        }
        out
    }

    /// A procedure from a file's text.
    ///
    /// # Errors
    ///
    /// A fault naming the step and parameter that cannot be used.
    pub fn from_text(text: &str) -> Result<Self, Fault> {
        let json: Json = serde_json::from_str(text).map_err(|error| {
            Fault::new(
                "procedure/not-json",
                say!("This is not a procedure: reading it stopped with “{error}”."),
                "Choose a procedure file that was saved here, whole and unchanged.",
            )
            .at(say!("line {}, column {}", error.line(), error.column()))
        })?;
        Self::from_json(&json)
    }

    /// A procedure from parsed JSON.
    ///
    /// # Errors
    ///
    /// A fault naming the step and parameter that cannot be used.
    pub fn from_json(json: &Json) -> Result<Self, Fault> {
        check_schema(json)?;
        let list = json.get("steps").and_then(Json::as_array).ok_or_else(|| {
            Fault::new(
                "procedure/no-steps",
                "This file holds no list called “steps”.",
                "Choose a procedure file that was saved here.",
            )
        })?;
        let steps = list.iter().enumerate().map(read_step).collect::<Result<Vec<_>, _>>()?;
        let readings = match json.get("readings").and_then(Json::as_array) {
            Some(list) => list.iter().map(read_reading).collect::<Result<Vec<_>, _>>()?,
            None => Vec::new(),
        };
        Ok(Self { steps, readings })
    }

    /// Where a new step goes: after the last of its stage or an earlier one.
    pub fn place_for(&self, stage: Stage) -> usize {
        self.steps.iter().rposition(|c| c.step.stage <= stage).map_or(0, |place| place + 1)
    }

    /// Whether a step may change places with its neighbour: both of one
    /// stage, and neither fixed.
    pub fn may_move(&self, place: usize, by: isize) -> bool {
        let Some(other) = place.checked_add_signed(by) else { return false };
        match (self.steps.get(place), self.steps.get(other)) {
            (Some(a), Some(b)) => {
                a.step.stage == b.step.stage && a.step.removable && b.step.removable
            }
            _ => false,
        }
    }
}

fn check_schema(json: &Json) -> Result<(), Fault> {
    match json.get("schema").and_then(Json::as_u64) {
        Some(SCHEMA) => Ok(()),
        Some(newer) if newer > SCHEMA => Err(Fault::new(
            "procedure/newer",
            say!("This procedure has form {newer}; this version knows form {SCHEMA}."),
            "Open it with the version that made it, or reload the page for the newest.",
        )),
        _ => Err(Fault::new(
            "procedure/no-schema",
            "This file does not say which form it has (a whole number called “schema”).",
            "Choose a procedure file that was saved here.",
        )),
    }
}

fn read_reading(json: &Json) -> Result<LogReading, Fault> {
    let log = json.get("log").and_then(Json::as_str);
    let set = json.get("set").and_then(Json::as_object);
    let unreadable = || {
        Fault::new(
            "procedure/reading",
            say!(
                "A reading of this procedure names no log or no decisions: {}.",
                crate::json::text(json)
            ),
            "A reading is written as {\"log\": \"garden.csv\", \"set\": {\"zone\": \"+01:00\"}}.",
        )
    };
    let (log, set) = log.zip(set).ok_or_else(unreadable)?;
    let choices = set.iter().try_fold(Choices::default(), |choices, (id, answer)| {
        let answer = answer.as_str().ok_or_else(unreadable)?;
        Ok::<_, Fault>(choices.with(id, answer))
    })?;
    Ok(LogReading { log: log.to_owned(), choices })
}

fn read_step((place, json): (usize, &Json)) -> Result<Choice, Fault> {
    let at = |fault: Fault| fault.at(say!("step {}", place + 1));
    let id = json.get("step").and_then(Json::as_str).unwrap_or("");
    let step = steps::find(id).ok_or_else(|| {
        let known: Vec<&str> = steps::ALL.iter().map(|s| s.id).collect();
        at(Fault::new(
            "procedure/unknown-step",
            say!("There is no step called “{id}”."),
            nearest(id, &known),
        ))
    })?;
    let mut choice = Choice::of(step);
    choice.on = json.get("on").and_then(Json::as_bool).unwrap_or(true);
    if let Some(set) = json.get("set").and_then(Json::as_object) {
        for (key, value) in set {
            set_value(&mut choice, key, value).map_err(at)?;
        }
    }
    Ok(choice)
}

fn set_value(choice: &mut Choice, key: &str, json: &Json) -> Result<(), Fault> {
    let step = choice.step;
    let Some(slot) = step.params.iter().position(|p| p.key == key) else {
        let known: Vec<&str> = step.params.iter().map(|p| p.key).collect();
        return Err(Fault::new(
            "procedure/unknown-parameter",
            say!("The step “{}” has no parameter called “{key}”.", step.id),
            nearest(key, &known),
        ));
    };
    let param = &step.params[slot];
    let value = match (param.kind, json) {
        (Kind::Number { .. } | Kind::Whole { .. }, Json::Number(n)) => {
            n.as_f64().map(Value::Number)
        }
        (Kind::Choice(_) | Kind::Channel(_), Json::String(s)) => Some(Value::Choice(s.clone())),
        (Kind::Text | Kind::Numbers(_), Json::String(s)) => {
            param.understand(s).ok().map(|u| u.value)
        }
        (Kind::Span, Json::Null) => Some(Value::Span(None)),
        (Kind::Span, Json::Array(ends)) => match ends.as_slice() {
            [Json::String(a), Json::String(b)] => {
                read_instant(a).zip(read_instant(b)).map(|ends| Value::Span(Some(ends)))
            }
            _ => None,
        },
        _ => None,
    };
    let refused = |why: String| {
        Fault::new(
            "procedure/value",
            say!(
                "The parameter “{key}” of the step “{}” cannot be {}.",
                step.id,
                crate::json::text(json)
            ),
            why,
        )
    };
    let value = value.ok_or_else(|| refused(param.hint()))?;
    param.check(&value).map_err(refused)?;
    choice.values[slot] = value;
    Ok(())
}

/// "Did you mean …?", by the fewest single-letter edits.
fn nearest(name: &str, known: &[&str]) -> String {
    let best = known.iter().min_by_key(|candidate| distance(name, candidate));
    match best {
        Some(best) => say!("Did you mean “{best}”? Known here: {}.", known.join(", ")),
        None => worded("It takes none."),
    }
}

// Levenshtein's distance, one row at a time.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().take(80).enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let change = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_misspelt_parameter_is_answered_with_the_nearest_known_one() {
        let text = r#"{"schema":1,"steps":[{"step":"spikes","set":{"treshold":4}}]}"#;
        let fault = Procedure::from_text(text).err().unwrap();
        assert_eq!(fault.code, "procedure/unknown-parameter");
        assert!(fault.remedy.starts_with("Did you mean “threshold”?"), "{}", fault.remedy);
        assert_eq!(fault.place, "step 1");
    }

    #[test]
    fn a_newer_form_is_refused_and_never_guessed() {
        let fault = Procedure::from_text(r#"{"schema":9,"steps":[]}"#).err().unwrap();
        assert_eq!(fault.code, "procedure/newer");
    }

    #[test]
    fn every_step_comes_back_from_its_file() {
        let steps = steps::ALL.iter().map(|step| Choice::of(step)).collect();
        let readings = vec![LogReading {
            log: "garden.csv".to_owned(),
            choices: Choices::default().with("zone", "+01:00"),
        }];
        let whole = Procedure { steps, readings: readings.clone() };
        let text = whole.to_json().to_string();
        let back = Procedure::from_text(&text).unwrap();
        assert!(back == whole);
        assert_eq!(back.readings, readings);
        let broken = r#"{"schema":1,"steps":[],"readings":[{"log":"a.csv","set":{"zone":1}}]}"#;
        assert_eq!(Procedure::from_text(broken).err().unwrap().code, "procedure/reading");
    }

    #[test]
    fn every_slot_of_every_sentence_is_a_parameter_and_every_range_holds_its_default() {
        let inputs = Inputs::default();
        for step in steps::ALL {
            let choice = Choice::of(step);
            for part in choice.parts(&inputs) {
                if let Part::Slot(key) = part {
                    assert!(step.params.iter().any(|p| p.key == key), "{} {key}", step.id);
                }
            }
            for (param, value) in step.params.iter().zip(&choice.values) {
                assert_eq!(param.check(value), Ok(()), "{} {}", step.id, param.key);
                assert!(param.label.split(' ').count() <= 4, "{}", param.label);
            }
        }
    }

    #[test]
    fn words_and_slots_alternate() {
        let parts = split("Mark {a} of {b}.");
        let want = [
            Part::Text("Mark "),
            Part::Slot("a"),
            Part::Text(" of "),
            Part::Slot("b"),
            Part::Text("."),
        ];
        assert_eq!(parts, want);
    }
}
