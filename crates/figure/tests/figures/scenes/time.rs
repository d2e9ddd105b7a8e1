//! Scenes over time.

use super::noise::Noise;
use super::words;
use figure::{Frame, Plan, View, plan};
use record::{Instant, Marks, Reason, Unit};

/// 1 May 2026, 00:00 UTC.
pub fn start_ns() -> i64 {
    Instant::from_date(2026, 5, 1).unwrap().0
}

fn times(n: usize, step_s: i64) -> Vec<i64> {
    (0..n as i64).map(|k| start_ns() + k * step_s * 1_000_000_000).collect()
}

/// A component in nT: a daily variation, a storm, noise.
pub fn component(times_ns: &[i64], base: f64, daily: f64, storm: f64, seed: u64) -> Vec<f64> {
    let mut noise = Noise::new(seed);
    let mut drift = 0.0;
    let of = |t: i64| {
        let days = (t - start_ns()) as f64 / 8.64e13;
        let phase = (days.fract() - 0.5) * 9.0;
        let day = daily * (-phase * phase).exp() * (1.0 + 0.3 * (days * 0.9).sin());
        let since = days - 23.4;
        let storm = if since > 0.0 {
            storm * (-since / 1.4).exp() * (1.0 - (-since * 9.0).exp())
        } else {
            0.0
        };
        base + day + storm
    };
    times_ns
        .iter()
        .map(|t| {
            drift = 0.999 * drift + 0.25 * noise.normal();
            of(*t) + drift + 1.5 * noise.normal()
        })
        .collect()
}

/// Three components over sixty days with a gap.
pub fn sixty_days(frame: Frame) -> Plan {
    let mut times = times(28_800, 180);
    times.iter_mut().skip(17_000).for_each(|t| *t += 40 * 3_600_000_000_000);
    let x = component(&times, 17_480.0, -28.0, -160.0, 1);
    let y = component(&times, -1_310.0, 34.0, 40.0, 2);
    let z = component(&times, 46_120.0, 12.0, -70.0, 3);
    let trace = |name, values| plan::Trace {
        name,
        unit: Unit::Nanotesla,
        times_ns: &times,
        values,
        marks: None,
        faint: None,
    };
    let traces = [trace("X", &x[..]), trace("Y", &y), trace("Z", &z)];
    let words = words("series", "Field components at Tern Skerry over sixty days.");
    plan::series(&traces, frame, View::ALL, &words)
}

struct Day {
    times: Vec<i64>,
    raw: Vec<f64>,
    clean: Vec<f64>,
    marks: Marks,
}

fn marked_day() -> Day {
    let times = times(2_880, 30);
    let clean = component(&times, 17_480.0, -28.0, 0.0, 4);
    let mut raw = clean.clone();
    let mut marks = Marks::none(times.len());
    let mut noise = Noise::new(5);
    let mut which = vec![false; times.len()];
    for _ in 0..24 {
        let k = (noise.even() * 2_880.0) as usize;
        raw[k] += 60.0 * noise.normal();
        which[k] = true;
    }
    marks.add(Reason::Spike, &which);
    let parked: Vec<bool> = (0..times.len()).map(|k| (1_700..2_020).contains(&k)).collect();
    raw.iter_mut().zip(&parked).filter(|(_, p)| **p).for_each(|(v, _)| *v += 21.0);
    marks.add(Reason::Excluded, &parked);
    Day { times, raw, clean, marks }
}

/// One day before and after cleaning: spikes and an excluded stretch.
pub fn one_day_marked(frame: Frame) -> Plan {
    day(frame, View::ALL)
}

/// Forty minutes of the same day.
pub fn zoomed(frame: Frame) -> Plan {
    let from = start_ns() as f64 / 1e9 + 23.2 * 3_600.0;
    day(frame, View { x: Some((from, from + 2_400.0)), y: None })
}

fn day(frame: Frame, view: View) -> Plan {
    let day = marked_day();
    let trace = plan::Trace {
        name: "X",
        unit: Unit::Nanotesla,
        times_ns: &day.times,
        values: &day.clean,
        marks: Some(&day.marks),
        faint: Some(&day.raw),
    };
    let words = words("series", "North component X before and after cleaning, 1 May 2026.");
    plan::series(&[trace], frame, view, &words)
}

/// Heading through north and declination over two days.
pub fn angles(frame: Frame) -> Plan {
    let times = times(2_880, 60);
    let mut noise = Noise::new(6);
    let heading: Vec<f64> = (0..2_880)
        .map(|k| {
            (358.6 + 4.0 * (f64::from(k) / 460.0).sin() + 0.4 * noise.normal()).rem_euclid(360.0)
        })
        .collect();
    let declination: Vec<f64> = (0..2_880)
        .map(|k| -4.31 + 0.09 * (f64::from(k) / 229.0).sin() + 0.012 * noise.normal())
        .collect();
    let trace = |name, values_deg, mean_deg, sigma_deg| plan::angles::AngleTrace {
        name,
        times_ns: &times,
        values_deg,
        marks: None,
        mean_deg,
        sigma_deg,
    };
    let traces =
        [trace("D", &declination[..], -4.31, 0.042), trace("heading", &heading, 358.6, 0.71)];
    let words = words("angles", "Declination and heading over two days.");
    plan::angles::angles(&traces, frame, View::ALL, &words)
}
