//! Figures of a column: range, levels, saturation, stuck values.
//!
//! NaN values are counted as missing and left out of everything else.

/// Figures of one column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stats {
    /// Values that are not NaN.
    pub values: usize,
    /// NaN values.
    pub missing: usize,
    /// Smallest value; NaN without values.
    pub minimum: f64,
    /// Largest value; NaN without values.
    pub maximum: f64,
    /// Step between levels, when the values stand on levels.
    pub quantum: Option<f64>,
    /// Longest run of one value.
    pub stuck_longest: usize,
}

/// The figures of a column.
pub(crate) fn of(column: &[f64]) -> Stats {
    let (mut minimum, mut maximum, mut missing) = (f64::INFINITY, f64::NEG_INFINITY, 0usize);
    let (mut run, mut stuck_longest, mut last) = (0usize, 0usize, f64::NAN);
    for value in column {
        if *value == last {
            run += 1;
            continue;
        }
        if value.is_nan() {
            missing += 1;
            continue;
        }
        minimum = if *value < minimum { *value } else { minimum };
        maximum = if *value > maximum { *value } else { maximum };
        stuck_longest = stuck_longest.max(run);
        run = 1;
        last = *value;
    }
    let values = column.len() - missing;
    if values == 0 {
        (minimum, maximum) = (f64::NAN, f64::NAN);
    }
    let stuck_longest = stuck_longest.max(run);
    Stats { values, missing, minimum, maximum, quantum: quantum(column), stuck_longest }
}

/// Steps looked at to find the levels.
const LOOKED_AT: usize = 20_000;

/// The step between neighbouring levels, when nearly all differences between
/// successive values are whole numbers of it and small ones: within 2 %, or
/// within the last digit written where that is coarser, as for levels 13.33 apart
/// that are written as 13, 27 and 40.
pub(crate) fn quantum(column: &[f64]) -> Option<f64> {
    let steps = sizes_of_steps(column);
    if steps.len() < 8 {
        return None;
    }
    let least = steps.iter().copied().fold(f64::INFINITY, f64::min);
    // Small ones first; of the others only the number counts.
    let mut few: Vec<f64> = steps.iter().copied().filter(|s| *s < 9.0 * least).collect();
    record::sort::ascending(&mut few);
    let near: Vec<f64> = few.iter().copied().take_while(|s| *s < 1.5 * least).collect();
    let first = near.iter().sum::<f64>() / near.len() as f64;
    let step = mean_step(&few, first);
    // Two values are each written to half a digit.
    let digit = last_digit(&near, least).filter(|digit| *digit < step / 8.0).unwrap_or(0.0);
    let close = (digit * 1.001).max(0.02 * step);
    // Far differences add up the error of the step: only near ones can tell.
    let told: Vec<f64> = steps.iter().copied().filter(|s| *s < 50.0 * step).collect();
    let whole = told.iter().filter(|s| (**s - (**s / step).round() * step).abs() < close).count();
    (told.len() * 2 >= steps.len() && whole * 100 >= told.len() * 98).then_some(step)
}

// The sizes of the changes from value to value.
fn sizes_of_steps(column: &[f64]) -> Vec<f64> {
    let mut steps: Vec<f64> = Vec::new();
    let mut last = f64::NAN;
    let mut size = 0.0f64;
    for value in column.iter().filter(|v| !v.is_nan()).take(LOOKED_AT) {
        size = size.max(value.abs());
        let step = (value - last).abs();
        // Differences of decimals carry rounding of a few units in the last place.
        if step > size * 1e-12 {
            steps.push(step);
        }
        last = *value;
    }
    steps
}

// The step that changes of up to five levels have in common; `first` is less than
// 1.5 times the least of them.
fn mean_step(steps: &[f64], first: f64) -> f64 {
    let (mut sum, mut levels) = (0.0, 0.0);
    for step in steps.iter().take_while(|s| **s < 5.5 * first) {
        sum += step;
        levels += (step / first).round().max(1.0);
    }
    if levels > 0.0 { sum / levels } else { first }
}

// The least difference between two sizes of one step: one in the last digit.
fn last_digit(near: &[f64], least: f64) -> Option<f64> {
    let apart = near.windows(2).map(|w| w[1] - w[0]).filter(|d| *d > 1e-6 * least);
    apart.min_by(f64::total_cmp)
}

/// Codes by which field sensors say "too large", with the output registers
/// they come from.  From memory of the makers' data sheets: 12- and 16-bit
/// magnetoresistive and Hall sensors.
const TOO_LARGE: [f64; 9] =
    [-4096.0, -16384.0, -32768.0, 32767.0, -32767.0, 8191.0, -8192.0, 2047.0, -2048.0];

/// Samples at a sensor's code for "too large", or piled up at an end of the
/// range; raw values.
pub(crate) fn saturated(column: &[f64], stats: &Stats, raw_counts: bool) -> usize {
    let (mut least, mut most) = (0usize, 0usize);
    for value in column {
        least += usize::from(*value == stats.minimum);
        most += usize::from(*value == stats.maximum);
    }
    let mut total = 0;
    for (value, n) in [(stats.minimum, least), (stats.maximum, most)] {
        let coded = raw_counts && TOO_LARGE.contains(&value);
        if (coded && n > 0) || (n >= 20 && piled(column, value, n, stats)) {
            total += n;
        }
    }
    if stats.minimum == stats.maximum { 0 } else { total }
}

// More values stand at the end than in the whole twentieth of the range next
// to it: the signal was cut there.
fn piled(column: &[f64], end: f64, n: usize, stats: &Stats) -> bool {
    let range = stats.maximum - stats.minimum;
    let next = column.iter().filter(|v| **v != end && (**v - end).abs() < range / 20.0).count();
    n > 2 * next.max(1) && longest_run(column, end) >= 5 && levels(column) > 20
}

fn longest_run(column: &[f64], value: f64) -> usize {
    column
        .chunk_by(|a, b| a == b)
        .filter(|run| run[0] == value)
        .map(<[f64]>::len)
        .max()
        .unwrap_or(0)
}

// Different values among the first 20,000, counted to a hundred.
fn levels(column: &[f64]) -> usize {
    let mut seen: Vec<f64> = Vec::new();
    for value in column.iter().filter(|v| !v.is_nan()).take(LOOKED_AT) {
        if seen.len() < 100 && !seen.contains(value) {
            seen.push(*value);
        }
    }
    seen.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_on_levels_show_their_step() {
        let column: Vec<f64> = (0..200).map(|k| f64::from((k * 7919) % 11) / 1090.0).collect();
        assert!((quantum(&column).unwrap() - 1.0 / 1090.0).abs() < 1e-9);
        let smooth: Vec<f64> = (0..200).map(|k| libm::sin(f64::from(k) * 0.7)).collect();
        assert_eq!(quantum(&smooth), None);
    }

    #[test]
    fn levels_that_were_rounded_when_written_show_their_step() {
        // 75 counts a microtesla, written with three decimals of a microtesla.
        let written = |k: i32| (f64::from((k * 7919) % 11) / 75.0 * 1e3).round();
        let column: Vec<f64> = (0..2000).map(|k| 20_000.0 + written(k)).collect();
        let step = quantum(&column).unwrap();
        assert!((step - 1e3 / 75.0).abs() < 0.05, "{step}");
        let noise = |k: i32| f64::from((k.wrapping_mul(7919) % 1009) % 97) * 0.7;
        let plain: Vec<f64> = (0..2000).map(|k| (20_000.0 + noise(k)).round()).collect();
        assert!(quantum(&plain).is_none_or(|step| (step - 1.0).abs() < 0.05));
    }

    #[test]
    fn a_clipped_sine_is_saturated_and_a_whole_one_is_not() {
        let wave = |cut: f64| {
            (0..2000)
                .map(|k| (100.0 * libm::sin(f64::from(k) * 0.01)).clamp(-cut, cut))
                .collect::<Vec<_>>()
        };
        let clipped = wave(70.0);
        assert!(saturated(&clipped, &of(&clipped), false) > 500);
        let whole = wave(200.0);
        assert_eq!(saturated(&whole, &of(&whole), false), 0);
    }

    #[test]
    fn overflow_codes_count_in_raw_columns_alone() {
        let mut column: Vec<f64> = (0..100).map(f64::from).collect();
        column[50] = -4096.0;
        assert_eq!(saturated(&column, &of(&column), true), 1);
        assert_eq!(saturated(&column, &of(&column), false), 0);
    }

    #[test]
    fn missing_values_do_not_break_a_stuck_run() {
        let column = [1.0, 2.0, 2.0, f64::NAN, 2.0, 3.0];
        let stats = of(&column);
        assert_eq!((stats.stuck_longest, stats.missing, stats.values), (3, 1, 5));
    }
}
