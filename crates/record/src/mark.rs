//! Marks: the reasons why samples are left out of computations.

use crate::words::word;
use std::sync::Arc;

/// Why a sample carries a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Reason {
    /// A value needed from the row could not be read or is missing.
    Missing,
    /// Its time goes back before the sample ahead of it.
    Backward,
    /// A second row for a time already present.
    Repeat,
    /// Outside the limits set for its channel.
    OutOfRange,
    /// The sensor's code for "too large", or its last step.
    Saturated,
    /// The same value for longer than a working sensor repeats itself.
    Stuck,
    /// A spike by the Hampel rule.
    Spike,
    /// Inside a stretch moved by a level shift.
    Shift,
    /// Left out by hand.
    Excluded,
    /// An average over too few samples.
    Sparse,
    /// Too near an end or a gap for a filter to be trusted.
    Edge,
    /// Not measured: filled between neighbours.  Kept in computations, shown as such.
    Filled,
}

impl Reason {
    /// Every reason, in the order in which they are listed.
    pub const ALL: [Self; 12] = [
        Self::Missing,
        Self::Backward,
        Self::Repeat,
        Self::OutOfRange,
        Self::Saturated,
        Self::Stuck,
        Self::Spike,
        Self::Shift,
        Self::Excluded,
        Self::Sparse,
        Self::Edge,
        Self::Filled,
    ];

    /// The bit of this reason in a mark.
    pub fn bit(self) -> u16 {
        1 << (self as u16)
    }

    /// Stable name for files: `spike`, `out-of-range`, ...
    pub fn id(self) -> &'static str {
        match self {
            Self::Missing => "missing",
            Self::Backward => "backward",
            Self::Repeat => "repeat",
            Self::OutOfRange => "out-of-range",
            Self::Saturated => "saturated",
            Self::Stuck => "stuck",
            Self::Spike => "spike",
            Self::Shift => "shift",
            Self::Excluded => "excluded",
            Self::Sparse => "sparse",
            Self::Edge => "edge",
            Self::Filled => "filled",
        }
    }

    /// For reading: "marked as a spike".
    pub fn label(self) -> &'static str {
        word(match self {
            Self::Missing => "missing value",
            Self::Backward => "time runs backward",
            Self::Repeat => "repeated time",
            Self::OutOfRange => "out of range",
            Self::Saturated => "sensor saturated",
            Self::Stuck => "stuck value",
            Self::Spike => "spike",
            Self::Shift => "shifted level",
            Self::Excluded => "excluded by hand",
            Self::Sparse => "too few samples in the average",
            Self::Edge => "edge of a filter",
            Self::Filled => "filled, not measured",
        })
    }

    /// Whether samples with this mark are left out of computations.
    pub fn leaves_out(self) -> bool {
        self != Self::Filled
    }
}

const LEFT_OUT: u16 = !(1 << (Reason::Filled as u16));

/// A set of reasons for each sample of a record; cheap to clone.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Marks {
    bits: Arc<Vec<u16>>,
}

impl Marks {
    /// No marks on `len` samples.
    pub fn none(len: usize) -> Self {
        Self { bits: Arc::new(vec![0; len]) }
    }

    /// Marks from one set of bits a sample.
    pub fn from_bits(bits: Vec<u16>) -> Self {
        Self { bits: Arc::new(bits) }
    }

    /// One set of bits a sample.
    pub fn bits(&self) -> &[u16] {
        &self.bits
    }

    /// Number of samples.
    pub fn len(&self) -> usize {
        self.bits.len()
    }

    /// Whether there are no samples.
    pub fn is_empty(&self) -> bool {
        self.bits.is_empty()
    }

    /// Adds a reason to the samples whose place in `which` is true, and says
    /// how many did not carry it before.  Lengths must agree; places beyond
    /// the shorter of the two are left alone.
    pub fn add(&mut self, reason: Reason, which: &[bool]) -> usize {
        let bit = reason.bit();
        let mut added = 0;
        for (bits, _) in Arc::make_mut(&mut self.bits).iter_mut().zip(which).filter(|(_, w)| **w) {
            added += usize::from(*bits & bit == 0);
            *bits |= bit;
        }
        added
    }

    /// Whether a sample takes part in computations.
    #[inline(always)]
    pub fn keeps(&self, sample: usize) -> bool {
        self.bits.get(sample).is_some_and(|bits| bits & LEFT_OUT == 0)
    }

    /// Whether a sample carries a reason.
    pub fn has(&self, sample: usize, reason: Reason) -> bool {
        self.bits.get(sample).is_some_and(|bits| bits & reason.bit() != 0)
    }

    /// How many samples carry a reason.
    pub fn count(&self, reason: Reason) -> usize {
        let bit = reason.bit();
        self.bits.iter().filter(|bits| **bits & bit != 0).count()
    }

    /// How many samples take part in computations.
    pub fn kept(&self) -> usize {
        self.bits.iter().filter(|bits| **bits & LEFT_OUT == 0).count()
    }

    /// The reasons that occur, with how many samples carry each.
    pub fn tally(&self) -> Vec<(Reason, usize)> {
        let mut counts = [0usize; 12];
        for bits in self.bits.iter().filter(|b| **b != 0) {
            for (k, count) in counts.iter_mut().enumerate() {
                *count += usize::from(bits >> k & 1);
            }
        }
        Reason::ALL.into_iter().zip(counts).filter(|(_, n)| *n > 0).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_marked_sample_is_left_out_and_a_filled_one_is_kept() {
        let mut marks = Marks::none(3);
        assert_eq!(marks.add(Reason::Spike, &[false, true, false]), 1);
        assert_eq!(marks.add(Reason::Filled, &[false, false, true]), 1);
        assert_eq!(marks.add(Reason::Spike, &[false, true, false]), 0);
        assert!(marks.keeps(0) && !marks.keeps(1) && marks.keeps(2));
        assert_eq!(marks.kept(), 2);
        assert_eq!(marks.tally(), [(Reason::Spike, 1), (Reason::Filled, 1)]);
    }

    #[test]
    fn a_clone_keeps_its_marks_when_the_other_gains_one() {
        let mut marks = Marks::none(2);
        let before = marks.clone();
        marks.add(Reason::Excluded, &[true, true]);
        assert_eq!(before.kept(), 2);
    }
}
