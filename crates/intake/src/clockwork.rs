//! Which columns tell the time, and how.
//!
//! Every way in which the columns of the sample could tell it becomes a
//! candidate; the best one is taken, the others stay as alternatives that the
//! student can choose.

use crate::names::{Named, Quantity};
use crate::plan::{Source, Task};
use crate::profile::Profile;
use crate::{counts, parts};
use record::{say, words::worded};

/// A column of the sample.
#[derive(Clone, Debug)]
pub(crate) struct Seen {
    /// Its header.
    pub named: Named,
    /// Its cells.
    pub profile: Profile,
}

/// One way to tell the time.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Candidate {
    /// Stable id: the columns' names, or `none`.
    pub id: String,
    /// `iso8601`, `epoch`, `uptime`, `date+time`, `serial` or `none`.
    pub kind: &'static str,
    /// What to do with which column.
    pub tasks: Vec<(usize, Task)>,
    /// Why it could be the time.
    pub evidence: String,
    /// How well it would do.
    pub score: i32,
    /// Seconds of the unit an uptime counts in.
    pub unit_s: f64,
    /// Whether that unit is a guess.
    pub guessed: bool,
}

/// All candidates, best first; the last is always `none`.
pub(crate) fn candidates(columns: &[Seen]) -> Vec<Candidate> {
    let mut found = stamps(columns);
    found.extend(parts::by_name(columns));
    found.extend(parts::by_look(columns));
    for place in 0..columns.len() {
        found.extend(counts::candidates(columns, place));
    }
    found.push(Candidate {
        id: "none".to_owned(),
        kind: "none",
        tasks: Vec::new(),
        evidence: worded("no column that runs with time"),
        score: 0,
        unit_s: 0.0,
        guessed: false,
    });
    record::sort::by(&mut found, |a, b| b.score.cmp(&a.score));
    found
}

/// A name for the column at `place`: its own, or its position.
pub(crate) fn label(columns: &[Seen], place: usize) -> String {
    let name = &columns[place].named.name;
    if name.is_empty() { format!("column {}", place + 1) } else { name.clone() }
}

pub(crate) fn candidate(
    columns: &[Seen],
    kind: &'static str,
    tasks: Vec<(usize, Task)>,
    score: i32,
    evidence: String,
) -> Candidate {
    let labels: Vec<String> = tasks.iter().map(|(place, _)| label(columns, *place)).collect();
    let first = tasks.first().map_or(0, |(place, _)| *place) as i32;
    let id = labels.join("+");
    Candidate {
        id,
        kind,
        tasks,
        evidence,
        score: score - first.min(20),
        unit_s: 0.0,
        guessed: false,
    }
}

// Text stamps: whole, or as a date and a time of day in two columns.
fn stamps(columns: &[Seen]) -> Vec<Candidate> {
    let mut found = Vec::new();
    let all = |test: &dyn Fn(&Profile) -> usize| -> Vec<usize> {
        (0..columns.len())
            .filter(|k| columns[*k].profile.mostly(test(&columns[*k].profile)))
            .collect()
    };
    let whole = all(&|p| p.stamps);
    let mut dates = all(&|p| p.dates + p.stamps);
    let mut clocks = all(&|p| p.clocks);
    for place in all(&|p| p.dotted) {
        let said = columns[place]
            .named
            .words
            .iter()
            .any(|w| ["date", "datum", "day"].contains(&w.as_str()));
        if dates.is_empty() && (said || !clocks.is_empty()) {
            dates.push(place);
        } else {
            clocks.push(place);
        }
    }
    for place in &whole {
        let example = &columns[*place].profile.example;
        let kind = if is_iso(example) { "iso8601" } else { "date+time" };
        let named = i32::from(columns[*place].named.quantity == Quantity::Time) * 10;
        let evidence = say!("stamps such as “{example}”");
        found.push(candidate(columns, kind, vec![(*place, Task::Stamp)], 100 + named, evidence));
    }
    for date in dates.iter().filter(|d| !whole.contains(d)) {
        let example = &columns[*date].profile.example;
        let nearest = clocks.iter().min_by_key(|clock| clock.abs_diff(*date));
        if let Some(clock) = nearest {
            let tasks = vec![(*date, Task::Stamp), (*clock, Task::Clock)];
            let time = &columns[*clock].profile.example;
            let evidence = say!("dates such as “{example}” and times such as “{time}”");
            found.push(candidate(columns, "date+time", tasks, 95, evidence));
        } else if let Some((place, task)) = parts::clock_beside(columns, *date) {
            let evidence = say!("dates such as “{example}” and the hours beside them");
            let tasks = vec![(*date, Task::Stamp), (place, task)];
            found.push(candidate(columns, "date+time", tasks, 94, evidence));
        }
        let evidence = say!("dates such as “{example}”, without a time of day");
        found.push(candidate(columns, "date+time", vec![(*date, Task::Stamp)], 60, evidence));
    }
    for clock in &clocks {
        let example = &columns[*clock].profile.example;
        let evidence = say!("times of day such as “{example}”, without a date");
        found.push(candidate(columns, "date+time", vec![(*clock, Task::Clock)], 55, evidence));
    }
    found
}

// A four-digit year in front, as ISO 8601 has it.
fn is_iso(example: &str) -> bool {
    let bytes = example.as_bytes();
    bytes.len() >= 8
        && bytes[..4].iter().all(u8::is_ascii_digit)
        && (bytes[4] == b'-' || bytes[4].is_ascii_digit())
}

/// The source that a candidate makes, with what headers and comments add.
pub(crate) fn source(candidate: &Candidate, columns: &[Seen], comments: &[String]) -> Source {
    let named = candidate.tasks.iter().map(|(place, _)| &columns[*place].named);
    let of_column = |n: &Named| told_offset(&n.header).or_else(|| told_offset(&n.unit_written));
    let of_comment =
        |c: &String| told_offset(c).filter(|_| c.to_ascii_lowercase().contains("zone"));
    Source {
        kind: candidate.kind,
        evidence: candidate.evidence.clone(),
        unit_s: candidate.unit_s,
        offset_s: { named }.find_map(of_column).or_else(|| comments.iter().find_map(of_comment)),
        undated: !candidate.tasks.is_empty()
            && candidate.tasks.iter().all(|(_, task)| *task == Task::Clock),
        cadence_s: comments.iter().find_map(|comment| told_cadence(comment)),
    }
}

/// An offset from UTC that a header or a comment states: `GMT-04:00`, `UTC`.
pub(crate) fn told_offset(text: &str) -> Option<i32> {
    let lower = record::letters::all_small(text);
    let place = lower.find("utc").or_else(|| lower.find("gmt"))?;
    let alone = place == 0 || !lower.as_bytes()[place - 1].is_ascii_alphabetic();
    if !alone {
        return None;
    }
    let tail = lower.get(place..)?;
    let end = tail[3..]
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | ':' | ' ' | '\u{2212}')));
    let stated =
        tail[..end.map_or(tail.len(), |end| end + 3)].trim_end_matches([' ', ':', '-', '+']);
    crate::stamp::offset(stated.as_bytes()).flatten()
}

/// Seconds between samples that a comment states: `Sample rate: 50.0Hz`.
pub(crate) fn told_cadence(comment: &str) -> Option<f64> {
    let lower = record::letters::all_small(comment);
    let number = |text: &str| -> Option<f64> {
        let start = text.find(|c: char| c.is_ascii_digit())?;
        crate::number::leading(&text.as_bytes()[start..], crate::number::Mark::Point)
            .map(|(v, _)| v)
    };
    let rate = lower.contains("rate") || lower.contains("frequency") || lower.contains(" sps");
    if rate && (lower.contains("hz") || lower.contains("sps")) {
        let place = lower.find("rate").or_else(|| lower.find("freq"));
        let near = match (place, lower.find(" sps")) {
            (_, Some(end)) => {
                lower[..end].rsplit([' ', ',', ':', ';', '=']).find(|t| !t.is_empty())?
            }
            (Some(place), None) => &lower[place..],
            (None, None) => return None,
        };
        return number(near).filter(|hz| *hz > 0.0).map(|hz| 1.0 / hz);
    }
    let place = lower.find("interval").or_else(|| lower.find("cadence"))?;
    let tail = &lower[place..];
    let value = number(tail).filter(|v| *v > 0.0)?;
    let start = tail.find(|c: char| c.is_ascii_digit())?;
    let unit = tail[start..]
        .trim_start_matches(|c: char| c.is_ascii_digit() || c == '.')
        .trim_start_matches([' ', ',']);
    let unit: String = unit.chars().take_while(|c| c.is_alphabetic()).collect();
    let found = crate::units::unit(&unit, crate::units::Hint::Time)?;
    match found.unit {
        record::Unit::Second => Some(value * found.scale),
        record::Unit::Hour => Some(value * 3600.0),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_header_may_state_the_offset() {
        assert_eq!(told_offset("Date Time, GMT-04:00"), Some(-14_400));
        assert_eq!(told_offset("time_utc"), Some(0));
        assert_eq!(told_offset("Time (UTC+1)"), Some(3600));
        assert_eq!(told_offset("time"), None);
    }

    #[test]
    fn a_comment_may_state_the_cadence() {
        assert_eq!(told_cadence("// Sample rate: 50.0Hz"), Some(0.02));
        assert_eq!(told_cadence("Sample Rate:,128,Hz,,"), Some(1.0 / 128.0));
        assert_eq!(told_cadence("TIMESERIES X, 635 samples, 40 sps, 2008"), Some(0.025));
        assert_eq!(told_cadence("# logging interval: 30 s"), Some(30.0));
        assert_eq!(told_cadence("# Start Time: 0"), None);
    }
}
