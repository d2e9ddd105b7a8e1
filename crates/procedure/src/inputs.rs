//! The logs that were opened, and what each is used for.

use clean::join::{self, Joined};
use intake::{Choices, Decision, Reading};
use record::{
    Record, Warning, print, say,
    words::{word, worded},
};
use std::sync::Arc;

/// What an opened file is used for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use {
    /// The log the procedure works on.
    Log,
    /// The sensor turned through all directions, for calibration.
    Turning,
    /// An observatory's record.
    Reference,
    /// A part of the log or of the reference, joined to it in order of time.
    Joined,
    /// Opened, and not used.
    Aside,
}

impl Use {
    /// Stable name.
    pub fn id(self) -> &'static str {
        match self {
            Self::Log => "log",
            Self::Turning => "turning",
            Self::Reference => "reference",
            Self::Joined => "joined",
            Self::Aside => "aside",
        }
    }

    /// The use with this stable name.
    pub fn from_id(id: &str) -> Option<Self> {
        let all = [Self::Log, Self::Turning, Self::Reference, Self::Joined, Self::Aside];
        all.into_iter().find(|used| used.id() == id)
    }

    fn said(self) -> &'static str {
        match self {
            Self::Log => word("the log the procedure works on"),
            Self::Turning => word("the turning log, for calibration"),
            Self::Reference => word("the reference, an observatory's record"),
            Self::Joined => word("a part, joined in order of time"),
            Self::Aside => word("nothing for now"),
        }
    }
}

/// The id of the answer that says what a file is used for, beside the decisions
/// of its reading.
pub const USE: &str = "use";

/// One opened file.
#[derive(Clone)]
pub struct Input {
    /// What was read from it.
    pub reading: Arc<Reading>,
    /// Decisions of the reading that the student changed.
    pub choices: Choices,
    /// What it is used for.
    pub used: Use,
    // What it looks like: the log, a turning log or a reference.
    kind: Use,
}

impl Input {
    fn new(reading: Reading, choices: Choices) -> Self {
        let kind = kind_of(&reading);
        Self { reading: Arc::new(reading), choices, used: Use::Aside, kind }
    }

    /// The file's name.
    pub fn name(&self) -> &str {
        &self.reading.report.name
    }

    /// Rows and span, for reading.
    pub fn facts(&self) -> String {
        let record = &self.reading.record;
        let rows = print::counted(record.len(), "sample", "samples");
        let report = &self.reading.report;
        match (record.start(), record.end()) {
            (Some(start), Some(end)) if report.undated() => {
                let seconds = (end.0 - start.0) as f64 / record::NANOS_PER_SECOND as f64;
                say!("{rows} without a date, over {}", print::duration(seconds))
            }
            (Some(start), Some(end)) if report.time.kind != "none" => {
                format!("{rows}, {}", print::span(start, end))
            }
            _ => say!("{rows}, no times in the file"),
        }
    }
}

/// All opened files.
#[derive(Clone, Default)]
pub struct Inputs {
    /// In the order in which they were opened.
    pub files: Vec<Input>,
}

impl Inputs {
    /// Adds a file and decides what each file is used for.
    pub fn add(&mut self, reading: Reading, choices: Choices) {
        self.files.push(Input::new(reading, choices));
        self.assign();
    }

    /// Takes a file that was read again in place of an earlier reading of it.
    pub fn replace(&mut self, place: usize, reading: Reading, choices: Choices) {
        if let Some(input) = self.files.get_mut(place) {
            *input = Input::new(reading, choices);
            self.assign();
        }
    }

    /// Takes a file out.
    pub fn remove(&mut self, place: usize) {
        if place < self.files.len() {
            self.files.remove(place);
            self.assign();
        }
    }

    /// The newest file with a use.
    pub fn used(&self, used: Use) -> Option<&Input> {
        self.files.iter().rev().find(|input| input.used == used)
    }

    /// The file with a use and those joined to it, in the order in which they
    /// were opened.
    pub fn parts(&self, used: Use) -> Vec<&Input> {
        let Some(main) = self.used(used) else { return Vec::new() };
        let belongs = |(place, input): &(usize, &Input)| {
            std::ptr::eq(*input, main)
                || (input.used == Use::Joined && self.fitting(*place) == Some(used))
        };
        self.files.iter().enumerate().filter(belongs).map(|(_, input)| input).collect()
    }

    /// The record of a use, of one file or of several joined.
    pub fn record(&self, used: Use) -> Option<Record> {
        self.joined(used).map(|joined| joined.record)
    }

    /// The same with the stretches that two files have in common.
    pub fn joined(&self, used: Use) -> Option<Joined> {
        let records: Vec<&Record> =
            self.parts(used).iter().map(|input| &input.reading.record).collect();
        match records.as_slice() {
            [] => None,
            [one] => Some(Joined { record: (*one).clone(), overlaps: Vec::new() }),
            several => join::join(several).ok(),
        }
    }

    // The newest file of each kind serves.  A turning log is told by its
    // vectors: they move by a good part of their own length.  A turning log
    // that came alone is the log itself.
    pub(crate) fn assign(&mut self) {
        let kinds: Vec<Use> = self.files.iter().map(wanted).collect();
        let has_log = kinds.contains(&Use::Log);
        let mut taken: Vec<Use> = Vec::new();
        for (input, kind) in self.files.iter_mut().zip(&kinds).rev() {
            let is_free = input.choices.get(USE).is_none();
            let kind = match kind {
                Use::Turning | Use::Reference
                    if is_free && !has_log && kinds.iter().all(|k| k == kind) =>
                {
                    Use::Log
                }
                other => *other,
            };
            input.used = if taken.contains(&kind) { Use::Aside } else { kind };
            taken.push(kind);
        }
        self.fall_back_on_the_newest();
        self.join();
    }

    fn fall_back_on_the_newest(&mut self) {
        if self.used(Use::Log).is_none()
            && let Some(input) = self.files.iter_mut().rev().find(|i| i.used != Use::Reference)
        {
            input.used = Use::Log;
        }
    }

    // A file that goes on where another ended is joined to it; one that has
    // times in common with it, only when the student says so.
    fn join(&mut self) {
        for place in (0..self.files.len()).rev() {
            let input = &self.files[place];
            if input.used == Use::Aside
                && let Some(kind) = self.fitting(place)
            {
                let free = input.choices.get(USE).is_none() && !self.overlaps(place, kind);
                if free || input.choices.get(USE) == Some(Use::Joined.id()) {
                    self.files[place].used = Use::Joined;
                }
            }
        }
    }

    // The use of the file that another can be joined to: one of its kind, of its
    // station, with the same columns.
    fn fitting(&self, place: usize) -> Option<Use> {
        let input = self.files.get(place)?;
        let place_of = |input: &Input| input.reading.station.as_ref().map(|s| s.name.clone());
        [input.kind, Use::Log].into_iter().find(|used| {
            self.used(*used).is_some_and(|main| {
                input.kind != Use::Turning
                    && main.kind == input.kind
                    && !std::ptr::eq(main, input)
                    && is_dated(input)
                    && is_dated(main)
                    && place_of(main) == place_of(input)
                    && join::fits(&main.reading.record, &input.reading.record)
            })
        })
    }

    fn overlaps(&self, place: usize, kind: Use) -> bool {
        let own = join::span_ns(&self.files[place].reading.record);
        self.parts(kind).iter().any(|part| {
            let span = join::span_ns(&part.reading.record);
            own.zip(span).is_none_or(|(a, b)| a.0.max(b.0) <= a.1.min(b.1))
        })
    }

    /// A warning of the files that are used for nothing without the student's word.
    pub(crate) fn idle(&self) -> Option<Warning> {
        let mut names = String::new();
        for input in &self.files {
            if input.used == Use::Aside && input.choices.get(USE).is_none() {
                names += if names.is_empty() { "" } else { ", " };
                names += input.name();
            }
        }
        (!names.is_empty()).then(|| {
            Warning::new(
                "read/not-used",
                say!("Opened, but in no result: {names}."),
                "Under “How it was read” see why, and say what it is used for.",
            )
        })
    }

    /// What a file is used for, as a decision with its evidence.
    pub(crate) fn decision(&self, place: usize) -> Option<Decision> {
        let input = self.files.get(place)?;
        let fitting = self.fitting(place);
        let main = self.used(fitting.unwrap_or(input.kind)).or(self.used(Use::Log));
        let main = main.map_or("", Input::name);
        let chosen = input.used;
        let sentence = match chosen {
            Use::Joined => say!("Joined to {main} in order of time."),
            Use::Aside if fitting.is_some() => {
                say!("Not used. It could be joined to {main}: they have the same columns.")
            }
            Use::Aside => worded("Not used."),
            other => say!("Used as {}.", other.said()),
        };
        let evidence = match (input.choices.get(USE), chosen) {
            (Some(_), _) => worded("your choice"),
            (None, Use::Joined) => {
                worded("the same columns and units, and no times in common: one logger's files")
            }
            (None, Use::Aside) if fitting.is_some() => worded(
                "both hold samples of the same time, so that it may be a copy or a correction",
            ),
            (None, Use::Aside) => say!(
                "{main} was opened after it, and the two do not join: names or units of their columns differ, or a date is not known"
            ),
            (None, _) => match input.kind {
                Use::Reference => worded("it is in the form that observatories exchange"),
                Use::Turning => worded("its field turns by a good part of its own length"),
                _ => worded("its field does not turn, or it holds none"),
            },
        };
        let mut uses = vec![Use::Log, Use::Turning, Use::Reference];
        uses.extend((fitting.is_some() || chosen == Use::Joined).then_some(Use::Joined));
        uses.push(Use::Aside);
        Some(Decision {
            id: USE.to_owned(),
            sentence,
            evidence,
            chosen: chosen.id().to_owned(),
            alternatives: uses.iter().map(|u| (u.id().to_owned(), u.said().to_owned())).collect(),
            ambiguous: fitting.is_some() && input.choices.get(USE).is_none(),
        })
    }
}

// What the student says, or what the file looks like; a part is looked at again
// when it is known what there is to join.
fn wanted(input: &Input) -> Use {
    match input.choices.get(USE).and_then(Use::from_id) {
        Some(Use::Joined) => Use::Aside,
        Some(used) => used,
        None => input.kind,
    }
}

// Times without a date cannot be set beside each other.
fn is_dated(input: &Input) -> bool {
    let report = &input.reading.report;
    !matches!(report.time.kind, "none" | "uptime") && !report.undated()
}

fn kind_of(reading: &Reading) -> Use {
    if reading.report.format == "iaga-2002" {
        Use::Reference
    } else if turns(&reading.record) {
        Use::Turning
    } else {
        Use::Log
    }
}

/// Whether the field vector of a record turns: on two axes or more its middle
/// 98 % spans more than 0.3 of its median length.  A sensor that stands still
/// moves by a hundredth of that even in a great storm.  Of a long record every so
/// manieth sample is looked at, [`LOOKED_AT`] of them or so.
pub fn turns(record: &Record) -> bool {
    let Some(axes) = record.vector() else { return false };
    let every = record.len().div_ceil(LOOKED_AT).max(1);
    let lengths: Vec<f64> = (0..record.len())
        .step_by(every)
        .map(|k| record::vector::norm([axes[0].values[k], axes[1].values[k], axes[2].values[k]]))
        .collect();
    let Some(length) = signal::robust::median(&lengths).filter(|l| *l > 0.0) else {
        return false;
    };
    let moving = axes.iter().filter(|axis| middle_span(&axis.values, every) > 0.3 * length).count();
    moving >= 2
}

// Samples that tell whether a sensor turns.
const LOOKED_AT: usize = 20_000;

fn middle_span(values: &[f64], every: usize) -> f64 {
    let mut finite: Vec<f64> =
        values.iter().step_by(every).copied().filter(|v| v.is_finite()).collect();
    if finite.len() < 2 {
        return 0.0;
    }
    let last = finite.len() - 1;
    let low = record::sort::nth(&mut finite, last / 100);
    let high = record::sort::nth(&mut finite, last - last / 100);
    high - low
}

#[cfg(test)]
mod tests {
    use super::*;

    // A day's log at half-hour steps, from this hour on.
    fn log(name: &str, day: u32, from: u32, column: &str) -> Reading {
        let mut text = format!("time,{column}_nt,by_nt,bz_nt\n");
        for k in from..from + 12 {
            text += &format!("2026-05-{day:02}T{k:02}:00:00Z,16632.{k},-1002.{k},47743.{k}\n");
        }
        intake::read(name, text.as_bytes(), &Choices::default()).unwrap()
    }

    fn uses(inputs: &Inputs) -> Vec<&'static str> {
        inputs.files.iter().map(|input| input.used.id()).collect()
    }

    #[test]
    fn a_log_that_goes_on_where_another_ended_is_joined_to_it() {
        let mut inputs = Inputs::default();
        inputs.add(log("a.csv", 3, 0, "bx"), Choices::default());
        inputs.add(log("b.csv", 4, 0, "bx"), Choices::default());
        inputs.add(log("c.csv", 3, 12, "bx"), Choices::default());
        assert_eq!(uses(&inputs), ["joined", "joined", "log"]);
        let joined = inputs.joined(Use::Log).unwrap();
        assert_eq!((joined.record.len(), joined.overlaps.len()), (36, 0));
        assert!(joined.record.times_ns().is_sorted());
    }

    #[test]
    fn a_log_with_times_in_common_is_joined_on_the_students_word_alone() {
        let mut inputs = Inputs::default();
        inputs.add(log("a.csv", 3, 0, "bx"), Choices::default());
        inputs.add(log("b.csv", 3, 6, "bx"), Choices::default());
        assert_eq!(uses(&inputs), ["aside", "log"]);
        assert!(inputs.decision(0).unwrap().ambiguous);
        inputs.files[0].choices = Choices::default().with(USE, "joined");
        inputs.assign();
        assert_eq!(uses(&inputs), ["joined", "log"]);
        assert_eq!(inputs.joined(Use::Log).unwrap().overlaps[0].samples, 12);
    }

    #[test]
    fn another_loggers_columns_and_a_file_kept_apart_are_not_joined() {
        let mut inputs = Inputs::default();
        inputs.add(log("a.csv", 3, 0, "b1"), Choices::default());
        inputs.add(log("b.csv", 4, 0, "bx"), Choices::default());
        assert_eq!(uses(&inputs), ["aside", "log"]);
        let apart = Choices::default().with(USE, "aside");
        inputs.add(log("c.csv", 5, 0, "bx"), apart);
        assert_eq!(uses(&inputs), ["aside", "log", "aside"]);
    }
}
