//! The garden's weather log and the loft's counter log.
//!
//! The scenario and a number of days go in; two CSV logs come out, one of
//! weather every five minutes, one of counts a minute from a counter tube
//! whose rate follows the air pressure and one shower of rain.

use crate::Log;
use crate::garden::{moment, place};
use crate::json::Object;
use crate::prng::Prng;
use crate::scenario::{Scenario, at};
use crate::text::{Clock, push_hundredths, push_tenths, push_whole};
use crate::weather::{self, Weather};

/// File name of the weather log.
pub const WEATHER_NAME: &str = "garden-weather.csv";

/// File name of the counter log.
pub const COUNTER_NAME: &str = "loft-counter.csv";

/// Counts a minute at the reference pressure.
const RATE_PER_MIN: f64 = 23.4;

/// Reference pressure, hPa.
const REFERENCE_HPA: f64 = 1_010.0;

/// Relative change of the rate for one hPa.
const PER_HPA: f64 = -0.0022;

/// A shower washes radon's daughters down: when, by how much, how long.
const SHOWER_S: f64 = at(6, 15, 20, 0) as f64;
const SHOWER_SHARE: f64 = 0.55;
const SHOWER_DECAY_S: f64 = 2_600.0;

/// Weather of the garden every five minutes: pressure, air temperature and
/// relative humidity, as small sensors print them.
pub fn weather_log(scenario: &Scenario, days: u32) -> Log {
    let weather = Weather::of(scenario, days);
    let mut noise = Prng::new(scenario.seed, "weather sensors");
    let mut clock = Clock::from(scenario.start);
    let mut out = b"time,pressure_hPa,temp_degC,humidity_pct\n".to_vec();
    let rows = i64::from(days) * 288;
    for t_s in (0..rows).map(|row| row * 300) {
        let value = |series: &[f64]| weather::at(series, t_s as f64);
        let pressure = value(&weather.pressure_hpa) + 0.04 * noise.normal();
        let air = value(&weather.air_degc) + 0.05 * noise.normal();
        let humidity = (value(&weather.humidity_pct) + 0.3 * noise.normal()).clamp(0.0, 100.0);
        clock.push(&mut out, t_s);
        out.extend_from_slice(b"Z,");
        push_hundredths(&mut out, (pressure * 100.0).round() as i64);
        out.push(b',');
        push_hundredths(&mut out, (air * 100.0).round() as i64);
        out.push(b',');
        push_tenths(&mut out, (humidity * 10.0).round() as i64);
        out.push(b'\n');
    }
    let truth = head(scenario, WEATHER_NAME, rows as usize, 300.0)
        .number("half_day_tide_hpa", 1.16 * cube(scenario.garden.latitude_deg))
        .text("tide_note", "sin(2t + 158 degrees) of local mean time; too small for ten days")
        .finish_in_lines();
    Log { name: WEATHER_NAME.to_owned(), bytes: out, truth }
}

fn cube(latitude_deg: f64) -> f64 {
    let cos = libm::cos(latitude_deg.to_radians());
    cos * cos * cos
}

/// Counts of each minute from a tube in the loft.
pub fn counter_log(scenario: &Scenario, days: u32) -> Log {
    let weather = Weather::of(scenario, days);
    let mut tube = Prng::new(scenario.seed, "counter tube");
    let mut clock = Clock::from(scenario.start);
    let mut out = b"time,counts\n".to_vec();
    let rows = i64::from(days) * 1_440;
    let mut total = 0u64;
    for t_s in (0..rows).map(|row| row * 60) {
        let middle = t_s as f64 + 30.0;
        let count = tube.poisson(rate_per_min(weather::at(&weather.pressure_hpa, middle), middle));
        total += u64::from(count);
        clock.push(&mut out, t_s);
        out.extend_from_slice(b"Z,");
        push_whole(&mut out, u64::from(count));
        out.push(b'\n');
    }
    let shower = Object::new()
        .text("at", &moment(scenario, SHOWER_S))
        .number("share", SHOWER_SHARE)
        .number("decay_s", SHOWER_DECAY_S);
    let truth = head(scenario, COUNTER_NAME, rows as usize, 60.0)
        .text("stamp", "start of the minute")
        .number("rate_per_min", RATE_PER_MIN)
        .number("at_hpa", REFERENCE_HPA)
        .number("relative_change_per_hpa", PER_HPA)
        .object("shower", shower)
        .count("total_counts", total as usize)
        .finish_in_lines();
    Log { name: COUNTER_NAME.to_owned(), bytes: out, truth }
}

/// The tube's true rate at a pressure and moment, counts a minute.
fn rate_per_min(pressure_hpa: f64, t_s: f64) -> f64 {
    let air = 1.0 + PER_HPA * (pressure_hpa - REFERENCE_HPA);
    let since = t_s - SHOWER_S;
    let rise = (since / 1_200.0).clamp(0.0, 1.0);
    let rain = SHOWER_SHARE * rise * libm::exp(-(since - 1_200.0).max(0.0) / SHOWER_DECAY_S);
    RATE_PER_MIN * (air + rain)
}

fn head(scenario: &Scenario, name: &str, rows: usize, cadence_s: f64) -> Object {
    let last_s = (rows.saturating_sub(1)) as f64 * cadence_s;
    let log = Object::new()
        .text("name", name)
        .count("rows", rows)
        .text("start", &moment(scenario, 0.0))
        .text("end", &moment(scenario, last_s))
        .number("cadence_s", cadence_s);
    Object::new()
        .count("schema", 1)
        .flag("invented", true)
        .text("about", "Invented: no such school, sensor or weather exists.")
        .text("seed", &scenario.seed.to_string())
        .object("log", log)
        .object("station", place(&scenario.garden))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::default_scenario;

    fn column(log: &Log, number: usize) -> Vec<f64> {
        let text = String::from_utf8(log.bytes.clone()).unwrap();
        text.lines().skip(1).map(|l| l.split(',').nth(number).unwrap().parse().unwrap()).collect()
    }

    #[test]
    fn an_hour_of_counts_scatters_as_poisson_s_law_says() {
        let counts = column(&counter_log(&default_scenario(), 5), 1);
        assert_eq!(counts.len(), 7_200);
        // Index of dispersion within hours: 1 ± √(2 / degrees of freedom).
        let (mut sum, mut freedom) = (0.0, 0.0);
        for hour in counts.chunks(60) {
            let mean = hour.iter().sum::<f64>() / 60.0;
            sum += hour.iter().map(|c| (c - mean) * (c - mean)).sum::<f64>() / mean;
            freedom += 59.0;
        }
        assert!((sum / freedom - 1.0).abs() < 4.0 * (2.0f64 / freedom).sqrt(), "{}", sum / freedom);
    }

    #[test]
    fn the_shower_stands_out() {
        let counts = column(&counter_log(&default_scenario(), 10), 1);
        let first = SHOWER_S as usize / 60 + 15;
        let mean = |range: std::ops::Range<usize>| {
            let n = range.len() as f64;
            counts[range].iter().sum::<f64>() / n
        };
        assert!(mean(first..first + 20) > 1.3 * mean(first - 200..first - 20));
    }

    #[test]
    fn the_weather_log_has_a_row_every_five_minutes() {
        let log = weather_log(&default_scenario(), 2);
        let pressure = column(&log, 1);
        assert_eq!(pressure.len(), 576);
        assert!(pressure.iter().all(|p| (950.0..1_060.0).contains(p)));
    }
}
