//! Sorting with one copy of the library's sort for every kind of thing.
//!
//! A generic sort is compiled anew for every type and every order it is called
//! with, some kilobytes each; the page is downloaded, and few of its lists are
//! long.  Here places are sorted, through one function, and the things follow.

use std::cmp::Ordering;

/// Sorts numbers, smallest first; NaN stands after infinity.
pub fn ascending(values: &mut [f64]) {
    values.sort_by(f64::total_cmp);
}

/// Sorts by an order; equals stay in theirs.
pub fn by<T>(items: &mut Vec<T>, mut order: impl FnMut(&T, &T) -> Ordering) {
    let places = places(items.len(), &mut |a, b| order(&items[a], &items[b]));
    let mut slots: Vec<Option<T>> = std::mem::take(items).into_iter().map(Some).collect();
    items.extend(places.into_iter().filter_map(|place| slots[place].take()));
}

/// The places 0 to `n` − 1 in the order that `order` gives them; equals stay in
/// theirs.
pub fn places(n: usize, order: &mut dyn FnMut(usize, usize) -> Ordering) -> Vec<usize> {
    let mut places: Vec<usize> = (0..n).collect();
    places.sort_by(|a, b| order(*a, *b));
    places
}

/// The value that would stand at place `k` if all were sorted.  Smaller ones, and
/// equals, are brought before it and larger ones behind; NaN counts as larger than
/// any number.
///
/// On average in linear time, whatever order the values come in.
///
/// # Panics
/// When there is no place `k`.
pub fn nth(values: &mut [f64], k: usize) -> f64 {
    select(values, k, &|a, b| a.total_cmp(&b).is_lt())
}

/// [`nth`] of whole numbers.
///
/// # Panics
/// When there is no place `k`.
pub fn nth_whole(values: &mut [i64], k: usize) -> i64 {
    select(values, k, &|a, b| a < b)
}

// Hoare's selection.  The library's has five algorithms within, compiled anew for
// every order; and of the form that it takes when built for size, ten thousand
// rounded values make a second's work.
fn select<T: Copy>(values: &mut [T], k: usize, less: &impl Fn(T, T) -> bool) -> T {
    let (mut low, mut high) = (0, values.len());
    // Pivots from a fixed sequence: no order of values is slow but by chance.
    let mut state = 0x9e37_79b9_u32;
    while high - low > 1 {
        let width = (high - low) as u64;
        let mut any = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            values[low + ((u64::from(state) * width) >> 32) as usize]
        };
        let pivot = middle_of([any(), any(), any()], less);
        // Before `i` none is larger than the pivot, from `j` on none smaller; each
        // scan ends at the latest where the other began.
        let (mut i, mut j) = (low, high);
        while i < j {
            while less(values[i], pivot) {
                i += 1;
            }
            while less(pivot, values[j - 1]) {
                j -= 1;
            }
            if i < j {
                values.swap(i, j - 1);
                i += 1;
                j -= 1;
            }
        }
        if k < j {
            high = j;
        } else if k >= i {
            low = i;
        } else {
            break;
        }
    }
    values[k]
}

fn middle_of<T: Copy>([a, b, c]: [T; 3], less: &impl Fn(T, T) -> bool) -> T {
    let (low, high) = if less(b, a) { (b, a) } else { (a, b) };
    if less(c, low) {
        low
    } else if less(high, c) {
        high
    } else {
        c
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn things_follow_their_places_and_equals_stay() {
        let mut words = vec!["cc", "a", "bb", "d", "aaa"];
        by(&mut words, |a, b| a.len().cmp(&b.len()));
        assert_eq!(words, ["a", "d", "cc", "bb", "aaa"]);
        by(&mut words, |a, b| b.cmp(a));
        assert_eq!(words, ["d", "cc", "bb", "aaa", "a"]);
    }

    #[test]
    fn the_kth_stands_where_sorting_would_put_it() {
        let mut state = 1_u64;
        for n in 1..200_usize {
            for kinds in [1, 2, 7, 1_000_000_000] {
                let values: Vec<f64> = (0..n)
                    .map(|_| {
                        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                        ((state >> 33) % kinds) as f64 - 3.0
                    })
                    .collect();
                let mut sorted = values.clone();
                ascending(&mut sorted);
                for k in [0, n / 20, n / 2, n - 1] {
                    let mut mixed = values.clone();
                    assert_eq!(nth(&mut mixed, k), sorted[k]);
                    assert_eq!(mixed[k], sorted[k]);
                    assert!(mixed[..k].iter().all(|v| *v <= sorted[k]));
                    assert!(mixed[k..].iter().all(|v| *v >= sorted[k]));
                    let mut whole: Vec<i64> = values.iter().map(|v| *v as i64).collect();
                    assert_eq!(nth_whole(&mut whole, k), sorted[k] as i64);
                }
            }
        }
        let mut some = [f64::NAN, 1.0, f64::NEG_INFINITY];
        assert_eq!(nth(&mut some, 1), 1.0);
        assert!(nth(&mut some, 2).is_nan());
    }

    #[test]
    fn numbers_rise_and_what_is_none_stands_last() {
        let mut values = [2.0, f64::NAN, -1.0, f64::INFINITY];
        ascending(&mut values);
        assert_eq!(values[..3], [-1.0, 2.0, f64::INFINITY]);
        assert!(values[3].is_nan());
    }
}
