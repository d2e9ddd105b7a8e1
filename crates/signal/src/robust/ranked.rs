//! A short window kept in order while it slides, without a branch on the data.
//!
//! In: values of a whole window, none missing; then one that leaves and one
//! that comes.  Out: median and median distance.  Values are kept as whole
//! numbers that compare as they do, since choosing between two whole numbers
//! costs no wrong guess on any machine; one pass over the window takes the old
//! value out and puts the new one in.

use std::ops::Range;

/// The longest window kept so.
pub(crate) const LONGEST: usize = 33;

/// The values of a window in ascending order.
pub(crate) struct Ranked {
    /// One place more than values, always filled with the greatest number.
    keys: [i64; LONGEST + 1],
    width: usize,
}

impl Ranked {
    fn new(values: &[f64]) -> Self {
        let width = values.len().min(LONGEST);
        let mut keys = [i64::MAX; LONGEST + 1];
        keys.iter_mut().zip(&values[..width]).for_each(|(slot, v)| *slot = key(*v));
        keys[..width].sort_unstable();
        Self { keys, width }
    }

    fn replace(&mut self, gone: f64, comes: f64) {
        let (gone, comes) = (key(gone), key(comes));
        let keys = &mut self.keys[..=self.width];
        let mut before = i64::MIN;
        for place in 0..keys.len() - 1 {
            // The row without the old value ...
            let rest = if keys[place] >= gone { keys[place + 1] } else { keys[place] };
            // ... and the new one held between its neighbours there.
            keys[place] = before.max(rest.min(comes));
            before = rest;
        }
    }

    /// The median.
    pub(crate) fn median(&self) -> f64 {
        value(self.keys[self.width / 2])
    }

    /// The median distance of the values from their median.
    ///
    /// Distances below and above the median are two ascending rows L and R; the
    /// half-th least of both, and so the median with the 0 of the median itself,
    /// is the least over i of the larger of L_i and R_(half - i).
    pub(crate) fn median_distance(&self) -> f64 {
        let half = self.width / 2;
        let middle = value(self.keys[half]);
        // Distances are not negative, so that their bits are in their order.
        let mut least = u64::MAX;
        for (below, above) in self.keys[..=half].iter().zip(&self.keys[half..self.width]) {
            let (l, r) = (middle - value(*below), value(*above) - middle);
            least = least.min(l.to_bits().max(r.to_bits()));
        }
        f64::from_bits(least)
    }
}

/// A whole number for a value: of two values the greater has the greater one.
fn key(value: f64) -> i64 {
    turned(value.to_bits().cast_signed())
}

fn value(key: i64) -> f64 {
    f64::from_bits(turned(key).cast_unsigned())
}

// Of negative numbers all bits but the sign change over; its own inverse.
fn turned(bits: i64) -> i64 {
    bits ^ ((bits >> 63).cast_unsigned() >> 1).cast_signed()
}

/// Slides over the samples of a range, whose windows of `half_width` on each
/// side are whole and miss nothing.
pub(crate) fn slide(
    x: &[f64],
    half_width: usize,
    range: Range<usize>,
    mut visit: impl FnMut(usize, &Ranked),
) {
    let span = &x[range.start - half_width..range.end + half_width];
    let width = 2 * half_width + 1;
    let mut window = Ranked::new(&span[..width]);
    visit(range.start, &window);
    for (step, (gone, comes)) in span.iter().zip(&span[width..]).enumerate() {
        window.replace(*gone, *comes);
        visit(range.start + step + 1, &window);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_numbers_are_in_the_order_of_their_values_and_give_them_back() {
        let row = [f64::MIN, -2.5, -1e-300, -0.0, 0.0, 1e-310, 1.0, 1.5, f64::MAX];
        assert!(row.windows(2).all(|w| key(w[0]) < key(w[1])));
        assert!(row.iter().all(|v| value(key(*v)).to_bits() == v.to_bits()));
    }
}
