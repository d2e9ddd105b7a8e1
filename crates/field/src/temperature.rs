//! The thermometer in a magnetometer: how each component follows the temperature, and when.
//!
//! A fixed station cannot tell an offset that drifts with temperature from a sensitivity that
//! does, and need not.  Temperature and the daily variation both repeat every 24 hours, so a
//! plain regression takes some of the one for the other: regress beside an observatory's record,
//! on what departs from the mean day, or on the nights only, where that can be done.

use crate::follow::{Lagged, Response};
use crate::linear;
use record::{Fault, Quantity, Unit, print, say, words::word};
use std::fmt;

/// How to regress.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// How the sensor follows the thermometer.
    pub response: Response,
    /// Latest that the field may follow the thermometer, seconds; the lag is sought from 0.
    pub longest_lag_s: f64,
    /// Earliest that it may run ahead, seconds, as a positive number; for a delay only.
    pub longest_lead_s: f64,
    /// Whether a steady drift is fitted beside.
    pub drift: bool,
    /// Whether field and temperature are each taken less their mean at that half hour of the day,
    /// so that nothing which comes round every 24 hours counts.
    pub mean_day: bool,
}

impl Default for Options {
    /// A first-order response of 0 to 60 minutes, no drift, every hour of the day as it is.
    fn default() -> Self {
        let response = Response::FirstOrder;
        Self { response, longest_lag_s: 3600.0, longest_lead_s: 0.0, drift: false, mean_day: false }
    }
}

/// How three components follow a temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct TemperatureFit {
    /// Change of each component with temperature, nT/°C.
    pub coefficient_nt_per_degc: [Quantity; 3],
    /// How the sensor was taken to follow the thermometer.
    pub response: Response,
    /// Time constant, or delay, behind the thermometer, seconds; negative when it runs ahead.
    pub lag_s: f64,
    /// Temperature at which nothing is taken off: the mean of those used, °C.
    pub reference_degc: f64,
    /// Lowest and highest temperature used, °C; outside, the coefficients are a guess.
    pub range_degc: [f64; 2],
    /// Root-mean-square of each component about all that is fitted but temperature, before, nT.
    pub rms_before_nt: [f64; 3],
    /// The same after, nT.
    pub rms_after_nt: [f64; 3],
    /// Share of the variance explained by temperature, 0 to 1.
    pub r_squared: [f64; 3],
    /// Samples used.
    pub n: usize,
}

impl TemperatureFit {
    /// What to take off each component at a temperature that already follows the thermometer
    /// ([`Lagged::followed`]), nT.  NaN in, NaN out.
    pub fn correction_nt(&self, temperature_degc: f64) -> [f64; 3] {
        let away = temperature_degc - self.reference_degc;
        self.coefficient_nt_per_degc.map(|q| q.value * away)
    }
}

/// Why no coefficient can be given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TemperatureError {
    /// Too few samples with field and temperature.
    TooFew {
        /// Usable samples.
        usable: usize,
    },
    /// The temperature hardly changes.
    Steady {
        /// Standard deviation of the temperature, °C.
        spread_degc: f64,
    },
}

impl fmt::Display for TemperatureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fault = Fault::from(*self);
        write!(f, "{} {}", fault.message, fault.remedy)
    }
}

impl std::error::Error for TemperatureError {}

impl From<TemperatureError> for Fault {
    fn from(error: TemperatureError) -> Self {
        match error {
            TemperatureError::TooFew { usable } => Self::new(
                "temperature/too-few",
                say!(
                    "{} have both field and temperature; a regression needs at least {FEWEST}.",
                    print::counted(usable, "sample", "samples")
                ),
                word("Use a longer stretch, or look whether marks leave most of the log out."),
            ),
            TemperatureError::Steady { spread_degc } => Self::new(
                "temperature/steady",
                say!(
                    "The temperature stays within {} °C; no coefficient can be told from so \
                     little.",
                    print::significant(spread_degc, 2)
                ),
                word("Switch this step off, or use days with a larger swing."),
            ),
        }
    }
}

const FEWEST: usize = 50;
/// Steadier than this, °C, a thermometer shows its own noise.
const STEADY_DEGC: f64 = 0.05;
/// Samples are enough to find the lag.
const SCAN: usize = 20_000;
/// Half hours of the mean day.
const DAY_S: f64 = 86_400.0;
const HALF_HOUR_S: f64 = 1_800.0;
/// Lags tried between the earliest and the latest, and then about the best.
const COARSE: usize = 12;
const FINE: usize = 8;

/// Regresses three components on a temperature that they follow with a lag.
///
/// # Arguments and units
///
/// * `times_s` - ascending, seconds
/// * `field` - three components, nT
/// * `temperature_degc` - °C, at the same times
/// * `keep` - whether a sample takes part; NaN never do
/// * `beside` - what else the field may follow, at the same times, such as the components of an
///   observatory's record: each takes its own share; a sample where one is NaN takes no part
///
/// The lag is the likeliest one when each component has a noise of its own: that with the least
/// sum of the logarithms of the three residual variances.  Between samples the temperature runs
/// straight, across no more than three median steps; after a longer gap a first-order response needs three time constants before it counts
/// again.
///
/// # Errors
///
/// [`TemperatureError`] for fewer than 50 samples or a temperature that stays within 0.05 °C.
///
/// # Accuracy
///
/// Uncertainties allow for residuals that are alike from sample to sample, not for a daily
/// variation taken for temperature.
///
/// # Source
///
/// What is fitted beside is taken off field and temperature first, which gives the same
/// coefficient: Frisch and Waugh 1933, Econometrica 1, 387 (from memory).
pub fn fit(
    times_s: &[f64],
    field: [&[f64]; 3],
    temperature_degc: &[f64],
    keep: impl Fn(usize) -> bool,
    options: &Options,
    beside: &[&[f64]],
) -> Result<TemperatureFit, TemperatureError> {
    let lengths =
        field.iter().map(|list| list.len()).chain([times_s.len(), temperature_degc.len()]);
    let n = lengths.min().unwrap_or(0);
    let whole = |k: &usize| {
        keep(*k)
            && field.iter().all(|list| list[*k].is_finite())
            && temperature_degc[*k].is_finite()
            && beside.iter().all(|list| list.get(*k).is_some_and(|v| v.is_finite()))
    };
    let used: Vec<usize> = (0..n).filter(whole).collect();
    if used.len() < FEWEST {
        return Err(TemperatureError::TooFew { usable: used.len() });
    }
    let spread_degc = spread(used.iter().map(|k| temperature_degc[*k]));
    if spread_degc < STEADY_DEGC {
        return Err(TemperatureError::Steady { spread_degc });
    }
    let data =
        Data { times_s: &times_s[..n], field, warmth: &temperature_degc[..n], beside, options };
    let at = Lagged::new(data.times_s, data.warmth);
    let lag_s = data.best_lag(&at, &used);
    data.tell(&at, &used, lag_s).ok_or(TemperatureError::TooFew { usable: used.len() })
}

/// Apparent change of a field whose sensitivity changes with temperature, nT.
pub fn sensitivity_change_nt(field_nt: f64, percent_per_degc: f64, change_degc: f64) -> f64 {
    field_nt * percent_per_degc / 100.0 * change_degc
}

fn spread(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let n = values.clone().count() as f64;
    let mean = values.clone().sum::<f64>() / n;
    (values.map(|v| (v - mean) * (v - mean)).sum::<f64>() / n).sqrt()
}

struct Data<'a> {
    times_s: &'a [f64],
    field: [&'a [f64]; 3],
    warmth: &'a [f64],
    beside: &'a [&'a [f64]],
    options: &'a Options,
}

/// All that is fitted beside temperature, on some samples, and how it is taken off.
struct Beside {
    /// Which half hour of the day each sample is in; all 0 without a mean day.
    half_hours: Vec<usize>,
    counts: Vec<f64>,
    /// Columns less their means, at right angles to each other and of length one.
    columns: Vec<Vec<f64>>,
}

impl Beside {
    /// Values less their means and less what the columns hold of them.
    fn taken_off(&self, mut values: Vec<f64>) -> Vec<f64> {
        let mut sums = vec![0.0; self.counts.len()];
        for (half_hour, v) in self.half_hours.iter().zip(&values) {
            sums[*half_hour] += v;
        }
        for (half_hour, v) in self.half_hours.iter().zip(&mut values) {
            *v -= sums[*half_hour] / self.counts[*half_hour];
        }
        for column in &self.columns {
            let share: f64 = column.iter().zip(&values).map(|(c, v)| c * v).sum();
            for (v, c) in values.iter_mut().zip(column) {
                *v -= share * c;
            }
        }
        values
    }
}

fn at_places(list: &[f64], places: &[usize]) -> Vec<f64> {
    places.iter().map(|k| list[*k]).collect()
}

impl Data<'_> {
    fn beside(&self, places: &[usize]) -> Beside {
        let half_hour = |k: &usize| match self.options.mean_day {
            true => (self.times_s[*k].rem_euclid(DAY_S) / HALF_HOUR_S) as usize,
            false => 0,
        };
        let half_hours: Vec<usize> = places.iter().map(half_hour).collect();
        let mut counts = vec![0.0; (DAY_S / HALF_HOUR_S) as usize + 1];
        half_hours.iter().for_each(|h| counts[*h] += 1.0);
        let mut out = Beside { half_hours, counts, columns: Vec::new() };
        let drift = self.options.drift.then_some(self.times_s);
        for list in drift.iter().chain(self.beside) {
            let plain = at_places(list, places);
            let size = |list: &[f64]| list.iter().map(|v| v * v).sum::<f64>().sqrt();
            let column = out.taken_off(plain.clone());
            let left = size(&column);
            // What the others hold already would be rounding alone.
            if left > 1e-9 * size(&plain) {
                out.columns.push(column.into_iter().map(|v| v / left).collect());
            }
        }
        out
    }

    fn best_lag(&self, at: &Lagged<'_>, used: &[usize]) -> f64 {
        let lead = match self.options.response {
            Response::FirstOrder => 0.0,
            Response::Delay => self.options.longest_lead_s.max(0.0),
        };
        let (from, to) = (-lead, self.options.longest_lag_s.max(0.0));
        if to - from <= 0.0 {
            return 0.0;
        }
        // The same samples for every lag, or a lag that drops the hard ones would win.
        let [early, late] = [from, to].map(|lag| at.followed(self.options.response, lag));
        let step = self.times_s.len().div_ceil(SCAN).max(1);
        let whole =
            |k: &&usize| k.is_multiple_of(step) && early[**k].is_finite() && late[**k].is_finite();
        let places: Vec<usize> = used.iter().filter(whole).copied().collect();
        let beside = self.beside(&places);
        let fields = self.field.map(|list| beside.taken_off(at_places(list, &places)));
        let cost = |warm: &[f64], places: &[usize]| -> f64 {
            let warm: Vec<f64> = places.iter().map(|k| warm[*k]).collect();
            if warm.iter().any(|v| v.is_nan()) {
                return f64::INFINITY;
            }
            let warm = beside.taken_off(warm);
            // Likelihood with a noise of its own for each component.
            let left = |list: &Vec<f64>| (1.0 - correlation_squared(list, &warm)).max(1e-300);
            fields.iter().map(left).map(libm::log).sum()
        };
        // Coarse over all, on every so many samples of the thermometer; then fine about the best,
        // on all of them.
        let thin = |list: &[f64]| list.iter().copied().step_by(step).collect::<Vec<f64>>();
        let (times, warmth) = (thin(self.times_s), thin(self.warmth));
        let few = Lagged::new(&times, &warmth);
        let thinned: Vec<usize> = places.iter().map(|k| k / step).collect();
        let quick = |lag| cost(&few.followed(self.options.response, lag), &thinned);
        let exact = |lag| cost(&at.followed(self.options.response, lag), &places);
        let width = (to - from) / COARSE as f64;
        let coarse = lowest(from, to, COARSE, &quick);
        lowest((coarse - width).max(from), (coarse + width).min(to), FINE, &exact)
    }

    fn tell(&self, at: &Lagged<'_>, used: &[usize], lag_s: f64) -> Option<TemperatureFit> {
        let warm = at.followed(self.options.response, lag_s);
        let places: Vec<usize> = used.iter().filter(|k| warm[**k].is_finite()).copied().collect();
        let n = places.len();
        let beside = self.beside(&places);
        let degc = at_places(&warm, &places);
        let mean = degc.iter().sum::<f64>() / n as f64;
        let range_degc = [
            degc.iter().copied().fold(f64::INFINITY, f64::min),
            degc.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ];
        let away = beside.taken_off(degc);
        let mut fits = [None; 3];
        for (list, slot) in self.field.iter().zip(&mut fits) {
            let left = beside.taken_off(at_places(list, &places));
            *slot = linear::fit::<1>(n, |k| ([away[k]], left[k]));
        }
        let [Some(x), Some(y), Some(z)] = fits else { return None };
        let three = [x, y, z];
        // Numbers that were fitted beside.
        let groups = beside.counts.iter().filter(|count| **count > 0.0).count();
        let spent = (groups + beside.columns.len()) as f64;
        let longer = (n as f64 / (n as f64 - spent).max(1.0)).sqrt();
        let quantity = |l: linear::Linear<1>| {
            let unit = Unit::NanoteslaPerCelsius;
            Quantity::new(l.coefficients[0], l.sigma[0] * longer, unit)
        };
        Some(TemperatureFit {
            coefficient_nt_per_degc: three.map(quantity),
            response: self.options.response,
            lag_s,
            reference_degc: mean,
            range_degc,
            rms_before_nt: three.map(|l| l.spread),
            rms_after_nt: three.map(|l| l.rms),
            r_squared: three.map(|l| l.r_squared()),
            n,
        })
    }
}

fn correlation_squared(a: &[f64], b: &[f64]) -> f64 {
    let (mut aa, mut bb, mut ab) = (0.0, 0.0, 0.0);
    for (x, y) in a.iter().zip(b) {
        (aa, bb, ab) = (aa + x * x, bb + y * y, ab + x * y);
    }
    if aa > 0.0 && bb > 0.0 { ab * ab / (aa * bb) } else { 0.0 }
}

/// Where a cost is lowest among evenly spaced lags, between them by a parabola.
fn lowest(from: f64, to: f64, parts: usize, cost: &dyn Fn(f64) -> f64) -> f64 {
    let lag = |k: usize| from + (to - from) * k as f64 / parts as f64;
    let costs: Vec<f64> = (0..=parts).map(|k| cost(lag(k))).collect();
    let best = (0..=parts).min_by(|a, b| costs[*a].total_cmp(&costs[*b])).unwrap_or(0);
    if best == 0 || best == parts || !costs[best].is_finite() {
        return lag(best);
    }
    lag(best) + bottom(costs[best - 1], costs[best], costs[best + 1]) * (to - from) / parts as f64
}

/// Where the parabola through values at −1, 0, 1 is lowest, within ±0.5.
fn bottom(left: f64, middle: f64, right: f64) -> f64 {
    let bend = left - 2.0 * middle + right;
    if bend > 0.0 { (0.5 * (left - right) / bend).clamp(-0.5, 0.5) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;

    const STEP_S: f64 = 60.0;

    /// Ten days of minutes: a daily and a weather temperature, a field that follows it.
    fn log(lag_s: f64, seed: u64) -> (Vec<f64>, [Vec<f64>; 3], Vec<f64>) {
        let mut random = Random::new(seed);
        let warm = |t: f64| {
            let day = std::f64::consts::TAU * t / 86_400.0;
            12.0 + 6.0 * libm::sin(day) + 3.0 * libm::sin(day / 3.7 + 1.0) + libm::sin(3.1 * day)
        };
        let times: Vec<f64> = (0..14_400).map(|k| f64::from(k) * STEP_S).collect();
        let degc = times.iter().map(|t| warm(*t)).collect();
        let field = [25.0, -8.0, 60.0].map(|beta| {
            times
                .iter()
                .map(|t| 18_000.0 + beta * (warm(t - lag_s) - 12.0) + 15.0 * random.normal())
                .collect()
        });
        (times, field, degc)
    }

    fn three(field: &[Vec<f64>; 3]) -> [&[f64]; 3] {
        [&field[0], &field[1], &field[2]]
    }

    #[test]
    fn coefficients_and_lag_come_back_within_their_uncertainty() {
        let (mut inside, mut total) = (0u32, 0u32);
        for seed in 0..8 {
            let (times, field, degc) = log(1500.0, seed);
            let options = Options { response: Response::Delay, ..Options::default() };
            let found = fit(&times, three(&field), &degc, |_| true, &options, &[]).unwrap();
            assert!((found.lag_s - 1500.0).abs() < 60.0, "{}", found.lag_s);
            for (q, want) in found.coefficient_nt_per_degc.iter().zip([25.0, -8.0, 60.0]) {
                total += 1;
                inside += u32::from((q.value - want).abs() < 2.0 * q.sigma);
                assert!(q.sigma < 0.2 && (q.value - want).abs() < 5.0 * q.sigma);
            }
            assert!(found.rms_after_nt.iter().all(|rms| (rms - 15.0).abs() < 1.0));
            assert!(found.r_squared[2] > 0.95);
        }
        assert!(inside * 10 >= total * 8, "{inside} of {total}");
    }

    #[test]
    fn the_time_constant_of_a_first_order_response_comes_back() {
        let (times, mut field, degc) = log(0.0, 5);
        let sensor = Lagged::new(&times, &degc).followed(Response::FirstOrder, 1500.0);
        let mut random = Random::new(1);
        for (v, t) in field[1].iter_mut().zip(&sensor) {
            *v = -900.0 - 8.0 * t + 10.0 * random.normal();
        }
        for (v, t) in field[2].iter_mut().zip(&sensor) {
            *v = 47_000.0 + 60.0 * t + 10.0 * random.normal();
        }
        field[0] = field[2].clone();
        let found = fit(&times, three(&field), &degc, |_| true, &Options::default(), &[]).unwrap();
        assert!((found.lag_s - 1500.0).abs() < 30.0, "{}", found.lag_s);
        assert!((found.coefficient_nt_per_degc[1].value + 8.0).abs() < 0.1);
    }

    #[test]
    fn a_drift_fitted_beside_is_not_taken_for_temperature() {
        let (times, mut field, degc) = log(0.0, 3);
        for (k, v) in field[0].iter_mut().enumerate() {
            *v += 0.02 * k as f64;
        }
        let options = Options { drift: true, longest_lag_s: 0.0, ..Options::default() };
        let found = fit(&times, three(&field), &degc, |_| true, &options, &[]).unwrap();
        assert!((found.coefficient_nt_per_degc[0].value - 25.0).abs() < 0.2);
        assert_eq!(found.lag_s, 0.0);
    }

    #[test]
    fn a_steady_temperature_is_refused() {
        let (times, field, _) = log(0.0, 1);
        let steady = vec![20.0; times.len()];
        let error = fit(&times, three(&field), &steady, |_| true, &Options::default(), &[]);
        assert!(matches!(error, Err(TemperatureError::Steady { .. })));
        let error = fit(&times, three(&field), &steady, |k| k < 9, &Options::default(), &[]);
        assert_eq!(error, Err(TemperatureError::TooFew { usable: 9 }));
    }

    #[test]
    fn a_daily_variation_is_not_taken_for_temperature_beside_a_mean_day_or_a_reference() {
        let (times, mut field, degc) = log(1500.0, 4);
        let mut reference = Vec::new();
        for (k, t) in times.iter().enumerate() {
            let day = std::f64::consts::TAU * t / 86_400.0;
            let sun = 40.0 * libm::sin(day + 0.4) + 8.0 * libm::cos(2.0 * day);
            let storm = if (5_000..7_000).contains(&k) { -15.0 } else { 0.0 };
            field.iter_mut().for_each(|list| list[k] += sun + storm);
            reference.push(sun + storm);
        }
        let run = |mean_day: bool, beside: &[&[f64]]| {
            let options = Options { mean_day, ..Options::default() };
            fit(&times, three(&field), &degc, |_| true, &options, beside).unwrap()
        };
        let off = |found: &TemperatureFit| {
            let all = found.coefficient_nt_per_degc.iter().zip([25.0, -8.0, 60.0]);
            all.map(|(q, want)| (q.value - want).abs()).fold(0.0, f64::max)
        };
        let (plain, day, beside) = (run(false, &[]), run(true, &[]), run(false, &[&reference]));
        // A delay is only nearly a first-order response: a per cent or two.
        assert!(off(&plain) > 3.0, "{plain:?}");
        assert!(off(&day) < 1.5 && off(&beside) < 1.0, "{day:?} {beside:?}");
        assert!(beside.rms_after_nt[2] < day.rms_after_nt[2]);
    }

    #[test]
    fn samples_without_a_reference_take_no_part() {
        let (times, field, degc) = log(0.0, 2);
        let half: Vec<f64> =
            (0..times.len()).map(|k| if k < 7_200 { f64::NAN } else { (k % 91) as f64 }).collect();
        let options = Options { longest_lag_s: 0.0, ..Options::default() };
        let found = fit(&times, three(&field), &degc, |_| true, &options, &[&half]).unwrap();
        assert_eq!(found.n, 7_200);
    }
}
