//! Day under day with the local noons in line: quiet days and disturbed ones side by side.

use super::daily::{self, round_up, words};
use crate::outcome::{Figure, Outcome};
use field::days::Days;
use field::k_index::Interval;
use figure::plan::stack::{Row, Stack, Weight, stack};
use record::{Instant, Unit, print, say, words::word};

const DAY_NS: i64 = 86_400 * record::NANOS_PER_SECOND;

/// A K from which a day counts as disturbed (common practice).
const DISTURBED: u8 = 5;

/// One local day.
struct Day {
    name: String,
    hours: Vec<f64>,
    values: Vec<f64>,
    weight: Weight,
}

/// What days are told apart by.
pub(super) struct Told<'a> {
    /// Places of the quiet days.
    pub quiet: &'a [usize],
    /// K of all days, eight each.
    pub intervals: &'a [Interval],
    /// The limit of K 9 they were found with.
    pub k9_nt: f64,
    pub longitude_deg: f64,
}

/// Adds the stack of all days: the horizontal field of each about its own median.
pub(super) fn with_stack(outcome: Outcome, days: &Days, told: &Told<'_>) -> Outcome {
    let level = daily::horizontal(days, &daily::along_the_meridian(days));
    let shown = local_days(&level, told);
    if shown.len() < 2 {
        return outcome;
    }
    let apart = apart(&shown);
    let disturbed = shown.iter().filter(|d| d.weight == Weight::Disturbed).count();
    let text = words(
        "day-stack",
        say!(
            "Day under day, local noons in line: the field along its mean horizontal direction, each \
             day of three hours or more about its own median, rows {} apart. Heavy with Q: the quiet days of this step; \
             dashed with D: a local K of {DISTURBED} or more, with K 9 from {}.",
            print::with_unit(&print::trimmed(apart, 3), Unit::Nanotesla),
            print::with_unit(&print::trimmed(told.k9_nt, 3), Unit::Nanotesla)
        ),
        summary(&shown, disturbed),
    );
    outcome.figure(Figure::new("day-stack", word("Day by day"), move |frame, view| {
        let rows: Vec<Row<'_>> = shown
            .iter()
            .map(|d| Row { name: &d.name, x: &d.hours, y: &d.values, weight: d.weight })
            .collect();
        let data = Stack {
            quantity: "H",
            unit: Unit::Nanotesla,
            apart,
            rows: &rows,
            along: (word("local mean time"), Unit::Hour),
            hours: true,
            span: (0.0, 24.0),
            key: &[(word("Q quiet"), Weight::Quiet), (word("D disturbed"), Weight::Disturbed)],
        };
        stack(&data, *frame, *view, &text)
    }))
}

/// From local midnight to local midnight; a local day has its noon in the UTC day of its date.
/// What is left at either end, when it is less than three hours, makes no row.
fn local_days(level: &Days, told: &Told<'_>) -> Vec<Day> {
    let Some(list) = level.values.first() else { return Vec::new() };
    let per_day = level.bins as f64;
    let shift = told.longitude_deg / 15.0 / 24.0 * per_day;
    let edge = |day: i64| ((day as f64 * per_day - shift).ceil().max(0.0) as usize).min(list.len());
    let one = |day: i64| {
        let span = edge(day)..edge(day + 1);
        let values = list.get(span.clone()).filter(|part| part.len() * 8 >= level.bins)?;
        let middle = signal::robust::median(values).filter(|m| m.is_finite())?;
        let hour = |bin: usize| ((bin as f64 + 0.5 + shift) / per_day - day as f64) * 24.0;
        let weight = usize::try_from(day).map_or(Weight::Usual, |day| weight(day, told));
        let date = Instant(level.first.0 + day * DAY_NS);
        let mark = match weight {
            Weight::Usual => "",
            Weight::Quiet => " Q",
            Weight::Disturbed => " D",
        };
        Some(Day {
            name: format!("{}{mark}", short_date(date)),
            hours: span.map(hour).collect(),
            values: values.iter().map(|v| v - middle).collect(),
            weight,
        })
    };
    (-1..=level.len() as i64).filter_map(one).collect()
}

fn weight(day: usize, told: &Told<'_>) -> Weight {
    let k = told.intervals.iter().skip(8 * day).take(8).filter_map(|i| i.k);
    if k.max().is_some_and(|k| k >= DISTURBED) {
        Weight::Disturbed
    } else if told.quiet.contains(&day) {
        Weight::Quiet
    } else {
        Weight::Usual
    }
}

/// A day and its month, as `3 May`.
pub(super) fn short_date(instant: Instant) -> String {
    let text = instant.readable();
    let mut parts = text.split(' ');
    let (day, month) = (parts.next().unwrap_or_default(), parts.next().unwrap_or_default());
    format!("{day} {}", month.get(..3).filter(|_| month.len() > 4).unwrap_or(month))
}

/// Far enough apart for a usual day, near enough for a storm not to cross the sheet.
fn apart(days: &[Day]) -> f64 {
    let ranges: Vec<f64> = days.iter().map(|d| range(&d.values)).collect();
    let usual = signal::robust::median(&ranges).unwrap_or(1.0);
    let most = ranges.iter().copied().fold(0.0, f64::max);
    round_up((0.6 * usual).max(most / 8.0))
}

fn range(values: &[f64]) -> f64 {
    let known = || values.iter().copied().filter(|v| v.is_finite());
    known().fold(f64::NEG_INFINITY, f64::max) - known().fold(f64::INFINITY, f64::min)
}

fn summary(days: &[Day], disturbed: usize) -> String {
    let widest = days.iter().max_by(|a, b| range(&a.values).total_cmp(&range(&b.values)));
    let nt = |v: f64| print::with_unit(&print::significant(v, 2), Unit::Nanotesla);
    let names = |weight: Weight| {
        let list: Vec<&str> = days
            .iter()
            .filter(|d| d.weight == weight)
            .map(|d| d.name.trim_end_matches([' ', 'Q', 'D']))
            .collect();
        list.join(", ")
    };
    let ranges: Vec<f64> = days.iter().map(|d| range(&d.values)).collect();
    let usual = signal::robust::median(&ranges).unwrap_or(f64::NAN);
    let mut text = say!(
        "{} from local midnight to midnight, one below the other. Half of the days range over less \
         than {}; the widest, {}, over {}. Quiet: {}.",
        print::counted(days.len(), "day", "days"),
        nt(usual),
        widest.map_or("", |d| d.name.trim_end_matches([' ', 'Q', 'D'])),
        nt(widest.map_or(f64::NAN, |d| range(&d.values))),
        names(Weight::Quiet)
    );
    if disturbed > 0 {
        text.push_str(&say!(" Disturbed: {}.", names(Weight::Disturbed)));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn local_days_begin_at_local_midnight_and_are_told_apart() {
        // Ten degrees east: local midnight is forty minutes before that of UTC.
        let n = 3 * 288;
        let values: Vec<f64> = (0..n).map(|k| f64::from(k % 288)).collect();
        let first = Instant::from_date(2026, 5, 1).unwrap();
        let level = Days { first, bins: 288, values: vec![values] };
        let interval = |k: usize| Interval {
            start: Instant(first.0 + k as i64 * 10_800_000_000_000),
            k: Some(if k == 20 { 6 } else { 1 }),
            range_nt: [5.0; 2],
            present: 1.0,
        };
        let intervals: Vec<Interval> = (0..24).map(interval).collect();
        let told = Told { quiet: &[0], intervals: &intervals, k9_nt: 500.0, longitude_deg: 10.0 };
        let days = local_days(&level, &told);
        let names: Vec<&str> = days.iter().map(|d| d.name.as_str()).collect();
        assert_eq!(names, ["1 May Q", "2 May", "3 May D"]);
        for day in &days {
            assert!(day.hours.iter().all(|h| (0.0..24.0).contains(h)));
            assert!(day.hours.windows(2).all(|w| w[0] < w[1]));
        }
        // The second has all of its bins, the first lacks forty minutes.
        assert_eq!((days[0].hours.len(), days[1].hours.len()), (280, 288));
        assert!((days[1].hours[0] - 2.5 / 60.0).abs() < 1e-9);
    }

    #[test]
    fn long_months_are_cut_and_short_ones_are_not() {
        let date = |m| short_date(Instant::from_date(2026, m, 9).unwrap());
        assert_eq!([date(5), date(6), date(9)], ["9 May", "9 June", "9 Sep"]);
    }
}
