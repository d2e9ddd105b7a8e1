//! Gate: values outside limits, a sensor's codes for "too large", and stuck values.
//!
//! A record goes in; three sets of flags with counts come out, and the record
//! with the marks.  Values are never changed or clipped.

use record::{Channel, Marks, Reason, Record, Role, Unit, say, words::word};

/// The numbers between which a channel is believed.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Name of the channel.
    pub channel: String,
    /// Lowest value that is believed, in the channel's unit.
    pub low: f64,
    /// Highest value that is believed.
    pub high: f64,
}

/// What is marked.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Limits, any number of channels.
    pub limits: Vec<Limit>,
    /// Whether raw counts are searched for the usual codes of a sensor that is
    /// over its range, and field rows for three exact zeros.
    pub codes: bool,
    /// A field value repeated by more samples than this is stuck, when the
    /// channel is otherwise lively; 0 switches the rule off.
    pub stuck_longer_than: usize,
}

impl Default for Options {
    /// No limits, codes on, stuck beyond ten samples (common practice, no source).
    fn default() -> Self {
        Self { limits: Vec::new(), codes: true, stuck_longer_than: 10 }
    }
}

/// The value that lies furthest outside its limits.
#[derive(Clone, Debug, PartialEq)]
pub struct Outside {
    /// Its place.
    pub sample: usize,
    /// Name of its channel.
    pub channel: String,
    /// The value.
    pub value: f64,
    /// How far it lies outside, in the channel's unit.
    pub beyond: f64,
}

/// What was found.
#[derive(Clone, Debug)]
pub struct Gated {
    /// Rows with a value outside its limits.
    pub out_of_range: Vec<bool>,
    /// Rows with a sensor's code for "too large".
    pub saturated: Vec<bool>,
    /// Rows inside a stuck stretch.
    pub stuck: Vec<bool>,
    /// Rows with any of the three.
    pub marked: usize,
    /// The value furthest outside.
    pub largest: Option<Outside>,
    /// The longest stuck stretch: first sample and number of samples.
    pub longest_stuck: Option<(usize, usize)>,
    /// The record with the marks.
    pub record: Record,
}

/// Why a gate cannot be set.
#[derive(Clone, Debug, PartialEq)]
pub enum GateError {
    /// No channel has this name.
    NoChannel {
        /// The name asked for.
        asked: String,
        /// The names there are.
        present: Vec<String>,
    },
    /// The low limit is not below the high one.
    Limits {
        /// Name of the channel.
        channel: String,
        /// The low limit.
        low: f64,
        /// The high limit.
        high: f64,
    },
}

impl std::fmt::Display for GateError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoChannel { asked, present } => f.write_str(&say!(
                "The record has no channel {asked}; it has {}.",
                present.join(", ")
            )),
            Self::Limits { channel, low, high } => f.write_str(&say!(
                "The limits of {channel}, {low} to {high}, leave nothing between them."
            )),
        }
    }
}

impl std::error::Error for GateError {}

impl From<GateError> for record::Fault {
    fn from(error: GateError) -> Self {
        let (code, remedy) = match error {
            GateError::NoChannel { .. } => {
                ("clean/gate-channel", word("Choose one of its channels."))
            }
            GateError::Limits { .. } => (
                "clean/gate-limits",
                word("Put the smaller number first, and the larger one second."),
            ),
        };
        record::Fault::new(code, error.to_string(), remedy)
    }
}

/// Marks values outside limits, codes of saturation and stuck stretches.
///
/// A NaN is outside nothing.  Samples already left out are looked at again, so
/// that a row can carry several reasons.
///
/// *Codes*, in channels of raw counts: −4096, −16384, −32768, 32767, ±8191,
/// 2047, −2048 and 131072, each only where it is the lowest or the highest
/// value of its channel, since inside the range it is a reading like any
/// other; and rows whose three field components are exactly zero, in any unit.
///
/// *Stuck* stretches are sought in the field components.  A run of equal
/// values counts when it is longer than the limit and would come up by chance
/// less than once in a hundred such records, judged by the share of equal
/// neighbours that the channel usually has; so a coarse sensor that often
/// repeats itself is not accused of it.
///
/// # Errors
///
/// [`GateError`] for a channel that is not there or limits that leave nothing.
///
/// # Source
///
/// The list of codes: common practice, no source.
pub fn gate(record: &Record, options: &Options) -> Result<Gated, GateError> {
    let rows = record.len();
    let (out_of_range, largest) = outside(record, &options.limits)?;
    let saturated = if options.codes { saturated(record) } else { vec![false; rows] };
    let (stuck, longest_stuck) = stuck(record, options.stuck_longer_than);
    let mut marks: Marks = record.marks().clone();
    marks.add(Reason::OutOfRange, &out_of_range);
    marks.add(Reason::Saturated, &saturated);
    marks.add(Reason::Stuck, &stuck);
    let any = |row: &usize| out_of_range[*row] || saturated[*row] || stuck[*row];
    let marked = (0..rows).filter(any).count();
    // The marks are the record's own, so they fit.
    let record = record.marked(marks).unwrap_or_else(|_| record.clone());
    Ok(Gated { out_of_range, saturated, stuck, marked, largest, longest_stuck, record })
}

fn outside(record: &Record, limits: &[Limit]) -> Result<(Vec<bool>, Option<Outside>), GateError> {
    let mut flags = vec![false; record.len()];
    let mut largest: Option<Outside> = None;
    for Limit { channel: name, low, high } in limits {
        let Some(channel) = record.named(name) else {
            let present = record.channels().iter().map(|c| c.name.clone()).collect();
            return Err(GateError::NoChannel { asked: name.clone(), present });
        };
        if low.is_nan() || high.is_nan() || low >= high {
            return Err(GateError::Limits { channel: name.clone(), low: *low, high: *high });
        }
        for (sample, value) in channel.values.iter().copied().enumerate() {
            let beyond = (low - value).max(value - high);
            if beyond.is_nan() || beyond <= 0.0 {
                continue;
            }
            flags[sample] = true;
            if largest.as_ref().is_none_or(|other| beyond > other.beyond) {
                largest = Some(Outside { sample, channel: name.clone(), value, beyond });
            }
        }
    }
    Ok((flags, largest))
}

const CODES: [f64; 9] =
    [-4096.0, -16384.0, -32768.0, 32767.0, -8191.0, 8191.0, 2047.0, -2048.0, 131_072.0];

fn saturated(record: &Record) -> Vec<bool> {
    let mut flags = vec![false; record.len()];
    for channel in record.channels().iter().filter(|c| c.unit == Unit::Count && is_field(c)) {
        let low = channel.values.iter().copied().fold(f64::INFINITY, f64::min);
        let high = channel.values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let codes = CODES.into_iter().filter(|code| *code == low || *code == high);
        for code in codes.filter(|_| low < high) {
            for (flag, value) in flags.iter_mut().zip(channel.values.iter()) {
                *flag |= *value == code;
            }
        }
    }
    if let Some([x, y, z]) = record.vector() {
        for (sample, flag) in flags.iter_mut().enumerate() {
            *flag |= x.values[sample] == 0.0 && y.values[sample] == 0.0 && z.values[sample] == 0.0;
        }
    }
    flags
}

fn is_field(channel: &Channel) -> bool {
    matches!(channel.role, Role::X | Role::Y | Role::Z | Role::F | Role::H)
}

fn stuck(record: &Record, longer_than: usize) -> (Vec<bool>, Option<(usize, usize)>) {
    let mut flags = vec![false; record.len()];
    let mut longest: Option<(usize, usize)> = None;
    if longer_than == 0 {
        return (flags, None);
    }
    for channel in record.channels().iter().filter(|channel| is_field(channel)) {
        let values = &channel.values;
        let limit = longer_than.max(longest_by_chance(values));
        let mut start = 0;
        for end in 1..=values.len() {
            if end < values.len() && values[end] == values[start] {
                continue;
            }
            if end - start > limit {
                flags[start..end].fill(true);
                if longest.is_none_or(|(_, length)| end - start > length) {
                    longest = Some((start, end - start));
                }
            }
            start = end;
        }
    }
    // An unplugged sensor: no habit of a channel excuses a field that never moves at all.
    if record.len() > longer_than && unmoved(record) {
        flags.fill(true);
        longest = Some((0, record.len()));
    }
    (flags, longest)
}

fn unmoved(record: &Record) -> bool {
    let mut field = record.channels().iter().filter(|channel| is_field(channel)).peekable();
    field.peek().is_some() && field.all(|c| c.values.iter().all(|v| *v == c.values[0]))
}

/// The longest run of equal values that chance explains: expected once in a
/// hundred records of this length when each value equals its neighbour with
/// the channel's usual share, taken as independent.
fn longest_by_chance(values: &[f64]) -> usize {
    // Blocks of neighbours; their median share is not moved by a stuck stretch.
    const BLOCK: usize = 100;
    let mut shares: Vec<f64> = values
        .chunks(BLOCK)
        .filter(|block| block.len() > 1)
        .map(|block| {
            let equal = block.windows(2).filter(|pair| pair[0] == pair[1]).count();
            equal as f64 / (block.len() - 1) as f64
        })
        .collect();
    if shares.is_empty() {
        return 0;
    }
    let middle = shares.len() / 2;
    // Even the coarsest sensor moves once in a hundred samples.
    let share = record::sort::nth(&mut shares, middle).clamp(0.001, 0.99);
    let runs = values.len() as f64 * (1.0 - share);
    let length = 1.0 + libm::log(0.01 / runs.max(1.0)) / libm::log(share);
    length.ceil() as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    fn field(unit: Unit, x: Vec<f64>) -> Record {
        let rows = x.len();
        let other = |k: usize| ((k * k % 101) * 7 % 53) as f64 + 1.0;
        let channels = vec![
            Channel::new("bx", Role::X, unit, x),
            Channel::new("by", Role::Y, unit, (0..rows).map(other).collect()),
            Channel::new("bz", Role::Z, unit, (0..rows).map(|k| other(k + 3)).collect()),
        ];
        Record::new((0..rows as i64).collect(), channels).unwrap()
    }

    fn lively(rows: usize) -> Vec<f64> {
        (0..rows).map(|k| ((k * k % 997) * 13 % 29) as f64).collect()
    }

    fn limits(low: f64, high: f64) -> Options {
        let limits = vec![Limit { channel: "bx".to_owned(), low, high }];
        Options { limits, ..Options::default() }
    }

    #[test]
    fn the_value_furthest_outside_is_told_and_a_missing_one_is_outside_nothing() {
        let record = field(Unit::Nanotesla, vec![1.0, 70.0, f64::NAN, -90.0, 5.0]);
        let found = gate(&record, &limits(-10.0, 60.0)).unwrap();
        assert_eq!(found.out_of_range, [false, true, false, true, false]);
        let largest = found.largest.unwrap();
        assert_eq!((largest.sample, largest.value, largest.beyond), (3, -90.0, 80.0));
        assert_eq!(found.record.marks().count(Reason::OutOfRange), 2);
    }

    #[test]
    fn a_limit_on_a_channel_that_is_not_there_names_those_that_are() {
        let mut wrong = limits(0.0, 1.0);
        wrong.limits[0].channel = "bq".to_owned();
        let error = gate(&field(Unit::Nanotesla, vec![1.0]), &wrong).unwrap_err();
        assert_eq!(error.to_string(), "The record has no channel bq; it has bx, by, bz.");
        assert!(gate(&field(Unit::Nanotesla, vec![1.0]), &limits(2.0, 2.0)).is_err());
    }

    #[test]
    fn an_overflow_code_is_saturation_at_the_edge_of_the_range_and_a_reading_inside_it() {
        let mut x = lively(50);
        x[7] = -4096.0;
        let found = gate(&field(Unit::Count, x.clone()), &Options::default()).unwrap();
        assert!(found.saturated[7]);
        assert_eq!(found.marked, 1);
        x[20] = -5000.0;
        x[21] = 9000.0;
        let found = gate(&field(Unit::Count, x), &Options::default()).unwrap();
        assert_eq!(found.marked, 0);
    }

    #[test]
    fn three_exact_zeros_are_saturation_in_any_unit() {
        let zero =
            |role, name: &str| Channel::new(name, role, Unit::Nanotesla, vec![1.0, 0.0, 2.0, 3.0]);
        let channels = vec![zero(Role::X, "x"), zero(Role::Y, "y"), zero(Role::Z, "z")];
        let record = Record::new(vec![0, 1, 2, 3], channels).unwrap();
        assert_eq!(
            gate(&record, &Options::default()).unwrap().saturated,
            [false, true, false, false]
        );
    }

    #[test]
    fn a_lively_channel_that_stops_is_stuck() {
        let mut x = lively(2_000);
        x[300..330].fill(4.0);
        let found = gate(&field(Unit::Nanotesla, x), &Options::default()).unwrap();
        assert_eq!(found.longest_stuck.map(|(_, n)| n >= 30), Some(true));
        assert!(found.stuck[310] && !found.stuck[400]);
    }

    #[test]
    fn a_short_record_in_which_nothing_moves_is_stuck_and_one_still_axis_is_not() {
        let axes = |x: Vec<f64>| {
            let still =
                |role, name| Channel::new(name, role, Unit::Nanotesla, vec![200.0; x.len()]);
            let first = Channel::new("bx", Role::X, Unit::Nanotesla, x.clone());
            let all = vec![first, still(Role::Y, "by"), still(Role::Z, "bz")];
            gate(&Record::new((0..x.len() as i64).collect(), all).unwrap(), &Options::default())
        };
        assert_eq!(axes(vec![17_000.0; 500]).unwrap().marked, 500);
        assert_eq!(axes(lively(500)).unwrap().marked, 0);
        assert_eq!(axes(vec![17_000.0; 5]).unwrap().marked, 0);
    }

    #[test]
    fn a_coarse_channel_that_often_repeats_itself_is_not_stuck() {
        // Each value stands for 1 to 25 samples: runs longer than ten are its habit.
        let x: Vec<f64> = (0..4_000).map(|k| f64::from(k / 25 % 2)).collect();
        let found = gate(&field(Unit::Nanotesla, x), &Options::default()).unwrap();
        assert_eq!(found.longest_stuck, None);
    }
}
