//! Join: records of one station, kept in several files, become one in order of time.
//!
//! Rows are merged by their times; within one record they keep their order, so
//! that a clock that jumps back is still seen by the step that puts rows in
//! order.  Nothing is dropped: where records overlap, both are in, and the
//! stretch is told.

use record::{Channel, Record, RecordError};
use std::sync::Arc;

/// A stretch of time that two records have in common.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Overlap {
    /// Places of the two records in the list given.
    pub records: (usize, usize),
    /// Where it begins and ends, nanoseconds.
    pub span_ns: (i64, i64),
    /// Samples of both within it.
    pub samples: usize,
}

/// Records made one.
#[derive(Clone, Debug)]
pub struct Joined {
    /// All rows in order of time; a channel that a record lacks is NaN there.
    pub record: Record,
    /// Stretches that two records have in common, in order of time.
    pub overlaps: Vec<Overlap>,
}

/// Whether one record can go on where another ended: one has all channels of
/// the other, by name, unit and role.
pub fn fits(one: &Record, other: &Record) -> bool {
    let held = |in_it: &Record, channel: &Channel| {
        in_it.named(&channel.name).is_some_and(|c| c.unit == channel.unit && c.role == channel.role)
    };
    let all = |of: &Record, in_it: &Record| {
        !of.channels().is_empty() && of.channels().iter().all(|channel| held(in_it, channel))
    };
    all(one, other) || all(other, one)
}

/// The first and last time of a record, nanoseconds.
pub fn span_ns(record: &Record) -> Option<(i64, i64)> {
    let times = record.times_ns();
    Some((*times.iter().min()?, *times.iter().max()?))
}

/// Joins records; marks are not carried over, since logs as read carry none.
///
/// # Errors
///
/// [`RecordError`] when the records of one channel's name do not make a record.
pub fn join(records: &[&Record]) -> Result<Joined, RecordError> {
    let rows = merged(records);
    let mut names: Vec<&Channel> = Vec::new();
    for channel in records.iter().flat_map(|record| record.channels()) {
        if !names.iter().any(|known| known.name == channel.name) {
            names.push(channel);
        }
    }
    let channels = names
        .into_iter()
        .map(|channel| {
            let columns: Vec<Option<&Channel>> =
                records.iter().map(|record| record.named(&channel.name)).collect();
            let value = |(of, row): &(u32, u32)| {
                columns[*of as usize].map_or(f64::NAN, |column| column.values[*row as usize])
            };
            Channel { values: Arc::new(rows.iter().map(value).collect()), ..channel.clone() }
        })
        .collect();
    let time = |(of, row): &(u32, u32)| records[*of as usize].times_ns()[*row as usize];
    let record = Record::new(rows.iter().map(time).collect(), channels)?;
    Ok(Joined { record, overlaps: overlaps(records) })
}

// Which record and which of its rows come next: the earliest of the rows that
// are first in line, and of equal ones that of the record given first.
fn merged(records: &[&Record]) -> Vec<(u32, u32)> {
    let mut next = vec![0usize; records.len()];
    let total = records.iter().map(|record| record.len()).sum();
    let mut rows = Vec::with_capacity(total);
    for _ in 0..total {
        let head = |of: &usize| records[*of].times_ns()[next[*of]];
        let waiting = (0..records.len()).filter(|of| next[*of] < records[*of].len());
        let Some(of) = waiting.min_by_key(head) else { break };
        rows.push((of as u32, next[of] as u32));
        next[of] += 1;
    }
    rows
}

fn overlaps(records: &[&Record]) -> Vec<Overlap> {
    let spans: Vec<Option<(i64, i64)>> = records.iter().map(|record| span_ns(record)).collect();
    let mut out = Vec::new();
    for (one, a) in spans.iter().enumerate() {
        for (other, b) in spans.iter().enumerate().skip(one + 1) {
            let (Some(a), Some(b)) = (a, b) else { continue };
            let (start, end) = (a.0.max(b.0), a.1.min(b.1));
            if start > end {
                continue;
            }
            let within = |record: &Record| {
                record.times_ns().iter().filter(|t| (start..=end).contains(*t)).count()
            };
            let samples = within(records[one]) + within(records[other]);
            out.push(Overlap { records: (one, other), span_ns: (start, end), samples });
        }
    }
    out.sort_by_key(|overlap| overlap.span_ns);
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::{Role, Unit};

    fn record(times: &[i64], names: &[&str]) -> Record {
        let channel = |name: &&str| {
            let values = times.iter().map(|t| *t as f64).collect();
            Channel::new(*name, Role::Other, Unit::Nanotesla, values)
        };
        Record::new(times.to_vec(), names.iter().map(channel).collect()).unwrap()
    }

    #[test]
    fn two_files_of_one_logger_follow_each_other() {
        let (late, early) = (record(&[30, 40], &["b"]), record(&[10, 20], &["b"]));
        assert!(fits(&late, &early));
        let joined = join(&[&late, &early]).unwrap();
        assert_eq!(joined.record.times_ns(), [10, 20, 30, 40]);
        assert_eq!(joined.record.named("b").unwrap().values[..], [10.0, 20.0, 30.0, 40.0]);
        assert!(joined.overlaps.is_empty());
    }

    #[test]
    fn an_overlap_keeps_the_rows_of_both_and_is_told() {
        let (one, other) = (record(&[10, 20, 30], &["b"]), record(&[20, 30, 40], &["b"]));
        let joined = join(&[&one, &other]).unwrap();
        assert_eq!(joined.record.times_ns(), [10, 20, 20, 30, 30, 40]);
        let told = Overlap { records: (0, 1), span_ns: (20, 30), samples: 4 };
        assert_eq!(joined.overlaps, [told]);
    }

    #[test]
    fn a_clock_that_jumps_back_within_a_file_stays_as_it_was() {
        let joined = join(&[&record(&[10, 30, 20], &["b"]), &record(&[40], &["b"])]).unwrap();
        assert_eq!(joined.record.times_ns(), [10, 30, 20, 40]);
    }

    #[test]
    fn a_channel_that_one_file_lacks_is_missing_there() {
        let (one, other) = (record(&[10], &["b", "temp"]), record(&[20], &["b"]));
        assert!(fits(&one, &other) && fits(&other, &one));
        let temp = join(&[&one, &other]).unwrap().record.named("temp").unwrap().values.clone();
        assert!(temp[0] == 10.0 && temp[1].is_nan());
        assert!(!fits(&one, &record(&[20], &["b", "light"])));
        assert!(!fits(&one, &record(&[20], &[])));
    }
}
