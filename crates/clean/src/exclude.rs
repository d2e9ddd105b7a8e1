//! Exclude: stretches of time left out by hand.
//!
//! Spans go in, marks come out.  Values are not looked at.

use record::{Instant, Marks, Reason, Record};

/// A stretch of time, both ends included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// First moment that is left out.
    pub start: Instant,
    /// Last moment that is left out.
    pub end: Instant,
}

/// What the spans covered.
#[derive(Clone, Debug)]
pub struct Excluded {
    /// One flag a sample.
    pub which: Vec<bool>,
    /// Samples inside a span.
    pub marked: usize,
    /// Samples inside each span, in the order given; 0 tells of a span that
    /// lies beside the record.
    pub inside: Vec<usize>,
    /// The record with the samples marked [`Reason::Excluded`].
    pub record: Record,
}

/// Marks the samples whose times lie inside any of the spans.
///
/// A span given end first is read the other way round.  Times need not
/// ascend.  A sample inside two spans is marked once and counted in both.
pub fn exclude(record: &Record, spans: &[Span]) -> Excluded {
    let mut which = vec![false; record.len()];
    let mut inside = Vec::with_capacity(spans.len());
    for span in spans {
        let (start, end) = (span.start.min(span.end), span.start.max(span.end));
        let mut count = 0;
        for (flag, time) in which.iter_mut().zip(record.times_ns()) {
            if (start.0..=end.0).contains(time) {
                *flag = true;
                count += 1;
            }
        }
        inside.push(count);
    }
    let marked = which.iter().filter(|flag| **flag).count();
    let mut marks: Marks = record.marks().clone();
    marks.add(Reason::Excluded, &which);
    // The marks are the record's own, so they fit.
    let record = record.marked(marks).unwrap_or_else(|_| record.clone());
    Excluded { which, marked, inside, record }
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::{Channel, Role, Unit};

    fn ten() -> Record {
        let x = Channel::new("bx", Role::X, Unit::Nanotesla, vec![0.0; 10]);
        Record::new((0..10).collect(), vec![x]).unwrap()
    }

    fn span(start: i64, end: i64) -> Span {
        Span { start: Instant(start), end: Instant(end) }
    }

    #[test]
    fn both_ends_of_a_span_are_left_out() {
        let found = exclude(&ten(), &[span(3, 5)]);
        assert_eq!(found.marked, 3);
        assert!(found.record.marks().keeps(2) && !found.record.marks().keeps(3));
        assert!(!found.record.marks().keeps(5) && found.record.marks().keeps(6));
    }

    #[test]
    fn overlapping_spans_mark_a_sample_once_and_a_span_beside_the_record_counts_none() {
        let found = exclude(&ten(), &[span(5, 3), span(4, 6), span(100, 200)]);
        assert_eq!(found.marked, 4);
        assert_eq!(found.inside, [3, 3, 0]);
    }
}
