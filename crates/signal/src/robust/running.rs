//! The running median and running quantiles of an evenly spaced series.
//!
//! In: a slice and half the width of a window.  Out: one value a sample.  The
//! window is cut short at the ends; missing values (not finite) are skipped,
//! and a window with nothing in it gives NaN.

use super::ranked::{self, LONGEST};
use super::sorted::Sorted;
use std::ops::Range;

/// The median of the `2 half_width + 1` samples around each sample.
///
/// The window is cut short at the ends, missing values are skipped, an even
/// number of values gives the mean of the middle two, none gives NaN.
///
/// ```
/// let x = [1.0, 9.0, 2.0, 3.0, 100.0, 4.0, 5.0];
/// assert_eq!(signal::robust::running_median(&x, 1)[1..6], [2.0, 3.0, 3.0, 4.0, 5.0]);
/// ```
pub fn running_median(x: &[f64], half_width: usize) -> Vec<f64> {
    let mut out = vec![f64::NAN; x.len()];
    pieces(x, half_width, |piece| match piece {
        Piece::Whole(range) => ranked::slide(x, half_width, range, |place, window| {
            out[place] = window.median();
        }),
        Piece::Slow(range) => slide(x, half_width, range, |place, window| {
            out[place] = window.median();
        }),
    });
    out
}

/// The quantile `p` of the `2 half_width + 1` samples around each sample,
/// interpolated as in [`super::quantile()`]; ends and missing values as in
/// [`running_median`].  A `p` outside 0 to 1 gives NaN everywhere.
pub fn running_quantile(x: &[f64], half_width: usize, p: f64) -> Vec<f64> {
    let mut out = vec![f64::NAN; x.len()];
    if (0.0..=1.0).contains(&p) {
        slide(x, half_width, 0..x.len(), |place, window| out[place] = at_fraction(window, p));
    }
    out
}

fn at_fraction(window: &Sorted, p: f64) -> f64 {
    if window.len() == 0 {
        return f64::NAN;
    }
    let place = (window.len() - 1) as f64 * p;
    let low = place as usize;
    let rest = place - low as f64;
    let at = window.at(low);
    if rest > 0.0 { at + rest * (window.at(low + 1) - at) } else { at }
}

/// Part of a series, by how its windows can be worked on.
pub(super) enum Piece {
    /// Samples whose windows are short, whole and miss nothing.
    Whole(Range<usize>),
    /// Samples near an end or a missing value, or with wide windows.
    Slow(Range<usize>),
}

/// Cuts a series into pieces, in order.
pub(super) fn pieces(x: &[f64], half_width: usize, mut visit: impl FnMut(Piece)) {
    let width = half_width.saturating_mul(2).saturating_add(1);
    let (mut slow, mut start) = (0, 0);
    for stretch in x.chunk_by(|a, b| a.is_finite() && b.is_finite()) {
        let end = start + stretch.len();
        if width <= LONGEST && stretch.len() >= width && stretch[0].is_finite() {
            let whole = start + half_width..end - half_width;
            if slow < whole.start {
                visit(Piece::Slow(slow..whole.start));
            }
            slow = whole.end;
            visit(Piece::Whole(whole));
        }
        start = end;
    }
    if slow < x.len() {
        visit(Piece::Slow(slow..x.len()));
    }
}

/// Slides a sorted window over a range of samples.
pub(super) fn slide(
    x: &[f64],
    half_width: usize,
    range: Range<usize>,
    mut visit: impl FnMut(usize, &Sorted),
) {
    let half_width = half_width.min(x.len());
    let mut window = Sorted::default();
    let end = range.start.saturating_add(half_width).saturating_add(1).min(x.len());
    x[range.start.saturating_sub(half_width)..end].iter().for_each(|value| window.add(*value));
    for place in range.clone() {
        if place > range.start {
            let (leaves, comes) = (place.checked_sub(half_width + 1), place + half_width);
            leaves.iter().for_each(|gone| window.drop(x[*gone]));
            x.get(comes).iter().for_each(|value| window.add(**value));
        }
        visit(place, &window);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::robust::{median, quantile};
    use proptest::prelude::*;

    fn around(x: &[f64], place: usize, half_width: usize) -> &[f64] {
        &x[place.saturating_sub(half_width)..(place + half_width + 1).min(x.len())]
    }

    fn gappy() -> impl Strategy<Value = Vec<f64>> {
        let value = prop_oneof![
            12 => (-50..50i32).prop_map(f64::from),
            1 => Just(f64::NAN),
            1 => Just(f64::INFINITY),
        ];
        prop::collection::vec(value, 0..120)
    }

    proptest! {
        #[test]
        fn each_running_median_is_the_median_of_its_own_window(x in gappy(), k in 0..24usize) {
            for (place, found) in running_median(&x, k).into_iter().enumerate() {
                let expected = median(around(&x, place, k)).unwrap_or(f64::NAN);
                prop_assert!(found == expected || found.is_nan() && expected.is_nan());
            }
        }

        #[test]
        fn each_running_quantile_is_that_of_its_own_window(x in gappy(), k in 0..24usize) {
            for (place, found) in running_quantile(&x, k, 0.3).into_iter().enumerate() {
                let expected = quantile(around(&x, place, k), 0.3).unwrap_or(f64::NAN);
                prop_assert!((found - expected).abs() < 1e-12 || found.is_nan() && expected.is_nan());
            }
        }
    }

    #[test]
    fn a_window_wider_than_the_series_gives_one_median_throughout() {
        assert_eq!(running_median(&[3.0, 1.0, 2.0], usize::MAX), [2.0; 3]);
    }
}
