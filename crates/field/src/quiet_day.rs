//! The quiet-day curve: what the undisturbed ionosphere does to the field by the clock.
//!
//! Days of equal bins and an order of days by quietness in; one curve a component out, in nT about
//! the night, with its spread from day to day.  A curve of five quiet days of one record is called
//! that, not "the" regular variation: it changes with season and from day to day by 30 %.

use crate::days::Days;
use crate::harmonic::{self, Harmonics};
use crate::k_index::{Interval, rank_days};
use record::{Fault, Instant, print, say, words::word};
use signal::robust;
use std::fmt;

/// How the days are brought together in each bin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Middle {
    /// Their median, which one bay or one storm's tail does not move.
    Median,
    /// Their mean.
    Mean,
}

/// How to make the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// How many of the quietest days are laid over each other.
    pub days: usize,
    /// What is taken of them.
    pub middle: Middle,
    /// Harmonics of 24 hours drawn through the average; 0 keeps the average itself.
    pub harmonics: usize,
    /// Longitude, degrees east: nought of the curve is the mean of 23 to 03 local mean time.
    pub longitude_deg: f64,
    /// Share of a day's bins that must be there.
    pub fewest: f64,
}

impl Options {
    /// The median of five days, six harmonics, 90 % of the bins.
    pub fn new(longitude_deg: f64) -> Self {
        Self { days: 5, middle: Middle::Median, harmonics: 6, longitude_deg, fewest: 0.9 }
    }
}

/// A quiet-day curve.
#[derive(Clone, Debug, PartialEq)]
pub struct QuietDay {
    /// One curve a component, a value a bin of the UT day, nT about the night.
    pub curve: Vec<Vec<f64>>,
    /// Standard deviation of the days about the curve, in each bin, nT.
    pub spread_nt: Vec<Vec<f64>>,
    /// Largest minus smallest value of each curve, nT.
    pub range_nt: Vec<f64>,
    /// The harmonics drawn through each average; empty when none were asked for.
    pub harmonics: Vec<Harmonics>,
    /// Standard uncertainty of the cosine and sine of each harmonic of each component, nT: from
    /// how the single days scatter, with the fewness of the days allowed for; NaN for fewer than
    /// four days.
    pub pair_sigma_nt: Vec<Vec<[f64; 2]>>,
    /// Places of the days used, quietest first.
    pub used: Vec<usize>,
    /// Their midnights, quietest first.
    pub dates: Vec<Instant>,
}

/// Why there is no curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum QuietDayError {
    /// Fewer whole days than two.
    TooFewDays {
        /// Whole days in the record.
        whole: usize,
        /// Days that the average asks for.
        asked: usize,
    },
    /// The same hours are missing on all of the days.
    Holes,
}

impl fmt::Display for QuietDayError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fault = Fault::from(*self);
        write!(f, "{} {}", fault.message, fault.remedy)
    }
}

impl std::error::Error for QuietDayError {}

impl From<QuietDayError> for Fault {
    fn from(error: QuietDayError) -> Self {
        match error {
            QuietDayError::TooFewDays { whole, asked } => Self::new(
                "quiet-day/too-few-days",
                say!(
                    "The record has {} from midnight to midnight UTC that {} whole; a quiet-day \
                     curve of {asked} needs two at the least.",
                    print::counted(whole, "day", "days"),
                    word(if whole == 1 { "is" } else { "are" })
                ),
                word("Use a longer record, or mark less of it."),
            ),
            QuietDayError::Holes => Self::new(
                "quiet-day/holes",
                word("The same hours are missing on all of the quiet days."),
                word("Ask for fewer harmonics, or for more days."),
            ),
        }
    }
}

/// Places of the days from the quietest to the most disturbed, by their own K; days with an
/// interval without K come last, in order.
pub fn quietest(intervals: &[Interval]) -> Vec<usize> {
    let days: Vec<[f64; 8]> = intervals
        .chunks_exact(8)
        .map(|day| std::array::from_fn(|k| day[k].k.map_or(f64::NAN, f64::from)))
        .collect();
    let mut order: Vec<usize> = rank_days(&days).iter().map(|rank| rank.day).collect();
    let rest: Vec<usize> = (0..days.len()).filter(|d| !order.contains(d)).collect();
    order.extend(rest);
    order
}

/// The curve of the quietest days.
///
/// Each day is first rid of its non-cyclic change: the line through the means of its first and
/// its last half hour, so that a storm on the next day does not reach into it.  The average over the days is drawn through by
/// harmonics, if asked for, and set to nought at night.
///
/// `order` lists days from the quietest on; days with too little in any component are passed
/// over.  NaN bins are left out of the average.
///
/// # Errors
///
/// [`QuietDayError`] for fewer than two whole days, or hours missing on all of them.
///
/// # Source
///
/// Chapman and Bartels 1940, Geomagnetism, chapter 7 (from memory); common practice.
pub fn curve(days: &Days, order: &[usize], options: &Options) -> Result<QuietDay, QuietDayError> {
    let components = days.values.len();
    let whole = |day: &usize| {
        (0..components).all(|c| {
            let list = days.day(c, *day);
            let there = list.iter().filter(|v| !v.is_nan()).count();
            !list.is_empty() && there as f64 >= options.fewest * list.len() as f64
        })
    };
    let candidates: Vec<usize> = order.iter().copied().filter(whole).collect();
    if candidates.len() < 2 || options.days < 2 {
        let (whole, asked) = (candidates.len(), options.days);
        return Err(QuietDayError::TooFewDays { whole, asked });
    }
    let used: Vec<usize> = candidates.into_iter().take(options.days).collect();
    let mut out = QuietDay {
        curve: vec![],
        spread_nt: vec![],
        range_nt: vec![],
        harmonics: vec![],
        pair_sigma_nt: vec![],
        dates: used.iter().map(|d| days.midnight(*d)).collect(),
        used,
    };
    for c in 0..components {
        one(days, c, options, &mut out)?;
    }
    Ok(out)
}

fn one(days: &Days, c: usize, options: &Options, out: &mut QuietDay) -> Result<(), QuietDayError> {
    let night = night_bins(days.bins, options.longitude_deg);
    let cyclic: Vec<Vec<f64>> =
        out.used.iter().map(|day| about_night(&cyclic(days, c, *day), &night)).collect();
    let of_bin = |b: usize| cyclic.iter().map(move |day| day[b]).filter(|v| !v.is_nan());
    let middle = |b: usize| match options.middle {
        Middle::Mean => of_bin(b).sum::<f64>() / of_bin(b).count() as f64,
        Middle::Median => robust::median(&of_bin(b).collect::<Vec<f64>>()).unwrap_or(f64::NAN),
    };
    let mut mean: Vec<f64> = (0..days.bins).map(middle).collect();
    if options.harmonics > 0 {
        out.pair_sigma_nt.push(pair_sigma(&cyclic, options));
        let found = harmonic::fit(&mean, options.harmonics).ok_or(QuietDayError::Holes)?;
        mean = (0..days.bins).map(|b| found.at((b as f64 + 0.5) / days.bins as f64)).collect();
        out.harmonics.push(found);
    }
    let mean = about_night(&mean, &night);
    let spread = (0..days.bins).map(|b| {
        let squares: f64 = of_bin(b).map(|v| (v - mean[b]) * (v - mean[b])).sum();
        (squares / (of_bin(b).count() as f64 - 1.0)).sqrt()
    });
    out.spread_nt.push(spread.collect());
    let (low, high) = mean
        .iter()
        .filter(|v| !v.is_nan())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h): (f64, f64), v| (l.min(*v), h.max(*v)));
    out.range_nt.push(high - low);
    out.curve.push(mean);
    Ok(())
}

/// Standard uncertainty of harmonics fitted through the middle of days, by the scatter of the
/// harmonics of each day.
fn pair_sigma(days: &[Vec<f64>], options: &Options) -> Vec<[f64; 2]> {
    let each: Vec<Harmonics> =
        days.iter().filter_map(|day| harmonic::fit(day, options.harmonics)).collect();
    let n = each.len() as f64;
    if n < 4.0 {
        return vec![[f64::NAN; 2]; options.harmonics];
    }
    // The spread of Student's distribution, and the median's smaller efficiency (normal theory).
    let few = ((n - 1.0) / (n - 3.0)).sqrt();
    let middle = if options.middle == Middle::Median { 1.2533 } else { 1.0 };
    let of = |k: usize, part: usize| {
        let values: Vec<f64> = each.iter().map(|h| h.pairs[k][part]).collect();
        let mean = values.iter().sum::<f64>() / n;
        let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
        middle * few * (squares / (n - 1.0) / n).sqrt()
    };
    (0..options.harmonics).map(|k| [of(k, 0), of(k, 1)]).collect()
}

/// A component of a day less the line through its first and last half hour.
fn cyclic(days: &Days, c: usize, day: usize) -> Vec<f64> {
    let bins = days.bins as i64;
    let half_hour = (bins / 48).max(1);
    let first = day as i64 * bins;
    let start = days.mean(c, first, first + half_hour);
    let end = days.mean(c, first + bins - half_hour, first + bins);
    let change = (end - start) / (bins - half_hour) as f64;
    let change = if change.is_nan() { 0.0 } else { change };
    days.day(c, day).iter().enumerate().map(|(b, v)| v - change * b as f64).collect()
}

/// Bins whose middle lies between 23 and 03 local mean time.
fn night_bins(bins: usize, longitude_deg: f64) -> Vec<usize> {
    let local = |b: &usize| {
        ((*b as f64 + 0.5) * 24.0 / bins as f64 + longitude_deg / 15.0).rem_euclid(24.0)
    };
    (0..bins).filter(|b| local(b) >= 23.0 || local(b) < 3.0).collect()
}

/// Values less their mean over the night bins or, without any, over all.
fn about_night(values: &[f64], night: &[usize]) -> Vec<f64> {
    let mean = |list: &mut dyn Iterator<Item = f64>| {
        let (sum, n) = list.filter(|v| !v.is_nan()).fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
        sum / n
    };
    let mut level = mean(&mut night.iter().map(|b| values[*b]));
    if level.is_nan() {
        level = mean(&mut values.iter().copied());
    }
    values.iter().map(|v| v - level).collect()
}

impl QuietDay {
    /// Standard uncertainty of a harmonic's amplitude, nT, and of its time of greatest value as a
    /// share of the whole day; `None` for one that is not there.
    pub fn harmonic_sigma(&self, component: usize, harmonic: usize) -> Option<(f64, f64)> {
        let place = harmonic.checked_sub(1)?;
        let [c, s] = *self.harmonics.get(component)?.pairs.get(place)?;
        let [sc, ss] = *self.pair_sigma_nt.get(component)?.get(place)?;
        let amplitude = libm::hypot(c, s);
        let along = libm::hypot(c * sc, s * ss) / amplitude;
        let across = libm::hypot(s * sc, c * ss) / amplitude;
        Some((along, across / amplitude / std::f64::consts::TAU / harmonic as f64))
    }

    /// The curve of a component at an instant, nT, between the middles of its bins; NaN for a
    /// component that is not there.
    pub fn at(&self, component: usize, instant: Instant) -> f64 {
        let Some(curve) = self.curve.get(component).filter(|list| !list.is_empty()) else {
            return f64::NAN;
        };
        let day = crate::days::DAY_NS;
        let share = instant.0.rem_euclid(day) as f64 / day as f64;
        let place = share * curve.len() as f64 - 0.5;
        let below = place.floor();
        let pick = |k: f64| curve[(k as i64).rem_euclid(curve.len() as i64) as usize];
        let part = place - below;
        pick(below) * (1.0 - part) + pick(below + 1.0) * part
    }

    /// A component of days less the curve, bin by bin, NaN through.
    pub fn take_off(&self, days: &Days, component: usize) -> Vec<f64> {
        let (Some(list), Some(curve)) = (days.values.get(component), self.curve.get(component))
        else {
            return Vec::new();
        };
        list.iter().zip(curve.iter().cycle()).map(|(v, c)| v - c).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::k_index;
    use crate::testing::Random;
    use record::NANOS_PER_SECOND;

    fn shape(local_hour: f64) -> f64 {
        // Flat at night, lowest at local noon.
        let away = (local_hour - 12.0) / 3.0;
        -30.0 * libm::exp(-away * away)
    }

    /// Eight days, of which two are disturbed, on a drifting baseline.
    fn days(longitude_deg: f64) -> Days {
        let start = Instant::from_date(2026, 5, 1).unwrap();
        let mut random = Random::new(5);
        let times: Vec<i64> = (0..8 * 1440).map(|k| start.0 + k * 60 * NANOS_PER_SECOND).collect();
        let value = |k: usize, random: &mut Random| {
            let hour = k as f64 / 60.0;
            let local = (hour + longitude_deg / 15.0).rem_euclid(24.0);
            let storm = if matches!(k / 1440, 2 | 5) {
                150.0 * libm::sin(hour * 2.1) * libm::sin(hour * 0.7)
            } else {
                0.0
            };
            17_500.0 + 4.0 * hour / 24.0 + shape(local) + storm + 2.0 * random.normal()
        };
        let x: Vec<f64> = (0..times.len()).map(|k| value(k, &mut random)).collect();
        let y: Vec<f64> = (0..times.len()).map(|k| value(k, &mut random)).collect();
        Days::new(&times, &[&x, &y], |_| true, 60.0, 60.0, 0.9).unwrap()
    }

    #[test]
    fn the_curve_comes_back_from_quiet_days_and_disturbed_ones_are_passed_over() {
        let longitude_deg = -9.9;
        let days = days(longitude_deg);
        let k = k_index::indices(&days, &k_index::Options::new(500.0, longitude_deg));
        let order = quietest(&k);
        assert_eq!(order.len(), 8);
        let found = curve(&days, &order, &Options::new(longitude_deg)).unwrap();
        assert!(!found.used.contains(&2) && !found.used.contains(&5), "{:?}", found.used);
        assert_eq!(found.dates[0], days.midnight(found.used[0]));
        for hour in 0..24 {
            let local = (f64::from(hour) + longitude_deg / 15.0).rem_euclid(24.0);
            let instant = Instant(days.first.0 + i64::from(hour) * 3600 * NANOS_PER_SECOND);
            let off = found.at(0, instant) - shape(local);
            assert!(off.abs() < 2.5, "hour {hour}: {off}");
        }
        assert!((found.range_nt[0] - 30.0).abs() < 3.0, "{:?}", found.range_nt);
        assert!(found.spread_nt[1].iter().all(|s| *s < 8.0));
        let left = found.take_off(&days, 0);
        assert_eq!(left.len(), days.values[0].len());
        assert!((left[720] - days.values[0][720] - 30.0).abs() < 3.0);
    }

    #[test]
    fn one_day_makes_no_curve() {
        let days = days(0.0);
        let error = curve(&days, &[3], &Options::new(0.0)).unwrap_err();
        assert_eq!(error, QuietDayError::TooFewDays { whole: 1, asked: 5 });
        assert!(Fault::from(error).message.contains("1 day"));
    }

    #[test]
    fn without_harmonics_the_curve_is_the_average() {
        let days = days(0.0);
        let options = Options { harmonics: 0, middle: Middle::Mean, ..Options::new(0.0) };
        let found = curve(&days, &[0, 1, 3], &options).unwrap();
        assert!(found.harmonics.is_empty() && found.used == [0, 1, 3]);
        assert!(found.at(7, days.first).is_nan());
    }
}
