//! Millions of samples to the few points a screen can show, extremes kept.
//!
//! For each column of pixels the first, the lowest, the highest and the last
//! sample are kept, in the order in which they occur, so that a line through
//! them covers the same pixels as a line through all.  Missing values (NaN)
//! and left-out samples are skipped; a break is set where nothing usable lies
//! for longer than the cadence allows and the eye could see.

use record::{Marks, Reason};
use std::ops::Range;

/// The samples a line is made of.
#[derive(Clone, Copy, Debug)]
pub struct Samples<'a> {
    /// One value a sample; NaN where there is none.
    pub values: &'a [f64],
    /// Which samples are left out.
    pub marks: Option<&'a Marks>,
    /// Extremes of these samples worked out before, to look through them faster.
    pub blocks: Option<&'a Blocks>,
}

/// Lowest and highest usable value of each block of samples, for views that
/// are drawn again and again.
#[derive(Clone, Debug, Default)]
pub struct Blocks {
    extents: Vec<Extent>,
    samples: usize,
}

/// What is left: places of samples in their slices.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Thinned {
    /// Places in rising order; `None` is a break.
    pub places: Vec<Option<usize>>,
    /// How many usable samples they stand for.
    pub samples: u64,
}

impl<'a> Samples<'a> {
    /// Samples without anything worked out before.
    pub fn new(values: &'a [f64], marks: Option<&'a Marks>) -> Self {
        Self { values, marks, blocks: None }
    }

    /// Works out the extremes of blocks.
    pub fn blocks(&self) -> Blocks {
        let samples = self.values.len();
        let starts = (0..samples).step_by(BLOCK);
        let extents = starts.map(|start| self.extent(start..(start + BLOCK).min(samples)));
        Blocks { extents: extents.collect(), samples }
    }
}

impl Samples<'_> {
    /// Whether a sample has a value and is not left out.
    #[inline]
    pub fn usable(&self, sample: usize) -> bool {
        self.values[sample].is_finite() && self.kept(sample)
    }

    #[inline]
    fn kept(&self, sample: usize) -> bool {
        self.marks.is_none_or(|marks| marks.keeps(sample))
    }
}

/// Thins a stretch of samples to `columns` columns.
///
/// # Arguments
///
/// * `samples` - values and marks
/// * `range` - the samples in view; one usable sample either side is kept too
/// * `columns` - columns of pixels
/// * `edge` - the first sample of column k, for k from 0 to `columns`; rising
/// * `broken` - whether a line from one sample to a later one would bridge a gap
///
/// A stretch with four samples a column or fewer is kept whole.
pub fn thin(
    samples: Samples<'_>,
    range: Range<usize>,
    columns: usize,
    edge: impl Fn(usize) -> usize,
    broken: impl Fn(usize, usize) -> bool,
) -> Thinned {
    let len = samples.values.len();
    let range = range.start.min(len)..range.end.min(len).max(range.start.min(len));
    let mut out = Joined { found: Thinned::default(), last: None, broken };
    let before = (0..range.start).rev().take(10_000).find(|k| samples.usable(*k));
    let after = (range.end..len).take(10_000).find(|k| samples.usable(*k));
    before.into_iter().for_each(|k| out.push(k));
    if range.len() as u64 <= 4 * columns as u64 {
        out.found.samples = 0;
        for k in range.filter(|k| samples.usable(*k)) {
            out.push(k);
            out.found.samples += 1;
        }
    } else {
        let mut start = range.start;
        for column in 1..=columns {
            let end = if column == columns { range.end } else { edge(column) };
            let end = end.clamp(start, range.end);
            out.column(samples, start..end);
            start = end;
        }
    }
    after.into_iter().for_each(|k| out.push(k));
    out.found
}

/// Places gathered so far.
struct Joined<F> {
    found: Thinned,
    last: Option<usize>,
    broken: F,
}

impl<F: Fn(usize, usize) -> bool> Joined<F> {
    fn push(&mut self, sample: usize) {
        if let Some(last) = self.last {
            if last == sample {
                return;
            }
            if (self.broken)(last, sample) {
                self.found.places.push(None);
            }
        }
        self.found.places.push(Some(sample));
        self.last = Some(sample);
    }

    fn column(&mut self, samples: Samples<'_>, range: Range<usize>) {
        let Some((kept, usable)) = extremes(samples, range) else { return };
        self.found.samples += usable;
        kept.into_iter().for_each(|k| self.push(k));
    }
}

/// First, lowest, highest and last usable sample of a range, in the order in
/// which they occur, and how many are usable; `None` when none is.
fn extremes(samples: Samples<'_>, range: Range<usize>) -> Option<([usize; 4], u64)> {
    let first = range.clone().find(|k| samples.usable(*k))?;
    let last = range.clone().rev().find(|k| samples.usable(*k))?;
    let mut whole = Extent::default();
    let (mut low_block, mut high_block) = (first..first, first..first);
    let mut take = |part: &Extent, block: Range<usize>| {
        if part.low < whole.low {
            (whole.low, low_block) = (part.low, block.clone());
        }
        if part.high > whole.high {
            (whole.high, high_block) = (part.high, block);
        }
        whole.count += part.count;
    };
    // To the first whole block, block by block, and what is left.
    let (from, until) = (first.div_ceil(BLOCK) * BLOCK, (last + 1) / BLOCK * BLOCK);
    let starts = (from..until).step_by(BLOCK);
    if from >= until {
        take(&samples.extent(first..last + 1), first..last + 1);
    } else {
        take(&samples.extent(first..from), first..from);
        match samples.known_blocks() {
            Some(known) => known[from / BLOCK..until / BLOCK]
                .iter()
                .zip(starts)
                .for_each(|(part, start)| take(part, start..start + BLOCK)),
            None => starts.for_each(|start| {
                let block = start..start + BLOCK;
                take(&samples.extent(block.clone()), block);
            }),
        }
        take(&samples.extent(until..last + 1), until..last + 1);
    }
    let low = samples.place_of(whole.low, low_block).unwrap_or(first);
    let high = samples.place_of(whole.high, high_block).unwrap_or(first);
    Some(([first, low.min(high), low.max(high), last], whole.count))
}

/// Samples that are looked through together.
const BLOCK: usize = 128;

/// Lowest, highest and number of usable values.
#[derive(Clone, Copy, Debug)]
struct Extent {
    low: f64,
    high: f64,
    count: u64,
}

impl Default for Extent {
    fn default() -> Self {
        Self { low: f64::INFINITY, high: f64::NEG_INFINITY, count: 0 }
    }
}

impl Extent {
    /// Infinities and NaN are passed over.
    #[inline(always)]
    fn take(&mut self, v: f64) {
        let finite = v.abs() < f64::INFINITY;
        self.low = if finite && v < self.low { v } else { self.low };
        self.high = if finite && v > self.high { v } else { self.high };
        self.count += u64::from(finite);
    }

    fn joined(self, other: Self) -> Self {
        let (low, high) = (self.low.min(other.low), self.high.max(other.high));
        Self { low, high, count: self.count + other.count }
    }
}

impl Samples<'_> {
    fn known_blocks(&self) -> Option<&[Extent]> {
        let blocks = self.blocks.filter(|blocks| blocks.samples == self.values.len())?;
        Some(&blocks.extents)
    }

    fn extent(&self, block: Range<usize>) -> Extent {
        let left_out = !Reason::Filled.bit();
        let plain = self.marks.is_none_or(|marks| {
            let bits = marks.bits().get(block.clone());
            bits.is_some_and(|bits| bits.iter().fold(0, |all, b| all | b) & left_out == 0)
        });
        if plain {
            return swept(&self.values[block]);
        }
        let mut found = Extent::default();
        block.filter(|k| self.kept(*k)).for_each(|k| found.take(self.values[k]));
        found
    }

    fn place_of(&self, value: f64, mut block: Range<usize>) -> Option<usize> {
        block.find(|k| self.values[*k] == value && self.kept(*k))
    }
}

/// Eight at a time, so that the compiler can use wide registers.
fn swept(values: &[f64]) -> Extent {
    let mut lanes = [Extent::default(); 8];
    let chunks = values.chunks_exact(8);
    let rest = chunks.remainder();
    for chunk in chunks {
        for (lane, v) in lanes.iter_mut().zip(chunk) {
            lane.take(*v);
        }
    }
    for (lane, v) in lanes.iter_mut().zip(rest) {
        lane.take(*v);
    }
    lanes.into_iter().fold(Extent::default(), Extent::joined)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn even(values: &[f64], columns: usize) -> Thinned {
        let len = values.len();
        let edge = |c: usize| (c as u64 * len as u64 / columns as u64) as usize;
        thin(Samples::new(values, None), 0..len, columns, edge, |_, _| false)
    }

    #[test]
    fn one_spike_among_a_million_samples_survives() {
        let mut values = vec![0.0; 1_000_000];
        values[654_321] = 7.5;
        let found = even(&values, 600);
        assert!(found.places.contains(&Some(654_321)));
        assert!(found.places.len() <= 2400);
        assert_eq!(found.samples, 1_000_000);
    }

    #[test]
    fn left_out_samples_are_passed_over_and_not_counted() {
        let values: Vec<f64> = (0..10_000).map(|k| f64::from(k % 7)).collect();
        let mut marks = Marks::none(values.len());
        let mut which = vec![false; values.len()];
        which[5_000] = true;
        marks.add(Reason::Spike, &which);
        let mut spiky = values.clone();
        spiky[5_000] = 1e6;
        let samples = Samples::new(&spiky, Some(&marks));
        let found = thin(samples, 0..10_000, 100, |c| c * 100, |_, _| false);
        assert!(!found.places.contains(&Some(5_000)));
        assert_eq!(found.samples, 9_999);
    }

    #[test]
    fn blocks_worked_out_before_change_nothing() {
        let values: Vec<f64> = (0..20_000)
            .map(|k| if k % 97 == 3 { f64::NAN } else { f64::from((k * 7919) % 1009) })
            .collect();
        let mut marks = Marks::none(values.len());
        let which: Vec<bool> = (0..values.len()).map(|k| k % 1501 < 40).collect();
        marks.add(Reason::Excluded, &which);
        let plain = Samples::new(&values, Some(&marks));
        let blocks = plain.blocks();
        let edge = |c: usize| 137 + c * 19_000 / 7;
        let by = |samples| thin(samples, 137..19_137, 7, edge, |_, _| false);
        assert_eq!(by(plain), by(Samples { blocks: Some(&blocks), ..plain }));
    }

    #[test]
    fn a_filled_sample_is_drawn() {
        let mut marks = Marks::none(3);
        marks.add(Reason::Filled, &[false, true, false]);
        let samples = Samples::new(&[1.0, 2.0, 3.0], Some(&marks));
        let found = thin(samples, 0..3, 10, |c| c, |_, _| false);
        assert_eq!(found.places, [Some(0), Some(1), Some(2)]);
    }

    #[test]
    fn a_stretch_in_view_keeps_its_neighbours_so_that_the_line_leaves_the_frame() {
        let values = [0.0, 1.0, f64::NAN, 3.0, 4.0, 5.0];
        let found = thin(Samples::new(&values, None), 3..5, 10, |c| c, |_, _| false);
        assert_eq!(found.places, [Some(1), Some(3), Some(4), Some(5)]);
        assert_eq!(found.samples, 2);
    }

    proptest! {
        #[test]
        fn every_column_keeps_its_lowest_and_highest_value(
            values in prop::collection::vec(prop_oneof![
                9 => -1e3f64..1e3, 1 => Just(f64::NAN), 1 => Just(f64::INFINITY)
            ], 100..2000),
            columns in 2usize..20,
        ) {
            let len = values.len();
            let found = even(&values, columns);
            let kept: Vec<usize> = found.places.iter().copied().flatten().collect();
            prop_assert!(kept.windows(2).all(|w| w[0] < w[1]));
            for c in 0..columns {
                let range = c * len / columns..(c + 1) * len / columns;
                let finite = || range.clone().filter(|k| values[*k].is_finite());
                let shown = || kept.iter().filter(|k| range.contains(k)).map(|k| values[*k]);
                let slow = finite().map(|k| values[k]);
                prop_assert_eq!(
                    slow.clone().fold(f64::INFINITY, f64::min),
                    shown().fold(f64::INFINITY, f64::min)
                );
                prop_assert_eq!(
                    slow.fold(f64::NEG_INFINITY, f64::max),
                    shown().fold(f64::NEG_INFINITY, f64::max)
                );
                prop_assert_eq!(finite().next(), kept.iter().copied().find(|k| range.contains(k)));
            }
        }
    }
}
