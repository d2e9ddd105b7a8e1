//! Ticks of an even axis: steps of 1, 2 and 5 times a power of ten.

use super::{Room, Ticks, ten_to, tick, widest_px};
use crate::writing::line;
use record::print;
use std::ops::RangeInclusive;

/// A step of `digit` times ten to the `exponent`.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Step {
    digit: i64,
    exponent: i32,
}

impl Step {
    fn size(self) -> f64 {
        self.times(1)
    }

    /// `k` steps, correctly rounded.
    fn times(self, k: i64) -> f64 {
        let whole = (k.saturating_mul(self.digit)) as f64;
        if self.exponent < 0 {
            whole / ten_to(-self.exponent)
        } else {
            whole * ten_to(self.exponent)
        }
    }

    fn coarser(self) -> Self {
        match self.digit {
            1 => Self { digit: 2, ..self },
            2 => Self { digit: 5, ..self },
            _ => Self { digit: 1, exponent: self.exponent + 1 },
        }
    }

    fn parts(self) -> i64 {
        match self.digit {
            2 | 4 => 4,
            3 => 3,
            _ => 5,
        }
    }
}

/// Ticks from `lo` to `hi`, which are finite and in that order.  Numbers of
/// ten million and more, or all below a thousandth, are divided by a power of
/// ten, which comes back with them.
pub(crate) fn ticks(lo: f64, hi: f64, room: Room) -> Ticks {
    let span = hi - lo;
    if !(span > 0.0 && span.is_finite()) {
        return Ticks::default();
    }
    let exponent = factor(lo, hi);
    let first = Step { digit: 1, exponent: libm::floor(libm::log10(span)) as i32 - 3 };
    let steps = std::iter::successors(Some(first), |step| Some(step.coarser()));
    let usual = steps.take(24).find_map(|step| {
        let apart = |widest_px| room.apart_px(widest_px);
        kept_apart(lo, hi, step, exponent, room, apart).map(|found| (found, step))
    });
    // One label shows no scale: rather two, at an unusual step or closer.
    let chosen = match usual {
        Some((found, step)) if found.major.len() >= 2 => Some((found, step)),
        other => two_or_more(lo, hi, exponent, room).or(other),
    };
    match chosen {
        Some((found, step)) => with_minor(found, lo, hi, step, room),
        None => Ticks { exponent, ..Ticks::default() },
    }
}

/// The labels of a step, when they keep as far apart as they should.
fn kept_apart(
    lo: f64,
    hi: f64,
    step: Step,
    exponent: i32,
    room: Room,
    apart_px: impl Fn(f64) -> f64,
) -> Option<Ticks> {
    let spacing_px = room.length_px * (step.size() / (hi - lo));
    // Nothing fits in less than this; there is nothing to measure.
    if spacing_px < room.font_px {
        return None;
    }
    let found = labelled(lo, hi, step, exponent);
    (spacing_px >= apart_px(widest_px(&found.major, room.font_px))).then_some(found)
}

/// The coarsest step, a multiple of 3 or 4 if need be, with two labels or more.
fn two_or_more(lo: f64, hi: f64, exponent: i32, room: Room) -> Option<(Ticks, Step)> {
    let largest = libm::floor(libm::log10(hi - lo)) as i32;
    let steps = (0..3)
        .flat_map(|down| [5, 4, 3, 2, 1].map(|digit| Step { digit, exponent: largest - down }));
    steps.into_iter().find_map(|step| {
        let apart = |widest_px| room.closest_px(widest_px);
        let found = kept_apart(lo, hi, step, exponent, room, apart)?;
        (found.major.len() >= 2).then_some((found, step))
    })
}

/// Places of the multiples of `1 / parts` of a step from `lo` to `hi`.
fn places(lo: f64, hi: f64, step: Step, parts: i64) -> RangeInclusive<i64> {
    let size = step.size() / parts as f64;
    // Beyond this, doubles no longer tell neighbouring multiples apart.
    let limit = 4e15;
    let first = libm::ceil(lo / size - 1e-9).clamp(-limit, limit) as i64;
    let last = libm::floor(hi / size + 1e-9).clamp(-limit, limit) as i64;
    first..=last.min(first.saturating_add(4000))
}

fn labelled(lo: f64, hi: f64, step: Step, exponent: i32) -> Ticks {
    let decimals = (exponent - step.exponent).max(0) as usize;
    let scale = ten_to(exponent.abs());
    let shown = |v: f64| if exponent < 0 { v * scale } else { v / scale };
    let major = places(lo, hi, step, 1)
        .map(|k| step.times(k))
        .map(|at| tick(at, line(print::fixed(shown(at), decimals))))
        .collect();
    Ticks { major, minor: Vec::new(), exponent }
}

fn with_minor(mut found: Ticks, lo: f64, hi: f64, step: Step, room: Room) -> Ticks {
    let parts = step.parts();
    let spacing_px = room.length_px * (step.size() / parts as f64 / (hi - lo));
    if spacing_px >= 0.4 * room.font_px {
        found.minor = places(lo, hi, step, parts)
            .filter(|k| k % parts != 0)
            .map(|k| step.times(k) / parts as f64)
            .collect();
    }
    found
}

/// The power of ten, in threes, to divide the labels by.
fn factor(lo: f64, hi: f64) -> i32 {
    let size = lo.abs().max(hi.abs());
    let large = size >= 1e7 && hi - lo > size * 1e-3;
    if large || size < 1e-3 { (libm::floor(libm::log10(size) / 3.0) as i32) * 3 } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::writing::plain_text;
    use proptest::prelude::*;

    fn texts(lo: f64, hi: f64, length_px: f64) -> Vec<String> {
        let room = Room { length_px, font_px: 12.0, upright: false };
        ticks(lo, hi, room).major.iter().map(|t| plain_text(&t.text)).collect()
    }

    #[test]
    fn a_large_offset_is_written_in_full_with_its_separator() {
        assert_eq!(
            texts(17_478.0, 17_523.0, 300.0),
            ["17,480", "17,490", "17,500", "17,510", "17,520"]
        );
    }

    #[test]
    fn a_tenth_is_a_tenth_and_minus_is_a_minus() {
        assert_eq!(texts(-0.25, 0.25, 300.0), ["−0.2", "−0.1", "0.0", "0.1", "0.2"]);
        let room = Room { length_px: 300.0, font_px: 12.0, upright: false };
        assert_eq!(ticks(0.0, 1.0, room).major[1].at, 0.2);
    }

    #[test]
    fn a_span_just_short_of_two_usual_labels_gets_two_at_an_unusual_step() {
        let room = Room { length_px: 64.0, font_px: 12.7, upright: true };
        let found = ticks(-490.0, 480.0, room);
        let texts: Vec<String> = found.major.iter().map(|t| plain_text(&t.text)).collect();
        assert_eq!(texts, ["−400", "0", "400"]);
    }

    #[test]
    fn millions_are_divided_by_a_power_of_ten_that_is_reported() {
        let room = Room { length_px: 300.0, font_px: 12.0, upright: true };
        let found = ticks(0.0, 3.2e7, room);
        assert_eq!(found.exponent, 6);
        assert_eq!(plain_text(&found.major[1].text), "5");
        let found = ticks(1e-9, 8e-9, room);
        assert_eq!(found.exponent, -9);
        assert!(found.major.iter().any(|t| plain_text(&t.text) == "4"));
    }

    proptest! {
        #[test]
        fn labels_lie_inside_rise_and_keep_apart(
            middle in -1e6f64..1e6,
            span_exponent in -6.0f64..7.0,
            length_px in 60.0f64..900.0,
            font_px in 9.0f64..20.0,
        ) {
            let span = libm::pow(10.0, span_exponent);
            let (lo, hi) = (middle - span / 2.0, middle + span / 2.0);
            let room = Room { length_px, font_px, upright: false };
            let found = ticks(lo, hi, room);
            let px = |at: f64| (at - lo) / (hi - lo) * length_px;
            for pair in found.major.windows(2) {
                let half = |k: usize| crate::run_width_px(&pair[k].text, font_px) / 2.0;
                prop_assert!(px(pair[0].at) + half(0) + 0.5 * font_px < px(pair[1].at) - half(1));
                prop_assert_ne!(&pair[0].text, &pair[1].text);
            }
            for tick in &found.major {
                prop_assert!((lo - 1e-8 * span..=hi + 1e-8 * span).contains(&tick.at));
            }
            for at in &found.minor {
                prop_assert!(found.major.iter().all(|t| px((t.at - at).abs() + lo) > 1.0));
            }
        }

        #[test]
        fn an_upright_axis_of_ten_lines_has_two_labels_or_more(
            middle in -1e5f64..1e5, span_exponent in -5.0f64..6.0,
        ) {
            let span = libm::pow(10.0, span_exponent);
            let room = Room { length_px: 120.0, font_px: 12.0, upright: true };
            prop_assert!(ticks(middle - span / 2.0, middle + span / 2.0, room).major.len() >= 2);
        }
    }
}
