//! Reading frequency responses: decibels, and where half the power is left.
//!
//! In: gains as functions of frequency.  Out: decibels, frequencies.  Knows no
//! filter.

/// A gain in decibels, 20 log10 of its size; −300 dB for none.
pub fn decibels(gain: f64) -> f64 {
    20.0 * libm::log10(gain.abs().max(1e-15))
}

/// The gain of so many decibels.
pub fn gain(decibels: f64) -> f64 {
    libm::pow(10.0, decibels / 20.0)
}

/// `count` numbers from `low` to `high`, both more than 0, in equal ratios.
pub fn spaced(low: f64, high: f64, count: usize) -> Vec<f64> {
    let last = count.saturating_sub(1).max(1) as f64;
    (0..count).map(|k| low * libm::pow(high / low, k as f64 / last)).collect()
}

/// Where a gain passes 1/sqrt(2) between two frequencies: the crossing whose
/// ratio to `near_hz` is least, the lowest one when `near_hz` is not a number.
///
/// Crossings closer together than a two-thousandth of the span of logarithms
/// may be missed; the one found is good to rounding.
pub fn half_power_hz(
    gain: impl Fn(f64) -> f64,
    (low_hz, high_hz): (f64, f64),
    near_hz: f64,
) -> Option<f64> {
    let over = |f: f64| gain(f) * gain(f) > 0.5;
    let places = spaced(low_hz, high_hz, 2001);
    let crossings = places.windows(2).filter(|w| over(w[0]) != over(w[1]));
    let apart = |f: f64| {
        if near_hz.is_finite() { libm::log(f / near_hz).abs() } else { f }
    };
    let found = crossings.min_by(|a, b| apart(a[0]).total_cmp(&apart(b[0])))?;
    let (mut a, mut b, starts_over) = (found[0], found[1], over(found[0]));
    for _ in 0..60 {
        let middle = (a + b) / 2.0;
        *(if over(middle) == starts_over { &mut a } else { &mut b }) = middle;
    }
    Some((a + b) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::butterworth::{Band, design, response};
    use crate::smooth::mean_response;

    #[test]
    fn a_butterworth_filter_has_half_its_power_at_its_cut_off() {
        let sections = design(4, Band::Pass(0.01, 0.1), 1.0).unwrap();
        let gain = |f: f64| response(&sections, f, 1.0).0;
        for cut in [0.01, 0.1] {
            let found = half_power_hz(gain, (1e-4, 0.5), cut).unwrap();
            assert!((found / cut - 1.0).abs() < 1e-9, "{found}");
        }
        assert_eq!(half_power_hz(|_| 1.0, (0.1, 0.5), 0.2), None);
    }

    #[test]
    fn a_running_mean_has_half_its_power_near_443_thousandths_of_its_length() {
        // 0.4430 is where sin(pi x) / (pi x) is 1/sqrt(2).
        let found = half_power_hz(|f| mean_response(1001, f), (1e-5, 0.5), f64::NAN).unwrap();
        assert!((found * 1001.0 - 0.442_946).abs() < 1e-5, "{}", found * 1001.0);
    }

    #[test]
    fn decibels_and_gains_are_each_others_way_back() {
        assert!((decibels(0.5) + 6.020_599_913_279_624).abs() < 1e-14);
        assert!((gain(decibels(-0.3)) - 0.3).abs() < 1e-15);
        assert_eq!(spaced(1.0, 100.0, 3)[2], 100.0);
    }
}
