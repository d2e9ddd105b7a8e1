//! Records laid out in whole UTC days of equal bins, as indices and daily curves need them.

use record::{Fault, Instant, NANOS_PER_SECOND, print, say, words::word};
use std::fmt;

/// Nanoseconds of a day.
pub(crate) const DAY_NS: i64 = 86_400 * NANOS_PER_SECOND;

/// Longest record that is laid out in days: ten years and more.
pub const MOST_DAYS: i64 = 4_000;

/// Why a record is not laid out in days.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DaysError {
    /// First and last sample are more than [`MOST_DAYS`] days apart.
    TooLong {
        /// Days from the first sample to the last.
        days: i64,
    },
}

impl fmt::Display for DaysError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fault = Fault::from(*self);
        write!(f, "{} {}", fault.message, fault.remedy)
    }
}

impl std::error::Error for DaysError {}

impl From<DaysError> for Fault {
    fn from(DaysError::TooLong { days }: DaysError) -> Self {
        Self::new(
            "days/too-long",
            say!(
                "The record spans {} days from its first sample to its last; days are laid out \
                 for {} at the most.",
                print::count(days.unsigned_abs() as usize),
                print::count(MOST_DAYS as usize)
            ),
            word("Look for a sample whose clock was not set: a log that begins in 1970 or 2000."),
        )
    }
}

/// Means over equal bins of whole UTC days, NaN where too little was there.
#[derive(Clone, Debug, PartialEq)]
pub struct Days {
    /// Midnight UTC of the first day.
    pub first: Instant,
    /// Bins in a day.
    pub bins: usize,
    /// One list a component, days after each other.
    pub values: Vec<Vec<f64>>,
}

impl Days {
    /// Bins components by UTC day; a bin's value is the mean of its samples.
    ///
    /// `keep` says whether a sample takes part; NaN are left out of their own component only.  A
    /// bin with less than `fewest` (0 to 1) of the samples that its length should hold is NaN.
    /// `cadence_s` is the median step; bins are no shorter than it.  Empty for no sample.
    ///
    /// # Errors
    ///
    /// [`DaysError`] when the record spans more than [`MOST_DAYS`] days.
    pub fn new(
        times_ns: &[i64],
        components: &[&[f64]],
        keep: impl Fn(usize) -> bool,
        cadence_s: f64,
        bin_s: f64,
        fewest: f64,
    ) -> Result<Self, DaysError> {
        let bins = bins_in_a_day(bin_s.max(cadence_s));
        let kept = || times_ns.iter().enumerate().filter(|(k, _)| keep(*k));
        let (low, high) =
            kept().fold((i64::MAX, i64::MIN), |(l, h), (_, t)| (l.min(*t), h.max(*t)));
        if low > high {
            let values = vec![vec![]; components.len()];
            return Ok(Self { first: Instant(0), bins, values });
        }
        let first = low.div_euclid(DAY_NS);
        let days = high.div_euclid(DAY_NS) - first + 1;
        if days > MOST_DAYS {
            return Err(DaysError::TooLong { days });
        }
        let n = days as usize * bins;
        let bin_ns = DAY_NS / bins as i64;
        let full =
            if cadence_s > 0.0 { (bin_ns as f64 * 1e-9 / cadence_s).floor().max(1.0) } else { 1.0 };
        let values = components.iter().map(|list| {
            let (mut sums, mut counts) = (vec![0.0; n], vec![0u32; n]);
            for (k, t) in kept() {
                let bin = ((t - first * DAY_NS) / bin_ns) as usize;
                if let Some(v) = list.get(k).filter(|v| v.is_finite()) {
                    sums[bin] += v;
                    counts[bin] += 1;
                }
            }
            let mean = |(sum, count): (&f64, &u32)| {
                let count = f64::from(*count);
                if count > 0.0 && count >= fewest * full { sum / count } else { f64::NAN }
            };
            sums.iter().zip(&counts).map(mean).collect()
        });
        Ok(Self { first: Instant(first * DAY_NS), bins, values: values.collect() })
    }

    /// Number of days.
    pub fn len(&self) -> usize {
        self.values.first().map_or(0, |list| list.len() / self.bins)
    }

    /// Whether there is no day.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Midnight at the start of a day.
    pub fn midnight(&self, day: usize) -> Instant {
        Instant(self.first.0 + day as i64 * DAY_NS)
    }

    /// Length of a bin, nanoseconds.
    pub fn bin_ns(&self) -> i64 {
        DAY_NS / self.bins as i64
    }

    /// One component of one day.
    pub fn day(&self, component: usize, day: usize) -> &[f64] {
        self.values
            .get(component)
            .and_then(|list| list.get(day * self.bins..(day + 1) * self.bins))
            .unwrap_or(&[])
    }

    /// Mean of a component from one bin up to, and without, another, counted from the first
    /// day's midnight and cut at the ends of the record; NaN are left out, NaN for none.
    pub fn mean(&self, component: usize, from: i64, to: i64) -> f64 {
        let Some(list) = self.values.get(component) else { return f64::NAN };
        let cut = |bin: i64| bin.clamp(0, list.len() as i64) as usize;
        let (mut sum, mut n) = (0.0, 0.0);
        for v in list[cut(from)..cut(to).max(cut(from))].iter().filter(|v| !v.is_nan()) {
            (sum, n) = (sum + v, n + 1.0);
        }
        sum / n
    }
}

/// The number of bins no shorter than a length (seconds) that fit a day and its 3-hour intervals
/// evenly: 180 minutes cut into whole parts.
fn bins_in_a_day(bin_s: f64) -> usize {
    const PARTS: [usize; 18] = [1, 2, 3, 4, 5, 6, 9, 10, 12, 15, 18, 20, 30, 36, 45, 60, 90, 180];
    let longest = (10_800.0 / bin_s.max(60.0)).floor() as usize;
    8 * PARTS.into_iter().rev().find(|parts| *parts <= longest.max(1)).unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_fall_into_the_bins_of_their_utc_day() {
        let start = Instant::from_date(2026, 5, 3).unwrap();
        let times: Vec<i64> =
            (0..240).map(|k| start.0 + (k * 30 + 3600) * NANOS_PER_SECOND).collect();
        let values: Vec<f64> = (0..240).map(f64::from).collect();
        let days = Days::new(&times, &[&values], |k| k != 0, 30.0, 60.0, 0.9).unwrap();
        assert_eq!((days.first, days.bins, days.len()), (start, 1440, 1));
        let day = days.day(0, 0);
        assert!(day[59].is_nan() && day[60].is_nan());
        assert_eq!((day[61], day[62]), (2.5, 4.5));
        assert_eq!(days.mean(0, 61, 63), 3.5);
        assert!(days.mean(0, 0, 10).is_nan() && days.mean(0, 2000, 3000).is_nan());
    }

    #[test]
    fn a_slow_log_gets_bins_as_long_as_its_step() {
        assert_eq!(bins_in_a_day(60.0), 1440);
        assert_eq!(bins_in_a_day(1.0), 1440);
        assert_eq!(bins_in_a_day(300.0), 288);
        assert_eq!(bins_in_a_day(420.0), 160);
        assert_eq!(bins_in_a_day(1e9), 8);
    }

    #[test]
    fn a_clock_that_was_not_set_is_told_and_not_laid_out() {
        let late = Instant::from_date(2026, 5, 3).unwrap().0;
        let error = Days::new(&[0, late], &[&[1.0, 2.0]], |_| true, 60.0, 60.0, 0.9).unwrap_err();
        assert_eq!(error, DaysError::TooLong { days: 20_577 });
        assert!(Fault::from(error).message.contains("20,577 days"));
    }

    #[test]
    fn no_sample_gives_no_day() {
        let days = Days::new(&[], &[&[]], |_| true, 60.0, 60.0, 0.9).unwrap();
        assert!(days.is_empty() && days.day(0, 0).is_empty());
    }
}
