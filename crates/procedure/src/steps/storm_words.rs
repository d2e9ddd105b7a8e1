//! What the step Storms says of what it found.

use crate::outcome::Outcome;
use field::storms::{Found, Noted, Reason, Storm, Verdict, class};
use record::{
    NANOS_PER_SECOND, Unit, print, say,
    words::{word, worded},
};

/// How many of what is not a storm are told one by one.
const MOST_LINES: usize = 10;

fn nt(value: f64, figures: usize) -> String {
    print::with_unit(&print::significant(value, figures), Unit::Nanotesla)
}

fn depth(storm: &Storm) -> String {
    let number = print::with_sigma(storm.depth_nt, storm.depth_sigma_nt);
    print::with_unit(&number, Unit::Nanotesla)
}

/// When it began, and how well that is known.
fn began(storm: &Storm) -> String {
    match storm.jump {
        Some(jump) => say!(
            "sudden rise of {} on {} UTC, give or take {}{}",
            nt(jump.size_nt[0], 2),
            storm.onset.rounded(NANOS_PER_SECOND).readable(),
            print::duration(storm.onset_sigma_s.round()),
            if storm.timed_by_both { word(", timed by both records") } else { "" }
        ),
        None => say!("begins gradually about {} UTC", storm.onset.readable()),
    }
}

pub(super) fn of_storm(storm: &Storm) -> String {
    let like = class(storm.depth_nt)
        .map_or_else(String::new, |class| say!(", as of a {} storm", word(class.id())));
    let end = match storm.end {
        Some(end) => say!("recovered by {}", end.readable()),
        None => worded("not yet recovered when the record ends"),
    };
    say!(
        "{}; deepest {} in the hour about {}{like}; {end}",
        began(storm),
        depth(storm),
        storm.deepest.readable()
    )
}

fn reasons(list: &[Reason]) -> String {
    list.iter().map(|r| r.text.as_str()).collect::<Vec<_>>().join("; ")
}

fn of_jump(noted: &Noted) -> String {
    let [h, across, z] = noted.jump.size_nt.map(|v| nt(v, 2));
    let what = match noted.verdict {
        Verdict::Local => word("local"),
        Verdict::Bay => word("a bay's onset"),
        Verdict::Storm | Verdict::Undecided => word("not decided"),
    };
    let why = reasons(&noted.reasons);
    let colon = if why.is_empty() { "" } else { ": " };
    say!("jump of {h} along, {across} across, {z} down; {what}{colon}{why}")
}

/// The remark of the step.
pub(super) fn remark(found: &Found) -> String {
    let storms: Vec<&Storm> = found.storms().collect();
    let mut text = match storms.as_slice() {
        [] => worded("No storm of this depth."),
        [one] => say!("Found one storm: {}.", of_storm(one)),
        [first, ..] => say!(
            "Found {}. The first: {}.",
            print::counted(storms.len(), "storm", "storms"),
            of_storm(first)
        ),
    };
    let count = |verdict| {
        let low = found.candidates.iter().filter(|c| c.verdict == verdict).count();
        low + found.jumps.iter().filter(|j| j.verdict == verdict).count()
    };
    let bays = found.candidates.iter().filter(|c| c.verdict == Verdict::Bay).count();
    let mut rest = Vec::new();
    if bays > 0 {
        rest.push(print::counted(bays, "bay", "bays"));
    }
    for (n, words) in [
        (count(Verdict::Local), word("put down to something nearby")),
        (count(Verdict::Undecided), word("not decided")),
    ] {
        if n > 0 {
            rest.push(format!("{} {words}", print::count(n)));
        }
    }
    if !rest.is_empty() {
        text.push_str(&say!(" Not storms: {}.", rest.join(", ")));
    }
    text
}

/// Storms, what else fell low, and jumps, each with its reasons.
pub(super) fn with_lines(mut outcome: Outcome, found: &Found) -> Outcome {
    for (k, storm) in found.storms().enumerate() {
        let text = say!("{}. Why: {}", of_storm(storm), reasons(&storm.reasons));
        outcome = outcome.line(&format!("storm_{}", k + 1), &say!("Storm {}", k + 1), text);
    }
    let low = found.candidates.iter().filter(|c| c.verdict != Verdict::Storm).map(|c| {
        let words = c.verdict.words();
        (c.main_phase, say!("down to {}; {words}: {}", depth(c), reasons(&c.reasons)))
    });
    let jumps = found.jumps.iter().map(|j| (j.jump.time, of_jump(j)));
    let mut rest: Vec<_> = low.chain(jumps).collect();
    record::sort::by(&mut rest, |a, b| a.0.cmp(&b.0));
    let more = rest.len().saturating_sub(MOST_LINES);
    for (k, (time, text)) in rest.into_iter().take(MOST_LINES).enumerate() {
        let label = format!("{} UTC", time.rounded(60 * NANOS_PER_SECOND).readable());
        outcome = outcome.line(&format!("other_{}", k + 1), &label, text);
    }
    // Held by the scenario's test `false_storms`.
    let text = word("none in 720 simulated days without a storm, with a reference and without one");
    outcome = outcome.line("false_alarms", word("False alarms"), text);
    if more > 0 {
        let text = say!("{} more, in the file of results", print::count(more));
        outcome = outcome.line("others", "And", text);
    }
    outcome
}
