//! Ticks of durations, in seconds, minutes, hours and days: along an axis of
//! seconds, or as periods along one of frequency.

use super::{Room, Ticks, tick};
use crate::metrics::text_width_px;
use crate::model::Tick;
use crate::writing::line;
use record::words::word;

/// Periods in seconds, their names, and how soon they are wanted.
const PERIODS: [(f64, &str, u8); 25] = [
    (0.001, "1 ms", 1),
    (0.01, "10 ms", 2),
    (0.1, "0.1 s", 1),
    (1.0, "1 s", 0),
    (2.0, "2 s", 3),
    (5.0, "5 s", 3),
    (10.0, "10 s", 1),
    (30.0, "30 s", 2),
    (60.0, "1 min", 0),
    (120.0, "2 min", 3),
    (300.0, "5 min", 3),
    (600.0, "10 min", 1),
    (1800.0, "30 min", 2),
    (3600.0, "1 h", 0),
    (7200.0, "2 h", 3),
    (10_800.0, "3 h", 4),
    (21_600.0, "6 h", 2),
    (43_200.0, "12 h", 3),
    (86_400.0, "1 day", 0),
    (172_800.0, "2 days", 3),
    (432_000.0, "5 days", 3),
    (864_000.0, "10 days", 1),
    (2_592_000.0, "30 days", 2),
    (8_640_000.0, "100 days", 2),
    (31_557_600.0, "1 year", 0),
];

/// Ticks at natural periods on a logarithmic axis of frequency in hertz, at
/// their frequencies, as many as keep apart.
pub(crate) fn along_frequency(lo_hz: f64, hi_hz: f64, room: Room) -> Vec<Tick> {
    chosen((lo_hz, hi_hz), |period_s| 1.0 / period_s, room)
}

/// Ticks at natural durations on a logarithmic axis of seconds.
pub(crate) fn along_duration(lo_s: f64, hi_s: f64, room: Room) -> Ticks {
    let major = chosen((lo_s, hi_s), |period_s| period_s, room);
    let labelled = |at: &f64| major.iter().any(|t| t.at == *at);
    let all = PERIODS.iter().map(|(period_s, _, _)| *period_s);
    let minor = all.filter(|at| (lo_s..=hi_s).contains(at) && !labelled(at)).collect();
    Ticks { major, minor, exponent: 0 }
}

fn chosen((lo, hi): (f64, f64), at: impl Fn(f64) -> f64, room: Room) -> Vec<Tick> {
    let decades = libm::log10(hi) - libm::log10(lo);
    let mut placed: Vec<(f64, f64, Tick)> = Vec::new();
    for urgency in 0..=4 {
        for (period_s, name, when) in PERIODS {
            let (place, name) = (at(period_s), word(name));
            if when != urgency || !(lo..=hi).contains(&place) {
                continue;
            }
            let middle = libm::log10(place / lo) / decades * room.length_px;
            let half = if room.upright {
                1.1 * room.font_px
            } else {
                text_width_px(name, room.font_px) * 0.56 + 0.45 * room.font_px
            };
            // A name that hung over the corner would meet the other axis' labels.
            let inside = room.upright || middle + 0.4 * room.font_px >= half;
            if inside && placed.iter().all(|(x, w, _)| (x - middle).abs() >= w + half) {
                placed.push((middle, half, tick(place, line(name))));
            }
        }
    }
    record::sort::by(&mut placed, |a, b| a.0.total_cmp(&b.0));
    placed.into_iter().map(|(_, _, tick)| tick).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::writing::plain_text;

    #[test]
    fn hours_and_days_come_first_and_the_rest_fills_in() {
        let room = |length_px| Room { length_px, font_px: 12.0, upright: false };
        let texts = |length_px| -> Vec<String> {
            let found = along_frequency(1e-6, 1.6e-2, room(length_px));
            found.iter().map(|t| plain_text(&t.text)).collect()
        };
        assert_eq!(texts(260.0), ["1 day", "6 h", "1 h", "10 min"]);
        assert!(texts(700.0).len() > 8);
    }
}
