//! Times that are counts: seconds since 1970, milliseconds since power-on,
//! spreadsheet days, Julian dates, decimal years.

use crate::clockwork::{Candidate, Seen, candidate};
use crate::moment::SERIAL_ZERO_DAYS;
use crate::names::Quantity;
use crate::plan::Task;
use record::{Unit, say, words::word};

/// Days from 1970-01-01 back to Julian date 0, times two: the Julian day
/// begins at noon, so 2440587.5 is 1970 (Meeus, Astronomical Algorithms, ch. 7).
const JULIAN_ZERO_HALF_DAYS: i64 = -4_881_175;
/// Days from 1970-01-01 to modified Julian date 0 (MJD = JD - 2400000.5).
const MODIFIED_JULIAN_ZERO_DAYS: i64 = -40_587;

/// The ways in which the column at `place` could count the time.
pub(crate) fn candidates(columns: &[Seen], place: usize) -> Vec<Candidate> {
    let seen = &columns[place];
    let profile = &seen.profile;
    let timely = seen.named.quantity == Quantity::Time;
    let nameless = seen.named.quantity == Quantity::Nameless;
    if !profile.mostly(profile.numbers) || !(timely || nameless) {
        return Vec::new();
    }
    let mut found = Vec::new();
    let bonus = if timely { 5 } else { 0 };
    if let Some(epoch) = epoch(columns, place, timely) {
        found.push(Candidate { score: epoch.score + bonus, ..epoch });
        return found;
    }
    let stated = stated_unit(seen);
    if stated.is_none()
        && let Some(days) = days(columns, place, timely)
    {
        found.push(Candidate { score: days.score + bonus, ..days });
        return found;
    }
    found.extend(uptime(columns, place, timely, stated));
    found
}

// Seconds since 1970 between 1998 and 2040, and a thousand times as many thrice.
fn epoch(columns: &[Seen], place: usize, timely: bool) -> Option<Candidate> {
    let profile = &columns[place].profile;
    let (low, high) = (profile.least(), profile.most());
    let scales = [
        (1.0, 9, "seconds"),
        (1e3, 6, "milliseconds"),
        (1e6, 3, "microseconds"),
        (1e9, 0, "nanoseconds"),
    ];
    let (_, scale, word) =
        scales.into_iter().find(|(f, _, _)| low >= 0.9e9 * f && high <= 2.2e9 * f)?;
    if !timely && !profile.climbs() {
        return None;
    }
    let evidence = say!("{word} since 1970, such as {}", profile.example);
    Some(candidate(columns, "epoch", vec![(place, Task::Count(scale))], 85, evidence))
}

fn days(columns: &[Seen], place: usize, timely: bool) -> Option<Candidate> {
    let seen = &columns[place];
    let (low, high) = (seen.profile.least(), seen.profile.most());
    let words = &seen.named.words;
    let said = |word: &str| words.iter().any(|w| w == word);
    let runs = seen.profile.runs() || (timely && seen.profile.values.len() == 1);
    if !runs {
        return None;
    }
    let (task, what) = if (2.4e6..2.6e6).contains(&low) && high < 2.6e6 {
        (Task::HalfDays(JULIAN_ZERO_HALF_DAYS), word("Julian dates"))
    } else if said("mjd") && (3e4..1e5).contains(&low) {
        (Task::Days(MODIFIED_JULIAN_ZERO_DAYS), word("modified Julian dates"))
    } else if (2e4..8e4).contains(&low)
        && high < 8e4
        && seen.profile.median_step() < 2.0
        && !seen.profile.whole
    {
        (Task::Days(SERIAL_ZERO_DAYS), word("a spreadsheet's day numbers"))
    } else if (1900.0..2100.0).contains(&low) && high < 2100.0 && !seen.profile.whole && timely {
        (Task::DecimalYear, word("years with decimals"))
    } else {
        return None;
    };
    let evidence = say!("{what}, such as {}", seen.profile.example);
    Some(candidate(columns, "serial", vec![(place, task)], 70, evidence))
}

/// Seconds of the unit that the header states for a time.
fn stated_unit(seen: &Seen) -> Option<f64> {
    let begins = |start: &str| seen.named.words.iter().any(|w| w.starts_with(start));
    match seen.named.unit.map(|written| (written.unit, written.scale)) {
        Some((Unit::Second, scale)) => Some(scale),
        Some((Unit::Hour, _)) => Some(3600.0),
        _ if begins("milli") || begins("ms") => Some(1e-3),
        _ if begins("micro") || begins("us") => Some(1e-6),
        _ if begins("nano") || begins("ns") => Some(1e-9),
        _ if begins("sec") => Some(1.0),
        _ => None,
    }
}

fn uptime(columns: &[Seen], place: usize, timely: bool, stated: Option<f64>) -> Option<Candidate> {
    let profile = &columns[place].profile;
    let counter = profile.whole && profile.even() && profile.median_step() == 1.0;
    let runs = if timely { profile.runs() } else { profile.climbs() };
    let runs = runs || (timely && profile.values.len() < 3);
    if !runs || (!timely && counter) || (!timely && profile.values.len() < 8) {
        return None;
    }
    let (unit_s, guessed) = match stated {
        Some(unit) => (unit, false),
        None => (likely_unit(columns, place), true),
    };
    let task = task(unit_s);
    let word = unit_word(unit_s);
    let evidence = if guessed {
        say!(
            "a count that runs on by about {} a row, taken as {word}",
            step_text(profile.median_step())
        )
    } else {
        say!("{word} since the logger was switched on")
    };
    let score = if timely { 50 } else { 30 };
    let made = candidate(columns, "uptime", vec![(place, task)], score, evidence);
    Some(Candidate { unit_s, guessed, ..made })
}

/// What to do with the cells of a count in units of so many seconds.
pub(crate) fn task(unit_s: f64) -> Task {
    match unit_s {
        1.0 => Task::Count(9),
        1e-3 => Task::Count(6),
        1e-6 => Task::Count(3),
        1e-9 => Task::Count(0),
        slow => Task::SlowCount((slow * 1e9) as i64),
    }
}

/// The unit in words.
pub(crate) fn unit_word(unit_s: f64) -> &'static str {
    word(match unit_s {
        1e-3 => "milliseconds",
        1e-6 => "microseconds",
        1e-9 => "nanoseconds",
        60.0 => "minutes",
        3600.0 => "hours",
        _ => "seconds",
    })
}

fn step_text(step: f64) -> String {
    record::print::trimmed(step, 4)
}

// Whole counts with uneven steps, or with steps of a hundred or more, are a
// board's milliseconds (past ten million a step, its microseconds); even steps that divide a minute
// or an hour are seconds.  Common practice, no source.
fn likely_unit(columns: &[Seen], place: usize) -> f64 {
    let profile = &columns[place].profile;
    let step = profile.median_step();
    if !profile.whole {
        return 1.0;
    }
    let seconds = [
        1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 10.0, 12.0, 15.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0,
        900.0, 1800.0, 3600.0,
    ];
    if profile.even() && seconds.contains(&step) {
        1.0
    } else if step >= 1e7 || (step >= 2e3 && profile.most() >= 4e8 && step < 1e5) {
        1e-6
    } else {
        1e-3
    }
}
