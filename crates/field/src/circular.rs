//! Statistics of angles, in degrees: 359° and 1° are two degrees apart, and their mean is 0°.
//!
//! NaN angles are left out of every statistic here.

use crate::elements::DEGREES;

/// An angle brought to 0 ≤ a < 360.
pub fn positive_deg(angle_deg: f64) -> f64 {
    let turned = libm::fmod(angle_deg, 360.0);
    let turned = if turned < 0.0 { turned + 360.0 } else { turned };
    // A tiny negative angle rounds up to a full turn.
    if turned >= 360.0 { 0.0 } else { turned }
}

/// An angle brought to −180 < a ≤ 180.
pub fn signed_deg(angle_deg: f64) -> f64 {
    let turned = positive_deg(angle_deg);
    if turned > 180.0 { turned - 360.0 } else { turned }
}

/// `a − b` the short way round, −180 < difference ≤ 180.
pub fn difference_deg(a_deg: f64, b_deg: f64) -> f64 {
    signed_deg(a_deg - b_deg)
}

/// Direction and concentration of a set of angles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resultant {
    /// Mean direction, 0 ≤ mean < 360; NaN when the angles cancel or there are none.
    pub mean_deg: f64,
    /// Mean resultant length R̄, 0 (angles cancel) to 1 (all the same); NaN for no angles.
    pub length: f64,
    /// Number of angles that were not NaN.
    pub n: usize,
}

impl Resultant {
    /// Circular standard deviation √(−2 ln R̄), degrees.
    pub fn sd_deg(&self) -> f64 {
        (-2.0 * libm::log(self.length.min(1.0))).max(0.0).sqrt() * DEGREES
    }

    /// Angular deviation √(2(1 − R̄)), degrees.
    pub fn angular_deviation_deg(&self) -> f64 {
        (2.0 * (1.0 - self.length)).max(0.0).sqrt() * DEGREES
    }

    /// Rayleigh's z = n R̄², large when the angles have a common direction.
    pub fn rayleigh_z(&self) -> f64 {
        self.n as f64 * self.length * self.length
    }
}

/// Mean direction and resultant length of angles in degrees.
///
/// # Source
///
/// Mardia and Jupp 2000, Directional Statistics, section 2.3: C and S are the mean cosine and
/// sine, R̄ = √(C² + S²), the mean direction is atan2(S, C).
///
/// ```
/// let found = field::circular::resultant([43.0, 45.0, 52.0, 61.0, 75.0, 88.0, 88.0, 279.0, 357.0]);
/// assert_eq!(found.mean_deg.round(), 51.0);
/// assert!((found.length - 0.711).abs() < 5e-4);
/// ```
pub fn resultant(angles_deg: impl IntoIterator<Item = f64>) -> Resultant {
    let (mut sines, mut cosines, mut n) = (0.0, 0.0, 0usize);
    for angle in angles_deg.into_iter().filter(|angle| !angle.is_nan()) {
        let (sin, cos) = libm::sincos(angle.to_radians());
        sines += sin;
        cosines += cos;
        n += 1;
    }
    let length = libm::hypot(sines, cosines) / n as f64;
    // Angles that cancel leave only rounding, whose direction means nothing.
    let mean_deg =
        if length > 1e-12 { positive_deg(libm::atan2(sines, cosines) * DEGREES) } else { f64::NAN };
    Resultant { mean_deg, length, n }
}

/// Mean direction, 0 ≤ mean < 360 degrees; NaN when the angles cancel or there are none.
pub fn mean_deg(angles_deg: impl IntoIterator<Item = f64>) -> f64 {
    resultant(angles_deg).mean_deg
}

/// Circular standard deviation √(−2 ln R̄), degrees.
pub fn sd_deg(angles_deg: impl IntoIterator<Item = f64>) -> f64 {
    resultant(angles_deg).sd_deg()
}

/// Median direction: the angle (or the middle of two neighbouring ones, for an even number) from
/// which the mean distance along the circle to all the others is least; NaN for no angles.
/// Takes time in proportion to n log n.
///
/// # Source
///
/// Mardia and Jupp 2000, Directional Statistics, section 2.3.2, and Fisher 1993, Statistical
/// Analysis of Circular Data, section 2.3 (from memory): the angle that minimises the mean
/// circular distance.
pub fn median_deg(angles_deg: impl IntoIterator<Item = f64>) -> f64 {
    let mut angles: Vec<f64> =
        angles_deg.into_iter().filter(|a| a.is_finite()).map(positive_deg).collect();
    angles.sort_unstable_by(f64::total_cmp);
    if angles.is_empty() {
        return f64::NAN;
    }
    let n = angles.len();
    let candidates: Vec<f64> = (0..n)
        .map(|k| {
            let next = angles[(k + 1) % n];
            let step = positive_deg(next - angles[k]);
            if n % 2 == 1 { angles[k] } else { positive_deg(angles[k] + step / 2.0) }
        })
        .collect();
    let sums = prefix_sums(&angles);
    let mut best = (f64::INFINITY, f64::NAN);
    for candidate in candidates {
        let cost = total_distance(&angles, &sums, candidate);
        if cost < best.0 - 1e-9 {
            best = (cost, candidate);
        }
    }
    best.1
}

fn prefix_sums(angles: &[f64]) -> Vec<f64> {
    let mut sums = Vec::with_capacity(angles.len() + 1);
    let mut total = 0.0;
    sums.push(0.0);
    for angle in angles {
        total += angle;
        sums.push(total);
    }
    sums
}

/// Sum of the distances along the circle from `at` to ascending `angles`, all in 0..360.
fn total_distance(angles: &[f64], sums: &[f64], at: f64) -> f64 {
    let place = |limit: f64| angles.partition_point(|a| *a < limit);
    let part = |from: usize, to: usize| (sums[to] - sums[from], (to - from) as f64);
    let n = angles.len();
    let here = place(at);
    let (below_sum, below) = part(0, here);
    let (above_sum, above) = part(here, n);
    let mut total = at * below - below_sum + above_sum - at * above;
    // Those more than half a turn away are nearer the other way round.
    let (far_sum, far) = part(place(at + 180.0).max(here), n);
    total += far * (360.0 + 2.0 * at) - 2.0 * far_sum;
    let (far_sum, far) = part(0, place(at - 180.0).min(here));
    total + far * (360.0 - 2.0 * at) + 2.0 * far_sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_of_359_and_1_is_0() {
        let mean = mean_deg([359.0, 1.0]);
        assert!(signed_deg(mean).abs() < 1e-12, "{mean}");
    }

    #[test]
    fn opposite_angles_have_no_mean() {
        assert!(mean_deg([90.0, 270.0]).is_nan());
        assert!(mean_deg([]).is_nan());
    }

    #[test]
    fn the_published_example_has_its_mean_its_length_and_its_median() {
        // Mardia and Jupp 2000, Directional Statistics: mean 51, length 0.711,
        // median 52 degrees.
        let angles = [43.0, 45.0, 52.0, 61.0, 75.0, 88.0, 88.0, 279.0, 357.0];
        assert!((mean_deg(angles) - 51.0).abs() < 0.5);
        assert_eq!(median_deg(angles), 52.0);
        let r = resultant(angles);
        assert!((r.rayleigh_z() - 9.0 * r.length * r.length).abs() < 1e-12);
    }

    #[test]
    fn the_fast_distance_is_the_plain_sum() {
        let angles = [3.0, 17.0, 90.0, 171.0, 200.0, 300.0, 359.0];
        let sums = prefix_sums(&angles);
        for at in [0.0, 3.0, 100.0, 180.0, 181.0, 355.0] {
            let plain: f64 = angles.iter().map(|a| difference_deg(*a, at).abs()).sum();
            assert!((total_distance(&angles, &sums, at) - plain).abs() < 1e-9, "{at}");
        }
    }

    #[test]
    fn small_circular_spread_is_the_plain_spread() {
        let angles: Vec<f64> = (0..1000).map(|k| 359.0 + f64::from(k % 5) * 0.5).collect();
        assert!((sd_deg(angles) - 0.5 * 2f64.sqrt()).abs() < 1e-3);
    }

    #[test]
    fn angles_come_back_into_their_range() {
        assert_eq!(positive_deg(-90.0), 270.0);
        assert_eq!(positive_deg(-1e-20), 0.0);
        assert_eq!(signed_deg(180.0), 180.0);
        assert_eq!(signed_deg(-180.0), 180.0);
        assert_eq!(difference_deg(1.0, 359.0), 2.0);
    }
}
