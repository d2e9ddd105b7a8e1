//! Ticks of a logarithmic axis: powers of ten, and 1, 2, 5 where there are few.

use super::{Room, Ticks, ten_to, tick, widest_px};
use crate::model::{Run, Tick};
use crate::writing::{line, plain, power_of_ten};
use record::print;

/// Ticks from `lo` to `hi`, both positive and in that order.
pub(crate) fn ticks(lo: f64, hi: f64, room: Room) -> Ticks {
    if !(lo > 0.0 && hi > lo && hi.is_finite()) {
        return Ticks::default();
    }
    let decades = libm::log10(hi) - libm::log10(lo);
    let decade_px = room.length_px / decades;
    if decades < 2.0 {
        return close(lo, hi, decade_px, room);
    }
    let stride = [1, 2, 3, 4, 5, 10, 20, 50, 100, 200]
        .into_iter()
        .find(|stride| {
            let found = powers(lo, hi, *stride);
            let apart_px = room.apart_px(widest_px(&found, room.font_px));
            decade_px * f64::from(*stride) >= apart_px.min(1e9)
        })
        .unwrap_or(500);
    Ticks {
        major: powers(lo, hi, stride),
        minor: between(lo, hi, decade_px, stride, room),
        exponent: 0,
    }
}

fn first(lo: f64) -> i32 {
    libm::ceil(libm::log10(lo) - 1e-9) as i32
}

fn last(hi: f64) -> i32 {
    libm::floor(libm::log10(hi) + 1e-9) as i32
}

fn powers(lo: f64, hi: f64, stride: i32) -> Vec<Tick> {
    (first(lo)..=last(hi))
        .filter(|n| n.rem_euclid(stride) == 0)
        .map(|n| tick(ten_to(n), power_of_ten(n)))
        .collect()
}

/// Minor ticks at 2 to 9 where they keep apart, else at the unlabelled powers.
fn between(lo: f64, hi: f64, decade_px: f64, stride: i32, room: Room) -> Vec<f64> {
    // The closest pair is 9 to 10: 0.046 of a decade.
    let fine = stride == 1 && decade_px * 0.046 >= 0.11 * room.font_px;
    let mut out = Vec::new();
    for n in first(lo) - 1..=last(hi) {
        if fine {
            out.extend((2..10).map(|m| f64::from(m) * ten_to(n)));
        } else if n.rem_euclid(stride) != 0 {
            out.push(ten_to(n));
        }
    }
    out.retain(|at| (lo..=hi).contains(at));
    out
}

/// Fewer than two decades: 1, 2 and 5 of each are labelled where they fit,
/// and where even those are too few, an even axis' ticks stand in.
fn close(lo: f64, hi: f64, decade_px: f64, room: Room) -> Ticks {
    let choices: [&[i32]; 3] = [&[1, 2, 3, 4, 5, 6, 7, 8, 9], &[1, 2, 5], &[1]];
    // The least distance within a decade for each choice.
    let closest = [0.0457, 0.301, 1.0];
    for (digits, share) in choices.into_iter().zip(closest) {
        let major = multiples(lo, hi, digits);
        let apart_px = room.apart_px(widest_px(&major, room.font_px));
        if major.len() >= 2 && decade_px * share >= apart_px {
            let mut minor = between(lo, hi, decade_px, 1, room);
            minor.retain(|at| major.iter().all(|t| (t.at / at - 1.0).abs() > 1e-9));
            return Ticks { major, minor, exponent: 0 };
        }
    }
    thinned(lo, hi, decade_px, room)
}

/// Labels of the 1, 2, 5 set that keep clear of the one before.
fn thinned(lo: f64, hi: f64, decade_px: f64, room: Room) -> Ticks {
    let mut all = multiples(lo, hi, &[1, 2, 5]);
    if all.len() < 2 {
        all = multiples(lo, hi, &[1, 2, 3, 4, 5, 6, 7, 8, 9]);
    }
    let apart_px = room.apart_px(widest_px(&all, room.font_px));
    let mut major: Vec<Tick> = Vec::new();
    let mut minor = between(lo, hi, decade_px, 1, room);
    for tick in all {
        let near = |other: &Tick| libm::log10(tick.at / other.at) * decade_px < apart_px;
        if !major.last().is_some_and(near) {
            major.push(tick);
        }
    }
    minor.retain(|at| major.iter().all(|t| (t.at / at - 1.0).abs() > 1e-9));
    Ticks { major, minor, exponent: 0 }
}

fn multiples(lo: f64, hi: f64, digits: &[i32]) -> Vec<Tick> {
    (first(lo) - 1..=last(hi))
        .flat_map(|n| digits.iter().map(move |m| (*m, n)))
        .map(|(m, n)| tick(value(m, n), written(m, n)))
        .filter(|t| (lo * (1.0 - 1e-12)..=hi * (1.0 + 1e-12)).contains(&t.at))
        .collect()
}

fn value(digit: i32, exponent: i32) -> f64 {
    if exponent < 0 {
        f64::from(digit) / ten_to(-exponent)
    } else {
        f64::from(digit) * ten_to(exponent)
    }
}

/// Plain digits near one, otherwise digit times power of ten.
fn written(digit: i32, exponent: i32) -> Vec<Run> {
    if (-3..=4).contains(&exponent) {
        return line(print::fixed(value(digit, exponent), (-exponent).max(0) as usize));
    }
    let mut runs = power_of_ten(exponent);
    if digit != 1 {
        runs.insert(0, plain(format!("{digit} × ")));
    }
    runs
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
    fn six_decades_carry_a_label_each_where_there_is_room_and_every_other_where_not() {
        assert_eq!(texts(1e-5, 1e-1, 400.0), ["10^−5", "10^−4", "10^−3", "10^−2", "10^−1"]);
        assert_eq!(texts(1e-6, 1e2, 300.0), ["10^−6", "10^−4", "10^−2", "10^0", "10^2"]);
    }

    #[test]
    fn less_than_two_decades_are_written_as_plain_numbers() {
        assert_eq!(texts(0.7, 60.0, 300.0), ["1", "2", "5", "10", "20", "50"]);
        assert_eq!(texts(0.01, 0.06, 200.0), ["0.01", "0.02", "0.05"]);
    }

    proptest! {
        #[test]
        fn labels_keep_apart_and_lie_inside(
            start in -12.0f64..6.0, decades in 0.05f64..14.0,
            length_px in 60.0f64..900.0, upright: bool,
        ) {
            let (lo, hi) = (libm::pow(10.0, start), libm::pow(10.0, start + decades));
            let room = Room { length_px, font_px: 12.0, upright };
            let found = ticks(lo, hi, room);
            let px = |at: f64| libm::log10(at / lo) / decades * length_px;
            for pair in found.major.windows(2) {
                let half = |k: usize| {
                    if upright { 7.0 } else { crate::run_width_px(&pair[k].text, 12.0) / 2.0 }
                };
                prop_assert!(px(pair[0].at) + half(0) < px(pair[1].at) - half(1));
            }
            for at in found.major.iter().map(|t| t.at).chain(found.minor.iter().copied()) {
                prop_assert!((-1e-6..=length_px + 1e-6).contains(&px(at)));
            }
        }
    }
}
