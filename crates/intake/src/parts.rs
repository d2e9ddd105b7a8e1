//! Times whose numbers stand in columns of their own: year, month, day, hour,
//! minute, second.

use crate::clockwork::{Candidate, Seen, candidate};
use crate::moment::Part;
use crate::names::Quantity;
use crate::plan::Task;
use crate::profile::Profile;
use record::say;

/// Columns named for the numbers they hold.
pub(crate) fn by_name(columns: &[Seen]) -> Option<Candidate> {
    let mut tasks: Vec<(usize, Task)> = Vec::new();
    for (place, seen) in columns.iter().enumerate() {
        let Some(part) = part_of(seen) else { continue };
        if seen.profile.mostly(seen.profile.numbers)
            && !tasks.iter().any(|(_, t)| *t == Task::Part(part))
        {
            tasks.push((place, Task::Part(part)));
        }
    }
    let has = |part: Part| tasks.iter().any(|(_, task)| *task == Task::Part(part));
    let dated = has(Part::Year) && ((has(Part::Month) && has(Part::Day)) || has(Part::YearDay));
    dated.then(|| {
        let evidence = say!("{} columns named for the parts of a date and time", tasks.len());
        candidate(columns, "date+time", tasks, 90, evidence)
    })
}

fn part_of(seen: &Seen) -> Option<Part> {
    let words: Vec<&str> = seen.named.words.iter().map(String::as_str).collect();
    let last = *words.last()?;
    if words.len() > 2 {
        return None;
    }
    Some(match last {
        "year" | "yr" | "yyyy" | "jahr" => Part::Year,
        "month" | "mon" | "mo" | "monat" => Part::Month,
        "day" | "dom" | "dd" | "tag" => Part::Day,
        "doy" | "yday" | "jday" => Part::YearDay,
        "hour" | "hh" | "hr" | "hours" => Part::Hour,
        "minute" | "min" | "mi" | "minutes" => Part::Minute,
        "second" | "sec" | "ss" | "seconds" => Part::Second,
        "hhmm" => Part::HourMinute,
        "milliseconds" | "millisecond" | "msec" => Part::Milli,
        _ => return None,
    })
}

/// The hours (or hhmm, or hhmmss) in a column beside a date.
pub(crate) fn clock_beside(columns: &[Seen], date: usize) -> Option<(usize, Task)> {
    (0..columns.len()).filter(|k| *k != date).find_map(|place| {
        let seen = &columns[place];
        let numbers = seen.profile.mostly(seen.profile.numbers);
        let (low, high) = (seen.profile.least(), seen.profile.most());
        let said = |list: &[&str]| seen.named.words.iter().any(|w| list.contains(&w.as_str()));
        if !numbers || low < 0.0 {
            return None;
        }
        if said(&["hour", "hours", "hr", "hh"]) && high <= 24.0 {
            return Some((place, Task::Part(Part::Hour)));
        }
        let clock = seen.named.quantity == Quantity::Time || said(&["hhmm", "hhmmss"]);
        let whole = clock && seen.profile.whole;
        if whole && seen.profile.longest == 4 && high <= 2400.0 {
            return Some((place, Task::Part(Part::HourMinute)));
        }
        // Spreadsheets take the zeros off: 3900 is 39 minutes past midnight.
        (whole && (seen.profile.longest >= 5 || high > 2400.0) && high <= 235_959.0)
            .then_some((place, Task::CompactClock))
    })
}

/// Nameless columns that look like year, month, day (or day, month, year) and
/// hour, minute, second behind them.
pub(crate) fn by_look(columns: &[Seen]) -> Option<Candidate> {
    if columns.len() < 4 || columns[..3].iter().any(|c| c.named.quantity != Quantity::Nameless) {
        return None;
    }
    let whole = |place: usize, low: f64, high: f64| {
        let p: &Profile = &columns[place].profile;
        p.whole && p.mostly(p.numbers) && p.least() >= low && p.most() <= high
    };
    let forward = whole(0, 1900.0, 2100.0) && whole(1, 1.0, 12.0) && whole(2, 1.0, 31.0);
    let backward = whole(0, 1.0, 31.0) && whole(1, 1.0, 12.0) && whole(2, 1900.0, 2100.0);
    let mut tasks = match (forward, backward) {
        (true, _) => vec![(0, Part::Year), (1, Part::Month), (2, Part::Day)],
        (_, true) => vec![(0, Part::Day), (1, Part::Month), (2, Part::Year)],
        _ => return None,
    };
    let seconds =
        columns.get(5).is_some_and(|c| c.profile.least() >= 0.0 && c.profile.most() < 61.0);
    if columns.len() > 6 && whole(3, 0.0, 24.0) && whole(4, 0.0, 59.0) && seconds {
        tasks.extend([(3, Part::Hour), (4, Part::Minute), (5, Part::Second)]);
    }
    let evidence = say!("{} columns in the ranges of a date and time", tasks.len());
    let tasks = tasks.into_iter().map(|(place, part)| (place, Task::Part(part))).collect();
    Some(candidate(columns, "date+time", tasks, 88, evidence))
}
