//! Shifts: places where the level of the field jumps and stays.
//!
//! Channels and times go in; a list of jumps with their size and uncertainty
//! comes out.  Mending takes the steps off again, on request only; marking
//! leaves out the stretch between a jump and the one that undoes it.

mod levels;

use levels::{MIDMEAN, midmean, neighbour_noise, robust_deviation, sliding_midmean};
use record::{Instant, Marks, Reason, Record};
use std::ops::Range;

/// What counts as a shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Samples in the window before and in the window after.
    pub window: usize,
    /// How many robust deviations of such differences a shift must stand out.
    pub threshold: f64,
    /// Smallest shift of a component that is listed, in the channels' unit.
    pub smallest: f64,
}

impl Default for Options {
    /// Sixty samples each side, ten deviations.  Both were tuned on the
    /// invented logs of ten and of sixty days: they find the van's two edges
    /// and the nudge there, and none of the storms, bays and spikes.  Of three
    /// other seeds one gave a commencement besides.
    fn default() -> Self {
        Self { window: 60, threshold: 10.0, smallest: 0.0 }
    }
}

/// One jump.
#[derive(Clone, Debug, PartialEq)]
pub struct Shift {
    /// The first sample at the new level.
    pub sample: usize,
    /// Its time.
    pub time: Instant,
    /// Size in each channel, new level minus old.
    pub size: Vec<f64>,
    /// Standard uncertainty of each size.
    pub sigma: Vec<f64>,
    /// Robust deviations by which the clearest channel stands out.
    pub deviations: f64,
    /// Seconds since the sample before; long when the shift hides in a gap,
    /// where the field itself may have changed.
    pub since_before_s: f64,
    /// Place in the list of the later jump that takes this one back.
    pub undone_by: Option<usize>,
}

/// The jumps of a record.
#[derive(Clone, Debug)]
pub struct Shifts {
    /// In order of time.
    pub list: Vec<Shift>,
    /// The largest size in any channel: place in the list, size, channel.
    pub largest: Option<(usize, f64, usize)>,
    /// Robust deviation of the difference of neighbouring windows, a channel.
    pub usual: Vec<f64>,
}

/// Finds level shifts.
///
/// For every sample the midmean of the window before is taken from the midmean
/// of the window after (the mean of the middle half of the sorted values: no
/// single spike moves it, and unlike a median it does not stick to one step of
/// a coarse sensor); a shift is a peak of this difference that stands more
/// than `threshold` robust deviations (1.4826 MAD over the whole record, so
/// that what the field itself does is in it) out in some channel, and whose
/// edge is sharp: a step, or a ramp over up to three samples, describes the two
/// windows as well as any slower ramp does, within 3 s² of squared residuals.
/// A storm commencement takes minutes and is not sharp in this sense at a
/// cadence well below a minute; at a slower cadence, or when it is hardly
/// larger than the noise, it cannot be told from a shift.
///
/// Samples for which `keep` is false, and NaN, are passed over: windows count
/// samples that remain.  `σ` is 1.09 · s · √(2/window), s from the scatter of
/// neighbouring samples, and thus covers white noise only.
///
/// # Source
///
/// Common practice, no source.  The midmean is J. W. Tukey's, Exploratory Data
/// Analysis (1977); 1.09 is the square root of 1 / 0.84, its efficiency for
/// normal values (both from memory; a test counts the second).
pub fn shifts(
    times_ns: &[i64],
    channels: &[&[f64]],
    keep: &dyn Fn(usize) -> bool,
    options: &Options,
) -> Shifts {
    let rows = channels.iter().map(|c| c.len()).chain([times_ns.len()]).min().unwrap_or(0);
    let usable = |row: &usize| keep(*row) && channels.iter().all(|c| c[*row].is_finite());
    let places = Places::of(rows, &usable);
    let window = options.window.max(3);
    let mut search = Search { channels, places, window, noise: Vec::new(), heights: Vec::new() };
    // One channel after the other in the same two long lists: a log may fill the memory.
    let (mut long, mut spare) = (Vec::with_capacity(search.len() + 1), Vec::new());
    let mut usual = Vec::new();
    for channel in 0..channels.len() {
        search.steps(channel, &mut long);
        search.noise.push(neighbour_noise(&long, &mut spare));
        search.differences(channel, &mut long);
        let deviation = robust_deviation(&long, &mut spare);
        search.raise(&long, deviation, options.threshold);
        usual.push(deviation);
    }
    drop((long, spare));
    let mut list = Vec::new();
    for (peak, deviations) in search.peaks() {
        let edge = search.edge(peak);
        let size = search.sizes(edge);
        if !search.is_sharp(edge) || size.iter().all(|s| s.abs() < options.smallest) {
            continue;
        }
        let per_sample = MIDMEAN * (2.0 / window as f64).sqrt();
        list.push(Shift {
            sample: search.places.row(edge),
            time: Instant(times_ns[search.places.row(edge)]),
            sigma: search.noise.iter().map(|s| s * per_sample).collect(),
            deviations,
            since_before_s: edge.checked_sub(1).map_or(0.0, |before| {
                (times_ns[search.places.row(edge)] - times_ns[search.places.row(before)]) as f64
                    / 1e9
            }),
            size,
            undone_by: None,
        });
    }
    pair_up(&mut list);
    Shifts { largest: largest(&list), list, usual }
}

/// Takes the steps of these shifts off all samples from each shift on, so that
/// the record continues at its first level.  `names` are the channels in the
/// order of [`Shift::size`].  Marks are kept as they are.
pub fn mend(record: &Record, names: &[&str], list: &[Shift]) -> Record {
    let mut mended = record.clone();
    for (number, name) in names.iter().enumerate() {
        let Some(channel) = record.named(name) else { continue };
        let mut values = channel.values.to_vec();
        for shift in list {
            let size = shift.size.get(number).copied().unwrap_or(0.0);
            values.iter_mut().skip(shift.sample).for_each(|value| *value -= size);
        }
        // As many values as before, so this cannot be refused.
        mended = mended.with_channel(channel.with_values(channel.unit, values)).unwrap_or(mended);
    }
    mended
}

/// Marks the samples between each shift and the one that undoes it
/// [`Reason::Shift`], and says how many that are.
pub fn mark_between(record: &Record, list: &[Shift]) -> (Record, usize) {
    let mut which = vec![false; record.len()];
    for shift in list {
        let Some(back) = shift.undone_by.and_then(|place| list.get(place)) else { continue };
        let end = back.sample.min(which.len());
        which[shift.sample.min(end)..end].fill(true);
    }
    let mut marks: Marks = record.marks().clone();
    let marked = marks.add(Reason::Shift, &which);
    (record.marked(marks).unwrap_or_else(|_| record.clone()), marked)
}

/// The rows that take part.
enum Places {
    All(usize),
    Some(Vec<usize>),
}

impl Places {
    fn of(rows: usize, usable: &dyn Fn(&usize) -> bool) -> Self {
        if (0..rows).all(|row| usable(&row)) {
            return Self::All(rows);
        }
        Self::Some((0..rows).filter(usable).collect())
    }

    fn len(&self) -> usize {
        match self {
            Self::All(rows) => *rows,
            Self::Some(places) => places.len(),
        }
    }

    fn row(&self, place: usize) -> usize {
        match self {
            Self::All(_) => place,
            Self::Some(places) => places[place],
        }
    }
}

struct Search<'a> {
    channels: &'a [&'a [f64]],
    places: Places,
    window: usize,
    noise: Vec<f64>,
    // Places at which some channel stands out by more than the threshold, with how many
    // deviations the clearest does.
    heights: Vec<(usize, f64)>,
}

impl Search<'_> {
    fn len(&self) -> usize {
        if self.channels.is_empty() { 0 } else { self.places.len() }
    }

    fn value(&self, channel: usize, place: usize) -> f64 {
        self.channels[channel][self.places.row(place)]
    }

    /// Where a window fits before and after.
    fn inside(&self) -> Range<usize> {
        self.window..(self.len() + 1).saturating_sub(self.window)
    }

    /// Differences of neighbours.
    fn steps(&self, channel: usize, out: &mut Vec<f64>) {
        out.clear();
        out.extend((1..self.len()).map(|k| self.value(channel, k) - self.value(channel, k - 1)));
    }

    /// For each place the midmean of the window that begins there minus that of
    /// the window that ends before it; NaN where a window does not fit.
    fn differences(&self, channel: usize, out: &mut Vec<f64>) {
        let (len, window) = (self.len(), self.window);
        sliding_midmean(&|k| self.value(channel, k), len, window, out);
        out.resize(len + 1, f64::NAN);
        for place in self.inside().rev() {
            out[place] -= out[place - window];
        }
        out[..window.min(len + 1)].fill(f64::NAN);
        out[(len + 1).saturating_sub(window)..].fill(f64::NAN);
    }

    /// Notes where a channel stands out.
    fn raise(&mut self, differences: &[f64], usual: f64, threshold: f64) {
        if usual <= 0.0 {
            return;
        }
        let height = |place: usize| (place, differences[place].abs() / usual);
        let own = self.inside().map(height).filter(|(_, height)| *height > threshold);
        let mut all: Vec<(usize, f64)> = own.chain(self.heights.drain(..)).collect();
        all.sort_unstable_by_key(|(place, _)| *place);
        all.dedup_by(|later, kept| {
            let same = later.0 == kept.0;
            kept.1 = if same { kept.1.max(later.1) } else { kept.1 };
            same
        });
        self.heights = all;
    }

    /// Places that are the highest of their neighbourhood and above threshold.
    fn peaks(&self) -> Vec<(usize, f64)> {
        let mut peaks: Vec<(usize, f64)> = Vec::new();
        for (place, height) in self.heights.iter().copied() {
            match peaks.last_mut() {
                Some(last) if place - last.0 < self.window => {
                    if height > last.1 {
                        *last = (place, height);
                    }
                }
                _ => peaks.push((place, height)),
            }
        }
        peaks
    }

    /// The place near a peak at which a step leaves the least squares over.
    fn edge(&self, peak: usize) -> usize {
        let len = self.len();
        let near = self.window / 2;
        let range = peak.saturating_sub(near).max(1)..(peak + near + 1).min(len);
        let left = |place: usize| -> f64 {
            let centre = place as f64 - 0.5;
            (0..self.channels.len()).map(|c| self.ramp_residual(c, peak, centre, 1.0)).sum()
        };
        let mut best = (peak, f64::INFINITY);
        for place in range {
            let left = left(place);
            if left < best.1 {
                best = (place, left);
            }
        }
        best.0
    }

    /// Midmean of the window after minus that of the window before, a channel.
    fn sizes(&self, edge: usize) -> Vec<f64> {
        let (window, len) = (self.window, self.len());
        let level = |channel: usize, range: Range<usize>| {
            midmean(&range.map(|k| self.value(channel, k)).collect::<Vec<f64>>())
        };
        let size = |channel: usize| {
            level(channel, edge..(edge + window).min(len))
                - level(channel, edge.saturating_sub(window)..edge)
        };
        (0..self.channels.len()).map(size).collect()
    }

    /// Whether no slow ramp describes the windows better than a sharp one.
    fn is_sharp(&self, edge: usize) -> bool {
        const SHARP: [f64; 3] = [1.0, 2.0, 3.0];
        const SLOW: [f64; 9] = [4.0, 5.0, 6.0, 8.0, 11.0, 16.0, 22.0, 31.0, 44.0];
        let widest = 2.0 * self.window as f64;
        let sharp = self.best_ramp(edge, &SHARP);
        let slow: Vec<f64> = SLOW.into_iter().filter(|width| *width <= widest).collect();
        sharp <= self.best_ramp(edge, &slow) + 3.0
    }

    /// Least sum of squared residuals, in units of the noise, of ramps of
    /// these widths about places near the edge.
    fn best_ramp(&self, edge: usize, widths: &[f64]) -> f64 {
        let mut best = f64::INFINITY;
        for width in widths {
            let reach = (width / 2.0).ceil().max(2.0) as i64;
            for twice in -2 * reach..=2 * reach {
                let centre = edge as f64 - 0.5 + 0.5 * twice as f64;
                let sum: f64 = (0..self.channels.len())
                    .map(|c| self.ramp_residual(c, edge, centre, *width))
                    .sum();
                best = best.min(sum);
            }
        }
        best
    }

    /// Residual of the least-squares fit of level and height of one ramp.
    fn ramp_residual(&self, channel: usize, edge: usize, centre: f64, width: f64) -> f64 {
        let noise = self.noise[channel];
        if noise <= 0.0 {
            return 0.0;
        }
        let rows = edge.saturating_sub(self.window)..(edge + self.window).min(self.len());
        let ramp = |row: usize| ((row as f64 - centre) / width + 0.5).clamp(0.0, 1.0);
        let (mut n, mut r, mut rr, mut y, mut ry, mut yy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        let origin = self.value(channel, rows.start);
        for row in rows {
            let (part, value) = (ramp(row), (self.value(channel, row) - origin) / noise);
            n += 1.0;
            r += part;
            rr += part * part;
            y += value;
            ry += part * value;
            yy += value * value;
        }
        let (srr, sry, syy) = (rr - r * r / n, ry - r * y / n, yy - y * y / n);
        if srr > 1e-9 { syy - sry * sry / srr } else { syy }
    }
}

/// A later shift undoes an earlier one when their sizes cancel to a quarter.
fn pair_up(list: &mut [Shift]) {
    let mut taken = vec![false; list.len()];
    for first in 0..list.len() {
        if taken[first] {
            continue;
        }
        let back = (first + 1..list.len()).find(|later| {
            let (mut left, mut whole) = (0.0, 0.0);
            for (a, b) in list[first].size.iter().zip(&list[*later].size) {
                left += (a + b) * (a + b);
                whole += a * a;
            }
            !taken[*later] && left < 0.0625 * whole
        });
        if let Some(back) = back {
            taken[back] = true;
            list[first].undone_by = Some(back);
        }
    }
}

fn largest(list: &[Shift]) -> Option<(usize, f64, usize)> {
    let mut best: Option<(usize, f64, usize)> = None;
    for (place, shift) in list.iter().enumerate() {
        for (channel, size) in shift.size.iter().enumerate() {
            if best.is_none_or(|(_, other, _)| size.abs() > other.abs()) {
                best = Some((place, *size, channel));
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::{Channel, Role, Unit};

    const STEP_NS: i64 = 30_000_000_000;

    fn noise(rows: usize, mut state: u64) -> Vec<f64> {
        let mut uniform = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        (0..rows).map(|_| (0..12).map(|_| uniform()).sum::<f64>() - 6.0).collect()
    }

    fn times(rows: usize) -> Vec<i64> {
        (0..rows as i64).map(|k| k * STEP_NS).collect()
    }

    #[test]
    fn a_parked_van_is_a_pair_of_shifts_and_its_stretch_can_be_left_out() {
        let (mut x, mut y) = (noise(3_000, 1), noise(3_000, 2));
        x[1_000..1_600].iter_mut().for_each(|v| *v += 25.0);
        y[1_000..1_600].iter_mut().for_each(|v| *v -= 12.0);
        let found = shifts(&times(3_000), &[&x, &y], &|_| true, &Options::default());
        let samples: Vec<usize> = found.list.iter().map(|shift| shift.sample).collect();
        assert_eq!(samples, [1_000, 1_600]);
        assert_eq!(found.list[0].undone_by, Some(1));
        assert!((found.list[0].size[0] - 25.0).abs() < 4.0 * found.list[0].sigma[0]);
        assert!((found.list[0].size[1] + 12.0).abs() < 4.0 * found.list[0].sigma[1]);
        let channels = vec![
            Channel::new("x", Role::X, Unit::Nanotesla, x),
            Channel::new("y", Role::Y, Unit::Nanotesla, y),
        ];
        let record = Record::new(times(3_000), channels).unwrap();
        let (marked, count) = mark_between(&record, &found.list);
        assert_eq!(count, 600);
        assert!(!marked.marks().keeps(1_000) && marked.marks().keeps(1_600));
    }

    #[test]
    fn mending_brings_the_later_level_back_to_the_first() {
        let mut x = noise(2_000, 3);
        x[900..].iter_mut().for_each(|v| *v += 40.0);
        let found = shifts(&times(2_000), &[&x], &|_| true, &Options::default());
        assert_eq!(found.list.len(), 1);
        assert_eq!(found.list[0].undone_by, None);
        let record =
            Record::new(times(2_000), vec![Channel::new("x", Role::X, Unit::Nanotesla, x)])
                .unwrap();
        let mended = mend(&record, &["x"], &found.list);
        let values = &mended.channels()[0].values;
        assert!((levels::mean(&values[900..]) - levels::mean(&values[..900])).abs() < 1.0);
    }

    #[test]
    fn a_rise_over_four_minutes_is_no_shift() {
        let mut x = noise(2_000, 4);
        for (k, value) in x.iter_mut().enumerate() {
            *value += 40.0 * ((k as f64 - 1_000.0) / 8.0).clamp(0.0, 1.0);
        }
        assert_eq!(shifts(&times(2_000), &[&x], &|_| true, &Options::default()).list, []);
    }

    #[test]
    fn spikes_and_noise_are_no_shifts() {
        let mut x = noise(5_000, 5);
        (0..40).for_each(|k| x[k * 117 + 50] += 300.0);
        assert_eq!(shifts(&times(5_000), &[&x], &|_| true, &Options::default()).list, []);
    }

    #[test]
    fn a_coarse_sensor_s_shift_of_two_steps_is_found() {
        let mut x = noise(3_000, 7);
        x[1_500..].iter_mut().for_each(|v| *v += 2.2);
        let coarse: Vec<f64> = x.iter().map(|v| (v / 1.1).round() * 1.1).collect();
        let options = Options { window: 120, ..Options::default() };
        let found = shifts(&times(3_000), &[&coarse], &|_| true, &options);
        assert_eq!(found.list.len(), 1);
        assert!(found.list[0].sample.abs_diff(1_500) <= 5);
        assert!((found.list[0].size[0] - 2.2).abs() < 4.0 * found.list[0].sigma[0]);
    }

    #[test]
    fn a_record_shorter_than_its_windows_has_no_shifts() {
        let x = noise(30, 6);
        assert!(shifts(&times(30), &[&x], &|_| true, &Options::default()).list.is_empty());
        assert!(shifts(&[], &[], &|_| true, &Options::default()).list.is_empty());
    }
}
