//! Magnetic storms in one station's record: sudden commencement, depth, recovery.
//!
//! The horizontal field less its quiet-day curve and baseline in; a list of storms out.  What one
//! station shows is its own disturbance, not Dst, which is made of four stations near the equator:
//! north of 50° substorms add to it.

use crate::days::Days;
use crate::quiet_day::QuietDay;
use record::{Instant, NANOS_PER_SECOND};

/// Class of a storm by its lowest Dst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// −30 to −50 nT.
    Weak,
    /// −50 to −100 nT.
    Moderate,
    /// −100 to −200 nT.
    Strong,
    /// −200 to −350 nT.
    Severe,
    /// Below −350 nT.
    Great,
}

impl Class {
    /// Stable name for files, and for reading.
    pub fn id(self) -> &'static str {
        match self {
            Self::Weak => "weak",
            Self::Moderate => "moderate",
            Self::Strong => "strong",
            Self::Severe => "severe",
            Self::Great => "great",
        }
    }
}

/// Class of a lowest Dst, nT; `None` above −30 or for NaN.  For one station's disturbance it is
/// "as of a moderate storm", no more.
///
/// # Source
///
/// Loewe and Prölss 1997, J. Geophys. Res. 102, 14209 (limits from memory).
pub fn class(lowest_nt: f64) -> Option<Class> {
    match lowest_nt {
        v if v <= -350.0 => Some(Class::Great),
        v if v <= -200.0 => Some(Class::Severe),
        v if v <= -100.0 => Some(Class::Strong),
        v if v <= -50.0 => Some(Class::Moderate),
        v if v <= -30.0 => Some(Class::Weak),
        _ => None,
    }
}

/// How to look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Depth of the hourly disturbance that makes a storm, nT, positive.
    pub depth_nt: f64,
    /// Smallest jump within minutes that may be a sudden commencement, nT.
    pub jump_nt: f64,
    /// The same in robust standard deviations of such differences.
    pub jump_sigmas: f64,
}

impl Default for Options {
    /// 50 nT deep; jumps of 5 nT and 8 standard deviations (common practice, no source).
    fn default() -> Self {
        Self { depth_nt: 50.0, jump_nt: 5.0, jump_sigmas: 8.0 }
    }
}

/// A jump of the field that stays, before a storm.  Only a second station can confirm that it is
/// a sudden commencement and not a car.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jump {
    /// When.
    pub time: Instant,
    /// Median of the five minutes after less that of the five before, nT.
    pub size_nt: f64,
}

/// One storm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Storm {
    /// The jump, when there is one in the twelve hours before the main phase, or else the hour in
    /// which the main phase begins.
    pub onset: Instant,
    /// The jump, when there is one.
    pub jump: Option<Jump>,
    /// Start of the main phase: the hour from which the disturbance stays below a quarter of
    /// [`Options::depth_nt`].
    pub main_phase: Instant,
    /// Middle of the hour with the lowest mean.
    pub deepest: Instant,
    /// That mean, nT, negative.
    pub depth_nt: f64,
    /// When it is back above that quarter; `None` when the record ends first.
    pub end: Option<Instant>,
}

/// Disturbance of a horizontal component, nT: less the quiet-day curve, less its median over the
/// quiet days, over the cosine of the dipole latitude.
///
/// The division brings a ring current's field to what it is at the dipole equator; it is left
/// out (1) above 80°, where it means nothing.  NaN through.
pub fn disturbance(
    days: &Days,
    component: usize,
    quiet: &QuietDay,
    dipole_latitude_deg: f64,
) -> Vec<f64> {
    let left = quiet.take_off(days, component);
    let mut calm: Vec<f64> = quiet
        .used
        .iter()
        .flat_map(|day| left.get(day * days.bins..(day + 1) * days.bins).unwrap_or(&[]))
        .copied()
        .filter(|v| v.is_finite())
        .collect();
    let level = median(&mut calm);
    let cos = libm::cos(dipole_latitude_deg.to_radians());
    let divide = if dipole_latitude_deg.abs() > 80.0 { 1.0 } else { cos };
    left.iter().map(|v| (v - level) / divide).collect()
}

fn median(values: &mut [f64]) -> f64 {
    let middle = values.len() / 2;
    if values.is_empty() {
        return f64::NAN;
    }
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Storms in a disturbance given in the bins of `days` (see [`disturbance`]); in order of time.
///
/// Hourly means that reach the depth make a storm; it lasts as long as they stay below a quarter
/// of it.  Hours with less than half of their bins neither begin nor end one.
pub fn find(days: &Days, disturbance: &[f64], options: &Options) -> Vec<Storm> {
    let per_hour = (days.bins / 24).max(1);
    let hours: Vec<f64> = disturbance.chunks(per_hour).map(hourly).collect();
    let quarter = -0.25 * options.depth_nt;
    let hour_ns = per_hour as i64 * days.bin_ns();
    let at = |hour: usize| Instant(days.first.0 + hour as i64 * hour_ns);
    let least_nt = options.jump_nt.max(options.jump_sigmas * usual_step(days, disturbance));
    let mut out = Vec::new();
    let mut hour = 0;
    while hour < hours.len() {
        // NaN compares as neither.
        if hours[hour] > -options.depth_nt || hours[hour].is_nan() {
            hour += 1;
            continue;
        }
        let start = (0..hour).rev().find(|h| hours[*h] > quarter).map_or(0, |h| h + 1);
        let end = (hour..hours.len()).find(|h| hours[*h] > quarter);
        let span = start..end.unwrap_or(hours.len());
        let deepest = span
            .clone()
            .filter(|h| !hours[*h].is_nan())
            .min_by(|a, b| hours[*a].total_cmp(&hours[*b]))
            .unwrap_or(hour);
        let before = start.saturating_sub(12) * per_hour..(start + 1) * per_hour;
        let jump = jump_in(days, disturbance, before, least_nt);
        out.push(Storm {
            onset: jump.map_or(at(start), |j| j.time),
            jump,
            main_phase: at(start),
            deepest: Instant(at(deepest).0 + hour_ns / 2),
            depth_nt: hours[deepest],
            end: end.map(at),
        });
        hour = span.end.max(hour + 1);
    }
    out
}

fn hourly(bins: &[f64]) -> f64 {
    let present: Vec<f64> = bins.iter().copied().filter(|v| !v.is_nan()).collect();
    if present.len() * 2 < bins.len() {
        return f64::NAN;
    }
    present.iter().sum::<f64>() / present.len() as f64
}

fn five_minutes(days: &Days) -> usize {
    (300 * NANOS_PER_SECOND / days.bin_ns()).max(1) as usize
}

/// Median of some bins, so that a pulse of a minute or two is no jump; `None` when one is missing.
fn level(values: &[f64], from: usize, to: usize) -> Option<f64> {
    let mut list = values.get(from..to)?.to_vec();
    list.iter().all(|v| v.is_finite()).then(|| median(&mut list))
}

/// Level of the bins from a place on less that of those before it.
fn step(values: &[f64], k: usize, width: usize) -> Option<f64> {
    Some(level(values, k, k + width)? - level(values, k.checked_sub(width)?, k)?)
}

/// Robust standard deviation of such steps all through a record.
fn usual_step(days: &Days, values: &[f64]) -> f64 {
    let five = five_minutes(days);
    let mut sizes: Vec<f64> = (five..values.len())
        .step_by(five)
        .filter_map(|k| step(values, k, five))
        .map(f64::abs)
        .collect();
    1.4826 * median(&mut sizes)
}

/// The largest upward jump that stays, among some bins.
fn jump_in(
    days: &Days,
    values: &[f64],
    places: std::ops::Range<usize>,
    least_nt: f64,
) -> Option<Jump> {
    let five = five_minutes(days);
    let step = |k: usize| step(values, k, five);
    let stays = |k: usize, size: f64| -> Option<bool> {
        let after = level(values, k + five, k + 3 * five)?;
        Some(after - level(values, k.checked_sub(five)?, k)? > 0.5 * size)
    };
    places
        .filter_map(|k| Some((k, step(k)?)))
        .filter(|(k, size)| *size >= least_nt && stays(*k, *size) == Some(true))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(k, size_nt)| Jump {
            time: Instant(days.first.0 + k as i64 * days.bin_ns()),
            size_nt,
        })
}

/// Size of the horizontal field's change from bin to bin, nT a minute: √(ΔX² + ΔY²); the first
/// value is NaN.
pub fn change_nt_per_min(days: &Days) -> Vec<f64> {
    let [Some(x), Some(y)] = [days.values.first(), days.values.get(1)] else { return Vec::new() };
    let minutes = days.bin_ns() as f64 / (60.0 * 1e9);
    (0..x.len())
        .map(|k| match k {
            0 => f64::NAN,
            k => libm::hypot(x[k] - x[k - 1], y[k] - y[k - 1]) / minutes,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;

    /// Six days of minutes: noise, a commencement at hour 40, a main phase from 43 to 49, an
    /// exponential recovery.
    fn record(noise: f64) -> (Days, Vec<f64>) {
        let start = Instant::from_date(2026, 5, 1).unwrap();
        let mut random = Random::new(8);
        let values: Vec<f64> = (0..6 * 1440)
            .map(|k| {
                let hour = f64::from(k) / 60.0;
                let storm = match hour {
                    h if h < 40.0 => 0.0,
                    h if h < 43.0 => 25.0,
                    h if h < 49.0 => 25.0 - 145.0 * (h - 43.0) / 6.0,
                    h => -120.0 * libm::exp(-(h - 49.0) / 12.0),
                };
                storm + noise * random.normal()
            })
            .collect();
        let times: Vec<i64> =
            (0..values.len() as i64).map(|k| start.0 + k * 60_000_000_000).collect();
        let days = Days::new(&times, &[&values, &values], |_| true, 60.0, 60.0, 0.9).unwrap();
        (days, values)
    }

    #[test]
    fn a_storm_is_found_with_its_jump_depth_and_end() {
        let (days, values) = record(3.0);
        let found = find(&days, &values, &Options::default());
        assert_eq!(found.len(), 1);
        let storm = found[0];
        let hour = |i: Instant| (i.0 - days.first.0) as f64 / 3.6e12;
        let jump = storm.jump.unwrap();
        assert!((hour(jump.time) - 40.0).abs() < 3.0 / 60.0, "{}", hour(jump.time));
        assert!((jump.size_nt - 25.0).abs() < 5.0);
        assert_eq!(storm.onset, jump.time);
        assert!((hour(storm.deepest) - 49.0).abs() < 1.01);
        assert!((-122.0..-108.0).contains(&storm.depth_nt), "{}", storm.depth_nt);
        assert_eq!(class(storm.depth_nt), Some(Class::Strong));
        // 120 exp(-t/12) is 12.5 nT after 27.1 hours.
        assert!((hour(storm.end.unwrap()) - 76.0).abs() <= 2.0);
    }

    #[test]
    fn quiet_days_have_no_storm_and_a_jump_that_returns_is_none() {
        let (days, values) = record(3.0);
        assert!(find(&days, &values[..38 * 60], &Options::default()).is_empty());
        let mut spiky = values.clone();
        spiky[40 * 60..44 * 60].fill(0.0);
        spiky[41 * 60..41 * 60 + 4].fill(80.0);
        let found = find(&days, &spiky, &Options::default());
        assert_eq!((found.len(), found[0].jump), (1, None));
        assert_eq!(found[0].onset, found[0].main_phase);
    }

    #[test]
    fn a_record_that_ends_in_a_storm_has_no_end_for_it() {
        let (days, values) = record(1.0);
        let found = find(&days, &values[..52 * 60], &Options::default());
        assert_eq!((found.len(), found[0].end), (1, None));
    }

    #[test]
    fn the_change_of_a_ramp_is_its_slope() {
        let start = Instant::from_date(2026, 5, 1).unwrap();
        let times: Vec<i64> = (0..100).map(|k| start.0 + k * 60_000_000_000).collect();
        let x: Vec<f64> = (0..100).map(|k| 3.0 * f64::from(k)).collect();
        let y: Vec<f64> = (0..100).map(|k| 4.0 * f64::from(k)).collect();
        let days = Days::new(&times, &[&x, &y], |_| true, 60.0, 60.0, 0.9).unwrap();
        let change = change_nt_per_min(&days);
        assert!(change[0].is_nan() && (change[50] - 5.0).abs() < 1e-12 && change[200].is_nan());
    }

    #[test]
    fn a_disturbance_is_brought_to_the_dipole_equator() {
        let (days, _) = record(0.0);
        let quiet = QuietDay {
            curve: vec![vec![1.0; 1440]],
            spread_nt: vec![],
            range_nt: vec![],
            harmonics: vec![],
            used: vec![0],
            dates: vec![],
        };
        let found = disturbance(&days, 0, &quiet, 60.0);
        assert!((found[0]).abs() < 1e-9);
        assert!((found[41 * 60] - 50.0).abs() < 1e-9);
    }
}
