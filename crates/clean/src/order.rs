//! Order: rows sorted by time, and second rows for one time marked.
//!
//! A record goes in as the file had it, and comes out in ascending time with
//! repeats marked.  No row is dropped and no value is changed.

use record::{Marks, Reason, Record};

/// A record in order, with what had to be done.
#[derive(Clone, Debug)]
pub struct Ordered {
    /// The record, its times ascending, repeats marked.
    pub record: Record,
    /// Rows marked because they repeat an earlier row with the same values.
    pub repeats_same: usize,
    /// Rows marked because they give other values for a time already present.
    pub repeats_other: usize,
    /// Rows that stood behind a row of a later time and were put before it.
    pub moved: usize,
    /// Places in the file where time steps back.
    pub backward: usize,
    /// The largest backward step, nanoseconds; 0 when there is none.
    pub largest_backward_ns: i64,
    /// The row, in the file's order, at which the largest backward step lands.
    pub largest_backward_row: Option<usize>,
}

/// Sorts the samples of a record by time and marks second rows for one time.
///
/// Sorting is stable: rows of one time keep the file's order.  Of these rows
/// the first one that is not already left out stays, and every other one is
/// marked [`Reason::Repeat`]; the marks tell nothing about which of two
/// differing rows is the right one, so those are counted apart.  Two missing
/// values count as the same value.
///
/// # Example
///
/// ```
/// use record::{Channel, Record, Role, Unit};
///
/// let x = Channel::new("bx", Role::X, Unit::Nanotesla, vec![1.0, 3.0, 3.0, 2.0]);
/// let record = Record::new(vec![0, 20, 20, 10], vec![x])?;
/// let ordered = clean::order::order(&record);
/// assert_eq!(ordered.record.times_ns(), [0, 10, 20, 20]);
/// assert_eq!((ordered.repeats_same, ordered.moved, ordered.backward), (1, 1, 1));
/// # Ok::<(), record::RecordError>(())
/// ```
pub fn order(record: &Record) -> Ordered {
    let times = record.times_ns();
    let mut backward = Backward::default();
    for (row, step) in times.windows(2).enumerate() {
        backward.step(row + 1, step[1] - step[0]);
    }
    let mut latest = i64::MIN;
    let mut moved = 0;
    for time in times {
        moved += usize::from(*time < latest);
        latest = latest.max(*time);
    }
    let sorted = if record.is_ordered() { record.clone() } else { sorted(record) };
    let (record, repeats_same, repeats_other) = mark_repeats(sorted);
    Ordered {
        record,
        repeats_same,
        repeats_other,
        moved,
        backward: backward.count,
        largest_backward_ns: backward.largest_ns,
        largest_backward_row: backward.row,
    }
}

#[derive(Default)]
struct Backward {
    count: usize,
    largest_ns: i64,
    row: Option<usize>,
}

impl Backward {
    fn step(&mut self, row: usize, step_ns: i64) {
        if step_ns >= 0 {
            return;
        }
        self.count += 1;
        if -step_ns > self.largest_ns {
            self.largest_ns = -step_ns;
            self.row = Some(row);
        }
    }
}

fn sorted(record: &Record) -> Record {
    let times = record.times_ns();
    let mut places: Vec<usize> = (0..times.len()).collect();
    places.sort_by_key(|place| times[*place]);
    record.pick(&places)
}

fn mark_repeats(record: Record) -> (Record, usize, usize) {
    let times = record.times_ns();
    let mut repeat = vec![false; times.len()];
    let (mut same, mut other) = (0, 0);
    let mut start = 0;
    while start < times.len() {
        let more = times[start..].iter().take_while(|time| **time == times[start]).count();
        let group = start..start + more;
        let stays = group.clone().find(|row| record.marks().keeps(*row)).unwrap_or(start);
        for row in group.clone().filter(|row| *row != stays) {
            repeat[row] = true;
            if alike(&record, stays, row) {
                same += 1;
            } else {
                other += 1;
            }
        }
        start = group.end;
    }
    if same + other == 0 {
        return (record, 0, 0);
    }
    let mut bits = record.marks().bits().to_vec();
    for (bits, _) in bits.iter_mut().zip(&repeat).filter(|(_, repeat)| **repeat) {
        *bits |= Reason::Repeat.bit();
    }
    // The marks have one set of bits a row, so this cannot be refused.
    let marked = record.marked(Marks::from_bits(bits)).unwrap_or(record);
    (marked, same, other)
}

fn alike(record: &Record, a: usize, b: usize) -> bool {
    record.channels().iter().all(|channel| {
        let (a, b) = (channel.values[a], channel.values[b]);
        a == b || (a.is_nan() && b.is_nan())
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use record::{Channel, Role, Unit};

    fn record(times: &[i64], x: &[f64]) -> Record {
        let x = Channel::new("bx", Role::X, Unit::Nanotesla, x.to_vec());
        Record::new(times.to_vec(), vec![x]).unwrap()
    }

    #[test]
    fn an_exact_copy_and_another_value_for_the_same_time_are_counted_apart() {
        let found = order(&record(&[0, 0, 0, 5], &[1.0, 1.0, 2.0, 3.0]));
        assert_eq!((found.repeats_same, found.repeats_other), (1, 1));
        assert_eq!(found.record.len(), 4);
        assert_eq!(found.record.marks().kept(), 2);
        assert!(found.record.marks().keeps(0));
    }

    #[test]
    fn two_missing_values_are_the_same_value() {
        let found = order(&record(&[0, 0], &[f64::NAN, f64::NAN]));
        assert_eq!((found.repeats_same, found.repeats_other), (1, 0));
    }

    #[test]
    fn rows_behind_a_backward_jump_are_sorted_in_and_the_jump_is_told() {
        let found = order(&record(&[0, 10, 20, 5, 15, 30], &[0.0, 1.0, 2.0, 0.5, 1.5, 3.0]));
        assert_eq!(found.record.times_ns(), [0, 5, 10, 15, 20, 30]);
        assert_eq!(found.record.channels()[0].values[1], 0.5);
        assert_eq!((found.moved, found.backward, found.largest_backward_ns), (2, 1, 15));
        assert_eq!(found.largest_backward_row, Some(3));
    }

    #[test]
    fn a_row_already_left_out_does_not_push_out_a_good_one() {
        let mut marks = Marks::none(2);
        marks.add(Reason::Missing, &[true, false]);
        let first_bad = record(&[7, 7], &[f64::NAN, 2.0]).marked(marks).unwrap();
        let found = order(&first_bad);
        assert!(found.record.marks().keeps(1));
        assert!(found.record.marks().has(0, Reason::Repeat));
    }

    proptest! {
        #[test]
        fn ordering_keeps_every_row_and_ordering_twice_changes_nothing(
            rows in prop::collection::vec((0i64..20, 0u8..3), 0..40),
        ) {
            let times: Vec<i64> = rows.iter().map(|row| row.0).collect();
            let values: Vec<f64> = rows.iter().map(|row| f64::from(row.1)).collect();
            let once = order(&record(&times, &values));
            prop_assert!(once.record.is_ordered());
            prop_assert_eq!(once.record.len(), times.len());
            let mut distinct = times.clone();
            distinct.sort_unstable();
            distinct.dedup();
            prop_assert_eq!(once.record.marks().kept(), distinct.len());
            let twice = order(&once.record);
            prop_assert_eq!(&twice.record, &once.record);
            prop_assert_eq!(twice.moved, 0);
            let sum = |r: &Record| r.channels()[0].values.iter().sum::<f64>();
            prop_assert_eq!(sum(&once.record), values.iter().sum::<f64>());
        }
    }
}
