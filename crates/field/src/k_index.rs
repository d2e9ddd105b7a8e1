//! The K index of a station: how disturbed each three-hour interval of the UT day is, 0 to 9.
//!
//! X and Y in days of minutes in; one K an interval out, with the ranges it rests on.  The regular
//! daily variation is taken off by the method of the Finnish Meteorological Institute.  The K of
//! one station is not Kp, which is made of thirteen and centrally.
//!
//! Missing stays missing: an interval with too few minutes has no K.

use crate::days::{DAY_NS, Days};
use crate::harmonic;
use record::Instant;

/// Lower class limits over the K = 9 limit.
///
/// # Source
///
/// Lockwood et al. 2018, doi 10.1051/swsc/2018038; J. Space Weather Space Clim. 9 (2019),
/// swsc190002, table 1.
const FRACTIONS: [f64; 10] = [0.0, 0.01, 0.02, 0.04, 0.08, 0.14, 0.24, 0.40, 0.66, 1.00];

/// Equivalent three-hour amplitudes ak of K 0 to 9, in units of a 250th of the K = 9 limit.
///
/// # Source
///
/// NOAA glossary of solar-terrestrial terms, entry ak index.
pub const AK: [f64; 10] = [0.0, 3.0, 7.0, 15.0, 27.0, 48.0, 80.0, 140.0, 240.0, 400.0];

/// Mid-class amplitudes of K 0 to 9 on the am and aa scale, nT (K = 9 limit reduced to 500 nT).
///
/// # Source
///
/// J. Space Weather Space Clim. 9 (2019), swsc190002, table 1.
pub const MID_CLASS_NT: [f64; 10] = [2.3, 7.3, 15.0, 30.0, 55.0, 95.0, 160.0, 265.0, 415.0, 667.0];

/// ap of Kp in thirds, 0o 0+ 1− 1o ... 9o.
///
/// # Source
///
/// Bartels' table, as given by ISGI and NOAA NCEI.
pub const AP: [f64; 28] = [
    0.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 9.0, 12.0, 15.0, 18.0, 22.0, 27.0, 32.0, 39.0, 48.0, 56.0,
    67.0, 80.0, 94.0, 111.0, 132.0, 154.0, 179.0, 207.0, 236.0, 300.0, 400.0,
];

/// Lower limits of K 0 to 9, nT, the K = 9 limit given.  Published tables are often rounded: a
/// station with a table of its own uses that.
pub fn limits(k9_nt: f64) -> [f64; 10] {
    FRACTIONS.map(|f| f * k9_nt)
}

/// K of a three-hour range by its lower limits, which belong to the class; `None` for NaN.
///
/// ```
/// use field::k_index::{k_of, limits};
/// assert_eq!(k_of(69.9, &limits(500.0)), Some(4));
/// assert_eq!(k_of(70.0, &limits(500.0)), Some(5));
/// ```
pub fn k_of(range_nt: f64, limits: &[f64; 10]) -> Option<u8> {
    if range_nt.is_nan() {
        return None;
    }
    // 0.14 of 300 is 42.000000000000007 in binary: a hair below a limit counts as at it.
    let reaches = |limit: &&f64| range_nt * (1.0 + 1e-12) >= **limit;
    Some(limits.iter().skip(1).take_while(reaches).count() as u8)
}

/// Daily A: the mean of eight ak; NaN when one is missing.
pub fn daily_a(k: &[Option<u8>; 8]) -> f64 {
    let ak = |k: &Option<u8>| k.and_then(|k| AK.get(usize::from(k)).copied()).unwrap_or(f64::NAN);
    k.iter().map(ak).sum::<f64>() / 8.0
}

/// Equivalent amplitude of a K, nT: ak times a 250th of the K = 9 limit; NaN above 9.
pub fn amplitude_nt(k: u8, k9_nt: f64) -> f64 {
    AK.get(usize::from(k)).map_or(f64::NAN, |ak| ak * k9_nt / 250.0)
}

/// The letter of the NOAA storm scale that a planetary Kp (in thirds, 15 being 5o) stands for:
/// G1 to G5.  A local K has no such letter.
///
/// # Source
///
/// NOAA geomagnetic storm scale; thirds round to the whole number, so that 5− is G1 and 9− is G4
/// (NOAA practice, from memory).
pub fn storm_scale(kp_thirds: u8) -> Option<&'static str> {
    match kp_thirds {
        14..=16 => Some("G1"),
        17..=19 => Some("G2"),
        20..=22 => Some("G3"),
        23..=26 => Some("G4"),
        27 => Some("G5"),
        _ => None,
    }
}

/// Number of the three-hour UT interval of an instant, 1 to 8: start inclusive, end exclusive.
pub fn interval_of(instant: Instant) -> u8 {
    (instant.0.rem_euclid(DAY_NS) / (DAY_NS / 8)) as u8 + 1
}

/// The K that minutes of pure noise would give: the range of 180 normal values is 5.43 standard
/// deviations (numerical integration of the expected range; common practice, no source).
pub fn noise_floor(minute_sigma_nt: f64, k9_nt: f64) -> Option<u8> {
    k_of(5.43 * minute_sigma_nt, &limits(k9_nt))
}

/// A guess of the K = 9 limit by dipole latitude, nT: between the limits of 21 observatories.  The
/// official one follows the corrected geomagnetic latitude and is set by ISGI; say that this is a
/// guess, and let it be changed.
pub fn guess_k9_nt(dipole_latitude_deg: f64) -> f64 {
    const TABLE: [(f64, f64); 12] = [
        (0.0, 300.0),
        (35.0, 300.0),
        (42.0, 450.0),
        (49.0, 500.0),
        (54.0, 500.0),
        (57.5, 700.0),
        (61.5, 1000.0),
        (64.0, 1500.0),
        (67.0, 2000.0),
        (72.0, 2000.0),
        (77.0, 1600.0),
        (90.0, 1500.0),
    ];
    let at = dipole_latitude_deg.abs().min(90.0);
    let next = TABLE.iter().position(|(latitude, _)| *latitude >= at).unwrap_or(0).max(1);
    let ((l, low), (r, high)) = (TABLE[next - 1], TABLE[next]);
    let between = low + (high - low) * (at - l) / (r - l);
    (between / 10.0).round() * 10.0
}

/// How to find K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Lower limits of K 0 to 9, nT: [`limits`] or a station's own table.
    pub limits_nt: [f64; 10],
    /// Longitude, degrees east: local time decides how freely the daily curve may bend.
    pub longitude_deg: f64,
    /// Whether the regular daily variation is taken off; without, K is of the plain ranges.
    pub remove_daily: bool,
    /// Share of an interval's minutes that must be there.
    pub fewest: f64,
}

impl Options {
    /// The proportional limits, daily variation taken off, 90 % of the minutes.
    pub fn new(k9_nt: f64, longitude_deg: f64) -> Self {
        Self { limits_nt: limits(k9_nt), longitude_deg, remove_daily: true, fewest: 0.9 }
    }
}

/// One three-hour interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Its start.
    pub start: Instant,
    /// K; `None` when too few minutes are there or no daily curve could be found.
    pub k: Option<u8>,
    /// Range of X and Y after the daily variation is taken off, nT; NaN where not known.
    pub range_nt: [f64; 2],
    /// Share of its minutes with both components, 0 to 1.
    pub present: f64,
}

/// K of every three-hour interval of whole UT days.
///
/// `days` holds X and Y (north and east, nT; their baseline is free) as its first two components,
/// best in minutes.  Days before and after improve the curve of a day near midnight.
///
/// # Accuracy
///
/// Such methods agree with the hand of an observer in 70 to 84 of 100 intervals and are off by
/// more than one in fewer than one of 100 (Nowożyński et al. 1991; Hattingh et al. 1989).
///
/// # Source
///
/// Sucksdorff, Pirjola and Häkkinen 1991, Geophysical Transactions 36, 333: hourly means over the
/// hour widened by n + m minutes, five harmonics, twice.  n = K^3.3 and m = 0 by day, 60 at dawn
/// and dusk, 120 at night (from memory).
pub fn indices(days: &Days, options: &Options) -> Vec<Interval> {
    let mut all = Vec::with_capacity(days.len() * 8);
    for day in 0..days.len() {
        let raw = [0, 1].map(|c| days.day(c, day).to_vec());
        let mut intervals = classify(days, day, &raw, options);
        if options.remove_daily {
            for _ in 0..2 {
                let k = k_for_smoothing(&intervals);
                let left = [0, 1].map(|c| take_off(days, c, day, &k, options.longitude_deg));
                intervals = match left {
                    [Some(x), Some(y)] => classify(days, day, &[x, y], options),
                    _ => intervals.map(|i| Interval { k: None, range_nt: [f64::NAN; 2], ..i }),
                };
            }
        }
        all.extend(intervals);
    }
    all
}

/// The first K of each interval, for the widths; a missing one counts as quiet.
fn k_for_smoothing(intervals: &[Interval; 8]) -> [f64; 8] {
    intervals.map(|i| f64::from(i.k.unwrap_or(0)))
}

fn classify(days: &Days, day: usize, values: &[Vec<f64>; 2], options: &Options) -> [Interval; 8] {
    let each = days.bins / 8;
    std::array::from_fn(|k| {
        let part = k * each..(k + 1) * each;
        let both = |b: &usize| !(values[0][*b] + values[1][*b]).is_nan();
        let present = part.clone().filter(both).count() as f64 / each as f64;
        let range_nt = [0, 1].map(|c: usize| range(&values[c][part.clone()]));
        let enough = present >= options.fewest;
        let larger = range_nt[0].max(range_nt[1]);
        Interval {
            start: Instant(days.midnight(day).0 + k as i64 * (DAY_NS / 8)),
            k: if enough { k_of(larger, &options.limits_nt) } else { None },
            range_nt,
            present,
        }
    })
}

/// Largest minus smallest value; NaN for none.
fn range(values: &[f64]) -> f64 {
    let (low, high) = values
        .iter()
        .filter(|v| !v.is_nan())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
    if low > high { f64::NAN } else { high - low }
}

/// A component of a day less its regular daily variation; `None` when too few hours are there.
fn take_off(
    days: &Days,
    c: usize,
    day: usize,
    k: &[f64; 8],
    longitude_deg: f64,
) -> Option<Vec<f64>> {
    const FEWEST_HOURS: usize = 18;
    let minutes = days.bins as f64 / 1440.0;
    let hourly: Vec<f64> = (0..24)
        .map(|hour| {
            let wide = libm::pow(k[hour / 3], 3.3) + night_width(hour as f64, longitude_deg);
            let start = (day * 1440) as f64 + hour as f64 * 60.0;
            let bin = |minute: f64| (minute * minutes).round() as i64;
            days.mean(c, bin(start - wide), bin(start + 60.0 + wide))
        })
        .collect();
    if hourly.iter().filter(|v| !v.is_nan()).count() < FEWEST_HOURS {
        return None;
    }
    let curve = harmonic::fit(&hourly, 5)?;
    let list = days.day(c, day);
    let share = |b: usize| (b as f64 + 0.5) / days.bins as f64;
    Some(list.iter().enumerate().map(|(b, v)| v - curve.at(share(b))).collect())
}

/// Minutes by which an hour is widened either way for its local time.
fn night_width(hour_ut: f64, longitude_deg: f64) -> f64 {
    let local = (hour_ut + 0.5 + longitude_deg / 15.0).rem_euclid(24.0);
    match local {
        h if (6.0..18.0).contains(&h) => 0.0,
        h if (3.0..6.0).contains(&h) || (18.0..21.0).contains(&h) => 60.0,
        _ => 120.0,
    }
}

/// A day's place among others by its eight K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayRank {
    /// Place of the day in the input.
    pub day: usize,
    /// Mean of the three order numbers, small for quiet days.
    pub order: f64,
}

/// Days from the quietest to the most disturbed, by eight K or Kp each (any scale): for each day
/// the order numbers by the sum, the sum of squares and the greatest of the eight, ties sharing
/// theirs, are averaged.  Days with a missing value (NaN) are left out.
///
/// # Source
///
/// The rule for the international quiet and disturbed days, GFZ and ISGI.
pub fn rank_days(days: &[[f64; 8]]) -> Vec<DayRank> {
    let whole: Vec<usize> =
        (0..days.len()).filter(|d| !days[*d].iter().any(|v| v.is_nan())).collect();
    let measures = [
        |k: &[f64; 8]| k.iter().sum::<f64>(),
        |k: &[f64; 8]| k.iter().map(|v| v * v).sum::<f64>(),
        |k: &[f64; 8]| k.iter().copied().fold(f64::NEG_INFINITY, f64::max),
    ];
    let mut order = vec![0.0; whole.len()];
    for measure in measures {
        let values: Vec<f64> = whole.iter().map(|d| measure(&days[*d])).collect();
        for (slot, v) in order.iter_mut().zip(&values) {
            // Thirds do not add exactly: alike means alike to a millionth.
            let near = |w: &f64| (w - v).abs() <= 1e-6;
            let below = values.iter().filter(|w| **w < *v && !near(w)).count() as f64;
            let alike = values.iter().filter(|w| near(w)).count() as f64;
            *slot += (below + 0.5 * (alike + 1.0)) / 3.0;
        }
    }
    let mut ranks: Vec<DayRank> =
        whole.iter().zip(order).map(|(day, order)| DayRank { day: *day, order }).collect();
    record::sort::by(&mut ranks, |a, b| a.order.total_cmp(&b.order).then(a.day.cmp(&b.day)));
    ranks
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;
    use record::NANOS_PER_SECOND;

    const MINUTE: i64 = 60 * NANOS_PER_SECOND;

    fn three_days(x: impl Fn(f64) -> f64, y: impl Fn(f64) -> f64) -> Days {
        let start = Instant::from_date(2026, 5, 1).unwrap();
        let n = 3 * 1440;
        let times: Vec<i64> = (0..n).map(|k| start.0 + k * MINUTE).collect();
        let hours: Vec<f64> = (0..n).map(|k| k as f64 / 60.0).collect();
        let (x, y): (Vec<f64>, Vec<f64>) = hours.iter().map(|h| (x(*h), y(*h))).unzip();
        Days::new(&times, &[&x, &y], |_| true, 60.0, 60.0, 0.9).unwrap()
    }

    /// Lowest at noon, flat at night, as the regular variation is.
    fn daily(hour: f64) -> f64 {
        let away = (hour.rem_euclid(24.0) - 12.0) / 3.0;
        -35.0 * libm::exp(-away * away)
    }

    #[test]
    fn a_regular_day_has_k_0_and_its_plain_ranges_do_not() {
        let days = three_days(|h| 17_000.0 + daily(h), |h| -900.0 - daily(h));
        let options = Options::new(500.0, 0.0);
        let k = indices(&days, &options);
        assert_eq!(k.len(), 24);
        // Away from the ends of the record, where the widened hours are cut.
        assert!(k[8..16].iter().all(|i| i.k == Some(0)), "{:?}", &k[8..16]);
        let plain = indices(&days, &Options { remove_daily: false, ..options });
        assert!(plain[8..16].iter().any(|i| i.k >= Some(3)));
    }

    #[test]
    fn a_bay_in_one_interval_raises_its_k_alone() {
        let bay = |h: f64| {
            if (37.0..38.5).contains(&h) {
                -90.0 * libm::sin((h - 37.0) / 1.5 * std::f64::consts::PI)
            } else {
                0.0
            }
        };
        let days = three_days(|h| daily(h) + bay(h), daily);
        let k = indices(&days, &Options::new(500.0, 0.0));
        // Hour 37 is 13 UT of the second day: its fifth interval; 90 nT is K 5 (70 to 120 nT).
        assert_eq!(k[12].k, Some(5));
        assert!((k[12].range_nt[0] - 90.0).abs() < 15.0, "{:?}", k[12]);
        assert!(k[8..12].iter().chain(&k[13..16]).all(|i| i.k <= Some(2)), "{:?}", &k[8..16]);
    }

    #[test]
    fn an_interval_with_a_hole_has_no_k() {
        let days = three_days(|h| if (24.0..24.5).contains(&h) { f64::NAN } else { 0.0 }, |_| 0.0);
        let k = indices(&days, &Options::new(500.0, 0.0));
        assert_eq!((k[8].k, k[9].k), (None, Some(0)));
        assert!((k[8].present - 150.0 / 180.0).abs() < 1e-12);
        assert_eq!(k[9].start.iso(), "2026-05-02T03:00:00Z");
    }

    #[test]
    fn noise_gives_the_k_of_its_floor() {
        let mut random = Random::new(6);
        let noise: Vec<f64> = (0..3 * 1440 * 2).map(|_| 5.2 * random.normal()).collect();
        let days = three_days(
            |h| noise[(h * 60.0).round() as usize],
            |h| noise[4320 + (h * 60.0).round() as usize],
        );
        let k = indices(&days, &Options::new(500.0, 0.0));
        let floor = noise_floor(5.2, 500.0);
        assert_eq!(floor, Some(3));
        assert!(k.iter().filter(|i| i.k == floor).count() >= 22);
    }

    #[test]
    fn a_guess_of_the_limit_lies_between_its_neighbours() {
        assert_eq!(guess_k9_nt(10.0), 300.0);
        assert_eq!(guess_k9_nt(-51.0), 500.0);
        assert_eq!(guess_k9_nt(67.0), 2000.0);
        assert_eq!(guess_k9_nt(90.0), 1500.0);
        assert!((700.0..1000.0).contains(&guess_k9_nt(60.4)));
    }
}
