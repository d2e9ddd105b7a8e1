//! Fill: an even grid, with short gaps filled by straight lines.
//!
//! A record in order goes in; a record with one row at every step comes out.
//! Filled rows are marked as such; longer gaps stay NaN and are marked
//! missing.  Nothing is filled without a mark.

use record::{Channel, Marks, NANOS_PER_SECOND, Reason, Record, say, words::word};
use std::sync::Arc;

/// A record on an even grid, and what that took.
#[derive(Clone, Debug)]
pub struct Filled {
    /// One row at every step from the first sample to the last.
    pub record: Record,
    /// Rows with at least one value that was filled, marked [`Reason::Filled`].
    pub filled: usize,
    /// Rows with a value that is still missing, marked [`Reason::Missing`].
    pub still_missing: usize,
    /// Rows of the grid for which the log has no sample at all.
    pub inserted: usize,
    /// Samples that had to share a row with a nearer one, and left it to that.
    pub crowded: usize,
    /// The longest gap that was filled, seconds.
    pub longest_filled_s: f64,
    /// The longest gap that was not, seconds.
    pub longest_left_s: f64,
    /// The farthest that a sample stood from its row's time, seconds.
    pub largest_move_s: f64,
    /// The step of the grid, nanoseconds.
    pub step_ns: i64,
}

/// Why there can be no even grid.
#[derive(Clone, Debug, PartialEq)]
pub enum FillError {
    /// Fewer than two samples, or all at one time.
    NoStep,
    /// Time steps back at this sample.
    Unordered(usize),
    /// The longest gap to fill is negative or not a number.
    Length(f64),
    /// The grid would hold far more rows than there are samples.
    TooLong {
        /// Rows of the grid.
        rows: u64,
        /// Samples there are.
        samples: usize,
    },
}

impl std::fmt::Display for FillError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoStep => f.write_str(&say!("The samples do not follow each other in time.")),
            Self::Unordered(sample) => f.write_str(&say!("Time steps back at sample {}.", sample + 1)),
            Self::Length(s) => f.write_str(&say!("Gaps up to {s} seconds cannot be.")),
            Self::TooLong { rows, samples } => f.write_str(&say!("An even grid from the first to the last time would have {rows} rows for {} samples.",
                record::print::count(*samples)
            )),
        }
    }
}

impl std::error::Error for FillError {}

impl From<FillError> for record::Fault {
    fn from(error: FillError) -> Self {
        let (code, remedy) = match error {
            FillError::NoStep => ("clean/fill-step", word("Open a log with at least two times.")),
            FillError::Unordered(_) => {
                ("clean/fill-order", word("Switch on the step that puts the rows in order."))
            }
            FillError::Length(_) => ("clean/fill-length", word("Give a length of zero or more.")),
            FillError::TooLong { .. } => (
                "clean/fill-rows",
                word(
                    "A few rows carry a date far from the others. Leave them out, or choose a span.",
                ),
            ),
        };
        record::Fault::new(code, error.to_string(), remedy)
    }
}

/// Puts a record on an even grid and fills gaps no longer than `longest_s`.
///
/// The grid starts at the first sample and has the record's median step.  Each
/// sample goes to the nearest row; the farthest move is told, since a clock
/// that jitters by half a step is not an even record.  A value that is NaN, or
/// in a row left out by a mark, counts as missing.  In each channel a run of
/// missing values is filled with the straight line between its neighbours when
/// these are no more than `longest_s` apart; at the ends nothing is filled.
/// A row that was left out and is filled now carries [`Reason::Filled`] alone:
/// its old reason stays with the record that came in.
///
/// # Errors
///
/// [`FillError`] says which.
pub fn fill(record: &Record, longest_s: f64) -> Result<Filled, FillError> {
    if longest_s.is_nan() || longest_s < 0.0 {
        return Err(FillError::Length(longest_s));
    }
    let grid = Grid::over(record)?;
    let mut state = State::new(grid.rows.len());
    let longest_rows = longest_s * NANOS_PER_SECOND as f64 / grid.step_ns as f64;
    let channels: Vec<Channel> = record
        .channels()
        .iter()
        .map(|channel| {
            let mut values: Vec<f64> =
                grid.rows.iter().map(|row| row.map_or(f64::NAN, |r| channel.values[r])).collect();
            for (value, row) in values.iter_mut().zip(&grid.rows) {
                if row.is_none_or(|row| !record.marks().keeps(row)) {
                    *value = f64::NAN;
                }
            }
            state.fill(&mut values, longest_rows);
            channel.with_values(channel.unit, values)
        })
        .collect();
    Ok(finish(record, &grid, &state, channels))
}

fn finish(record: &Record, grid: &Grid, state: &State, channels: Vec<Channel>) -> Filled {
    let step_s = grid.step_ns as f64 / NANOS_PER_SECOND as f64;
    let mut marks = Marks::none(grid.rows.len());
    let still_missing = marks.add(Reason::Missing, &state.missing);
    let filled = marks.add(Reason::Filled, &state.filled);
    let start = record.times_ns().first().copied().unwrap_or(0);
    let times = (0..grid.rows.len() as i64).map(|row| start + row * grid.step_ns).collect();
    Filled {
        // Every channel has one value a row, so this cannot be refused.
        record: Record::with_marks(Arc::new(times), channels, marks)
            .unwrap_or_else(|_| record.clone()),
        filled,
        still_missing,
        inserted: grid.rows.iter().filter(|row| row.is_none()).count(),
        crowded: grid.crowded,
        longest_filled_s: state.longest_filled as f64 * step_s,
        longest_left_s: state.longest_left as f64 * step_s,
        largest_move_s: grid.largest_move_ns as f64 / NANOS_PER_SECOND as f64,
        step_ns: grid.step_ns,
    }
}

struct Grid {
    step_ns: i64,
    // The sample of each row of the grid.
    rows: Vec<Option<usize>>,
    crowded: usize,
    largest_move_ns: i64,
}

impl Grid {
    fn over(record: &Record) -> Result<Self, FillError> {
        let times = record.times_ns();
        if let Some(place) = times.windows(2).position(|w| w[1] < w[0]) {
            return Err(FillError::Unordered(place + 1));
        }
        let step_ns = record.cadence().step_ns;
        let (Some(first), Some(last)) = (times.first(), times.last()) else {
            return Err(FillError::NoStep);
        };
        if step_ns <= 0 {
            return Err(FillError::NoStep);
        }
        let rows = ((last - first) / step_ns + 2) as u64;
        let most = (4 * times.len() as u64).max(4_000_000);
        if rows > most {
            return Err(FillError::TooLong { rows, samples: times.len() });
        }
        let row_of = |time: i64| ((time - first + step_ns / 2) / step_ns) as usize;
        let mut grid =
            Self { step_ns, rows: vec![None; row_of(*last) + 1], crowded: 0, largest_move_ns: 0 };
        for (sample, time) in times.iter().enumerate() {
            let row = row_of(*time);
            let off = |t: i64| (t - first - row as i64 * step_ns).abs();
            let better = |other: usize| {
                let kept = |s: usize| u8::from(!record.marks().keeps(s));
                (kept(sample), off(*time)) < (kept(other), off(times[other]))
            };
            grid.crowded += usize::from(grid.rows[row].is_some());
            if grid.rows[row].is_none_or(better) {
                grid.rows[row] = Some(sample);
            }
        }
        for (row, sample) in grid.rows.iter().enumerate() {
            if let Some(sample) = sample {
                let off = (times[*sample] - first - row as i64 * step_ns).abs();
                grid.largest_move_ns = grid.largest_move_ns.max(off);
            }
        }
        Ok(grid)
    }
}

struct State {
    filled: Vec<bool>,
    missing: Vec<bool>,
    longest_filled: usize,
    longest_left: usize,
}

impl State {
    fn new(rows: usize) -> Self {
        let (filled, missing) = (vec![false; rows], vec![false; rows]);
        Self { filled, missing, longest_filled: 0, longest_left: 0 }
    }

    fn fill(&mut self, values: &mut [f64], longest_rows: f64) {
        let mut before: Option<usize> = None;
        let mut row = 0;
        while row < values.len() {
            if values[row].is_finite() {
                before = Some(row);
                row += 1;
                continue;
            }
            let after = (row..values.len()).find(|k| values[*k].is_finite());
            let end = after.unwrap_or(values.len());
            match (before, after) {
                (Some(a), Some(b)) if (b - a) as f64 <= longest_rows => {
                    straight(values, a, b);
                    self.filled[row..end].fill(true);
                    self.longest_filled = self.longest_filled.max(b - a);
                }
                _ => {
                    self.missing[row..end].fill(true);
                    self.longest_left = self.longest_left.max(end + 1 - row);
                }
            }
            row = end;
        }
    }
}

fn straight(values: &mut [f64], a: usize, b: usize) {
    let (from, to) = (values[a], values[b]);
    for (place, value) in values[a..b].iter_mut().enumerate().skip(1) {
        *value = from + (to - from) * (place as f64 / (b - a) as f64);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use record::{Role, Unit};

    const S: i64 = NANOS_PER_SECOND;

    fn record(seconds: &[i64], x: &[f64]) -> Record {
        let x = Channel::new("bx", Role::X, Unit::Nanotesla, x.to_vec());
        Record::new(seconds.iter().map(|s| s * S).collect(), vec![x]).unwrap()
    }

    #[test]
    fn a_short_gap_is_filled_with_a_straight_line_and_a_long_one_is_not() {
        let log = record(
            &[0, 1, 2, 3, 6, 7, 8, 20, 21, 22],
            &[0.0, 1.0, 2.0, 3.0, 6.0, 7.0, 8.0, 20.0, 21.0, 22.0],
        );
        let found = fill(&log, 3.0).unwrap();
        let values = &found.record.channels()[0].values;
        assert_eq!(values[..9], [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0]);
        assert!(values[9..20].iter().all(|v| v.is_nan()));
        assert_eq!((found.filled, found.still_missing, found.inserted), (2, 11, 13));
        assert_eq!((found.longest_filled_s, found.longest_left_s), (3.0, 12.0));
        assert!(found.record.marks().keeps(4) && !found.record.marks().keeps(9));
    }

    #[test]
    fn a_spike_is_filled_over_and_says_so() {
        let mut marks = Marks::none(5);
        marks.add(Reason::Spike, &[false, false, true, false, false]);
        let log = record(&[0, 1, 2, 3, 4], &[1.0, 1.0, 99.0, 1.0, 1.0]).marked(marks).unwrap();
        let found = fill(&log, 2.0).unwrap();
        assert_eq!(found.record.channels()[0].values[2], 1.0);
        assert!(found.record.marks().has(2, Reason::Filled));
        assert_eq!(found.inserted, 0);
    }

    #[test]
    fn ends_are_never_filled() {
        let found = fill(&record(&[0, 1, 2], &[f64::NAN, 1.0, f64::NAN]), 100.0).unwrap();
        assert_eq!((found.filled, found.still_missing), (0, 2));
    }

    #[test]
    fn one_row_in_another_century_is_refused_with_the_number_of_rows() {
        let error = fill(&record(&[-2_000_000_000, 0, 1, 2], &[0.0; 4]), 1.0).unwrap_err();
        assert!(error.to_string().contains("2000000004 rows"), "{error}");
    }

    #[test]
    fn the_nearer_of_two_samples_takes_the_row() {
        let log =
            record(&[0, 10, 20, 28, 31, 40, 50, 60], &[0.0, 1.0, 2.0, 8.0, 3.0, 4.0, 5.0, 6.0]);
        let found = fill(&log, 0.0).unwrap();
        assert_eq!(found.record.channels()[0].values[3], 3.0);
        assert_eq!((found.crowded, found.largest_move_s), (1, 1.0));
    }

    proptest! {
        #[test]
        fn an_even_record_without_gaps_comes_back_as_it_was(
            x in prop::collection::vec(-1e5f64..1e5, 2..60),
        ) {
            let seconds: Vec<i64> = (0..x.len() as i64).collect();
            let log = record(&seconds, &x);
            prop_assert_eq!(fill(&log, 10.0).unwrap().record, log);
        }

        #[test]
        fn a_straight_line_with_holes_is_filled_exactly(
            holes in prop::collection::vec(any::<bool>(), 3..60),
        ) {
            let last = holes.len() - 1;
            let kept: Vec<i64> =
                (0..=last).filter(|k| !holes[*k] || *k == 0 || *k == last).map(|k| k as i64).collect();
            prop_assume!(kept.windows(2).filter(|w| w[1] - w[0] == 1).count() * 2 > kept.len());
            let x: Vec<f64> = kept.iter().map(|k| 2.0 * *k as f64).collect();
            let found = fill(&record(&kept, &x), 1e9).unwrap();
            for (row, value) in found.record.channels()[0].values.iter().enumerate() {
                prop_assert!((value - 2.0 * row as f64).abs() < 1e-9);
            }
        }
    }
}
