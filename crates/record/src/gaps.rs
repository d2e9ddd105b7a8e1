//! Gap arithmetic: cadence, gaps and unbroken runs of a time axis.

use crate::NANOS_PER_SECOND;
use std::ops::Range;

/// A stretch without samples.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    /// The last sample before it.
    pub before: usize,
    /// Time of that sample, nanoseconds.
    pub start_ns: i64,
    /// Time of the first sample after it, nanoseconds.
    pub end_ns: i64,
}

impl Gap {
    /// Seconds from the last sample before to the first one after.
    pub fn seconds(&self) -> f64 {
        self.end_ns.saturating_sub(self.start_ns) as f64 / NANOS_PER_SECOND as f64
    }
}

/// How regular a time axis is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cadence {
    /// The median step, nanoseconds; 0 when fewer than two samples.
    pub step_ns: i64,
    /// Half the spread of the middle 90 % of the steps, nanoseconds.
    pub jitter_ns: i64,
}

/// The median step between successive times and how much the steps differ.
/// Steps of zero and backward steps are left out.
pub fn cadence(times_ns: &[i64]) -> Cadence {
    let mut steps: Vec<i64> =
        times_ns.windows(2).map(|w| w[1].saturating_sub(w[0])).filter(|step| *step > 0).collect();
    if steps.is_empty() {
        return Cadence { step_ns: 0, jitter_ns: 0 };
    }
    let last = steps.len() - 1;
    let step_ns = crate::sort::nth_whole(&mut steps, last / 2);
    let low = crate::sort::nth_whole(&mut steps, last / 20);
    let high = crate::sort::nth_whole(&mut steps, last - last / 20);
    Cadence { step_ns, jitter_ns: (high - low) / 2 }
}

/// The places where successive times are more than 1.5 steps apart.
/// `times_ns` ascends; a `step_ns` of zero or less finds none.
pub fn gaps(times_ns: &[i64], step_ns: i64) -> Vec<Gap> {
    if step_ns <= 0 {
        return Vec::new();
    }
    times_ns
        .windows(2)
        .enumerate()
        .filter(|(_, w)| is_gap(w[0], w[1], step_ns))
        .map(|(before, w)| Gap { before, start_ns: w[0], end_ns: w[1] })
        .collect()
}

/// The unbroken runs of samples: `usable` all the way and no gap longer than
/// 1.5 steps inside.  Ranges are places in the slices, in order.
pub fn runs(
    times_ns: &[i64],
    step_ns: i64,
    mut usable: impl FnMut(usize) -> bool,
) -> Vec<Range<usize>> {
    let mut out = Vec::new();
    let mut start: Option<usize> = None;
    for sample in 0..times_ns.len() {
        let broken =
            sample > 0 && step_ns > 0 && is_gap(times_ns[sample - 1], times_ns[sample], step_ns);
        let fits = usable(sample);
        if let Some(begin) = start
            && (broken || !fits)
        {
            out.push(begin..sample);
            start = None;
        }
        if fits && start.is_none() {
            start = Some(sample);
        }
    }
    if let Some(begin) = start {
        out.push(begin..times_ns.len());
    }
    out
}

// A step of more than one and a half cadences; times may lie centuries apart.
fn is_gap(before_ns: i64, after_ns: i64, step_ns: i64) -> bool {
    2 * (i128::from(after_ns) - i128::from(before_ns)) > 3 * i128::from(step_ns)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_missing_sample_is_a_gap_and_jitter_is_not() {
        let times = [0, 10, 21, 30, 50, 60];
        assert_eq!(cadence(&times).step_ns, 10);
        let found = gaps(&times, 10);
        assert_eq!(found, [Gap { before: 3, start_ns: 30, end_ns: 50 }]);
    }

    #[test]
    fn runs_end_at_gaps_and_at_unusable_samples() {
        let times = [0, 10, 20, 50, 60, 70, 80];
        let found = runs(&times, 10, |sample| sample != 5);
        assert_eq!(found, [0..3, 3..5, 6..7]);
    }
}
