//! Ticks of a time axis in UTC: natural steps from nanoseconds to decades.
//!
//! A tick says what changes at its step (14:20, or 3, or May); the day, month
//! or year it stands in is a context beneath, written where it begins.

use super::Room;
use crate::metrics::text_width_px;
use record::{Civil, Instant, NANOS_PER_SECOND, words::word};

/// Ticks of a time axis.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct TimeTicks {
    /// Instants with their labels.
    pub major: Vec<(i64, String)>,
    /// Instants between.
    pub minor: Vec<i64>,
    /// Where each context begins inside the span, with its name; the first is
    /// the one the span starts in, at the start.
    pub context: Vec<(i64, Context)>,
}

/// A day, a month or a year that ticks stand in.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Context {
    /// Without its year, `3 May`; empty for a context that is a year.
    pub short: String,
    /// With its year, `3 May 2026`.
    pub full: String,
    /// Its year.
    pub year: i32,
}

/// A step of the calendar or the clock.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Step {
    Nanos(i64),
    Days(u32),
    Months(u32),
    Years(i32),
}

const MINUTE: i64 = 60 * NANOS_PER_SECOND;
const HOUR: i64 = 60 * MINUTE;
const DAY: i64 = 24 * HOUR;

/// Steps of a second and more, each with the step of its minor ticks.
const STEPS: [(Step, Step); 28] = {
    use Step::{Days, Months, Nanos, Years};
    const S: i64 = NANOS_PER_SECOND;
    [
        (Nanos(S), Nanos(S / 5)),
        (Nanos(2 * S), Nanos(S / 2)),
        (Nanos(5 * S), Nanos(S)),
        (Nanos(10 * S), Nanos(2 * S)),
        (Nanos(15 * S), Nanos(5 * S)),
        (Nanos(30 * S), Nanos(10 * S)),
        (Nanos(MINUTE), Nanos(15 * S)),
        (Nanos(2 * MINUTE), Nanos(30 * S)),
        (Nanos(5 * MINUTE), Nanos(MINUTE)),
        (Nanos(10 * MINUTE), Nanos(2 * MINUTE)),
        (Nanos(15 * MINUTE), Nanos(5 * MINUTE)),
        (Nanos(30 * MINUTE), Nanos(10 * MINUTE)),
        (Nanos(HOUR), Nanos(15 * MINUTE)),
        (Nanos(2 * HOUR), Nanos(30 * MINUTE)),
        (Nanos(3 * HOUR), Nanos(HOUR)),
        (Nanos(6 * HOUR), Nanos(HOUR)),
        (Nanos(12 * HOUR), Nanos(3 * HOUR)),
        (Days(1), Nanos(6 * HOUR)),
        (Days(2), Nanos(12 * HOUR)),
        (Days(5), Days(1)),
        (Days(10), Days(2)),
        (Months(1), Days(10)),
        (Months(3), Months(1)),
        (Months(6), Months(1)),
        (Years(1), Months(3)),
        (Years(2), Months(6)),
        (Years(5), Years(1)),
        (Years(10), Years(2)),
    ]
};

/// Ticks from `lo_ns` to `hi_ns`, in that order.
pub(crate) fn ticks(lo_ns: i64, hi_ns: i64, room: Room) -> TimeTicks {
    let span = hi_ns.saturating_sub(lo_ns);
    if span <= 0 {
        return TimeTicks::default();
    }
    let fractions = (0..9).flat_map(|n| [1, 2, 5].map(|m| m * 10i64.pow(n)));
    let short = fractions.map(|ns| (Step::Nanos(ns), Step::Nanos((ns / 5).max(1))));
    let long = [20, 50, 100].map(|years| (Step::Years(years), Step::Years(years / 5)));
    for (step, minor) in short.chain(STEPS).chain(long) {
        let spacing_px = room.length_px * (length_ns(step) / span as f64);
        if spacing_px >= apart_px(&sample(step), room) {
            return laid_out(lo_ns, hi_ns, step, minor, room);
        }
    }
    TimeTicks { context: contexts(lo_ns, hi_ns, Step::Days(1)), ..TimeTicks::default() }
}

/// Least distance between the middles of neighbouring labels.
fn apart_px(sample: &str, room: Room) -> f64 {
    (text_width_px(sample, room.font_px) * 1.12 + room.font_px).max(2.5 * room.font_px)
}

fn laid_out(lo_ns: i64, hi_ns: i64, step: Step, minor: Step, room: Room) -> TimeTicks {
    let major: Vec<i64> = instants(lo_ns, hi_ns, step);
    let span = hi_ns.saturating_sub(lo_ns) as f64;
    let close = room.length_px * (length_ns(minor) / span) < 0.4 * room.font_px;
    let mut between = if close { vec![] } else { instants(lo_ns, hi_ns, minor) };
    between.retain(|at| major.binary_search(at).is_err());
    let context = contexts(lo_ns, hi_ns, step);
    let major = major.into_iter().map(|at| (at, label(at, step))).collect();
    TimeTicks { major, minor: between, context }
}

/// The shortest a step can be.
fn length_ns(step: Step) -> f64 {
    match step {
        Step::Nanos(ns) => ns as f64,
        // The last step of a month may be shorter by this much.
        Step::Days(1) => DAY as f64,
        Step::Days(days) => f64::from(days) * 0.8 * DAY as f64,
        Step::Months(months) => f64::from(months) * 28.0 * DAY as f64,
        Step::Years(years) => f64::from(years) * 365.0 * DAY as f64,
    }
}

/// A label as wide as any at this step.
fn sample(step: Step) -> String {
    match step {
        Step::Nanos(ns) => clock(Instant(0).civil(), ns),
        Step::Days(_) => "30".to_owned(),
        Step::Months(_) => "May".to_owned(),
        Step::Years(_) => "2026".to_owned(),
    }
}

fn label(at_ns: i64, step: Step) -> String {
    let civil = Instant(at_ns).civil();
    match step {
        Step::Nanos(ns) => clock(civil, ns),
        Step::Days(_) => civil.day.to_string(),
        Step::Months(_) => month(civil.month).to_owned(),
        Step::Years(_) => civil.year.to_string(),
    }
}

/// Time of day with the digits that a step of `step_ns` needs.
fn clock(civil: Civil, step_ns: i64) -> String {
    let minutes = format!("{:02}:{:02}", civil.hour, civil.minute);
    if step_ns % MINUTE == 0 {
        return minutes;
    }
    let seconds = format!("{minutes}:{:02}", civil.second);
    if step_ns % NANOS_PER_SECOND == 0 {
        return seconds;
    }
    let decimals = (1..9).find(|d| step_ns % 10i64.pow(9 - d) == 0).unwrap_or(9) as usize;
    let digits = format!("{:09}", civil.nanos);
    format!("{seconds}.{}", &digits[..decimals])
}

/// Every instant of a step from `lo_ns` to `hi_ns`.
fn instants(lo_ns: i64, hi_ns: i64, step: Step) -> Vec<i64> {
    match step {
        Step::Nanos(ns) => {
            let first = -(-i128::from(lo_ns)).div_euclid(i128::from(ns));
            let last = i128::from(hi_ns).div_euclid(i128::from(ns));
            let count = (last - first + 1).clamp(0, 5000);
            (first..first + count).filter_map(|k| i64::try_from(k * i128::from(ns)).ok()).collect()
        }
        Step::Days(days) => {
            let days = move |year, month| month_days(year, month, days);
            from_months(lo_ns, hi_ns, 1, days)
        }
        Step::Months(months) => from_months(lo_ns, hi_ns, months, first_of_month),
        Step::Years(years) => {
            let (a, b) = (Instant(lo_ns).civil().year, Instant(hi_ns).civil().year);
            let starts = (a..=b).filter(|y| y.rem_euclid(years) == 0);
            inside(lo_ns, hi_ns, starts.flat_map(|y| first_of_month(y, 1)))
        }
    }
}

fn from_months(
    lo_ns: i64,
    hi_ns: i64,
    stride: u32,
    days: impl Fn(i32, u32) -> Vec<Instant>,
) -> Vec<i64> {
    let (a, b) = (Instant(lo_ns).civil(), Instant(hi_ns).civil());
    let number = |c: &Civil| c.year * 12 + c.month as i32 - 1;
    let months = (number(&a)..=number(&b)).filter(|n| n.rem_euclid(stride as i32) == 0);
    inside(lo_ns, hi_ns, months.flat_map(|n| days(n.div_euclid(12), n.rem_euclid(12) as u32 + 1)))
}

fn inside(lo_ns: i64, hi_ns: i64, at: impl Iterator<Item = Instant>) -> Vec<i64> {
    at.map(|instant| instant.0).filter(|ns| (lo_ns..=hi_ns).contains(ns)).take(5000).collect()
}

fn first_of_month(year: i32, month: u32) -> Vec<Instant> {
    Instant::from_date(year, month, 1).into_iter().collect()
}

/// Days 1, 1 + step, ... of a month, leaving out one too near the next month.
fn month_days(year: i32, month: u32, step: u32) -> Vec<Instant> {
    let length = (28..=31).rev().find(|day| Instant::from_date(year, month, *day).is_some());
    let last = length.unwrap_or(0) + 2 - ((step * 4).div_ceil(5)).max(1);
    (1..=last).step_by(step as usize).filter_map(|d| Instant::from_date(year, month, d)).collect()
}

/// The contexts of a step that begin in the span, and the one it starts in.
fn contexts(lo_ns: i64, hi_ns: i64, step: Step) -> Vec<(i64, Context)> {
    let larger = match step {
        Step::Nanos(_) => Step::Days(1),
        Step::Days(_) => Step::Months(1),
        Step::Months(_) => Step::Years(1),
        Step::Years(_) => return Vec::new(),
    };
    let mut starts = instants(lo_ns, hi_ns, larger);
    if starts.first() != Some(&lo_ns) {
        starts.insert(0, lo_ns);
    }
    starts.into_iter().map(|at| (at, context(at, larger))).collect()
}

fn context(at_ns: i64, larger: Step) -> Context {
    let c = Instant(at_ns).civil();
    let short = match larger {
        Step::Nanos(_) | Step::Days(_) => format!("{} {}", c.day, month(c.month)),
        Step::Months(_) => month(c.month).to_owned(),
        Step::Years(_) => String::new(),
    };
    let full = format!("{short} {}", c.year).trim_start().to_owned();
    Context { short, full, year: c.year }
}

/// Short English name of a month, 1 to 12.
pub(crate) fn month(month: u32) -> &'static str {
    const NAMES: [&str; 12] =
        ["Jan", "Feb", "Mar", "Apr", "May", "June", "July", "Aug", "Sept", "Oct", "Nov", "Dec"];
    word(NAMES[(month.clamp(1, 12) - 1) as usize])
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const MAY: i64 = 1_777_593_600 * NANOS_PER_SECOND; // 2026-05-01T00:00:00Z

    fn room(length_px: f64) -> Room {
        Room { length_px, font_px: 12.0, upright: false }
    }

    fn texts(span_ns: i64, length_px: f64) -> Vec<String> {
        ticks(MAY, MAY + span_ns, room(length_px)).major.into_iter().map(|(_, t)| t).collect()
    }

    #[test]
    fn a_day_has_ticks_every_three_hours_on_a_page_and_every_six_on_a_telephone() {
        assert_eq!(texts(DAY, 560.0)[..3], ["00:00", "02:00", "04:00"]);
        assert_eq!(texts(DAY, 300.0), ["00:00", "06:00", "12:00", "18:00", "00:00"]);
    }

    #[test]
    fn sixty_days_have_ticks_that_begin_again_each_month() {
        let found = ticks(MAY, MAY + 60 * DAY, room(560.0));
        let days: Vec<&str> = found.major.iter().map(|(_, t)| t.as_str()).collect();
        assert_eq!(days, ["1", "6", "11", "16", "21", "26", "1", "6", "11", "16", "21", "26"]);
        let names: Vec<&str> = found.context.iter().map(|(_, c)| c.full.as_str()).collect();
        assert_eq!(names, ["May 2026", "June 2026"]);
    }

    #[test]
    fn ten_milliseconds_have_ticks_with_three_decimals() {
        assert_eq!(texts(10_000_000, 300.0)[..2], ["00:00:00.000", "00:00:00.005"]);
    }

    #[test]
    fn the_day_is_carried_at_each_midnight_and_at_the_start() {
        let start = MAY + 20 * HOUR;
        let found = ticks(start, start + 30 * HOUR, room(400.0));
        let names: Vec<_> = found.context.iter().map(|(at, c)| (*at, c.short.as_str())).collect();
        assert_eq!(names, [(start, "1 May"), (MAY + DAY, "2 May"), (MAY + 2 * DAY, "3 May")]);
    }

    #[test]
    fn a_span_at_the_end_of_the_range_of_times_gives_no_panic() {
        for (lo, hi) in [(i64::MIN, i64::MAX), (i64::MAX - 5, i64::MAX), (i64::MIN, i64::MIN + 1)] {
            let _ = ticks(lo, hi, room(300.0));
        }
    }

    proptest! {
        #[test]
        fn ticks_rise_lie_inside_and_keep_apart(
            start in -3_000_000_000i64..6_000_000_000,
            span_log in 2.0f64..18.5,
            length_px in 120.0f64..1200.0,
        ) {
            let lo = start * NANOS_PER_SECOND;
            let span = libm::pow(10.0, span_log) as i64;
            let found = ticks(lo, lo + span, room(length_px));
            let px = |at: i64| (at - lo) as f64 / span as f64 * length_px;
            for pair in found.major.windows(2) {
                let wide = |k: usize| text_width_px(&pair[k].1, 12.0) / 2.0;
                prop_assert!(px(pair[0].0) + wide(0) + 3.0 < px(pair[1].0) - wide(1));
            }
            for at in found.major.iter().map(|(at, _)| at).chain(&found.minor) {
                prop_assert!((lo..=lo + span).contains(at));
            }
            prop_assert!(found.minor.len() < 400);
        }
    }
}
