//! A record: one time axis, named channels, marks.

use crate::gaps::{self, Cadence, Gap};
use crate::{Channel, Instant, Marks, Role, say};
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// One time axis with named channels beside it and marks on its samples.
/// Cheap to clone: times, values and marks are shared.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    times_ns: Arc<Vec<i64>>,
    channels: Vec<Channel>,
    marks: Marks,
}

/// Why parts do not make a record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RecordError {
    /// A channel has another number of values than there are times.
    Length {
        /// Name of the channel.
        channel: String,
        /// Its number of values.
        values: usize,
        /// The number of times.
        times: usize,
    },
    /// Two channels have the same name.
    Name(String),
    /// The marks are for another number of samples.
    Marks {
        /// Samples the marks are for.
        marks: usize,
        /// The number of times.
        times: usize,
    },
}

impl fmt::Display for RecordError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Length { channel, values, times } => {
                f.write_str(&say!("Channel {channel} has {values} values for {times} times."))
            }
            Self::Name(name) => f.write_str(&say!("Two channels are called {name}.")),
            Self::Marks { marks, times } => {
                f.write_str(&say!("There are marks for {marks} samples, but {times} times."))
            }
        }
    }
}

impl std::error::Error for RecordError {}

impl Record {
    /// A record without marks.
    ///
    /// # Errors
    ///
    /// [`RecordError`] when lengths differ or a name occurs twice.
    pub fn new(times_ns: Vec<i64>, channels: Vec<Channel>) -> Result<Self, RecordError> {
        let marks = Marks::none(times_ns.len());
        Self::with_marks(Arc::new(times_ns), channels, marks)
    }

    /// A record from its parts.
    ///
    /// # Errors
    ///
    /// [`RecordError`] when lengths differ or a name occurs twice.
    pub fn with_marks(
        times_ns: Arc<Vec<i64>>,
        channels: Vec<Channel>,
        marks: Marks,
    ) -> Result<Self, RecordError> {
        let times = times_ns.len();
        for (place, channel) in channels.iter().enumerate() {
            if channel.values.len() != times {
                let (channel, values) = (channel.name.clone(), channel.values.len());
                return Err(RecordError::Length { channel, values, times });
            }
            if channels[..place].iter().any(|other| other.name == channel.name) {
                return Err(RecordError::Name(channel.name.clone()));
            }
        }
        if marks.len() != times {
            return Err(RecordError::Marks { marks: marks.len(), times });
        }
        Ok(Self { times_ns, channels, marks })
    }

    /// Number of samples.
    pub fn len(&self) -> usize {
        self.times_ns.len()
    }

    /// Whether there are no samples.
    pub fn is_empty(&self) -> bool {
        self.times_ns.is_empty()
    }

    /// Times, nanoseconds of UTC since 1970.
    pub fn times_ns(&self) -> &[i64] {
        &self.times_ns
    }

    /// The shared time axis.
    pub fn shared_times(&self) -> Arc<Vec<i64>> {
        Arc::clone(&self.times_ns)
    }

    /// All channels.
    pub fn channels(&self) -> &[Channel] {
        &self.channels
    }

    /// The first channel with a role.
    pub fn channel(&self, role: Role) -> Option<&Channel> {
        self.channels.iter().find(|channel| channel.role == role)
    }

    /// The channel with a name.
    pub fn named(&self, name: &str) -> Option<&Channel> {
        self.channels.iter().find(|channel| channel.name == name)
    }

    /// The three field components, when all are there.
    pub fn vector(&self) -> Option<[&Channel; 3]> {
        Some([self.channel(Role::X)?, self.channel(Role::Y)?, self.channel(Role::Z)?])
    }

    /// The marks.
    pub fn marks(&self) -> &Marks {
        &self.marks
    }

    /// The same record with other marks.
    ///
    /// # Errors
    ///
    /// [`RecordError::Marks`] when they are for another number of samples.
    pub fn marked(&self, marks: Marks) -> Result<Self, RecordError> {
        Self::with_marks(self.shared_times(), self.channels.clone(), marks)
    }

    /// The same record with a channel put in: in place of the one with its
    /// name, or at the end.
    ///
    /// # Errors
    ///
    /// [`RecordError::Length`] when it has another number of values.
    pub fn with_channel(&self, channel: Channel) -> Result<Self, RecordError> {
        let mut channels = self.channels.clone();
        match channels.iter_mut().find(|other| other.name == channel.name) {
            Some(place) => *place = channel,
            None => channels.push(channel),
        }
        Self::with_marks(self.shared_times(), channels, self.marks.clone())
    }

    /// Samples of a range of places, channels and marks with them.
    #[must_use]
    pub fn slice(&self, range: Range<usize>) -> Self {
        let range = range.start.min(self.len())..range.end.min(self.len());
        let channels = self.channels.iter().map(|channel| {
            channel.with_values(channel.unit, channel.values[range.clone()].to_vec())
        });
        Self {
            times_ns: Arc::new(self.times_ns[range.clone()].to_vec()),
            channels: channels.collect(),
            marks: Marks::from_bits(self.marks.bits()[range].to_vec()),
        }
    }

    /// The samples at these places, in this order, values and marks with
    /// them; places beyond the end are left out.
    #[must_use]
    pub fn pick(&self, places: &[usize]) -> Self {
        let inside = |place: &&usize| **place < self.len();
        let picked = |place: &usize| self.times_ns[*place];
        let channels = self.channels.iter().map(|channel| {
            let values = places.iter().filter(inside).map(|p| channel.values[*p]).collect();
            channel.with_values(channel.unit, values)
        });
        let bits = places.iter().filter(inside).map(|p| self.marks.bits()[*p]).collect();
        Self {
            times_ns: Arc::new(places.iter().filter(inside).map(picked).collect()),
            channels: channels.collect(),
            marks: Marks::from_bits(bits),
        }
    }

    /// The places whose times lie in `start..=end`; times must ascend.
    pub fn places_between(&self, start: Instant, end: Instant) -> Range<usize> {
        let from = self.times_ns.partition_point(|t| *t < start.0);
        let to = self.times_ns.partition_point(|t| *t <= end.0);
        from..to.max(from)
    }

    /// Whether times never step back.
    pub fn is_ordered(&self) -> bool {
        self.times_ns.windows(2).all(|w| w[0] <= w[1])
    }

    /// First time, when there is a sample.
    pub fn start(&self) -> Option<Instant> {
        self.times_ns.first().copied().map(Instant)
    }

    /// Last time, when there is a sample.
    pub fn end(&self) -> Option<Instant> {
        self.times_ns.last().copied().map(Instant)
    }

    /// Median step and how regular it is.
    pub fn cadence(&self) -> Cadence {
        gaps::cadence(&self.times_ns)
    }

    /// Gaps longer than 1.5 median steps, marked samples counting as present.
    pub fn gaps(&self) -> Vec<Gap> {
        gaps::gaps(&self.times_ns, self.cadence().step_ns)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Reason, Unit};

    fn sample() -> Record {
        let times = (0..5).map(|k| k * 1_000_000_000).collect();
        let x = Channel::new("bx", Role::X, Unit::Nanotesla, vec![1.0, 2.0, f64::NAN, 4.0, 5.0]);
        Record::new(times, vec![x]).unwrap()
    }

    #[test]
    fn a_channel_of_another_length_is_refused_by_name() {
        let short = Channel::new("by", Role::Y, Unit::Nanotesla, vec![1.0]);
        let error = sample().with_channel(short).unwrap_err();
        assert_eq!(error.to_string(), "Channel by has 1 values for 5 times.");
    }

    #[test]
    fn a_slice_keeps_times_values_and_marks_together() {
        let mut marks = Marks::none(5);
        marks.add(Reason::Spike, &[false, false, false, true, false]);
        let cut = sample().marked(marks).unwrap().slice(2..4);
        assert_eq!(cut.times_ns(), [2_000_000_000, 3_000_000_000]);
        assert!(cut.marks().has(1, Reason::Spike));
        assert_eq!(cut.channel(Role::X).unwrap().values[1], 4.0);
    }

    #[test]
    fn picked_samples_come_in_the_order_asked_for() {
        let picked = sample().pick(&[4, 0, 9]);
        assert_eq!(picked.times_ns(), [4_000_000_000, 0]);
        assert_eq!(*picked.channel(Role::X).unwrap().values, [5.0, 1.0]);
        assert_eq!(picked.marks().len(), 2);
    }

    #[test]
    fn places_between_two_instants_include_both_ends() {
        assert_eq!(sample().places_between(Instant(1_000_000_000), Instant(3_000_000_000)), 1..4);
    }
}
