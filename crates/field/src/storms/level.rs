//! The local disturbance: the horizontal field less its quiet day and its slow level.
//!
//! Days with the horizontal field as a component and their quiet-day curve in; the disturbance in
//! the same bins and by hours of UTC out, with its standard uncertainty.  It is what stands at
//! this station: neither Dst nor brought to the equator.

use crate::days::{DAY_NS, Days};
use crate::quiet_day::QuietDay;
use record::Instant;
use signal::robust;

/// Nights on either side over which the level's median is taken.
const NIGHTS: usize = 5;

/// Hours about local midnight that make a night, on either side.
const NIGHT_H: f64 = 2.0;

/// A station's local disturbance.
#[derive(Clone, Debug, PartialEq)]
pub struct Local {
    /// Midnight at the start of the first day.
    pub first: Instant,
    /// In the bins of the days, nT; NaN where nothing is.
    pub bins: Vec<f64>,
    /// Length of a bin, nanoseconds.
    pub bin_ns: i64,
    /// Means of the hours of UTC of which half is there, nT; NaN for others.
    pub hours: Vec<f64>,
    /// Standard uncertainty of the hours of a UT day, nT, 24 of them: the spread of quiet days
    /// about their curve and the scatter of nights about the slow level.
    pub sigma_nt: Vec<f64>,
}

impl Local {
    /// Start of an hour.
    pub fn hour(&self, place: usize) -> Instant {
        Instant(self.first.0 + place as i64 * (DAY_NS / 24))
    }

    /// Standard uncertainty of an hour, nT.
    pub fn sigma_of(&self, place: usize) -> f64 {
        self.sigma_nt.get(place % 24).copied().unwrap_or(f64::NAN)
    }
}

/// Level of one night within one stretch between breaks.
struct Night {
    middle: f64,
    stretch: usize,
    level: f64,
}

/// The local disturbance of a component of days.
///
/// The slow level is the running median, over eleven nights, of the medians of what is left from
/// 22 to 02 local mean time, drawn straight from midnight to midnight; at `breaks`, moments at
/// which the sensor was moved, it starts anew.  So drift with the seasons, a sensor's ageing and
/// a nudge go, and a storm of three days stays.
pub fn local(
    days: &Days,
    component: usize,
    quiet: &QuietDay,
    breaks: &[Instant],
    longitude_deg: f64,
) -> Local {
    let left = quiet.take_off(days, component);
    let bin_ns = days.bin_ns();
    let time = |bin: usize| days.first.0 + bin as i64 * bin_ns + bin_ns / 2;
    let stretch = |bin: usize| breaks.iter().filter(|b| b.0 <= time(bin)).count();
    let nights = nights(&left, days, &stretch, longitude_deg);
    let smooth: Vec<f64> = (0..nights.len()).map(|k| around(&nights, k)).collect();
    let scatter: Vec<f64> = nights.iter().zip(&smooth).map(|(n, s)| (n.level - s).abs()).collect();
    let level_sigma: f64 = 1.4826 * robust::median(&scatter).unwrap_or(f64::NAN);
    let whole = robust::median(&left).unwrap_or(f64::NAN);
    let base = |bin: usize| between(&nights, &smooth, bin as f64, stretch(bin)).unwrap_or(whole);
    let bins: Vec<f64> = left.iter().enumerate().map(|(k, v)| v - base(k)).collect();
    let per_hour = (days.bins / 24).max(1);
    let hours = bins.chunks(per_hour).map(hourly).collect();
    let sigma_nt = quiet_sigma(quiet, component, per_hour)
        .into_iter()
        .map(|s| libm::hypot(s, if level_sigma.is_nan() { 0.0 } else { level_sigma }))
        .collect();
    Local { first: days.first, bins, bin_ns, hours, sigma_nt }
}

/// Night by night, the median of what is left, where half of it is there.
fn nights(
    left: &[f64],
    days: &Days,
    stretch: &dyn Fn(usize) -> usize,
    longitude_deg: f64,
) -> Vec<Night> {
    let per_day = days.bins as f64;
    let shift = longitude_deg / 360.0;
    let half = NIGHT_H / 24.0;
    let mut out = Vec::new();
    for night in -1..=days.len() as i64 + 1 {
        let middle = (night as f64 - shift) * per_day;
        let cut = |bin: f64| bin.clamp(0.0, left.len() as f64) as usize;
        let span = cut(middle - half * per_day)..cut(middle + half * per_day);
        if span.is_empty() {
            continue;
        }
        // A night with a break in it counts for the stretch that has more of it.
        let with = stretch(span.start + span.len() / 2);
        let there: Vec<f64> =
            span.clone().filter(|b| stretch(*b) == with).map(|b| left[b]).collect();
        let there: Vec<f64> = there.into_iter().filter(|v| v.is_finite()).collect();
        if (there.len() as f64) < half * per_day {
            continue;
        }
        if let Some(level) = robust::median(&there) {
            out.push(Night { middle, stretch: with, level });
        }
    }
    out
}

/// Median of the nights about one, of its own stretch.
fn around(nights: &[Night], k: usize) -> f64 {
    let reach = k.saturating_sub(NIGHTS)..(k + NIGHTS + 1).min(nights.len());
    let near: Vec<f64> =
        nights[reach].iter().filter(|n| n.stretch == nights[k].stretch).map(|n| n.level).collect();
    robust::median(&near).unwrap_or(f64::NAN)
}

/// The level at a bin, straight between the nights of its stretch and flat beyond them.
fn between(nights: &[Night], smooth: &[f64], bin: f64, stretch: usize) -> Option<f64> {
    let own = |k: &usize| nights[*k].stretch == stretch;
    let next = nights.partition_point(|n| n.middle <= bin);
    let before = (0..next).rev().find(own);
    let after = (next..nights.len()).find(own);
    Some(match (before, after) {
        (Some(a), Some(b)) => {
            let part = (bin - nights[a].middle) / (nights[b].middle - nights[a].middle);
            smooth[a] + (smooth[b] - smooth[a]) * part
        }
        (Some(a), None) => smooth[a],
        (None, Some(b)) => smooth[b],
        (None, None) => return None,
    })
}

fn hourly(bins: &[f64]) -> f64 {
    let present: Vec<f64> = bins.iter().copied().filter(|v| !v.is_nan()).collect();
    if present.len() * 2 < bins.len() {
        return f64::NAN;
    }
    present.iter().sum::<f64>() / present.len() as f64
}

/// Spread of the quiet days about their curve in each hour, nT.
fn quiet_sigma(quiet: &QuietDay, component: usize, per_hour: usize) -> Vec<f64> {
    let spread = quiet.spread_nt.get(component).map_or(&[][..], Vec::as_slice);
    let mut out: Vec<f64> = spread
        .chunks(per_hour)
        .map(|hour| {
            let known: Vec<f64> = hour.iter().copied().filter(|v| v.is_finite()).collect();
            (known.iter().map(|v| v * v).sum::<f64>() / known.len().max(1) as f64).sqrt()
        })
        .collect();
    out.resize(24, 0.0);
    out
}
