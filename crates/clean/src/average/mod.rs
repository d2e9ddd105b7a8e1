//! Average: block means or medians at a slower cadence.
//!
//! A record in order goes in; a record at whole multiples of the new cadence
//! comes out, with a standard uncertainty for each value.  A block with too
//! few samples is kept as NaN and marked; a block with none is a gap and stays
//! one.  Samples left out by a mark take no part.

mod fault;

pub use fault::AverageError;
use record::{Channel, Instant, Marks, NANOS_PER_SECOND, Reason, Record, Role, Unit};
use std::ops::Range;
use std::sync::Arc;

/// Which middle of a block is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Middle {
    /// The arithmetic mean.
    Mean,
    /// The median.
    Median,
}

/// What the time stamp of a block means.  Stamps lie on whole multiples of the
/// cadence in UTC in every case; what differs is the block around them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stamp {
    /// The block begins at its stamp.
    Start,
    /// The block lies half before and half after its stamp, as in observatory
    /// one-minute data.
    Centre,
    /// The block ends at its stamp.
    End,
}

/// How blocks are made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Length of a block, nanoseconds.
    pub cadence_ns: i64,
    /// Mean or median.
    pub middle: Middle,
    /// What the stamps mean.
    pub stamp: Stamp,
    /// Smallest share of the expected samples that makes a block, 0 to 1.
    pub coverage: f64,
}

impl Options {
    /// Means over blocks of this many seconds, centred, 90 % present.
    ///
    /// The 90 % are the rule of the INTERMAGNET Technical Reference Manual for
    /// one-minute means (version 5.0, 2020).
    pub fn seconds(cadence_s: f64) -> Self {
        Self {
            cadence_ns: (cadence_s * NANOS_PER_SECOND as f64).round() as i64,
            middle: Middle::Mean,
            stamp: Stamp::Centre,
            coverage: 0.9,
        }
    }
}

/// The averaged record and what it rests on.
#[derive(Clone, Debug)]
pub struct Averaged {
    /// One row a block; too thin blocks are NaN and marked [`Reason::Sparse`].
    pub record: Record,
    /// Standard uncertainty of each value of each channel, same order and unit;
    /// NaN where it cannot be told.
    pub sigma: Vec<Vec<f64>>,
    /// Correlation of neighbouring samples within the blocks, a channel, 0 or
    /// more; NaN when blocks have fewer than three samples.
    pub neighbour_correlation: Vec<f64>,
    /// Samples that a full block has.
    pub expected: usize,
    /// Blocks that were kept as NaN for want of samples.
    pub marked: usize,
    /// Samples that took part.
    pub used: usize,
    /// Samples left out by their marks.
    pub left_out: usize,
    /// Mean time of the samples minus the middle of their block, seconds.
    pub late_s: f64,
}

/// Averages a record over blocks of the new cadence.
///
/// The samples that a full block has follow from the record's median step.  A
/// channel's value is NaN where it has fewer finite samples than the coverage
/// asks; a row is marked [`Reason::Sparse`] when that holds for a component of
/// the field, or, in a record without a field, for every channel.
///
/// The uncertainty of a mean is s/√N_eff with s the standard deviation inside
/// the block, N_eff = N (1 − r)/(1 + r), and r the correlation of neighbouring
/// samples pooled over the blocks (0 when negative); of a median 1.2533 times
/// that.  A real change within the block counts as spread, so the figure is
/// rather too large than too small.
///
/// # Errors
///
/// [`AverageError`] says which.
///
/// # Source
///
/// N_eff: G. V. Bayley and J. M. Hammersley, J. R. Stat. Soc. Suppl. 8 (1946)
/// 184–197, for a first-order autoregressive series; 1.2533 = √(π/2), the
/// large-sample law of the median of normal values (both from memory).
pub fn average(record: &Record, options: &Options) -> Result<Averaged, AverageError> {
    let step_ns = check(record, options)?;
    let expected = ((options.cadence_ns as f64 / step_ns as f64).round() as usize).max(1);
    let blocks = blocks(record.times_ns(), options);
    let needed = options.coverage * expected as f64;
    let columns: Vec<Column> = record
        .channels()
        .iter()
        .map(|channel| column(channel, record.marks(), &blocks, options.middle, needed))
        .collect();
    let sparse = sparse_rows(record, &columns, blocks.len());
    let times: Vec<i64> = blocks.iter().map(|block| block.stamp_ns).collect();
    let used = record.marks().kept();
    Ok(Averaged {
        late_s: late_s(record, &blocks, options),
        marked: sparse.iter().filter(|flag| **flag).count(),
        neighbour_correlation: columns.iter().map(|column| column.correlation).collect(),
        record: assembled(record, times, &columns, &sparse),
        sigma: columns.into_iter().map(|column| column.sigma).collect(),
        expected,
        used,
        left_out: record.len() - used,
    })
}

fn check(record: &Record, options: &Options) -> Result<i64, AverageError> {
    if options.cadence_ns <= 0 {
        return Err(AverageError::Cadence(options.cadence_ns));
    }
    if !(0.0..=1.0).contains(&options.coverage) {
        return Err(AverageError::Coverage(options.coverage));
    }
    if record.is_empty() {
        return Err(AverageError::Empty);
    }
    if let Some(place) = record.times_ns().windows(2).position(|w| w[1] < w[0]) {
        return Err(AverageError::Unordered(place + 1));
    }
    let step_ns = record.cadence().step_ns;
    // A clock that jitters by a tenth still has the cadence it was set to.
    if options.cadence_ns as f64 <= step_ns as f64 * 0.9 {
        return Err(AverageError::Finer { cadence_ns: options.cadence_ns, step_ns });
    }
    Ok(if step_ns > 0 { step_ns } else { options.cadence_ns })
}

struct Block {
    stamp_ns: i64,
    rows: Range<usize>,
}

fn blocks(times: &[i64], options: &Options) -> Vec<Block> {
    let length = options.cadence_ns;
    let stamp = |time: i64| match options.stamp {
        Stamp::Start => time.div_euclid(length) * length,
        Stamp::Centre => Instant(time).rounded(length).0,
        Stamp::End => -((-time).div_euclid(length) * length),
    };
    let mut out: Vec<Block> = Vec::new();
    for (row, time) in times.iter().enumerate() {
        let stamp_ns = stamp(*time);
        match out.last_mut() {
            Some(block) if block.stamp_ns == stamp_ns => block.rows.end = row + 1,
            _ => out.push(Block { stamp_ns, rows: row..row + 1 }),
        }
    }
    out
}

struct Column {
    values: Vec<f64>,
    sigma: Vec<f64>,
    correlation: f64,
}

fn column(
    channel: &Channel,
    marks: &Marks,
    blocks: &[Block],
    middle: Middle,
    needed: f64,
) -> Column {
    let mut pooled = Pooled::default();
    let mut values = Vec::with_capacity(blocks.len());
    let mut spread = Vec::with_capacity(blocks.len());
    let mut inside: Vec<f64> = Vec::new();
    for block in blocks {
        inside.clear();
        let rows = block.rows.clone().filter(|row| marks.keeps(*row));
        inside.extend(rows.map(|row| channel.values[row]).filter(|value| value.is_finite()));
        let count = inside.len();
        if count == 0 || (count as f64) < needed {
            values.push(f64::NAN);
            spread.push((0, f64::NAN));
            continue;
        }
        let mean = inside.iter().sum::<f64>() / count as f64;
        pooled.add(&inside, mean);
        spread.push((count, deviation(&inside, mean)));
        values.push(match middle {
            Middle::Mean => mean,
            Middle::Median => median(&mut inside),
        });
    }
    let correlation = pooled.correlation();
    let factor = match middle {
        Middle::Mean => 1.0,
        Middle::Median => (std::f64::consts::PI / 2.0).sqrt(),
    };
    let r = if correlation.is_nan() { 0.0 } else { correlation };
    let sigma = spread
        .iter()
        .map(|(count, s)| factor * s * ((1.0 + r) / (1.0 - r) / *count as f64).sqrt())
        .collect();
    Column { values, sigma, correlation }
}

fn deviation(values: &[f64], mean: f64) -> f64 {
    if values.len() < 2 {
        return f64::NAN;
    }
    let sum: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    (sum / (values.len() - 1) as f64).sqrt()
}

fn median(values: &mut [f64]) -> f64 {
    let middle = values.len() / 2;
    let upper = record::sort::nth(values, middle);
    if values.len() % 2 == 1 {
        return upper;
    }
    let lower = values[..middle].iter().copied().fold(f64::NEG_INFINITY, f64::max);
    0.5 * (lower + upper)
}

// Products of neighbouring deviations and squares of deviations, over blocks.
#[derive(Default)]
struct Pooled {
    products: f64,
    squares: f64,
    samples: usize,
    blocks: usize,
}

impl Pooled {
    fn add(&mut self, values: &[f64], mean: f64) {
        if values.len() < 3 {
            return;
        }
        self.products += values.windows(2).map(|w| (w[0] - mean) * (w[1] - mean)).sum::<f64>();
        self.squares += values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>();
        self.samples += values.len();
        self.blocks += 1;
    }

    // Taking the block's own mean off pulls the estimate down by about 1/n.
    fn correlation(&self) -> f64 {
        if self.blocks == 0 || self.squares == 0.0 {
            return f64::NAN;
        }
        let block = self.samples as f64 / self.blocks as f64;
        (self.products / self.squares + 1.0 / block).clamp(0.0, 0.95)
    }
}

fn sparse_rows(record: &Record, columns: &[Column], rows: usize) -> Vec<bool> {
    let is_field = |role: Role| matches!(role, Role::X | Role::Y | Role::Z);
    let missing = |column: &Column, row: usize| column.values[row].is_nan();
    let pairs = || record.channels().iter().zip(columns);
    let has_field = record.channels().iter().any(|channel| is_field(channel.role));
    (0..rows)
        .map(|row| {
            if has_field {
                pairs().any(|(channel, column)| is_field(channel.role) && missing(column, row))
            } else {
                columns.iter().all(|column| missing(column, row))
            }
        })
        .collect()
}

fn assembled(record: &Record, times: Vec<i64>, columns: &[Column], sparse: &[bool]) -> Record {
    let channels: Vec<Channel> = record
        .channels()
        .iter()
        .zip(columns)
        .map(|(channel, column)| {
            let unit: Unit = channel.unit;
            channel.with_values(unit, column.values.clone())
        })
        .collect();
    let mut marks = Marks::none(times.len());
    marks.add(Reason::Sparse, sparse);
    // Every column has one value a block, so this cannot be refused.
    Record::with_marks(Arc::new(times), channels, marks).unwrap_or_else(|_| record.clone())
}

fn late_s(record: &Record, blocks: &[Block], options: &Options) -> f64 {
    let half = options.cadence_ns / 2;
    let shift = match options.stamp {
        Stamp::Start => half,
        Stamp::Centre => 0,
        Stamp::End => -half,
    };
    let (mut sum, mut count) = (0.0, 0usize);
    for block in blocks {
        for row in block.rows.clone().filter(|row| record.marks().keeps(*row)) {
            sum += (record.times_ns()[row] - block.stamp_ns - shift) as f64;
            count += 1;
        }
    }
    if count == 0 { 0.0 } else { sum / count as f64 / NANOS_PER_SECOND as f64 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const S: i64 = NANOS_PER_SECOND;

    fn record(times: Vec<i64>, x: Vec<f64>) -> Record {
        Record::new(times, vec![Channel::new("bx", Role::X, Unit::Nanotesla, x)]).unwrap()
    }

    fn by(cadence_s: f64, stamp: Stamp) -> Options {
        Options { stamp, ..Options::seconds(cadence_s) }
    }

    #[test]
    fn the_three_stamps_put_blocks_after_about_and_before_them() {
        let seconds = record((0..6).map(|k| k * 30 * S).collect(), (0..6).map(f64::from).collect());
        let values = |stamp| {
            let options = Options { coverage: 0.0, ..by(60.0, stamp) };
            let found = average(&seconds, &options).unwrap();
            (found.record.times_ns().to_vec(), found.record.channels()[0].values.to_vec())
        };
        assert_eq!(values(Stamp::Start), (vec![0, 60 * S, 120 * S], vec![0.5, 2.5, 4.5]));
        let (times, centred) = values(Stamp::Centre);
        assert_eq!(times, [0, 60 * S, 120 * S, 180 * S]);
        assert_eq!(centred, [0.0, 1.5, 3.5, 5.0]);
        let (times, ended) = values(Stamp::End);
        assert_eq!(times, [0, 60 * S, 120 * S, 180 * S]);
        assert_eq!(ended, [0.0, 1.5, 3.5, 5.0]);
    }

    #[test]
    fn a_thin_block_is_kept_as_a_missing_value_with_its_mark() {
        let mut times: Vec<i64> = (0..120).map(|k| k * S).collect();
        times.drain(70..90);
        let rows = times.len();
        let found = average(&record(times, vec![1.0; rows]), &by(60.0, Stamp::Start)).unwrap();
        assert_eq!(found.expected, 60);
        assert_eq!(found.marked, 1);
        assert!(found.record.channels()[0].values[1].is_nan());
        assert!(found.record.marks().has(1, Reason::Sparse));
    }

    #[test]
    fn an_empty_block_is_a_gap_and_stays_one() {
        let times: Vec<i64> = (0..60).chain(600..660).map(|k| k * S).collect();
        let found = average(&record(times, vec![1.0; 120]), &by(60.0, Stamp::Start)).unwrap();
        assert_eq!(found.record.times_ns(), [0, 600 * S]);
    }

    #[test]
    fn marked_samples_take_no_part_and_are_counted() {
        let mut which = vec![false; 60];
        which[10] = true;
        let mut x = vec![2.0; 60];
        x[10] = 1e6;
        let mut marks = Marks::none(60);
        marks.add(Reason::Spike, &which);
        let marked = record((0..60).map(|k| k * S).collect(), x).marked(marks).unwrap();
        let found = average(&marked, &by(60.0, Stamp::Start)).unwrap();
        assert_eq!(found.record.channels()[0].values[0], 2.0);
        assert_eq!((found.used, found.left_out), (59, 1));
    }

    #[test]
    fn a_median_is_not_moved_by_a_spike() {
        let mut x: Vec<f64> = (0..60).map(f64::from).collect();
        x[30] = 1e6;
        let seconds = record((0..60).map(|k| k * S).collect(), x);
        let options = Options { middle: Middle::Median, ..by(60.0, Stamp::Start) };
        let found = average(&seconds, &options).unwrap();
        assert_eq!(found.record.channels()[0].values[0], 30.0);
    }

    #[test]
    fn samples_that_stand_early_in_their_blocks_are_told() {
        let seconds = record((0..8).map(|k| k * 30 * S).collect(), vec![0.0; 8]);
        let found = average(&seconds, &by(60.0, Stamp::Start)).unwrap();
        assert_eq!(found.late_s, -15.0);
    }

    #[test]
    fn an_average_finer_than_the_record_is_refused_with_both_numbers() {
        let error =
            average(&record(vec![0, 30 * S, 60 * S], vec![0.0; 3]), &by(10.0, Stamp::Start))
                .unwrap_err();
        assert_eq!(
            error.to_string(),
            "Averages over 10 s are finer than the record, which has a sample every 30 s."
        );
    }

    // Independent and nearly normal: sums of twelve uniform numbers (xorshift64,
    // G. Marsaglia, J. Stat. Softw. 8 (2003) 14, triple 13, 7, 17).
    fn noise(rows: usize) -> Vec<f64> {
        let mut state = 0x9E37_79B9_7F4A_7C15u64;
        let mut uniform = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        (0..rows).map(|_| (0..12).map(|_| uniform()).sum::<f64>() - 6.0).collect()
    }

    fn scatter_over_sigma(x: Vec<f64>, middle: Middle) -> f64 {
        let rows = x.len();
        let options = Options { middle, ..by(60.0, Stamp::Start) };
        let found =
            average(&record((0..rows as i64).map(|k| k * S).collect(), x), &options).unwrap();
        let values = &found.record.channels()[0].values;
        let scatter = deviation(values, values.iter().sum::<f64>() / values.len() as f64);
        let squares: f64 = found.sigma[0].iter().map(|s| s * s).sum();
        scatter / (squares / values.len() as f64).sqrt()
    }

    #[test]
    fn the_stated_uncertainty_is_the_scatter_of_the_blocks() {
        // 1000 blocks know their scatter to 2.2 %.
        assert!((scatter_over_sigma(noise(60_000), Middle::Mean) - 1.0).abs() < 0.07);
        assert!((scatter_over_sigma(noise(60_000), Middle::Median) - 1.0).abs() < 0.07);
        let mut red = noise(60_000);
        for k in 1..red.len() {
            red[k] += 0.5 * red[k - 1];
        }
        assert!((scatter_over_sigma(red, Middle::Mean) - 1.0).abs() < 0.10);
    }

    proptest! {
        #[test]
        fn the_mean_of_equal_blocks_is_the_mean_of_the_record(
            x in prop::collection::vec(-1e4f64..1e4, 40),
        ) {
            let found = average(
                &record((0..40).map(|k| k * S).collect(), x.clone()),
                &by(10.0, Stamp::Start),
            ).unwrap();
            let blocks = &found.record.channels()[0].values;
            let mean = blocks.iter().sum::<f64>() / blocks.len() as f64;
            prop_assert!((mean - x.iter().sum::<f64>() / 40.0).abs() < 1e-9);
        }

        #[test]
        fn the_fast_median_is_the_middle_of_the_sorted_values(
            mut x in prop::collection::vec(-1e4f64..1e4, 1..20),
        ) {
            let mut sorted = x.clone();
            record::sort::ascending(&mut sorted);
            let n = sorted.len();
            let slow = if n % 2 == 1 { sorted[n / 2] } else { 0.5 * (sorted[n / 2 - 1] + sorted[n / 2]) };
            prop_assert_eq!(median(&mut x), slow);
        }
    }
}
