//! Ticks of axes whose steps are not decimal: degrees of a turn, hours of a day.

use super::{Room, Ticks, linear, tick, widest_px};
use crate::writing::line;
use record::print;

/// Steps that divide a right angle, with the parts that minor ticks make.
const STEPS: [(f64, f64); 9] = [
    (1.0, 0.2),
    (2.0, 0.5),
    (5.0, 1.0),
    (10.0, 2.0),
    (15.0, 5.0),
    (30.0, 10.0),
    (45.0, 15.0),
    (90.0, 30.0),
    (180.0, 45.0),
];

/// Steps that divide a day, with the parts that minor ticks make.
const HOURS: [(f64, f64); 7] =
    [(1.0, 0.25), (2.0, 0.5), (3.0, 1.0), (4.0, 1.0), (6.0, 1.0), (12.0, 3.0), (24.0, 6.0)];

/// Ticks from `lo` to `hi` hours.
pub(crate) fn hours(lo: f64, hi: f64, room: Room) -> Ticks {
    stepped(lo, hi, &HOURS, None, room)
}

/// Ticks from `lo` to `hi` degrees; labels are brought into the turn that
/// starts at `wraps_from`, where there is one.
pub(crate) fn ticks(lo: f64, hi: f64, wraps_from: Option<f64>, room: Room) -> Ticks {
    stepped(lo, hi, &STEPS, wraps_from, room)
}

fn stepped(lo: f64, hi: f64, steps: &[(f64, f64)], wraps_from: Option<f64>, room: Room) -> Ticks {
    if !(hi > lo && hi - lo < 1e5) {
        return linear::ticks(lo, hi, room);
    }
    let fine = linear::ticks(lo, hi, room);
    // Below one, tenths and hundredths are what people read.
    if fine.major.windows(2).any(|w| w[1].at - w[0].at < 0.75) || fine.exponent != 0 {
        return wrapped(fine, wraps_from);
    }
    for (step, minor) in steps.iter().copied() {
        let major: Vec<_> = multiples(lo, hi, step)
            .map(|at| tick(at, line(print::fixed(brought(at, wraps_from), 0))))
            .collect();
        let spacing_px = room.length_px * step / (hi - lo);
        if spacing_px >= room.apart_px(widest_px(&major, room.font_px)) {
            let close = room.length_px * minor / (hi - lo) < 0.4 * room.font_px;
            let between = |at: &f64| (at / step - (at / step).round()).abs() > 1e-9;
            let minor =
                if close { vec![] } else { multiples(lo, hi, minor).filter(between).collect() };
            return Ticks { major, minor, exponent: 0 };
        }
    }
    wrapped(fine, wraps_from)
}

fn multiples(lo: f64, hi: f64, step: f64) -> impl Iterator<Item = f64> {
    let first = libm::ceil(lo / step - 1e-9) as i64;
    let last = libm::floor(hi / step + 1e-9) as i64;
    (first..=last).map(move |k| k as f64 * step)
}

/// An angle in the turn that starts at `wraps_from`.
pub(crate) fn brought(at: f64, wraps_from: Option<f64>) -> f64 {
    match wraps_from {
        Some(from) => at - 360.0 * libm::floor((at - from) / 360.0),
        None => at,
    }
}

fn wrapped(mut found: Ticks, wraps_from: Option<f64>) -> Ticks {
    if wraps_from.is_some() && found.exponent == 0 {
        let decimals = found
            .major
            .first()
            .and_then(|t| t.text.first())
            .and_then(|run| run.text.split_once('.'))
            .map_or(0, |(_, rest)| rest.len());
        for tick in &mut found.major {
            tick.text = line(print::fixed(brought(tick.at, wraps_from), decimals));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::writing::plain_text;

    fn texts(lo: f64, hi: f64, wraps_from: Option<f64>) -> Vec<String> {
        let room = Room { length_px: 200.0, font_px: 12.0, upright: true };
        ticks(lo, hi, wraps_from, room).major.iter().map(|t| plain_text(&t.text)).collect()
    }

    #[test]
    fn a_whole_turn_is_divided_into_right_angles() {
        assert_eq!(texts(0.0, 360.0, None), ["0", "90", "180", "270", "360"]);
    }

    #[test]
    fn headings_either_side_of_north_are_written_as_headings() {
        assert_eq!(texts(-20.0, 20.0, Some(0.0)), ["340", "350", "0", "10", "20"]);
    }

    #[test]
    fn a_day_is_divided_into_hours() {
        let room = Room { length_px: 400.0, font_px: 12.0, upright: false };
        let found: Vec<f64> = hours(0.0, 24.0, room).major.iter().map(|t| t.at).collect();
        assert_eq!(found, [0.0, 3.0, 6.0, 9.0, 12.0, 15.0, 18.0, 21.0, 24.0]);
    }

    #[test]
    fn tenths_of_a_degree_are_written_as_tenths() {
        assert_eq!(texts(-4.52, -4.12, None), ["−4.5", "−4.4", "−4.3", "−4.2"]);
    }
}
