//! A window kept in order while it slides.
//!
//! In: values that come and go; missing ones (not finite) are not taken in.
//! Out: median, and median distance from a place.  Serves any width, and the
//! ends and gaps that a window of one length cannot.

use super::quantile::midpoint;

/// Values in ascending order.
#[derive(Default)]
pub(crate) struct Sorted(Vec<f64>);

impl Sorted {
    /// Takes a value in, unless it is missing.
    pub(crate) fn add(&mut self, value: f64) {
        if value.is_finite() {
            let place = self.0.partition_point(|v| *v < value);
            self.0.insert(place, value);
        }
    }

    /// Takes one such value out, unless it is missing.
    pub(crate) fn drop(&mut self, value: f64) {
        if value.is_finite() {
            let place = self.0.partition_point(|v| *v < value);
            if place < self.0.len() {
                self.0.remove(place);
            }
        }
    }

    /// Number of values.
    pub(crate) fn len(&self) -> usize {
        self.0.len()
    }

    /// The value at a place of the order.
    pub(crate) fn at(&self, place: usize) -> f64 {
        self.0[place]
    }

    /// The median, NaN when empty.
    pub(crate) fn median(&self) -> f64 {
        let n = self.0.len();
        match n {
            0 => f64::NAN,
            _ if n % 2 == 1 => self.0[n / 2],
            _ => midpoint(self.0[n / 2 - 1], self.0[n / 2]),
        }
    }

    /// The median distance of the values from `centre`, NaN when empty.
    pub(crate) fn median_distance(&self, centre: f64) -> f64 {
        let n = self.0.len();
        match n {
            0 => f64::NAN,
            _ if n % 2 == 1 => self.distance(centre, n / 2),
            _ => midpoint(self.distance(centre, n / 2 - 1), self.distance(centre, n / 2)),
        }
    }

    /// The distance from `centre` that `rank` of the values are nearer than.
    ///
    /// Values below the centre, read backwards, and values above it are two
    /// ascending rows of distances; halving finds how many to take of each.
    fn distance(&self, centre: f64, rank: usize) -> f64 {
        let split = self.0.partition_point(|v| *v < centre);
        let below = |i: usize| centre - self.0[split - 1 - i];
        let above = |i: usize| self.0[split + i] - centre;
        let n_above = self.0.len() - split;
        let (mut low, mut high) = ((rank + 1).saturating_sub(n_above), split.min(rank + 1));
        while low < high {
            let i = low.midpoint(high);
            if below(i) < above(rank - i) { low = i + 1 } else { high = i }
        }
        let from_below = if low > 0 { below(low - 1) } else { 0.0 };
        let from_above = if low <= rank { above(rank - low) } else { 0.0 };
        from_below.max(from_above)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::robust::median;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_sorted_window_knows_median_and_median_distance(
            x in prop::collection::vec((-9..9i32).prop_map(f64::from), 1..30)
        ) {
            let mut window = Sorted::default();
            window.add(1e9);
            x.iter().for_each(|v| window.add(*v));
            window.drop(1e9);
            window.drop(f64::NAN);
            let centre = window.median();
            let distances: Vec<f64> = x.iter().map(|v| (v - centre).abs()).collect();
            prop_assert_eq!(centre, median(&x).unwrap());
            prop_assert_eq!(window.median_distance(centre), median(&distances).unwrap());
        }
    }
}
