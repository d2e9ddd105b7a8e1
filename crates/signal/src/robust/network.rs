//! Many short windows put in order at once, by a sorting network.
//!
//! In: the samples under a row of neighbouring windows, none missing.  Out:
//! the median of each, or all of each in order.  A network compares in a fixed order whatever the
//! values, so several windows go through it side by side, and wrong guesses
//! of a branch cost nothing.
//!
//! # Source
//!
//! K. E. Batcher's merge exchange for any number of values: D. E. Knuth, The
//! Art of Computer Programming 3 (1998), 5.2.2, algorithm M; comparisons that
//! cannot reach the middle are left out.

/// Windows that go through side by side.
pub(crate) const LANES: usize = 8;

/// The longest window a network is made for.
pub(crate) const LONGEST: usize = 33;

/// One value of each of the windows side by side.
pub(crate) type Lane = [f64; LANES];

/// Comparisons that put an odd number of values in order.
pub(crate) struct Network {
    width: usize,
    pairs: Vec<(u8, u8)>,
}

impl Network {
    /// For the median alone of an odd width of at most [`LONGEST`].
    pub(crate) fn for_median(width: usize) -> Self {
        let width = width.min(LONGEST);
        Self { width, pairs: reaching(width / 2, &merge_exchange(width)) }
    }

    /// For the whole order.
    pub(crate) fn for_order(width: usize) -> Self {
        let width = width.min(LONGEST);
        Self { width, pairs: merge_exchange(width) }
    }

    /// Runs the comparisons on each lane of the first `width` rows and gives
    /// the middle row.
    pub(crate) fn median(&self, rows: &mut [Lane; LONGEST]) -> Lane {
        for (low, high) in &self.pairs {
            let (a, b) = (rows[usize::from(*low)], rows[usize::from(*high)]);
            let (mut small, mut large) = ([0.0; LANES], [0.0; LANES]);
            for lane in 0..LANES {
                let less = a[lane] < b[lane];
                small[lane] = if less { a[lane] } else { b[lane] };
                large[lane] = if less { b[lane] } else { a[lane] };
            }
            rows[usize::from(*low)] = small;
            rows[usize::from(*high)] = large;
        }
        rows[self.width / 2]
    }
}

/// The median distance of each lane's values from its median; the first
/// 2 `half` + 1 rows are in order.
///
/// Distances below and above the median are two ascending rows L and R; the
/// half-th least of both, and so the median with the 0 of the median itself, is
/// the least over i of the larger of L_i and R_(half - i).
pub(crate) fn median_distance(rows: &[Lane; LONGEST], half: usize) -> Lane {
    let middle = rows[half];
    let mut least = [f64::INFINITY; LANES];
    for i in 0..=half {
        let (below, above) = (&rows[half - i], &rows[half + (half - i)]);
        for lane in 0..LANES {
            let (l, r) = (middle[lane] - below[lane], above[lane] - middle[lane]);
            let larger = if l < r { r } else { l };
            least[lane] = if larger < least[lane] { larger } else { least[lane] };
        }
    }
    least
}

fn merge_exchange(n: usize) -> Vec<(u8, u8)> {
    let mut pairs = Vec::new();
    let top = n.next_power_of_two() / 2;
    let mut p = top;
    while p > 0 {
        let (mut q, mut r, mut d) = (top, 0, p);
        loop {
            let places = (0..n - d).filter(|i| i & p == r);
            pairs.extend(places.map(|i| (i as u8, (i + d) as u8)));
            if q == p {
                break;
            }
            d = q - p;
            q /= 2;
            r = p;
        }
        p /= 2;
    }
    pairs
}

/// The comparisons on which the value at `place` depends.
fn reaching(place: usize, pairs: &[(u8, u8)]) -> Vec<(u8, u8)> {
    let mut needed = [false; LONGEST];
    needed[place] = true;
    let mut kept = Vec::new();
    for &(low, high) in pairs.iter().rev() {
        let (a, b) = (usize::from(low), usize::from(high));
        if needed[a] || needed[b] {
            needed[a] = true;
            needed[b] = true;
            kept.push((low, high));
        }
    }
    kept.reverse();
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    // A network that sorts every row of zeros and ones sorts everything
    // (Knuth, theorem Z), and the median needs only the middle.
    #[test]
    fn every_row_of_zeros_and_ones_has_its_middle_in_place() {
        for width in [1, 3, 5, 7, 9, 11, 13] {
            let (network, order) = (Network::for_median(width), Network::for_order(width));
            for bits in 0..1_u32 << width {
                let mut rows = [[0.0; LANES]; LONGEST];
                for (place, row) in rows.iter_mut().enumerate().take(width) {
                    *row = [f64::from(bits >> place & 1); LANES];
                }
                let expected = f64::from(u8::from(bits.count_ones() as usize > width / 2));
                let mut ordered = rows;
                assert_eq!(network.median(&mut rows), [expected; LANES], "{width} {bits}");
                order.median(&mut ordered);
                assert!(ordered[..width].windows(2).all(|w| w[0] <= w[1]), "{width} {bits}");
            }
        }
    }
}
