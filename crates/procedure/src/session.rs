//! One analysis: the opened files, the procedure, its history and its
//! results, driven by edits and shown as plain data.
//!
//! The page and the native replay both work through this; the page adds
//! drawing, the replay adds files.

use crate::auto::{self, Hints};
use crate::engine::{Done, Engine};
use crate::export;
use crate::history::History;
use crate::inputs::{Inputs, USE, Use};
use crate::procedure::{Choice, LogReading, Procedure};
use crate::steps;
use crate::steps::kept;
use crate::view;
use crate::{Kind, Param, Value};
use figure::{Frame, Plan, View};
use intake::{Choices, Reader};
use record::{
    Fault, say,
    words::{word, worded},
};
use std::collections::BTreeMap;

/// One analysis.
#[derive(Default)]
pub struct Session {
    inputs: Inputs,
    procedure: Procedure,
    history: History,
    engine: Engine,
    // The name of the slot whose typing is not committed, and the procedure
    // before the typing began.
    typing: Option<(String, Procedure)>,
    pub(crate) refused: BTreeMap<(usize, String), Refused>,
    pub(crate) notes: BTreeMap<(usize, String), String>,
    changed_from: Option<usize>,
    hints: Hints,
    // How logs are to be read, by the procedure that was opened last.
    readings: Vec<LogReading>,
    opened_procedure: bool,
}

/// A typed text that was not taken.
#[derive(Clone)]
pub(crate) struct Refused {
    pub text: String,
    pub why: String,
}

/// What the page asks for.
#[derive(Clone, Debug)]
pub enum Edit {
    /// Type a text into a slot.
    Set {
        /// Which step, from 0.
        step: usize,
        /// Which parameter.
        param: String,
        /// What was typed.
        value: String,
        /// Whether typing goes on (no undo entry yet).
        live: bool,
    },
    /// Arrow keys in a slot.
    Nudge {
        /// Which step, from 0.
        step: usize,
        /// Which parameter.
        param: String,
        /// How many steps of the parameter.
        by: f64,
    },
    /// Take a typed text back that was not committed.
    Restore {
        /// Which step, from 0.
        step: usize,
        /// Which parameter.
        param: String,
    },
    /// Switch a step on or off.
    Switch {
        /// Which step, from 0.
        step: usize,
        /// Whether it acts.
        on: bool,
    },
    /// Move a step.
    Move {
        /// Which step, from 0.
        step: usize,
        /// −1 or +1.
        by: isize,
    },
    /// Put a step in.
    Add {
        /// Its identifier.
        id: String,
    },
    /// Take a step out.
    Remove {
        /// Which step, from 0.
        step: usize,
    },
    /// Take the last change back.
    Undo,
    /// Make it again.
    Redo,
    /// Use another procedure, or a calibration that was kept.
    Load {
        /// The procedure's or calibration's file, parsed.
        procedure: serde_json::Value,
    },
    /// Use the procedure proposed for these files.
    Reset,
}

impl Edit {
    /// From JSON, `{"kind": "set", "step": 3, "param": "threshold", "value": "5"}`:
    /// the variants' and fields' names in lower case.  None when a field is
    /// missing or of another kind.
    pub fn from_json(json: &serde_json::Value) -> Option<Self> {
        let text = |key: &str| Some(json.get(key)?.as_str()?.to_owned());
        let step = || usize::try_from(json.get("step")?.as_u64()?).ok();
        let on = |key: &str| json.get(key)?.as_bool();
        Some(match json.get("kind")?.as_str()? {
            "set" => Self::Set {
                step: step()?,
                param: text("param")?,
                value: text("value")?,
                live: on("live").unwrap_or(false),
            },
            "nudge" => {
                Self::Nudge { step: step()?, param: text("param")?, by: json.get("by")?.as_f64()? }
            }
            "restore" => Self::Restore { step: step()?, param: text("param")? },
            "switch" => Self::Switch { step: step()?, on: on("on")? },
            "move" => {
                Self::Move { step: step()?, by: isize::try_from(json.get("by")?.as_i64()?).ok()? }
            }
            "add" => Self::Add { id: text("id")? },
            "remove" => Self::Remove { step: step()? },
            "undo" => Self::Undo,
            "redo" => Self::Redo,
            "load" => Self::Load { procedure: json.get("procedure")?.clone() },
            "reset" => Self::Reset,
            _ => return None,
        })
    }
}

impl Session {
    /// Reads a whole file.
    ///
    /// # Errors
    ///
    /// The reading's fault; the session stays as it was.
    pub fn open(&mut self, name: &str, bytes: &[u8], choices: &Choices) -> Result<(), Fault> {
        let mut reader = Reader::new(name, choices);
        reader.push(bytes)?;
        self.take(reader, choices)
    }

    /// Takes in a file that was read chunk by chunk.
    ///
    /// # Errors
    ///
    /// The reading's fault; the session stays as it was.
    pub fn take(&mut self, reader: Reader, choices: &Choices) -> Result<(), Fault> {
        let reading = reader.finish()?;
        self.inputs.add(reading, choices.clone());
        self.inputs_changed();
        Ok(())
    }

    /// Takes in a file again, read with other decisions.
    ///
    /// # Errors
    ///
    /// The reading's fault; the session stays as it was.
    pub fn reread(&mut self, place: usize, reader: Reader, choices: &Choices) -> Result<(), Fault> {
        let reading = reader.finish()?;
        self.inputs.replace(place, reading, choices.clone());
        self.inputs_changed();
        Ok(())
    }

    /// Takes a file out.
    pub fn remove_input(&mut self, place: usize) {
        self.inputs.remove(place);
        self.inputs_changed();
    }

    /// Says what a file is used for, instead of what was guessed.
    pub fn set_use(&mut self, place: usize, used: Use) {
        if let Some(input) = self.inputs.files.get_mut(place) {
            input.choices = std::mem::take(&mut input.choices).with(USE, used.id());
        }
        self.inputs.assign();
        self.inputs_changed();
    }

    /// Keeps how logs are to be read that are opened from now on.
    pub fn set_readings(&mut self, readings: Vec<LogReading>) {
        self.readings = readings;
    }

    /// The decisions with which a file is to be read: those given, and those of
    /// the procedure that was opened for a log of this name.  A zone that was chosen for
    /// another log serves where a file names none.
    pub fn choices_for(&self, name: &str, given: &Choices) -> Choices {
        let kept = self.readings.iter().find(|reading| reading.log == name);
        let mut choices = kept.map(|reading| reading.choices.clone()).unwrap_or_default();
        let zone = self.inputs.files.iter().rev().find_map(|input| input.choices.get("zone"));
        if let Some(zone) = zone {
            choices = choices.with("zone-assumed", zone);
        }
        choices.set.extend(given.set.clone());
        choices
    }

    /// The procedure with the decisions of the reading that were changed.
    pub fn whole_procedure(&self) -> Procedure {
        let changed = self.inputs.files.iter().filter(|input| !input.choices.set.is_empty());
        let readings = changed
            .map(|input| LogReading {
                log: input.name().to_owned(),
                choices: input.choices.clone(),
            })
            .collect();
        Procedure { readings, ..self.procedure.clone() }
    }

    /// The open files that a procedure opened since the last view wants read
    /// otherwise, each with its decisions.
    pub fn rereads(&self) -> Vec<(usize, Choices)> {
        if !self.opened_procedure {
            return Vec::new();
        }
        let inputs = self.inputs.files.iter().enumerate();
        inputs
            .filter_map(|(place, input)| {
                let kept = self.readings.iter().find(|r| r.log == input.name())?;
                (kept.choices != input.choices).then(|| (place, kept.choices.clone()))
            })
            .collect()
    }

    fn inputs_changed(&mut self) {
        self.engine.clear();
        self.refused.clear();
        self.notes.clear();
        // A procedure that the student has not touched follows the files.
        if self.history.undo_name().is_none() {
            self.procedure = auto::propose(&self.inputs, &self.hints);
        }
    }

    /// Says what is known about the station beside its files; a procedure that
    /// has not been touched follows.
    pub fn set_hints(&mut self, hints: Hints) {
        self.hints = hints;
        if self.history.undo_name().is_none() {
            self.procedure = auto::propose(&self.inputs, &self.hints);
        }
    }

    /// Uses a procedure.
    pub fn set_procedure(&mut self, procedure: Procedure) {
        self.procedure = procedure;
    }

    /// The procedure in use.
    pub fn procedure(&self) -> &Procedure {
        &self.procedure
    }

    /// The opened files.
    pub fn inputs(&self) -> &Inputs {
        &self.inputs
    }

    /// The name of the change that undo would take back.
    pub fn undo_name(&self) -> Option<&str> {
        self.history.undo_name()
    }

    /// The name of the change that redo would make again.
    pub fn redo_name(&self) -> Option<&str> {
        self.history.redo_name()
    }

    /// The first step that the last edit touched.
    pub fn changed_from(&self) -> Option<usize> {
        self.changed_from
    }

    /// Does what the page asks; nothing is run yet.
    ///
    /// # Errors
    ///
    /// A fault when the edit cannot be made; nothing is changed then.  A text
    /// that is no allowed value is not a fault: it is kept beside its slot.
    pub fn edit(&mut self, edit: Edit) -> Result<(), Fault> {
        match edit {
            Edit::Set { step, param, value, live } => self.set(step, &param, &value, live),
            Edit::Nudge { step, param, by } => self.nudge(step, &param, by),
            Edit::Restore { step, param } => self.restore(step, param),
            Edit::Switch { step, on } => self.switch(step, on),
            Edit::Move { step, by } => self.shift(step, by),
            Edit::Add { id } => self.add(&id),
            Edit::Remove { step } => self.remove(step),
            Edit::Undo => self.step_back(true),
            Edit::Redo => self.step_back(false),
            Edit::Load { procedure } if kept::is_one(&procedure) => {
                let next = kept::put_to_use(&self.procedure, &procedure)?;
                let place = next.steps.iter().position(kept::is_step).unwrap_or(0);
                self.replace("open a calibration", next, place);
                Ok(())
            }
            Edit::Load { procedure } => {
                let next = Procedure::from_json(&procedure)?;
                self.readings.clone_from(&next.readings);
                self.opened_procedure = true;
                self.replace("open a procedure", next, 0);
                Ok(())
            }
            Edit::Reset => {
                let next = auto::propose(&self.inputs, &self.hints);
                self.replace("start from the proposed procedure", next, 0);
                Ok(())
            }
        }
    }

    fn choice(&self, step: usize) -> Result<&Choice, Fault> {
        self.procedure.steps.get(step).ok_or_else(|| {
            Fault::new(
                "procedure/no-such-step",
                say!("There is no step {}.", step + 1),
                "The procedure was changed meanwhile; look at it again.",
            )
        })
    }

    fn slot(&self, step: usize, key: &str) -> Result<(usize, &'static Param, Value), Fault> {
        let choice = self.choice(step)?;
        let found = choice.step.params.iter().position(|param| param.key == key);
        let place = found.ok_or_else(|| {
            Fault::new(
                "procedure/unknown-parameter",
                say!("The step “{}” has no parameter called “{key}”.", choice.step.id),
                "Reload the page.",
            )
        })?;
        Ok((place, &choice.step.params[place], choice.values[place].clone()))
    }

    fn set(&mut self, step: usize, key: &str, text: &str, live: bool) -> Result<(), Fault> {
        let (place, param, old) = self.slot(step, key)?;
        let spot = (step, key.to_owned());
        match param.understand(text) {
            Err(why) => {
                self.refused.insert(spot, Refused { text: text.to_owned(), why });
            }
            Ok(understood) => {
                self.refused.remove(&spot);
                self.notes.remove(&spot);
                if let Some(note) = understood.note {
                    self.notes.insert(spot, note);
                }
                self.put(step, place, param, &old, understood.value, live);
            }
        }
        if !live {
            self.typing = None;
        }
        Ok(())
    }

    fn put(
        &mut self,
        step: usize,
        place: usize,
        param: &Param,
        old: &Value,
        new: Value,
        live: bool,
    ) {
        let slot = format!("{step}/{}", param.key);
        let started = match self.typing.take() {
            Some((name, before)) if name == slot => before,
            _ => self.procedure.clone(),
        };
        let was = started.steps.get(step).and_then(|c| c.values.get(place)).unwrap_or(old);
        if !live && *was != new {
            let (from, to) = (param.said(was), param.said(&new));
            let name = format!("{} {from} → {to}", record::letters::all_small(param.label));
            self.history.push(name, started);
        } else if live {
            self.typing = Some((slot, started));
        }
        self.procedure.steps[step].values[place] = new;
        self.changed_from = Some(step);
    }

    fn nudge(&mut self, step: usize, key: &str, by: f64) -> Result<(), Fault> {
        let (place, param, old) = self.slot(step, key)?;
        let new = param.nudged(&old, by);
        self.refused.remove(&(step, key.to_owned()));
        self.notes.remove(&(step, key.to_owned()));
        self.put(step, place, param, &old, new, true);
        Ok(())
    }

    fn restore(&mut self, step: usize, key: String) -> Result<(), Fault> {
        self.slot(step, &key)?;
        if let Some((name, before)) = self.typing.take() {
            if name == format!("{step}/{key}") {
                self.procedure = before;
                self.changed_from = Some(step);
            } else {
                self.typing = Some((name, before));
            }
        }
        let spot = (step, key);
        self.refused.remove(&spot);
        self.notes.remove(&spot);
        Ok(())
    }

    fn switch(&mut self, step: usize, on: bool) -> Result<(), Fault> {
        let title = self.choice(step)?.step.title_within();
        let mut next = self.procedure.clone();
        next.steps[step].on = on;
        let name = say!("switch {title} {}", word(if on { "on" } else { "off" }));
        self.replace(&name, next, step);
        Ok(())
    }

    fn shift(&mut self, step: usize, by: isize) -> Result<(), Fault> {
        let title = self.choice(step)?.step.title_within();
        if !self.procedure.may_move(step, by) {
            return Err(Fault::new(
                "procedure/order",
                say!("The step “{title}” cannot be moved there."),
                "A step changes places with its neighbours of the same stage.",
            ));
        }
        let other = step.saturating_add_signed(by);
        let mut next = self.procedure.clone();
        next.steps.swap(step, other);
        self.replace(&say!("move {title}"), next, step.min(other));
        Ok(())
    }

    fn add(&mut self, id: &str) -> Result<(), Fault> {
        let step = steps::find(id).ok_or_else(|| {
            Fault::new(
                "procedure/unknown-step",
                say!("There is no step called “{id}”."),
                "Choose one from the list.",
            )
        })?;
        let mut next = self.procedure.clone();
        let place = next.place_for(step.stage);
        next.steps.insert(place, Choice::of(step));
        self.replace(&say!("add {}", step.title_within()), next, place);
        Ok(())
    }

    fn remove(&mut self, step: usize) -> Result<(), Fault> {
        let choice = self.choice(step)?;
        if !choice.step.removable {
            return Err(Fault::new(
                "procedure/fixed",
                say!(
                    "The step “{}” stays: every procedure begins with it.",
                    word(choice.step.title)
                ),
                "Other steps can be taken out, or switched off.",
            ));
        }
        let title = choice.step.title_within();
        let mut next = self.procedure.clone();
        next.steps.remove(step);
        self.replace(&say!("take out {title}"), next, step);
        Ok(())
    }

    fn step_back(&mut self, undo: bool) -> Result<(), Fault> {
        let now = self.procedure.clone();
        let next = if undo { self.history.undo(&now) } else { self.history.redo(&now) };
        let Some(next) = next else { return Ok(()) };
        self.changed_from = first_difference(&now, &next);
        self.procedure = next;
        self.forget_typing();
        Ok(())
    }

    fn replace(&mut self, name: &str, next: Procedure, from: usize) {
        if next != self.procedure {
            self.history.push(name, self.procedure.clone());
            self.procedure = next;
        }
        self.changed_from = Some(from);
        self.forget_typing();
    }

    fn forget_typing(&mut self) {
        self.typing = None;
        self.refused.clear();
        self.notes.clear();
    }

    /// Runs one step that needs it; true when nothing is left.
    pub fn advance(&mut self) -> bool {
        self.engine.advance(&self.procedure, &self.inputs)
    }

    /// The same, telling the share of the procedure that is done, 0 to 1, while the step runs.
    pub fn advance_telling(&mut self, tell: &dyn Fn(f64)) -> bool {
        self.engine.advance_telling(&self.procedure, &self.inputs, tell)
    }

    /// The share of the steps that hold, 0 to 1.
    pub fn fraction(&self) -> f64 {
        self.engine.fraction(&self.procedure)
    }

    /// Runs all that needs it.
    pub fn finish(&mut self) {
        self.engine.finish(&self.procedure, &self.inputs);
    }

    /// What became of a step.
    pub fn done(&self, step: usize) -> Option<&Done> {
        self.engine.done(step)
    }

    /// How many steps were run so far.
    pub fn runs(&self) -> u64 {
        self.engine.runs
    }

    /// What a channel slot of a step can be, by the record that reaches it.
    pub(crate) fn options(&mut self, step: usize, kind: Kind) -> Vec<(String, String)> {
        let fixed = |list: &[(&str, &str)]| -> Vec<(String, String)> {
            list.iter().map(|(id, label)| ((*id).to_owned(), worded(label))).collect()
        };
        match kind {
            Kind::Choice(list) => fixed(list),
            Kind::Channel(groups) => {
                let mut all = fixed(groups);
                if let Some(state) = self.engine.state_before(step, &self.inputs) {
                    let names = state.record.channels().iter().map(|c| c.name.clone());
                    all.extend(names.map(|name| (name.clone(), name)));
                }
                all
            }
            _ => Vec::new(),
        }
    }

    /// Everything the page shows, as JSON; runs what needs it first.
    pub fn view(&mut self) -> String {
        self.finish();
        let view = view::of(self);
        self.opened_procedure = false;
        view
    }

    /// The same, as far as it was run: the steps after that are waiting.
    pub fn view_so_far(&mut self) -> String {
        self.engine.forget_stale(&self.procedure);
        view::of(self)
    }

    /// Whether a step's outcome holds.
    pub fn reached(&self, step: usize) -> bool {
        self.engine.valid(&self.procedure) > step
    }

    /// The plan of a figure; runs as far as its step first.
    ///
    /// # Errors
    ///
    /// A fault when the step has no such figure now.
    pub fn plan(
        &mut self,
        step: usize,
        name: &str,
        frame: &Frame,
        view: &View,
    ) -> Result<Plan, Fault> {
        while !self.reached(step) && !self.advance() {}
        let done = self.engine.done(step);
        let figure = done.and_then(|done| done.figures().iter().find(|f| f.name == name));
        let figure = figure.ok_or_else(|| {
            Fault::new(
                "procedure/no-figure",
                say!("Step {} has no figure “{name}” now.", step + 1),
                "Switch the step on, or see why it could not run.",
            )
        })?;
        let mut plan = figure.plan(frame, view);
        plan.provenance = export::provenance(&self.inputs, &self.procedure);
        Ok(plan)
    }

    /// The record after the last step as a CSV file.
    pub fn processed_csv(&mut self) -> String {
        self.finish();
        match self.engine.last_state() {
            Some(state) => export::record_csv(&state.record, &self.inputs, &self.procedure),
            None => String::new(),
        }
    }

    /// The calibration in use as a file that another log can be given; none
    /// when there is none, or when it keeps the sensor's own scale in counts.
    pub fn calibration_json(&self) -> Option<String> {
        let place = self.procedure.steps.iter().position(kept::is_step)?;
        let Some(Done::Ran(outcome)) = self.engine.done(place) else { return None };
        let fitted = outcome.state.calibration.as_ref()?;
        let offset = outcome.values.iter().find(|v| v.name == "offset")?;
        let made = outcome.state.record.vector()?[0].unit == record::Unit::Nanotesla;
        made.then(|| crate::json::text(&kept::to_json(fitted, offset.unit, &self.inputs)))
    }

    /// The methods as prose: every sentence and what came of it.
    pub fn methods(&self) -> String {
        export::methods(self)
    }
}

fn first_difference(a: &Procedure, b: &Procedure) -> Option<usize> {
    let same = a.steps.iter().zip(&b.steps).take_while(|(x, y)| x == y).count();
    Some(same)
}
