//! Spikes: single samples that stand far off their neighbours, by the Hampel rule.
//!
//! Channels go in as slices; one flag a row comes out.  The rule is applied to
//! each component, and a row is marked when any of its components is a spike.
//! Nothing is replaced.

use signal::robust;

/// When a sample is a spike.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Robust deviations from the median of the neighbours.
    pub threshold: f64,
    /// Samples in the window, the sample itself with them; odd.  An even
    /// number is taken as the next odd one.
    pub neighbours: usize,
    /// Smallest spread taken for true, in the channels' unit.  `None`: the
    /// usual spread of the channel's windows, and at least half of its common
    /// step, so that a sensor whose noise is below its resolution is not
    /// marked at every change of the last digit.
    pub floor: Option<f64>,
}

impl Default for Options {
    /// Five deviations from the median of 11 (common practice, no source).
    fn default() -> Self {
        Self { threshold: 5.0, neighbours: 11, floor: None }
    }
}

/// The rows that were found.
#[derive(Clone, Debug)]
pub struct Spikes {
    /// One flag a row.
    pub which: Vec<bool>,
    /// Rows flagged.
    pub marked: usize,
    /// The row that stands off furthest: its place, the deviation from the
    /// median of its neighbours with its sign, and the channel.
    pub largest: Option<(usize, f64, usize)>,
    /// The floor of the spread that was used, a channel.
    pub floors: Vec<f64>,
}

/// Finds spikes in each channel and flags whole rows.
///
/// Samples for which `keep` is false, and NaN, take no part: they are neither
/// flagged nor neighbours.  The spread is 1.4826 times the median absolute
/// deviation of the window about its median; the window is cut short at the
/// ends.  Channels of unequal lengths are read to the shortest.
///
/// # Accuracy
///
/// The spread of eleven values is itself so uncertain that the plain rule, with
/// a floor of zero and a threshold of 5, flags one in 210 samples of
/// independent normal noise.  With the usual spread as floor it flags about
/// one in 95,000 (both counted in two million samples).
///
/// # Source
///
/// F. R. Hampel, J. Am. Stat. Assoc. 69 (1974) 383–393; the windowed form
/// after R. K. Pearson, IEEE Trans. Control Syst. Technol. 10 (2002) 55–63
/// (both from memory).
pub fn spikes(channels: &[&[f64]], keep: &dyn Fn(usize) -> bool, options: &Options) -> Spikes {
    let rows = channels.iter().map(|channel| channel.len()).min().unwrap_or(0);
    let mut found =
        Spikes { which: vec![false; rows], marked: 0, largest: None, floors: Vec::new() };
    for (number, channel) in channels.iter().enumerate() {
        let values: Vec<f64> =
            (0..rows).map(|row| if keep(row) { channel[row] } else { f64::NAN }).collect();
        let hampel = robust::hampel(&values, options.neighbours / 2, options.threshold, 0.0);
        let floor = options.floor.unwrap_or_else(|| usual_floor(&values, &hampel.spread));
        found.floors.push(floor);
        for row in (0..rows).filter(|row| hampel.spike[*row]) {
            let off = values[row] - hampel.median[row];
            if off.abs() <= options.threshold * floor {
                continue;
            }
            found.which[row] = true;
            if found.largest.is_none_or(|(_, largest, _)| off.abs() > largest.abs()) {
                found.largest = Some((row, off, number));
            }
        }
    }
    found.marked = found.which.iter().filter(|flag| **flag).count();
    found
}

fn usual_floor(values: &[f64], spreads: &[f64]) -> f64 {
    let usual = robust::median(spreads).unwrap_or(0.0);
    usual.max(0.5 * common_step(values).unwrap_or(0.0))
}

/// The step in which a channel changes: the lower tenth of the sizes of its
/// changes that are not zero.
///
/// For a quantised channel whose noise is up to several steps this is the step
/// itself; for a finely resolved one it lies well below the noise.  NaN is
/// skipped.  `None` when nothing changes.
pub fn common_step(values: &[f64]) -> Option<f64> {
    // A tenth of some ten thousand changes is known well enough.
    const ENOUGH: usize = 20_000;
    let mut changes: Vec<f64> = values
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .filter(|change| *change > 0.0 && change.is_finite())
        .take(ENOUGH)
        .collect();
    if changes.is_empty() {
        return None;
    }
    let place = changes.len() / 10;
    Some(record::sort::nth(&mut changes, place))
}

#[cfg(test)]
mod tests {
    use super::*;

    // Noise-like and repeatable, uniform in −0.5 to 0.5: the fractional part
    // of multiples of the golden ratio, shuffled by squaring the index.
    fn noise(rows: usize, seed: f64) -> Vec<f64> {
        (0..rows)
            .map(|k| ((k * k % 9_973) as f64 * 0.618_033_988_75 + seed).fract() - 0.5)
            .collect()
    }

    #[test]
    fn a_spike_in_one_component_marks_the_whole_row() {
        let (x, mut y) = (noise(500, 0.1), noise(500, 0.7));
        y[200] += 40.0;
        let found = spikes(&[&x, &y], &|_| true, &Options::default());
        assert!(found.which[200]);
        let (row, off, channel) = found.largest.unwrap();
        assert_eq!((row, channel), (200, 1));
        assert!((off - 40.0).abs() < 2.0);
        assert_eq!(found.marked, found.which.iter().filter(|f| **f).count());
    }

    #[test]
    fn a_sample_already_left_out_is_neither_flagged_nor_a_neighbour() {
        let mut x = noise(500, 0.3);
        x[100] = 1e6;
        let found = spikes(&[&x], &|row| row != 100, &Options::default());
        assert!(!found.which[100]);
        assert!(found.largest.is_none_or(|(row, _, _)| row != 100));
    }

    #[test]
    fn a_sensor_that_rests_on_one_level_is_not_marked_at_its_last_digit() {
        let x: Vec<f64> = (0..600).map(|k| if k % 37 == 0 { 13.3 } else { 0.0 }).collect();
        let found = spikes(&[&x], &|_| true, &Options::default());
        assert_eq!(found.floors, [6.65]);
        assert_eq!(found.marked, 0);
        let without = Options { floor: Some(0.0), ..Options::default() };
        assert!(spikes(&[&x], &|_| true, &without).marked > 10);
    }

    #[test]
    fn plain_noise_has_hardly_a_spike() {
        // Sums of twelve uniform numbers (xorshift64, G. Marsaglia, J. Stat.
        // Softw. 8 (2003) 14, triple 13, 7, 17) are nearly normal.
        let mut state = 0x9E37_79B9_7F4A_7C15u64;
        let mut uniform = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        let x: Vec<f64> =
            (0..100_000).map(|_| (0..12).map(|_| uniform()).sum::<f64>() - 6.0).collect();
        let marked =
            |floor| spikes(&[&x], &|_| true, &Options { floor, ..Options::default() }).marked;
        assert!((350..650).contains(&marked(Some(0.0))), "{}", marked(Some(0.0)));
        assert!(marked(None) <= 2, "{}", marked(None));
    }

    #[test]
    fn the_step_of_a_quantised_channel_is_its_resolution() {
        let x: Vec<f64> = noise(5_000, 0.2).iter().map(|v| (v * 8.0).round() * 13.3).collect();
        assert!((common_step(&x).unwrap() - 13.3).abs() < 1e-9);
        assert_eq!(common_step(&[4.0, 4.0, f64::NAN, 4.0]), None);
    }

    #[test]
    fn no_channels_give_no_spikes() {
        assert_eq!(spikes(&[], &|_| true, &Options::default()).marked, 0);
    }
}
