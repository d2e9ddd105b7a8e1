//! The span an axis shows: the data with a little air, never nothing.

/// Lowest and highest finite value; `None` without one.
pub(crate) fn of(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    let mut found: Option<(f64, f64)> = None;
    for v in values.into_iter().filter(|v| v.is_finite()) {
        found = Some(found.map_or((v, v), |(lo, hi)| (lo.min(v), hi.max(v))));
    }
    found
}

/// The span that holds both.
pub(crate) fn joined(a: Option<(f64, f64)>, b: Option<(f64, f64)>) -> Option<(f64, f64)> {
    match (a, b) {
        (Some(a), Some(b)) => Some((a.0.min(b.0), a.1.max(b.1))),
        (a, b) => a.or(b),
    }
}

/// The span with `share` of its length added at either end.  A single value
/// gets room on both sides; no value at all gives 0 to 1.
pub(crate) fn aired(span: Option<(f64, f64)>, share: f64) -> (f64, f64) {
    let Some((lo, hi)) = span else { return (0.0, 1.0) };
    let size = lo.abs().max(hi.abs());
    let length = hi - lo;
    // Below this the ticks of a double could not be told apart.
    if length <= size * 1e-12 {
        let half = if size > 0.0 { (size * 1e-3).max(f64::MIN_POSITIVE * 1e20) } else { 1.0 };
        return (lo - half, hi + half);
    }
    let aired = (lo - share * length, hi + share * length);
    if (aired.1 - aired.0).is_finite() { aired } else { (f64::MIN / 4.0, f64::MAX / 4.0) }
}

/// The positive values' span with `share` of its logarithm added at either
/// end, for a logarithmic axis; 1 to 10 without positive values.
pub(crate) fn aired_log(span: Option<(f64, f64)>, share: f64) -> (f64, f64) {
    let Some((lo, hi)) = span.filter(|(lo, hi)| *lo > 0.0 && hi >= lo) else { return (1.0, 10.0) };
    let place = |v: f64| libm::log10(v).clamp(-290.0, 290.0);
    let (a, b) = (place(lo), place(hi));
    let air = if b - a < 1e-9 { 0.3 } else { share * (b - a) };
    let ten_to = |v: f64| libm::pow(10.0, v.clamp(-300.0, 300.0));
    (ten_to(a - air), ten_to(b + air))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_constant_gets_room_on_both_sides() {
        assert_eq!(aired(Some((5.0, 5.0)), 0.05), (4.995, 5.005));
        assert_eq!(aired(Some((0.0, 0.0)), 0.05), (-1.0, 1.0));
        assert_eq!(aired(None, 0.05), (0.0, 1.0));
        assert_eq!(aired(Some((0.0, 1.75e308)), 0.05), (f64::MIN / 4.0, f64::MAX / 4.0));
    }

    proptest! {
        #[test]
        fn an_axis_always_has_length(a: f64, b: f64) {
            let (lo, hi) = aired(of([a, b]), 0.05);
            prop_assert!(hi > lo && (hi - lo).is_finite());
            let (lo, hi) = aired_log(of([a.abs(), b.abs()].into_iter().filter(|v| *v > 0.0)), 0.05);
            prop_assert!(hi > lo && lo > 0.0 && hi.is_finite());
        }
    }
}
