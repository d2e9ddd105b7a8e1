//! Sorting with one copy of the library's sort for every kind of thing.
//!
//! A generic sort is compiled anew for every type and every order it is called
//! with, some kilobytes each; the page is downloaded, and few of its lists are
//! long.  Here places are sorted, through one function, and the things follow.

use std::cmp::Ordering;

/// Sorts numbers, smallest first; NaN stands after infinity.
///
/// Many by their bits, eight at a time from the last to the first.
pub fn ascending(values: &mut [f64]) {
    const FEW: usize = 48;
    if values.len() <= FEW {
        return one_by_one(values);
    }
    let mut counts = vec![[0_usize; 256]; 8];
    for value in values.iter() {
        let bits = ordered(*value);
        counts.iter_mut().enumerate().for_each(|(k, count)| count[eighth(bits, k)] += 1);
    }
    let mut spare = values.to_vec();
    let (mut from, mut to) = (&mut *values, spare.as_mut_slice());
    let mut turned = false;
    for (k, count) in counts.iter_mut().enumerate() {
        if count.contains(&from.len()) {
            continue;
        }
        let mut place = 0;
        for n in count.iter_mut() {
            place += std::mem::replace(n, place);
        }
        for value in from.iter() {
            let next = &mut count[eighth(ordered(*value), k)];
            to[*next] = *value;
            *next += 1;
        }
        std::mem::swap(&mut from, &mut to);
        turned = !turned;
    }
    if turned {
        to.copy_from_slice(from);
    }
}

fn one_by_one(values: &mut [f64]) {
    for end in 1..values.len() {
        let value = values[end];
        let mut place = end;
        while place > 0 && ordered(value) < ordered(values[place - 1]) {
            values[place] = values[place - 1];
            place -= 1;
        }
        values[place] = value;
    }
}

/// Whole numbers in the order of [`f64::total_cmp`], at two steps a number.
#[inline(always)]
#[must_use]
pub fn ordered(value: f64) -> u64 {
    let bits = value.to_bits();
    bits ^ if bits >> 63 == 1 { u64::MAX } else { 1 << 63 }
}

#[inline(always)]
fn eighth(bits: u64, k: usize) -> usize {
    (bits >> (8 * k)) as usize & 0xFF
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
    select(values, k, &|a, b| ordered(a) < ordered(b))
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
    fn numbers_few_and_many_come_in_the_library_s_order() {
        let mut state = 9_u64;
        for n in [0, 1, 2, 47, 48, 49, 200, 3_000] {
            let mut any = || {
                state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                f64::from_bits(if state.is_multiple_of(3) {
                    state
                } else {
                    state & 0xFFFF_0000_0000_0000
                })
            };
            let mut values: Vec<f64> = (0..n).map(|_| any()).collect();
            values.extend([0.0, -0.0, f64::NAN, -f64::NAN, f64::INFINITY, -1.5, 1.5]);
            let mut want = values.clone();
            want.sort_by(f64::total_cmp);
            ascending(&mut values);
            let bits = |all: &[f64]| all.iter().map(|v| v.to_bits()).collect::<Vec<_>>();
            assert_eq!(bits(&values), bits(&want));
        }
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
