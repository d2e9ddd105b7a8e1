//! Numbers to places along an axis, and back.

use crate::model::{Axis, Panel, Rect, Scale};
use record::{Instant, NANOS_PER_SECOND};

/// Up to this many steps from the origin, seconds in an `f64` carry each step:
/// nanoseconds for 26 days, microseconds for 71 years.
const EXACT: f64 = 2_251_799_813_685_248.0;

impl Axis {
    /// Where a number stands: 0 at the low end, 1 at the high end, outside
    /// beyond them; NaN for a number without a place.
    pub fn fraction(&self, value: f64) -> f64 {
        match self.scale {
            Scale::Log10 if value > 0.0 => {
                let lo = libm::log10(self.lo);
                (libm::log10(value) - lo) / (libm::log10(self.hi) - lo)
            }
            Scale::Log10 => f64::NAN,
            Scale::Linear | Scale::Time { .. } => (value - self.lo) / (self.hi - self.lo),
        }
    }

    /// The number at a fraction of the axis.
    pub fn value(&self, fraction: f64) -> f64 {
        match self.scale {
            Scale::Log10 => {
                let (lo, hi) = (libm::log10(self.lo), libm::log10(self.hi));
                libm::pow(10.0, lo + fraction * (hi - lo))
            }
            Scale::Linear | Scale::Time { .. } => self.lo + fraction * (self.hi - self.lo),
        }
    }

    /// The number as it leaves the plan: seconds since 1970 on a time axis,
    /// otherwise unchanged.
    pub fn absolute(&self, value: f64) -> f64 {
        match self.scale {
            Scale::Time { origin_ns } => Instant(origin_ns).seconds() + value,
            Scale::Linear | Scale::Log10 => value,
        }
    }

    /// The number inside for one as it leaves the plan.
    pub fn relative(&self, value: f64) -> f64 {
        match self.scale {
            Scale::Time { origin_ns } => value - Instant(origin_ns).seconds(),
            Scale::Linear | Scale::Log10 => value,
        }
    }

    /// The instant of a number on a time axis: exact to the nanosecond within
    /// 26 days of the origin, to the microsecond within 71 years and to the
    /// millisecond beyond.
    pub fn instant(&self, value: f64) -> Option<Instant> {
        match self.scale {
            Scale::Time { origin_ns } if value.is_finite() => Some(instant(origin_ns, value)),
            _ => None,
        }
    }
}

/// Seconds from an origin to an instant.
pub(crate) fn seconds_from(origin_ns: i64, time_ns: i64) -> f64 {
    time_ns.saturating_sub(origin_ns) as f64 / NANOS_PER_SECOND as f64
}

/// The instant so many seconds after an origin.
pub(crate) fn instant(origin_ns: i64, seconds: f64) -> Instant {
    let ns = (seconds * NANOS_PER_SECOND as f64).round();
    if ns.abs() < EXACT {
        return Instant(origin_ns.saturating_add(ns as i64));
    }
    let step_ns = if ns.abs() < EXACT * 1e3 { 1_000 } else { 1_000_000 };
    let steps = (seconds * (NANOS_PER_SECOND / step_ns) as f64).round() as i64;
    Instant(origin_ns.saturating_add(steps.saturating_mul(step_ns)))
}

impl Rect {
    /// Right edge.
    pub fn right(&self) -> f64 {
        self.x + self.width
    }

    /// Bottom edge.
    pub fn bottom(&self) -> f64 {
        self.y + self.height
    }

    /// Whether a place lies in it, edges included.
    pub fn holds(&self, x: f64, y: f64) -> bool {
        (self.x..=self.right()).contains(&x) && (self.y..=self.bottom()).contains(&y)
    }

    /// Whether two rectangles share more than an edge.
    pub fn meets(&self, other: &Self) -> bool {
        self.x < other.right()
            && other.x < self.right()
            && self.y < other.bottom()
            && other.y < self.bottom()
    }
}

impl Panel {
    /// Where a number of the x axis stands on the sheet.
    pub fn x_px(&self, x: f64) -> f64 {
        self.rect.x + self.x.fraction(x) * self.rect.width
    }

    /// Where a number of the y axis stands on the sheet.
    pub fn y_px(&self, y: f64) -> f64 {
        self.rect.bottom() - self.y.fraction(y) * self.rect.height
    }

    /// The number of the x axis at a place on the sheet.
    pub fn x_at(&self, x_px: f64) -> f64 {
        self.x.value((x_px - self.rect.x) / self.rect.width)
    }

    /// The number of the y axis at a place on the sheet.
    pub fn y_at(&self, y_px: f64) -> f64 {
        self.y.value((self.rect.bottom() - y_px) / self.rect.height)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn axis(scale: Scale, lo: f64, hi: f64) -> Axis {
        Axis {
            scale,
            lo,
            hi,
            ticks: vec![],
            minor: vec![],
            title: vec![],
            quantity: String::new(),
            unit: String::new(),
            unit_ascii: String::new(),
            wraps_from: None,
        }
    }

    #[test]
    fn a_decade_on_a_log_axis_is_as_long_as_any_other() {
        let axis = axis(Scale::Log10, 1e-3, 1e3);
        assert!((axis.fraction(1e-1) - 2.0 / 6.0).abs() < 1e-15);
        assert!((axis.value(0.5) - 1.0).abs() < 1e-15);
        assert!(axis.fraction(0.0).is_nan() && axis.fraction(-1.0).is_nan());
    }

    proptest! {
        #[test]
        fn an_instant_comes_back_to_the_nanosecond_within_26_days(
            origin in -4_000_000_000_000_000_000i64..4_000_000_000_000_000_000,
            offset in -2_200_000_000_000_000i64..2_200_000_000_000_000,
        ) {
            let seconds = seconds_from(origin, origin + offset);
            prop_assert_eq!(instant(origin, seconds).0, origin + offset);
        }

        #[test]
        fn an_instant_of_whole_microseconds_comes_back_within_71_years(
            origin in -1_000_000_000_000_000_000i64..1_000_000_000_000_000_000,
            offset_us in -2_200_000_000_000_000i64..2_200_000_000_000_000,
        ) {
            let time = origin + offset_us * 1000;
            prop_assert_eq!(instant(origin, seconds_from(origin, time)).0, time);
        }
    }
}
