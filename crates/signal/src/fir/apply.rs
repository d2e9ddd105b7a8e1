//! Sliding weights along a series with gaps.
//!
//! In: odd symmetric weights and a series.  Out: filtered samples and how many
//! are missing for want of neighbours.

use super::design::{Shape, taps};
use super::{FirError, MOST_TAPS};
use crate::fft::{Complex, Plan, inverse_in_place, quick_length};
use crate::stats::mean;

/// A filtered series.
#[derive(Clone, Debug, PartialEq)]
pub struct Filtered {
    /// Values, NaN where too little was there.
    pub values: Vec<f64>,
    /// Values that are missing.
    pub missing: usize,
}

impl Filtered {
    fn new(values: Vec<f64>) -> Self {
        let missing = values.iter().filter(|v| v.is_nan()).count();
        Self { values, missing }
    }
}

/// Weighted means of the samples around each sample: the weights of missing
/// samples (not finite, or beyond the ends) are shared out over the others
/// where at least `least_share` of all weight is left; elsewhere the result is
/// missing.
///
/// For weights of sum 1, such as a low-pass; the observatories' rule is a
/// share of 0.9 (INTERMAGNET Technical Reference Manual).
pub fn smooth(weights: &[f64], x: &[f64], least_share: f64) -> Filtered {
    let level = mean(x).unwrap_or(0.0);
    let sums = slide(weights, x, level);
    let whole: f64 = weights.iter().sum();
    let value = |(sum, there): (&f64, &f64)| {
        let share = there / whole;
        // Transforms leave rounding of 1e-15 on a share of 1.
        if share >= least_share - 1e-9 && share > 1e-6 { level + sum / share } else { f64::NAN }
    };
    let there = slide_presence(weights, x);
    Filtered::new(sums.iter().zip(&there).map(value).collect())
}

/// Weighted sums where every sample under the weights is there; missing
/// elsewhere, half a filter length at each end included.  For any weights.
pub fn strict(weights: &[f64], x: &[f64]) -> Filtered {
    let half = weights.len() / 2;
    let level = mean(x).unwrap_or(0.0);
    let constant = level * weights.iter().sum::<f64>();
    let mut values: Vec<f64> = slide(weights, x, level).iter().map(|v| v + constant).collect();
    // Places from which a missing sample or an end is too near.
    let (mut gone, mut clear) = (0, 0);
    let edge = |place: i64| usize::try_from(place).ok().filter(|p| *p < x.len());
    for place in 0..(x.len() + half) as i64 {
        let missing = edge(place).is_none_or(|p| !x[p].is_finite());
        gone = if missing { 0 } else { gone + 1 };
        if let Some(centre) = edge(place - half as i64) {
            if gone > 2 * half {
                clear += 1;
            } else {
                values[centre] = f64::NAN;
            }
        }
    }
    Filtered { missing: values.len() - clear, values }
}

/// Every `factor`-th sample after a low-pass that ends at 0.4 to 0.5 of the new
/// rate, 80 dB down beyond, so that nothing faster comes back as something slow.
///
/// The first value kept is that of sample 0.  Gaps and ends as in [`smooth`]
/// with a share of 0.9.
///
/// # Errors
///
/// [`FirError::Factor`] for 0; [`FirError::Transition`] for a factor that
/// would need more than a million weights.
pub fn decimate(x: &[f64], factor: usize) -> Result<Filtered, FirError> {
    if factor == 0 {
        return Err(FirError::Factor);
    }
    if factor == 1 {
        return Ok(Filtered::new(x.to_vec()));
    }
    if factor > MOST_TAPS {
        return Err(FirError::Transition { width_hz: 0.1 / factor as f64, taps: f64::INFINITY });
    }
    let new = 1.0 / factor as f64;
    let weights = taps(Shape::Low(0.45 * new), 0.1 * new, 80.0, 1.0)?;
    let whole = smooth(&weights, x, 0.9).values;
    Ok(Filtered::new(whole.into_iter().step_by(factor).collect()))
}

/// Weighted sums of values less `level`; missing ones and those beyond the
/// ends add nothing.
fn slide(weights: &[f64], x: &[f64], level: f64) -> Vec<f64> {
    let ready: Vec<f64> = x.iter().map(|v| if v.is_finite() { v - level } else { 0.0 }).collect();
    convolve(weights, &ready)
}

/// Weight that falls on samples that are there.
fn slide_presence(weights: &[f64], x: &[f64]) -> Vec<f64> {
    if x.iter().any(|v| !v.is_finite()) {
        let there: Vec<f64> = x.iter().map(|v| f64::from(u8::from(v.is_finite()))).collect();
        return convolve(weights, &there);
    }
    // Only the ends lack anything: running sums of the weights.
    let (n, half) = (x.len(), weights.len() / 2);
    let mut sums = vec![0.0];
    weights.iter().for_each(|w| sums.push(sums[sums.len() - 1] + w));
    let at = |place: usize| {
        let from = half.saturating_sub(place);
        let to = (n + half - place).min(weights.len());
        sums[to] - sums[from]
    };
    (0..n).map(at).collect()
}

/// Weights up to which sums are quicker than transforms.
const SHORT: usize = 96;

fn convolve(weights: &[f64], x: &[f64]) -> Vec<f64> {
    if weights.len() <= SHORT || x.len() <= SHORT {
        convolve_directly(weights, x)
    } else {
        convolve_by_blocks(weights, x)
    }
}

fn convolve_directly(weights: &[f64], x: &[f64]) -> Vec<f64> {
    let half = weights.len() / 2;
    let mut padded = vec![0.0; x.len() + weights.len().max(1) - 1];
    padded[half..half + x.len()].copy_from_slice(x);
    if weights.is_empty() {
        return padded;
    }
    let sum = |part: &[f64]| part.iter().zip(weights).map(|(v, w)| v * w).sum();
    padded.windows(weights.len()).map(sum).collect()
}

/// Overlapped blocks: two blocks a transform, as real and imaginary part.
fn convolve_by_blocks(weights: &[f64], x: &[f64]) -> Vec<f64> {
    let half = weights.len() / 2;
    let size = quick_length(4 * weights.len().max(1024));
    let step = size - (weights.len() - 1);
    let plan = Plan::forward(size);
    let zero = Complex::new(0.0, 0.0);
    let mut kernel = vec![zero; size];
    for (slot, w) in kernel.iter_mut().zip(weights) {
        slot.re = w / size as f64;
    }
    plan.run(&mut kernel);
    let mut out = vec![0.0; x.len()];
    let mut work = vec![zero; size];
    let sample = |place: usize| {
        // The series begins half a filter into the padded one.
        place.checked_sub(half).and_then(|p| x.get(p)).copied().unwrap_or(0.0)
    };
    for start in (0..x.len()).step_by(2 * step) {
        for (place, slot) in work.iter_mut().enumerate() {
            *slot = Complex::new(sample(start + place), sample(start + step + place));
        }
        plan.run(&mut work);
        // Symmetric weights: convolution and correlation are the same.
        work.iter_mut().zip(&kernel).for_each(|(slot, k)| *slot *= k);
        inverse_in_place(&mut work);
        for (place, value) in work[weights.len() - 1..].iter().enumerate() {
            for (target, part) in [(start + place, value.re), (start + step + place, value.im)] {
                if let Some(slot) = out.get_mut(target) {
                    *slot = part;
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn gappy(least: usize) -> impl Strategy<Value = Vec<f64>> {
        prop::collection::vec(
            prop_oneof![19 => 48_000.0..48_010.0f64, 1 => Just(f64::NAN)],
            least..least + 2000,
        )
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]
        #[test]
        fn blocks_and_sums_give_the_same_values(x in gappy(0), half in 1..200usize) {
            let weights: Vec<f64> = (0..=2 * half)
                .map(|k| libm::cos(0.01 * (k as f64 - half as f64)) / (2 * half + 1) as f64)
                .collect();
            let ready: Vec<f64> = x.iter().map(|v| if v.is_nan() { 0.0 } else { v - 48_000.0 }).collect();
            let (slow, fast) = (convolve_directly(&weights, &ready), convolve_by_blocks(&weights, &ready));
            prop_assert_eq!(slow.len(), fast.len());
            for (a, b) in slow.iter().zip(&fast) {
                prop_assert!((a - b).abs() < 1e-11);
            }
        }

        #[test]
        fn values_are_missing_where_too_little_is_there_and_only_there(x in gappy(20), half in 1..9usize) {
            let weights = vec![1.0 / (2 * half + 1) as f64; 2 * half + 1];
            let found = smooth(&weights, &x, 0.9);
            let whole = strict(&weights, &x);
            for place in 0..x.len() {
                let around = &x[place.saturating_sub(half)..(place + half + 1).min(x.len())];
                let there: Vec<f64> = around.iter().copied().filter(|v| v.is_finite()).collect();
                let enough = there.len() as f64 >= 0.9 * (2 * half + 1) as f64;
                prop_assert_eq!(found.values[place].is_nan(), !enough);
                prop_assert_eq!(whole.values[place].is_nan(), there.len() < 2 * half + 1);
                if enough {
                    let expected = there.iter().sum::<f64>() / there.len() as f64;
                    prop_assert!((found.values[place] - expected).abs() < 1e-9);
                }
            }
            prop_assert_eq!(found.missing, found.values.iter().filter(|v| v.is_nan()).count());
            prop_assert_eq!(whole.missing, whole.values.iter().filter(|v| v.is_nan()).count());
        }
    }

    #[test]
    fn thinning_out_keeps_slow_waves_and_drops_fast_ones() {
        let wave = |f: f64, n: usize| -> Vec<f64> {
            (0..n).map(|i| 100.0 + libm::sin(2.0 * std::f64::consts::PI * f * i as f64)).collect()
        };
        let slow = decimate(&wave(0.01, 6000), 10).unwrap();
        let fast = decimate(&wave(0.09, 6000), 10).unwrap();
        for k in 100..500 {
            let expected = 100.0 + libm::sin(2.0 * std::f64::consts::PI * 0.1 * k as f64);
            assert!((slow.values[k] - expected).abs() < 2e-4);
            assert!((fast.values[k] - 100.0).abs() < 2e-4);
        }
        assert_eq!(slow.values.len(), 600);
        assert!(slow.missing > 0 && slow.missing < 40);
        assert_eq!(decimate(&[1.0, f64::NAN], 1).unwrap().missing, 1);
        assert_eq!(decimate(&[1.0], 0), Err(FirError::Factor));
    }
}
