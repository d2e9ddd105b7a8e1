//! Levels and spreads of windows, for the search of shifts.
//!
//! Slices without NaN go in, unless a function says otherwise.

use record::sort::ordered;

/// Standard deviation of a midmean of n normal values, times √n / σ.
pub(super) const MIDMEAN: f64 = 1.09;

/// Midmeans of all windows of this many of `len` samples, by the place of their first.
pub(super) fn sliding_midmean(
    value: &impl Fn(usize) -> f64,
    len: usize,
    window: usize,
    out: &mut Vec<f64>,
) {
    out.clear();
    if len < window {
        return;
    }
    let mut sorted: Vec<f64> = (0..window).map(value).collect();
    record::sort::ascending(&mut sorted);
    out.reserve_exact(len + 1);
    out.push(mean_of_middle_half(&sorted));
    for end in window..len {
        replace(&mut sorted, value(end - window), value(end));
        out.push(mean_of_middle_half(&sorted));
    }
}

/// Puts a new value in place of an old one and keeps the order: only what lies
/// between the two moves.
fn replace(sorted: &mut [f64], old: f64, new: f64) {
    let [old, key] = [old, new].map(ordered);
    let from = sorted.partition_point(|v| ordered(*v) < old);
    let to = sorted.partition_point(|v| ordered(*v) < key);
    let place = if to > from {
        sorted.copy_within(from + 1..to, from);
        to - 1
    } else {
        sorted.copy_within(to..from, to + 1);
        to
    };
    sorted[place] = new;
}

fn mean_of_middle_half(sorted: &[f64]) -> f64 {
    let quarter = sorted.len() / 4;
    let middle = &sorted[quarter..sorted.len() - quarter];
    // Four sums side by side, since each addition waits for the one before.
    let mut sums = [0.0; 4];
    let mut fours = middle.chunks_exact(4);
    for four in &mut fours {
        sums.iter_mut().zip(four).for_each(|(sum, v)| *sum += v);
    }
    let rest: f64 = fours.remainder().iter().sum();
    ((sums[0] + sums[1]) + (sums[2] + sums[3]) + rest) / middle.len().max(1) as f64
}

pub(super) fn midmean(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    record::sort::ascending(&mut sorted);
    mean_of_middle_half(&sorted)
}

pub(super) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// Robust deviation, 1.4826 MAD; √(π/2) times the mean absolute deviation when
/// more than half of the values are equal, as with a coarse sensor.  `spare` is
/// room to work in.
pub(super) fn robust_deviation(values: &[f64], spare: &mut Vec<f64>) -> f64 {
    let fill = |spare: &mut Vec<f64>, of: &dyn Fn(f64) -> f64| {
        spare.clear();
        spare.reserve_exact(values.len());
        spare.extend(values.iter().map(|v| of(*v)).filter(|v| v.is_finite()));
    };
    fill(spare, &|v| v);
    let Some(centre) = signal::robust::median_in_place(spare) else { return 0.0 };
    fill(spare, &|v| (v - centre).abs());
    let middle = signal::robust::median_in_place(spare).unwrap_or(0.0);
    if middle > 0.0 {
        return 1.482_602_218_505_602 * middle;
    }
    // In the order of the values again, so that the sum is the same.
    fill(spare, &|v| (v - centre).abs());
    (std::f64::consts::PI / 2.0).sqrt() * mean(spare)
}

/// Noise of single samples from the differences of neighbours.
pub(super) fn neighbour_noise(steps: &[f64], spare: &mut Vec<f64>) -> f64 {
    robust_deviation(steps, spare) / std::f64::consts::SQRT_2
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn noise(rows: usize, mut state: u64) -> Vec<f64> {
        let mut uniform = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        (0..rows).map(|_| (0..12).map(|_| uniform()).sum::<f64>() - 6.0).collect()
    }

    #[test]
    fn a_midmean_scatters_1_09_times_as_much_as_a_mean() {
        let x = noise(40_000, 8);
        let squares: f64 = x.chunks(20).map(|c| midmean(c) * midmean(c)).sum();
        let scatter = (squares / 2_000.0).sqrt() * 20f64.sqrt();
        // 2,000 windows know their scatter to 1.6 %.
        assert!((scatter - MIDMEAN).abs() < 0.06, "{scatter}");
    }

    proptest! {
        #[test]
        fn the_sliding_midmean_is_the_midmean_of_every_window(
            x in prop::collection::vec(-100.0f64..100.0, 3..40), window in 3usize..9,
        ) {
            let mut fast = Vec::new();
            sliding_midmean(&|k| x[k], x.len(), window, &mut fast);
            let slow: Vec<f64> = x.windows(window).map(midmean).collect();
            prop_assert_eq!(fast, slow);
        }
    }
}
