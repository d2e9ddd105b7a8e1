//! Runs a procedure, and runs again only what follows a change.
//!
//! Each step's outcome is kept with the signature of the step.  A step is run
//! anew when its own signature or anything before it has changed.  A step
//! that is refused hands on what it was given, so that what can be worked out
//! after it still is.  The steps of Days only look: each hands on what it was
//! given, so that a change of one leaves the others as they are.

use crate::inputs::{Input, Inputs, Use};
use crate::outcome::{FieldFrame, Figure, Figures, Outcome, Reference, Shared, State};
use crate::procedure::{Choice, Procedure};
use crate::step::{Context, Stage};
use record::{Fault, Record};
use std::sync::Arc;

/// What became of a step.
#[derive(Clone)]
pub enum Done {
    /// It ran.
    Ran(Arc<Outcome>),
    /// It is switched off.
    Off,
    /// It could not run; the fault says why, and some figures may show it.
    Refused(Fault, Figures),
}

impl Done {
    /// The figures there are, of what was done or of why it was not.
    pub fn figures(&self) -> &[Figure] {
        match self {
            Self::Ran(outcome) => &outcome.figures,
            Self::Refused(_, figures) => figures,
            Self::Off => &[],
        }
    }
}

struct Kept {
    choice: Choice,
    done: Done,
    before: Arc<State>,
    state: Arc<State>,
}

/// Outcomes of the steps, kept between changes.
#[derive(Default)]
pub struct Engine {
    kept: Vec<Kept>,
    /// Outcomes after a step of Days that has changed, which hold if nothing else has.
    spare: Vec<Kept>,
    first: Option<Arc<State>>,
    /// How many steps were run since the engine was made.
    pub runs: u64,
}

impl Engine {
    /// Forgets everything: the inputs have changed.
    pub fn clear(&mut self) {
        self.kept.clear();
        self.spare.clear();
        self.first = None;
    }

    /// How many steps of this procedure still hold.
    pub fn valid(&self, procedure: &Procedure) -> usize {
        self.kept.iter().zip(&procedure.steps).take_while(|(k, c)| k.choice == **c).count()
    }

    /// Forgets the outcomes that no longer hold.
    pub fn forget_stale(&mut self, procedure: &Procedure) {
        let valid = self.valid(procedure);
        let Some(first) = self.kept.get(valid) else { return };
        let only_looks = first.choice.step.stage == Stage::Days;
        let stale = self.kept.split_off(valid);
        self.spare = if only_looks { stale } else { Vec::new() };
    }

    /// An outcome of this step from this very state.
    fn spared(&mut self, choice: &Choice, state: &Arc<State>) -> Option<Kept> {
        let same = |k: &Kept| k.choice == *choice && Arc::ptr_eq(&k.before, state);
        self.spare.iter().position(same).map(|place| self.spare.swap_remove(place))
    }

    /// Runs the next step that needs it; true when nothing is left to run.
    pub fn advance(&mut self, procedure: &Procedure, inputs: &Inputs) -> bool {
        self.advance_telling(procedure, inputs, &|_| ())
    }

    /// The same, telling the share of the whole procedure that is done, 0 to 1, while the step
    /// runs.
    pub fn advance_telling(
        &mut self,
        procedure: &Procedure,
        inputs: &Inputs,
        tell: &dyn Fn(f64),
    ) -> bool {
        self.forget_stale(procedure);
        let valid = self.kept.len();
        let Some(choice) = procedure.steps.get(valid) else { return true };
        let Some(before) = self.state_before(valid, inputs) else { return true };
        let steps = procedure.steps.len() as f64;
        if let Some(kept) = self.spared(choice, &before) {
            self.kept.push(kept);
            return self.kept.len() == procedure.steps.len();
        }
        let tell = |share| tell((valid as f64 + share) / steps);
        let done = self.run(choice, &before, inputs, &tell);
        let state = match &done {
            Done::Ran(outcome) if choice.step.stage != Stage::Days => {
                Arc::new(outcome.state.clone())
            }
            Done::Ran(_) | Done::Off | Done::Refused(..) => Arc::clone(&before),
        };
        self.kept.push(Kept { choice: choice.clone(), done, before, state });
        self.kept.len() == procedure.steps.len()
    }

    /// The share of the steps that hold, 0 to 1.
    pub fn fraction(&self, procedure: &Procedure) -> f64 {
        if procedure.steps.is_empty() {
            return 1.0;
        }
        self.valid(procedure) as f64 / procedure.steps.len() as f64
    }

    /// Runs all that needs it.
    pub fn finish(&mut self, procedure: &Procedure, inputs: &Inputs) {
        while !self.advance(procedure, inputs) {}
    }

    /// What became of a step, when it has been reached.
    pub fn done(&self, place: usize) -> Option<&Done> {
        self.kept.get(place).map(|kept| &kept.done)
    }

    /// The state before a step.
    pub fn state_before(&mut self, place: usize, inputs: &Inputs) -> Option<Arc<State>> {
        if place > 0 {
            return self.kept.get(place - 1).map(|kept| Arc::clone(&kept.state));
        }
        if self.first.is_none() {
            self.first = first_state(inputs).map(Arc::new);
        }
        self.first.clone()
    }

    /// The state after the last step reached.
    pub fn last_state(&self) -> Option<Arc<State>> {
        self.kept.last().map(|kept| Arc::clone(&kept.state))
    }

    fn run(&mut self, choice: &Choice, state: &State, inputs: &Inputs, tell: &dyn Fn(f64)) -> Done {
        if !choice.on {
            return Done::Off;
        }
        self.runs += 1;
        let context = Context { inputs, step: choice.step, values: &choice.values, tell };
        match (choice.step.run)(&context, state) {
            Ok(Outcome { refused: Some(fault), figures, .. }) => Done::Refused(fault, figures),
            Ok(outcome) => Done::Ran(Arc::new(outcome)),
            Err(fault) => Done::Refused(fault, Vec::new()),
        }
    }
}

fn first_state(inputs: &Inputs) -> Option<State> {
    let record = inputs.record(Use::Log)?;
    let turning = inputs.used(Use::Turning).map(|input| Arc::new(input.reading.record.clone()));
    Some(State {
        before: record.clone(),
        record,
        field: None,
        fine: None,
        turning,
        reference: joined_reference(inputs).map(Arc::new),
        station: None,
        model: None,
        calibration: None,
        shared: Shared::default(),
        frame: FieldFrame::Sensor,
    })
}

// The record in order of time: files of several days may be joined anyhow.
fn joined_reference(inputs: &Inputs) -> Option<Reference> {
    Some(reference(inputs.used(Use::Reference)?, &inputs.record(Use::Reference)?))
}

/// What a file says of an observatory, around its record or several joined.
pub(crate) fn reference(input: &Input, record: &Record) -> Reference {
    let station = input.reading.station.clone();
    let named = station.as_ref().map(|s| s.name.clone()).filter(|name| !name.is_empty());
    Reference {
        name: named.unwrap_or_else(|| input.name().to_owned()),
        kind: record::letters::all_small(&input.reading.report.data_type),
        record: clean::order::order(record).record,
        station,
    }
}
