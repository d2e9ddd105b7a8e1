//! Figures of the step Storms: the local disturbance by hour, and each storm
//! close up with its phases named.

use super::daily::{self, Panel, words};
use super::day_stack::short_date;
use super::storm_words;
use crate::outcome::{Figure, Outcome};
use field::storms::{Found, Local, Storm};
use figure::plan::stack::{Row, Stack, Weight, stack};
use record::{
    Instant, NANOS_PER_SECOND, Unit, print, say,
    words::{word, worded},
};

const HOUR_NS: i64 = 3_600 * NANOS_PER_SECOND;

/// Names of the close-ups, and so how many there are.
const CLOSE: [(&str, &str); 4] = [
    ("storm-1", "Storm 1"),
    ("storm-2", "Storm 2"),
    ("storm-3", "Storm 3"),
    ("storm-4", "Storm 4"),
];

/// What the lines are called.
pub(super) struct Names {
    pub station: String,
    pub reference: Option<String>,
}

/// Size of the horizontal field's change from bin to bin, nT/min.
pub(super) struct Change {
    pub station: Vec<f64>,
    /// Empty without a reference.
    pub reference: Vec<f64>,
}

pub(super) fn with_plates(
    outcome: Outcome,
    found: &Found,
    change: &Change,
    names: &Names,
) -> Outcome {
    let outcome = by_hour(outcome, found, names);
    let outcome = found
        .storms()
        .zip(CLOSE)
        .fold(outcome, |o, (storm, titles)| close_up(o, found, change, storm, titles, names));
    in_rotations(outcome, &found.local)
}

/// Hours of a row: 27 days, in which the Sun turns once as it is seen from the Earth.
const ROW_H: usize = 27 * 24;

/// The disturbance in rows of 27 days, so that what comes back with the Sun's turning stands
/// below itself; nothing for a record of one row.
fn in_rotations(outcome: Outcome, local: &Local) -> Outcome {
    if local.hours.len() <= ROW_H {
        return outcome;
    }
    let rows: Vec<(String, Vec<f64>)> = local
        .hours
        .chunks(ROW_H)
        .enumerate()
        .map(|(k, hours)| (short_date(local.hour(k * ROW_H)), hours.to_vec()))
        .collect();
    let days: Vec<f64> = (0..ROW_H).map(|h| (h as f64 + 0.5) / 24.0).collect();
    let most = local.hours.iter().filter(|v| v.is_finite()).fold(0.0_f64, |m, v| m.max(v.abs()));
    let apart = daily::round_up(0.5 * most);
    let text = words(
        "rotations",
        say!(
            "The local disturbance by hour in rows of 27 days, the time in which the Sun turns once as \
             seen from the Earth, rows {} apart: what comes back with the same side of the Sun stands \
             below itself. {}",
            print::with_unit(&print::trimmed(apart, 3), Unit::Nanotesla),
            if rows.len() < 4 {
                word("It takes three full rows or more to tell a recurrence from chance.")
            } else {
                ""
            }
        ),
        rotations_summary(&rows),
    );
    outcome.figure(Figure::new("rotations", word("27-day rows"), move |frame, view| {
        let shown: Vec<Row<'_>> = rows
            .iter()
            .map(|(name, y)| Row { name, x: &days[..y.len()], y, weight: Weight::Usual })
            .collect();
        let data = Stack {
            quantity: word("disturbance"),
            unit: Unit::Nanotesla,
            apart,
            rows: &shown,
            along: (word("days from the row's start"), Unit::None),
            hours: false,
            span: (0.0, 27.0),
            key: &[],
        };
        stack(&data, *frame, *view, &text)
    }))
}

fn rotations_summary(rows: &[(String, Vec<f64>)]) -> String {
    let lowest = |(name, hours): &(String, Vec<f64>)| {
        let known = (0..hours.len()).filter(|h| hours[*h].is_finite());
        let hour = known.min_by(|a, b| hours[*a].total_cmp(&hours[*b]))?;
        let size = print::with_unit(&print::significant(hours[hour], 2), Unit::Nanotesla);
        Some(say!("from {name}, {size} on day {}", hour / 24 + 1))
    };
    let each: Vec<String> = rows.iter().filter_map(lowest).collect();
    let rows = print::counted(rows.len(), "row", "rows");
    say!("{rows} of 27 days, one below the other. Lowest in each: {}.", each.join("; "))
}

fn by_hour(outcome: Outcome, found: &Found, names: &Names) -> Outcome {
    let local = &found.local;
    let times = (0..local.hours.len()).map(|h| local.hour(h).0 + HOUR_NS / 2).collect();
    let stretches = found
        .storms()
        .enumerate()
        .map(|(k, s)| {
            let end = s.end.map_or(s.deepest.0, |e| e.0);
            (s.onset.0, end, format!("{}", k + 1))
        })
        .collect();
    let mut series = vec![(names.station.clone(), local.hours.clone())];
    if let (Some(theirs), Some(name)) = (&found.reference, &names.reference) {
        series.push((name.clone(), theirs.hours.clone()));
    }
    let panels = vec![Panel { quantity: word("disturbance"), unit: Unit::Nanotesla, series }];
    let text = words(
        "disturbance",
        word(
            "Local disturbance by hour: the horizontal field less its quiet day and its slow level; \
         storms are shaded and numbered.",
        ),
        format!("{}{}", ends(&local.hours), storm_words::remark(found)),
    );
    daily::with_overlay(
        outcome,
        "disturbance",
        word("Local disturbance"),
        times,
        panels,
        stretches,
        text,
    )
}

/// Between what the hours lie.
fn ends(hours: &[f64]) -> String {
    let known = || hours.iter().copied().filter(|v| v.is_finite());
    let nt = |v: f64| print::with_unit(&print::significant(v, 3), Unit::Nanotesla);
    let (low, high) =
        (known().fold(f64::INFINITY, f64::min), known().fold(f64::NEG_INFINITY, f64::max));
    if low > high {
        return worded("No hour has a value. ");
    }
    say!("The hours lie between {} and {}. ", nt(low), nt(high))
}

fn close_up(
    outcome: Outcome,
    found: &Found,
    change: &Change,
    storm: &Storm,
    (name, title): (&'static str, &'static str),
    names: &Names,
) -> Outcome {
    let last = storm.end.map_or(i64::MAX, |e| e.0).min(storm.deepest.0 + 36 * HOUR_NS);
    let from = storm.onset.0 - 4 * HOUR_NS;
    let local = &found.local;
    let time = |k: usize| local.first.0 + k as i64 * local.bin_ns + local.bin_ns / 2;
    let places: Vec<usize> =
        (0..local.bins.len()).filter(|k| (from..=last).contains(&time(*k))).collect();
    if places.len() < 2 {
        return outcome;
    }
    let cut = |list: &[f64]| -> Vec<f64> {
        places.iter().map(|k| list.get(*k).copied().unwrap_or(f64::NAN)).collect()
    };
    let times: Vec<i64> = places.iter().map(|k| time(*k)).collect();
    let mut series = vec![(names.station.clone(), cut(&local.bins))];
    let rate = cut(&change.station);
    let fastest = fastest(&times, &rate);
    let mut rates = vec![(names.station.clone(), rate)];
    if let (Some(theirs), Some(name)) = (&found.reference, &names.reference) {
        series.push((name.clone(), cut(&theirs.bins)));
        rates.push((name.clone(), cut(&change.reference)));
    }
    let caption = say!(
        "The storm of {}, its phases shaded: {}deepest hour {}. Below, how fast the horizontal \
         field changes from one value to the next{}.",
        storm.onset.readable(),
        if storm.jump.is_some() { word("a sudden rise, the initial phase, ") } else { "" },
        print::with_unit(&print::with_sigma(storm.depth_nt, storm.depth_sigma_nt), Unit::Nanotesla),
        fastest
    );
    let summary = say!("A storm: {}. It changes fastest{fastest}.", storm_words::of_storm(storm));
    let panels = vec![
        Panel { quantity: word("disturbance"), unit: Unit::Nanotesla, series },
        Panel { quantity: word("change"), unit: Unit::NanoteslaPerMinute, series: rates },
    ];
    let text = words(name, caption, summary);
    daily::with_overlay(outcome, name, title, times, panels, phases(storm, last), text)
}

/// By how much it changes fastest, and when.
fn fastest(times: &[i64], rate: &[f64]) -> String {
    let known = (0..rate.len()).filter(|k| rate[*k].is_finite());
    known.max_by(|a, b| rate[*a].total_cmp(&rate[*b])).map_or_else(String::new, |k| {
        let size = print::with_unit(&print::significant(rate[k], 2), Unit::NanoteslaPerMinute);
        say!(", by {size} at {} UTC", Instant(times[k]).readable())
    })
}

/// The phases as stretches; every other one is shaded, so that neighbours keep apart.
fn phases(storm: &Storm, last: i64) -> Vec<(i64, i64, String)> {
    let mut out = Vec::new();
    if storm.jump.is_some() && storm.main_phase > storm.onset {
        out.push((storm.onset.0, storm.main_phase.0, worded("initial phase")));
    }
    // A hair of ground between them shows where one ends.
    let gap = (last - storm.onset.0) / 300;
    out.push((storm.main_phase.0 + gap, storm.deepest.0, worded("main phase")));
    out.push((storm.deepest.0 + gap, last, worded("recovery")));
    out
}
