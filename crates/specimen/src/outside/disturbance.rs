//! The local disturbance by hour, as it truly is: what a student's estimate is held against.

use super::{Outside, daily::Daily};
use crate::scenario::{Place, Storm};

/// Hours after a commencement among which the deepest is looked for.
const HOURS: usize = 36;

/// Means over hours of UTC of the outside field less the regular daily variation, along the mean
/// horizontal field of a place, nT: `count` hours from the hour with this number.
pub fn hours(
    outside: &Outside,
    daily: &Daily,
    place: &Place,
    first: usize,
    count: usize,
) -> Vec<f64> {
    let [x, y] = [0, 1].map(|k| place.main_nt[k] + place.rocks_nt[k]);
    let h = libm::hypot(x, y);
    let along = |t_s: f64| {
        let (all, regular) = (outside.at(t_s), daily.at(t_s));
        ((all[0] - regular[0]) * x + (all[1] - regular[1]) * y) / h
    };
    let mean = |hour: usize| {
        let start_s = hour as f64 * 3_600.0;
        (0..120).map(|n| along(start_s + 30.0 * f64::from(n))).sum::<f64>() / 120.0
    };
    (first..first + count).map(mean).collect()
}

/// The deepest of the hours after a storm's commencement that begin before `end_s`: its number
/// from the start, and its mean, nT.
pub fn deepest(
    outside: &Outside,
    daily: &Daily,
    place: &Place,
    storm: &Storm,
    end_s: f64,
) -> Option<(usize, f64)> {
    let first = (storm.onset_s / 3_600.0) as usize;
    let last = ((end_s / 3_600.0) as usize).min(first + HOURS);
    let list = hours(outside, daily, place, first, last.saturating_sub(first));
    let least = list.into_iter().enumerate().min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((first + least.0, least.1))
}
