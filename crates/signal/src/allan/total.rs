//! Total deviation: an Allan deviation that keeps terms at long averaging times
//! by continuing the running sum beyond its ends.
//!
//! In: unbroken readings and an averaging factor.  Out: a [`Point`].

use super::deviation::Sums;
use super::{AllanError, Point};

/// Total deviation: the running sum continued at both ends by its point
/// reflection, so that long averaging times keep more terms.  Needs an
/// unbroken series.
///
/// # Errors
///
/// [`AllanError`] when the interval is not positive, a reading is missing, or
/// m is not less than the number of readings.
///
/// # Source
///
/// NIST SP 1065, section 5.2.11 (the doubly reflected variant; others are
/// printed elsewhere under the same name).
pub fn total_deviation(y: &[f64], interval_s: f64, m: usize) -> Result<Point, AllanError> {
    if !(interval_s > 0.0 && interval_s.is_finite()) {
        return Err(AllanError::Interval(interval_s));
    }
    let (sums, samples) = (Sums::new(y), y.len());
    if m == 0 || m >= samples || !sums.missing.is_empty() {
        return Err(AllanError::TooShort { samples, m });
    }
    let second = |i: usize| {
        let (far, here) = (reflected(&sums.x, i as i64 + m as i64), sums.x[i]);
        (far - here) - (here - reflected(&sums.x, i as i64 - m as i64))
    };
    let squares: f64 = (1..samples).map(|i| second(i) * second(i)).sum();
    let terms = samples - 1;
    Ok(Point {
        tau_s: m as f64 * interval_s,
        m,
        deviation: (squares / (2.0 * terms as f64)).sqrt() / m as f64,
        terms,
        terms_left_out: 0,
        // SP 1065, section 5.4: 1.50 T / tau for white noise; from memory.
        degrees_of_freedom: (1.5 * samples as f64 / m as f64).max(1.0),
    })
}

/// A running sum continued at both ends by its point reflection.
fn reflected(x: &[f64], place: i64) -> f64 {
    let last = x.len() as i64 - 1;
    let inside = |place: i64| x[place.unsigned_abs() as usize];
    if place < 0 {
        2.0 * inside(0) - inside(place)
    } else if place > last {
        2.0 * inside(last) - inside(2 * last - place)
    } else {
        inside(place)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gaps_and_factors_beyond_the_series_are_refused() {
        let mut y: Vec<f64> = (0..100).map(|i| f64::from(i * i % 13)).collect();
        assert!(total_deviation(&y, 1.0, 99).is_ok());
        assert!(total_deviation(&y, 1.0, 100).is_err());
        assert!(total_deviation(&y, -1.0, 1).is_err());
        y[50] = f64::NAN;
        assert!(total_deviation(&y, 1.0, 1).is_err());
    }
}
