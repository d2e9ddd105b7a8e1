//! The Hampel identifier: which samples stand too far from the median of
//! their neighbours.
//!
//! In: an evenly spaced series.  Out: the median and robust spread around
//! every sample, and whether it is a spike.  Replaces nothing: the caller
//! marks what it is told.

use super::MAD_TO_SIGMA;
use super::ranked;
use super::running::{Piece, pieces, slide};

/// What surrounds each sample, and which stand out.
#[derive(Clone, Debug, PartialEq)]
pub struct Hampel {
    /// Median of the window around each sample; NaN when nothing is there.
    pub median: Vec<f64>,
    /// 1.4826 median absolute deviations of the same window about that median,
    /// not less than the floor; NaN when nothing is there.
    pub spread: Vec<f64>,
    /// Whether the sample is further from the median than the threshold allows.
    pub spike: Vec<bool>,
}

impl Hampel {
    /// Number of spikes.
    pub fn spikes(&self) -> usize {
        self.spike.iter().filter(|spike| **spike).count()
    }
}

/// Finds the samples further than `threshold` robust deviations from the
/// median of the `2 half_width + 1` samples around them, themselves included.
///
/// # Arguments and units
///
/// * `x` - evenly spaced, any unit; missing values (not finite) are skipped
///   and are never spikes
/// * `half_width` - neighbours on each side; the window is cut short at the ends
/// * `threshold` - robust deviations, 3 is usual, 5 is careful
/// * `floor` - least spread, in the unit of `x`: half the step of the digitiser
///   keeps a still sensor from being all spikes
///
/// The deviations are those of the window about its own median (not the
/// running median of deviations, which is another quantity).
///
/// # Source
///
/// F. R. Hampel, J. Am. Stat. Assoc. 69 (1974) 383; R. K. Pearson, IEEE Trans.
/// Control Syst. Technol. 10 (2002) 55.
///
/// # Example
///
/// ```
/// let x = [10.0, 11.0, 9.0, 60.0, 10.0, 12.0, 11.0];
/// let found = signal::robust::hampel(&x, 3, 3.0, 0.0);
/// assert!(found.spike[3]);
/// assert_eq!(found.median[3], 11.0);
/// ```
pub fn hampel(x: &[f64], half_width: usize, threshold: f64, floor: f64) -> Hampel {
    let n = x.len();
    let (mut median, mut spread) = (vec![f64::NAN; n], vec![f64::NAN; n]);
    pieces(x, half_width, |piece| match piece {
        Piece::Whole(range) => ranked::slide(x, half_width, range, |place, window| {
            median[place] = window.median();
            spread[place] = window.median_distance();
        }),
        Piece::Slow(range) => slide(x, half_width, range, |place, window| {
            median[place] = window.median();
            spread[place] = window.median_distance(median[place]);
        }),
    });
    let spike = judge(x, &median, &mut spread, threshold, floor);
    Hampel { median, spread, spike }
}

/// Scales deviations to spreads and compares.
fn judge(x: &[f64], median: &[f64], spread: &mut [f64], threshold: f64, floor: f64) -> Vec<bool> {
    let around = median.iter().zip(spread);
    x.iter()
        .zip(around)
        .map(|(value, (middle, spread))| {
            let scaled = *spread * MAD_TO_SIGMA;
            *spread = if scaled < floor { floor } else { scaled };
            value.is_finite() && (value - middle).abs() > threshold * *spread
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::robust::{mad, median};
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn fast_and_plain_identifiers_agree_to_the_last_bit(
            x in prop::collection::vec(
                prop_oneof![9 => -50.0..50.0f64, 3 => Just(1.0), 1 => Just(f64::NAN)], 0..150),
            k in 0..20usize,
        ) {
            let found = hampel(&x, k, 3.0, 0.1);
            for place in 0..x.len() {
                let window = &x[place.saturating_sub(k)..(place + k + 1).min(x.len())];
                let Some(middle) = median(window) else {
                    prop_assert!(found.median[place].is_nan() && !found.spike[place]);
                    continue;
                };
                let spread = (mad(window).unwrap() * MAD_TO_SIGMA).max(0.1);
                prop_assert_eq!(found.median[place], middle);
                prop_assert_eq!(found.spread[place], spread);
                prop_assert_eq!(found.spike[place], (x[place] - middle).abs() > 3.0 * spread);
            }
        }
    }

    #[test]
    fn a_flat_stretch_is_not_all_spikes_when_the_floor_is_half_a_step() {
        let mut x = [100.0; 50];
        x[20] = 101.0;
        assert_eq!(hampel(&x, 5, 3.0, 0.0).spikes(), 1);
        assert_eq!(hampel(&x, 5, 3.0, 0.5).spikes(), 0);
    }

    #[test]
    fn a_missing_sample_is_not_a_spike_but_has_a_median_around_it() {
        let x = [1.0, 2.0, f64::NAN, 3.0, 4.0];
        let found = hampel(&x, 2, 3.0, 0.0);
        assert!(!found.spike[2]);
        assert_eq!(found.median[2], 2.5);
    }
}
