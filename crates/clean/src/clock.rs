//! Clock: the times of a logger whose clock was off or ran fast.
//!
//! A record and a correction go in; the same samples at corrected times come
//! out.  Values and marks are not touched, and nothing is found here: the
//! correction comes from the notebook or from a comparison with a reference.

use record::{Instant, NANOS_PER_SECOND, Record, RecordError, say, words::word};
use std::sync::Arc;

/// How a logger's clock was wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correction {
    /// Seconds to add at the reference moment; negative when the clock was ahead.
    pub offset_s: f64,
    /// How much the clock ran fast, parts per million; negative when slow.
    pub drift_ppm: f64,
    /// The logged moment at which `offset_s` holds alone; the record's first
    /// time when `None`.
    pub reference: Option<Instant>,
}

/// A record at corrected times.
#[derive(Clone, Debug)]
pub struct Corrected {
    /// The record.
    pub record: Record,
    /// Samples whose time changed.
    pub marked: usize,
    /// The largest change, seconds with its sign.
    pub largest: Option<f64>,
    /// Change of the first and of the last sample, seconds.
    pub first_s: f64,
    /// Change of the last sample, seconds.
    pub last_s: f64,
}

/// Why times could not be corrected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ClockError {
    /// The offset is not a number, or longer than 100 years.
    Offset(f64),
    /// The drift is not a number, or beyond 100,000 ppm (10 %).
    Drift(f64),
}

impl std::fmt::Display for ClockError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Offset(s) => f.write_str(&say!("A clock offset of {s} s is beyond 100 years.")),
            Self::Drift(ppm) => f.write_str(&say!(
                "A clock drift of {ppm} ppm is beyond 100,000 ppm, which is 10 %."
            )),
        }
    }
}

impl std::error::Error for ClockError {}

impl From<ClockError> for record::Fault {
    fn from(error: ClockError) -> Self {
        let (code, remedy) = match error {
            ClockError::Offset(_) => {
                ("clean/clock-offset", word("Give the offset in seconds: an hour is 3600."))
            }
            ClockError::Drift(_) => (
                "clean/clock-drift",
                word("Give the drift in parts per million: one second a day is 11.6 ppm."),
            ),
        };
        record::Fault::new(code, error.to_string(), remedy)
    }
}

const CENTURY_S: f64 = 100.0 * 365.25 * 86_400.0;

/// Corrects the times of a record.
///
/// A clock that runs fast by `d` parts per million counts `1 + d·10⁻⁶`
/// seconds in each true second, so a logged time `t` becomes
/// `r + offset + (t − r) / (1 + d·10⁻⁶)` about the reference moment `r`.
/// Times keep their order.  Each is rounded to a whole nanosecond; over
/// 60 days the arithmetic adds less than 1 ns.
///
/// # Errors
///
/// [`ClockError`] when a number cannot be a clock's fault.
pub fn correct(record: &Record, correction: &Correction) -> Result<Corrected, ClockError> {
    let Correction { offset_s, drift_ppm, reference } = *correction;
    if offset_s.is_nan() || offset_s.abs() > CENTURY_S {
        return Err(ClockError::Offset(offset_s));
    }
    if drift_ppm.is_nan() || drift_ppm.abs() > 1e5 {
        return Err(ClockError::Drift(drift_ppm));
    }
    let start = reference.or_else(|| record.start()).unwrap_or_default().0;
    let offset_ns = (offset_s * NANOS_PER_SECOND as f64).round() as i64;
    let rate = -drift_ppm / (1e6 + drift_ppm);
    let change = |time: i64| -> i64 {
        let since = time.saturating_sub(start) as f64;
        offset_ns.saturating_add((since * rate).round() as i64)
    };
    let changes: Vec<i64> = record.times_ns().iter().map(|time| change(*time)).collect();
    let times = record.times_ns().iter().zip(&changes).map(|(t, c)| t.saturating_add(*c));
    let moved = rebuilt(record, times.collect()).unwrap_or_else(|_| record.clone());
    let seconds = |ns: Option<&i64>| ns.map_or(0.0, |ns| *ns as f64 / NANOS_PER_SECOND as f64);
    let largest = changes.iter().max_by_key(|change| change.unsigned_abs());
    Ok(Corrected {
        record: moved,
        marked: changes.iter().filter(|change| **change != 0).count(),
        largest: largest.map(|ns| seconds(Some(ns))),
        first_s: seconds(changes.first()),
        last_s: seconds(changes.last()),
    })
}

// One time a sample, as before: this cannot be refused.
fn rebuilt(record: &Record, times: Vec<i64>) -> Result<Record, RecordError> {
    Record::with_marks(Arc::new(times), record.channels().to_vec(), record.marks().clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::{Channel, Role, Unit};

    const DAY_NS: i64 = 86_400 * NANOS_PER_SECOND;

    fn days(n: i64) -> Record {
        let times: Vec<i64> = (0..=n).map(|day| day * DAY_NS).collect();
        let x = Channel::new("bx", Role::X, Unit::Nanotesla, vec![0.0; times.len()]);
        Record::new(times, vec![x]).unwrap()
    }

    fn fast(drift_ppm: f64, offset_s: f64) -> Correction {
        Correction { offset_s, drift_ppm, reference: None }
    }

    #[test]
    fn a_clock_20_ppm_fast_is_1_73_seconds_ahead_after_a_day() {
        // 86,400 s × 20·10⁻⁶ = 1.728 s, closed form.
        let found = correct(&days(10), &fast(20.0, 0.0)).unwrap();
        assert!((found.record.times_ns()[1] - DAY_NS) as f64 * 1e-9 + 1.728 < 1e-4);
        assert!((found.last_s + 17.28).abs() < 1e-3);
        assert_eq!(found.first_s, 0.0);
        assert_eq!(found.marked, 10);
    }

    #[test]
    fn correcting_a_simulated_clock_brings_the_true_times_back() {
        let truth = days(60);
        let read = |t: i64| t + (t as f64 * 18.5e-6).round() as i64;
        let logged = rebuilt(&truth, truth.times_ns().iter().map(|t| read(*t)).collect()).unwrap();
        let found = correct(&logged, &fast(18.5, 0.0)).unwrap();
        for (a, b) in found.record.times_ns().iter().zip(truth.times_ns()) {
            assert!((a - b).abs() <= 1);
        }
    }

    #[test]
    fn an_offset_moves_every_sample_alike() {
        let found = correct(&days(2), &fast(0.0, -3600.0)).unwrap();
        assert_eq!(found.marked, 3);
        assert_eq!(found.largest, Some(-3600.0));
        assert_eq!(found.record.times_ns()[0], -3_600 * NANOS_PER_SECOND);
    }

    #[test]
    fn a_drift_of_half_the_speed_is_refused() {
        let error = correct(&days(1), &fast(5e5, 0.0)).unwrap_err();
        assert_eq!(record::Fault::from(error).code, "clean/clock-drift");
        assert!(correct(&days(1), &fast(0.0, f64::NAN)).is_err());
    }
}
