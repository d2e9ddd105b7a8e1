//! Weather: air, pressure and humidity of the garden, and the warmth in the box.
//!
//! The scenario goes in; series every five minutes come out, from five minutes
//! before the start.  Sizes are those of an island in early summer, invented.

use crate::outside::local_h;
use crate::prng::Prng;
use crate::scenario::Scenario;
use std::f64::consts::TAU;

/// Seconds between two values.
pub const DRAWN_S: f64 = 300.0;

/// The weather of the first days.
#[derive(Clone, Debug)]
pub struct Weather {
    /// Air temperature, °C.
    pub air_degc: Vec<f64>,
    /// Temperature beside the sensor in its box, °C.
    pub box_degc: Vec<f64>,
    /// Temperature of the sensor's core, which lags behind the box, °C.
    pub core_degc: Vec<f64>,
    /// Pressure at the garden's height, hPa.
    pub pressure_hpa: Vec<f64>,
    /// Relative humidity, %.
    pub humidity_pct: Vec<f64>,
}

impl Weather {
    /// The first `days` days.
    pub fn of(scenario: &Scenario, days: u32) -> Self {
        let count = days as usize * 288 + 4;
        let sky = Sky::of(scenario, days);
        let air_degc = air(scenario, &sky, count);
        let box_degc = warmed(&air_degc, &sky);
        let core_degc = lagging(&box_degc, scenario.sensor.lag_s);
        let pressure_hpa = pressure(scenario, count);
        let humidity_pct = humidity(scenario, &air_degc);
        Self { air_degc, box_degc, core_degc, pressure_hpa, humidity_pct }
    }
}

/// Time of a value, seconds after the start.
pub fn time_s(place: usize) -> f64 {
    (place as f64 - 1.0) * DRAWN_S
}

/// A series at a moment, straight between its values; its end value beyond.
pub fn at(series: &[f64], t_s: f64) -> f64 {
    let place = (t_s / DRAWN_S + 1.0).clamp(0.0, series.len().saturating_sub(1) as f64);
    let before = (place as usize).min(series.len().saturating_sub(2));
    let part = place - before as f64;
    match series {
        [] => f64::NAN,
        [only] => *only,
        _ => series[before] + (series[before + 1] - series[before]) * part,
    }
}

// How much sun each day has.
struct Sky {
    longitude_deg: f64,
    clear: Vec<f64>,
}

impl Sky {
    fn of(scenario: &Scenario, days: u32) -> Self {
        let mut prng = Prng::new(scenario.seed, "sky");
        let clear = (0..days + 3).map(|_| prng.between(0.4, 1.4)).collect();
        Self { longitude_deg: scenario.garden.longitude_deg, clear }
    }

    fn clear(&self, t_s: f64) -> f64 {
        let day = (t_s / 86_400.0 + self.longitude_deg / 360.0 + 1.0).max(0.0);
        let (a, b) = (self.clear[day as usize], self.clear[day as usize + 1]);
        // One day passes into the next in the night.
        let u = ((day.fract() - 0.9) / 0.1).clamp(0.0, 1.0);
        a + (b - a) * u
    }
}

fn air(scenario: &Scenario, sky: &Sky, count: usize) -> Vec<f64> {
    let mut fronts = Red::new(Prng::new(scenario.seed, "fronts"), 130_000.0, 1.7);
    let mut gusts = Red::new(Prng::new(scenario.seed, "gusts"), 2_400.0, 0.25);
    (0..count)
        .map(|k| {
            let t_s = time_s(k);
            let local = local_h(t_s, sky.longitude_deg);
            let (sin, cos) = libm::sincos(TAU * (local - 15.2) / 24.0);
            // Cosines of the day and of half the day, the latter an hour early.
            let half = cos * cos - sin * sin;
            let day = 2.7 * sky.clear(t_s) * (cos + 0.22 * half);
            9.6 + 0.055 * t_s / 86_400.0 + day + fronts.step() + gusts.step()
        })
        .collect()
}

// The box follows the air within twenty minutes and takes up some sun.
fn warmed(air: &[f64], sky: &Sky) -> Vec<f64> {
    let sun = |t_s: f64| {
        let high = libm::cos(TAU * (local_h(t_s, sky.longitude_deg) - 13.0) / 24.0).max(0.0);
        2.2 * sky.clear(t_s) * high * high.sqrt()
    };
    let target: Vec<f64> = air.iter().enumerate().map(|(k, t)| t + sun(time_s(k))).collect();
    lagging(&target, 1_200.0)
}

// First-order lag, exact for straight lines between the values.
fn lagging(series: &[f64], lag_s: f64) -> Vec<f64> {
    let keep = libm::exp(-DRAWN_S / lag_s);
    let slope = lag_s / DRAWN_S * (1.0 - keep);
    let mut out = Vec::with_capacity(series.len());
    let mut value = series.first().copied().unwrap_or(0.0);
    let mut before = value;
    for now in series {
        value = keep * value + (slope - keep) * before + (1.0 - slope) * now;
        before = *now;
        out.push(value);
    }
    out
}

fn pressure(scenario: &Scenario, count: usize) -> Vec<f64> {
    let mut lows = Red::new(Prng::new(scenario.seed, "lows"), 150_000.0, 9.5);
    let rough: Vec<f64> = (0..count).map(|_| lows.step()).collect();
    let smooth = lagging(&rough, 18_000.0);
    // The atmosphere's half-day tide, 1.16 cos³φ sin(2t + 158°) hPa (S. Chapman
    // and R. S. Lindzen, Atmospheric Tides, 1970, from memory).
    let cos = libm::cos(scenario.garden.latitude_deg.to_radians());
    let tide = 1.16 * cos * cos * cos;
    let sea = (0..count).map(|k| {
        let angle = 2.0 * TAU * local_h(time_s(k), scenario.garden.longitude_deg) / 24.0;
        1_012.4 + smooth[k] + tide * libm::sin(angle + 158f64.to_radians())
    });
    // Near the ground pressure falls by 1 hPa in 8.3 m.
    sea.map(|p| p - scenario.garden.height_m / 8.3).collect()
}

// The dew point wanders slowly; humidity follows from it and the air (Magnus
// formula, O. A. Alduchov and R. E. Eskridge, J. Appl. Meteorol. 35 (1996) 601).
fn humidity(scenario: &Scenario, air: &[f64]) -> Vec<f64> {
    let mut dew = Red::new(Prng::new(scenario.seed, "dew point"), 90_000.0, 1.6);
    let vapour = |t: f64| libm::exp(17.625 * t / (243.04 + t));
    air.iter()
        .enumerate()
        .map(|(k, t)| {
            let dew = 6.6 + 0.04 * time_s(k) / 86_400.0 + dew.step();
            (100.0 * vapour(dew) / vapour(*t)).min(100.0)
        })
        .collect()
}

// First-order autoregressive noise in steps of `DRAWN_S`.
pub(crate) struct Red {
    prng: Prng,
    value: f64,
    keep: f64,
    kick: f64,
}

impl Red {
    pub(crate) fn new(mut prng: Prng, constant_s: f64, deviation: f64) -> Self {
        let keep = libm::exp(-DRAWN_S / constant_s);
        let value = deviation * prng.normal();
        Self { prng, value, keep, kick: deviation * (1.0 - keep * keep).sqrt() }
    }

    pub(crate) fn step(&mut self) -> f64 {
        let value = self.value;
        self.value = self.keep * value + self.kick * self.prng.normal();
        value
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::default_scenario;

    #[test]
    fn the_garden_is_neither_arctic_nor_a_desert() {
        let weather = Weather::of(&default_scenario(), 60);
        let within =
            |series: &[f64], low: f64, high: f64| series.iter().all(|v| (low..high).contains(v));
        assert!(within(&weather.air_degc, -2.0, 26.0));
        assert!(within(&weather.box_degc, -2.0, 30.0));
        assert!(within(&weather.pressure_hpa, 960.0, 1_060.0));
        assert!(within(&weather.humidity_pct, 20.0, 100.001));
    }

    #[test]
    fn the_core_follows_a_slow_wave_late_by_its_lag() {
        let wave: Vec<f64> = (0..2_000).map(|k| (TAU * time_s(k) / 86_400.0).sin()).collect();
        let core = lagging(&wave, 1_500.0);
        // The phase of a first-order lag is atan(ω τ).
        let late = (TAU * 1_500.0 / 86_400.0).atan() / TAU * 86_400.0;
        let size = (TAU * 1_500.0 / 86_400.0).atan().cos();
        for (k, found) in core.iter().enumerate().skip(600) {
            let want = size * (TAU * (time_s(k) - late) / 86_400.0).sin();
            assert!((found - want).abs() < 1e-4);
        }
    }
}
