//! What a step is: the one definition from which everything about it follows.

use crate::inputs::Inputs;
use crate::outcome::{Outcome, State};
use crate::param::{Param, Value};
use record::{Fault, Instant, words::word};

/// The stages of the page, in the order in which data passes them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Reading the log and saying where it is from.
    Log,
    /// Marking what is not to be trusted.
    Clean,
    /// From what the sensor wrote to the field.
    Calibrate,
    /// Elements and heading.
    Field,
    /// Filters, spectra, noise.
    Spectrum,
    /// Daily variation, storms, comparison; its steps look at the state and do not change it.
    Days,
}

impl Stage {
    /// Its name on the page.
    pub fn name(self) -> &'static str {
        word(self.id())
    }

    /// Its stable name: the English one.
    pub fn id(self) -> &'static str {
        match self {
            Self::Log => "Log",
            Self::Clean => "Clean",
            Self::Calibrate => "Calibrate",
            Self::Field => "Field",
            Self::Spectrum => "Spectrum",
            Self::Days => "Days",
        }
    }
}

/// Three sentences and a picture that a student can open beside a step.
#[derive(Clone, Copy, Debug)]
pub struct Why {
    /// What the step does.
    pub what: &'static str,
    /// Why one does it.
    pub why: &'static str,
    /// What goes wrong with it.
    pub wrong: &'static str,
    /// What its picture shows, for whoever does not see it; the picture itself is in `www/pictures`.
    pub picture: &'static str,
}

/// What a step gets to see while it runs.
pub struct Context<'a> {
    /// The logs that were opened.
    pub inputs: &'a Inputs,
    pub(crate) step: &'static Step,
    pub(crate) values: &'a [Value],
    /// Is told the share of the step that is done, 0 to 1.
    pub(crate) tell: &'a dyn Fn(f64),
}

/// The definition of a step.
pub struct Step {
    /// Stable name, kebab-case.
    pub id: &'static str,
    /// Where it belongs.
    pub stage: Stage,
    /// Short name for lists, such as "Spikes".
    pub title: &'static str,
    /// Its parameters, in the order in which they are explained.
    pub params: &'static [Param],
    /// The sentence for the values chosen, with `{key}` where a slot stands.
    pub sentence: fn(&Context<'_>) -> &'static str,
    /// The Why text.
    pub why: Why,
    /// The computation.
    pub run: fn(&Context<'_>, &State) -> Result<Outcome, Fault>,
    /// Whether the procedure may hold it more than once.
    pub repeatable: bool,
    /// Whether it can be taken out (the first ones cannot).
    pub removable: bool,
}

impl Step {
    /// Its title within a sentence: English writes it small there.
    pub(crate) fn title_within(&self) -> String {
        let title = word(self.title);
        if title == self.title { record::letters::all_small(title) } else { title.to_owned() }
    }
}

impl Context<'_> {
    fn value(&self, key: &str) -> Option<&Value> {
        let place = self.step.params.iter().position(|param| param.key == key)?;
        self.values.get(place)
    }

    /// A number or whole number; NaN for a key the step does not define.
    pub fn number(&self, key: &str) -> f64 {
        match self.value(key) {
            Some(Value::Number(number)) => *number,
            _ => f64::NAN,
        }
    }

    /// A whole number, zero or more.
    pub fn whole(&self, key: &str) -> usize {
        self.number(key).max(0.0) as usize
    }

    /// The identifier chosen, or the text typed.
    pub fn text(&self, key: &str) -> &str {
        match self.value(key) {
            Some(Value::Choice(text) | Value::Text(text)) => text,
            _ => "",
        }
    }

    /// A span of time; `None` is the whole record.
    pub fn span(&self, key: &str) -> Option<(Instant, Instant)> {
        match self.value(key) {
            Some(Value::Span(span)) => *span,
            _ => None,
        }
    }
}
