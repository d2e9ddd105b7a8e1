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
    fn numbers_rise_and_what_is_none_stands_last() {
        let mut values = [2.0, f64::NAN, -1.0, f64::INFINITY];
        ascending(&mut values);
        assert_eq!(values[..3], [-1.0, 2.0, f64::INFINITY]);
        assert!(values[3].is_nan());
    }
}
