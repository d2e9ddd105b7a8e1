//! The figures of the steps: which data, which caption, which summary.
//!
//! Steps hand over what they hold; here it becomes figures that can be planned
//! for any room.  Nothing is computed but what the words need.

mod angles;
mod before_after;
mod calibration;
mod response;
mod spectrum;

use crate::outcome::{Figure, Outcome};
pub(crate) use angles::{with_elements, with_vector};
pub(crate) use before_after::with_before_after;
pub(crate) use calibration::{
    with_calibration, with_directions, with_lengths, with_refused_directions, with_residual_map,
};
use figure::plan::{Prepared, Trace};
use figure::{Words, plan};
use record::{Channel, Instant, Record, Role, print, say, sort::ordered, words::worded};
pub(crate) use response::with_response;
pub(crate) use spectrum::{Drawn, SpectralLine, with_spectrum};
use std::sync::OnceLock;

/// How many panels a figure of time series holds at most.
const MOST_PANELS: usize = 4;

/// Adds the figure of the record's main channels against time.
pub(crate) fn with_series(
    outcome: Outcome,
    record: &Record,
    before: Option<&Record>,
    name: &'static str,
    title: &'static str,
    caption: &str,
) -> Outcome {
    let shown: Vec<Channel> = main_channels(record).into_iter().take(MOST_PANELS).collect();
    if shown.is_empty() || record.is_empty() {
        return outcome;
    }
    let words = Words {
        name: name.to_owned(),
        caption: format!("{caption}{}", left_out(record)),
        summary: summary(record, &shown),
        provenance: String::new(),
    };
    let faint: Vec<Option<Channel>> = shown
        .iter()
        .map(|c| before.filter(|b| b.len() == record.len()).and_then(|b| b.named(&c.name)).cloned())
        .collect();
    let times = record.shared_times();
    let marks = record.marks().clone();
    let looked_through: OnceLock<Vec<Prepared>> = OnceLock::new();
    outcome.figure(Figure::new(name, title, move |frame, view| {
        let traces: Vec<Trace<'_>> = shown
            .iter()
            .zip(&faint)
            .map(|(channel, faint)| Trace {
                name: &channel.name,
                unit: channel.unit,
                times_ns: &times,
                values: &channel.values,
                marks: Some(&marks),
                faint: faint.as_ref().map(|c| c.values.as_slice()),
            })
            .collect();
        // The first view is wanted at once; a zoom is one of many, and what
        // they share is found once.
        let made: &[Prepared] = match view.x {
            Some(_) => looked_through.get_or_init(|| traces.iter().map(Prepared::new).collect()),
            None => looked_through.get().map_or(&[], Vec::as_slice),
        };
        plan::series_prepared(&traces, made, *frame, *view, &words)
    }))
}

// The components and the total field; without a vector, what there is.
fn main_channels(record: &Record) -> Vec<Channel> {
    let mut out: Vec<Channel> = match record.vector() {
        Some(axes) => axes.into_iter().cloned().collect(),
        None => record.channels().iter().filter(|c| has_numbers(c)).cloned().collect(),
    };
    if record.vector().is_some() {
        let derived = record.channels().iter().rev().find(|c| c.role == Role::F);
        let fourth = derived.or_else(|| record.channel(Role::Temperature));
        out.extend(fourth.filter(|c| has_numbers(c)).cloned());
    }
    out
}

fn has_numbers(channel: &Channel) -> bool {
    channel.values.iter().any(|v| v.is_finite())
}

/// Span, ranges and the largest excursion, in sentences.
fn summary(record: &Record, shown: &[Channel]) -> String {
    let names: Vec<&str> = shown.iter().map(|c| c.name.as_str()).collect();
    let span = match (record.start(), record.end()) {
        (Some(a), Some(b)) => print::span(a, b),
        _ => worded("no time"),
    };
    let n = record.len();
    let kept = record.marks().kept();
    let mut text = say!(
        "{} against time from {span}: {}, of which {} left out.",
        names.join(", "),
        print::counted(n, "sample", "samples"),
        match n - kept {
            0 => worded("none is"),
            1 => worded("1 is"),
            some => say!("{} are", print::count(some)),
        }
    );
    for channel in shown.iter().take(3) {
        if let Some(sentence) = extremes(record, channel) {
            text.push(' ');
            text.push_str(&sentence);
        }
    }
    text
}

/// What is left out and why, a reason with its count and share; nothing where
/// nothing is marked.
fn left_out(record: &Record) -> String {
    let told: Vec<String> = record
        .marks()
        .tally()
        .into_iter()
        .map(|(reason, n)| {
            format!("{}, {} ({})", reason.label(), print::count(n), print::percent(n, record.len()))
        })
        .collect();
    if told.is_empty() { String::new() } else { say!(" Marked: {}.", told.join("; ")) }
}

fn extremes(record: &Record, channel: &Channel) -> Option<String> {
    let kept = |k: &usize| record.marks().keeps(*k) && channel.values[*k].is_finite();
    let order = |k: &usize| ordered(channel.values[*k]);
    let low = (0..record.len()).filter(kept).min_by_key(order)?;
    let high = (0..record.len()).filter(kept).max_by_key(order)?;
    // To a hundredth of what lies between them, as a figure shows it.
    let step = (channel.values[high] - channel.values[low]) / 100.0;
    let shown = |k: usize| {
        let number = print::to_place(channel.values[k], step);
        say!(
            "{} on {}",
            print::with_unit(&number, channel.unit),
            Instant(record.times_ns()[k]).readable()
        )
    };
    Some(say!("{} lies between {} and {}.", channel.name, shown(low), shown(high)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::{Reason, Unit};

    #[test]
    fn a_caption_tells_each_reason_with_its_count_and_share() {
        let channel = Channel::new("bx", Role::X, Unit::Nanotesla, vec![1.0; 400]);
        let record = Record::new((0..400).collect(), vec![channel]).unwrap();
        assert_eq!(left_out(&record), "");
        let mut marks = record.marks().clone();
        let flags = |n: usize| (0..400).map(|k| k < n).collect::<Vec<bool>>();
        marks.add(Reason::Spike, &flags(4));
        marks.add(Reason::Repeat, &flags(2));
        let record = record.marked(marks).unwrap();
        assert_eq!(left_out(&record), " Marked: repeated time, 2 (0.50 %); spike, 4 (1.0 %).");
    }
}
