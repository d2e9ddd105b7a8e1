//! What steps need of an even time axis: its rate, its grid, what is kept.

use crate::outcome::State;
use record::{Channel, Fault, Marks, NANOS_PER_SECOND, Record};

/// Samples a second.
pub(super) fn rate_hz(record: &Record) -> Result<f64, Fault> {
    let step_ns = record.cadence().step_ns;
    if step_ns > 0 {
        return Ok(NANOS_PER_SECOND as f64 / step_ns as f64);
    }
    Err(Fault::new(
        "spectrum/no-step",
        "The record has fewer than two times, so it has no sampling rate.",
        "Look at the reading report.",
    ))
}

/// The values with NaN in place of those left out.
pub(super) fn kept(channel: &Channel, marks: &Marks) -> Vec<f64> {
    let value = |(k, v): (usize, &f64)| if marks.keeps(k) { *v } else { f64::NAN };
    channel.values.iter().enumerate().map(value).collect()
}

/// A channel on even times.
pub(super) struct Grid {
    /// The first time, nanoseconds.
    pub start_ns: i64,
    /// One value a step, NaN where there is none.
    pub values: Vec<f64>,
}

/// Most places of a grid.
const MOST: usize = 50_000_000;

/// The kept values of a channel on a grid of `step_ns` that begins at
/// `start_ns`: places without a sample are NaN, nothing is filled.
pub(super) fn grid_from(record: &Record, channel: &Channel, start_ns: i64, step_ns: i64) -> Grid {
    let end_ns = record.end().map_or(start_ns, |s| s.0);
    let n = ((end_ns - start_ns).max(0) / step_ns + 1).min(MOST as i64) as usize;
    let mut values = vec![f64::NAN; n];
    for (k, time) in record.times_ns().iter().enumerate() {
        let place = (time - start_ns + step_ns / 2).div_euclid(step_ns);
        if !record.marks().keeps(k) {
            continue;
        }
        if let Some(slot) = usize::try_from(place).ok().and_then(|p| values.get_mut(p)) {
            *slot = channel.values[k];
        }
    }
    Grid { start_ns, values }
}

/// The same from the record's first time on.
pub(super) fn grid(state: &State, channel: &Channel, step_ns: i64) -> Grid {
    let start_ns = state.record.start().map_or(0, |s| s.0);
    grid_from(&state.record, channel, start_ns, step_ns)
}

/// Values of another record as means over the steps of the log's grid: those
/// nearest to each of its places, where at least half of them are there.
pub(super) fn means(log: &Record, other: &Record, values: &[f64]) -> Vec<f64> {
    let step_ns = log.cadence().step_ns.max(1);
    let start_ns = log.start().map_or(0, |s| s.0);
    let end_ns = log.end().map_or(start_ns, |s| s.0);
    let n = ((end_ns - start_ns).max(0) / step_ns + 1).min(MOST as i64) as usize;
    let expected = (step_ns as f64 / other.cadence().step_ns.max(1) as f64).max(1.0);
    let (mut sums, mut counts) = (vec![0.0; n], vec![0_u32; n]);
    for (k, time) in other.times_ns().iter().enumerate() {
        let place = (time - start_ns + step_ns / 2).div_euclid(step_ns);
        let Some(place) = usize::try_from(place).ok().filter(|p| *p < n) else { continue };
        if other.marks().keeps(k) && values[k].is_finite() {
            sums[place] += values[k];
            counts[place] += 1;
        }
    }
    let mean = |(sum, count): (&f64, &u32)| match f64::from(*count) {
        c if c >= 0.5 * expected => sum / c,
        _ => f64::NAN,
    };
    sums.iter().zip(&counts).map(mean).collect()
}
