//! Scenes of days: stacks, and what a sensor can see.

use super::noise::Noise;
use super::words;
use figure::plan::sight::{Seen, Sight, Signal};
use figure::plan::stack::{Row, Stack, Weight};
use figure::{Frame, Plan, View, plan};
use record::Unit;

/// Thirty days, noons in line, two quiet and one stormy.
pub fn stack(frame: Frame) -> Plan {
    let hours: Vec<f64> = (0..288).map(|k| (f64::from(k) + 0.5) / 12.0).collect();
    let mut noise = Noise::new(71);
    let names: Vec<String> = (1..=30)
        .map(|d| match d {
            4 | 17 => format!("{d} May Q"),
            23 => format!("{d} May D"),
            _ => format!("{d} May"),
        })
        .collect();
    let days: Vec<Vec<f64>> = (1..=30)
        .map(|d| {
            let noisy = |h: &f64| {
                let storm =
                    if d == 23 { -120.0 * (-((h - 15.0) / 3.0).powi(2)).exp() } else { 0.0 };
                -25.0 * (-((h - 12.4) / 3.0).powi(2)).exp() + storm + 2.0 * noise.normal()
            };
            hours.iter().map(noisy).collect()
        })
        .collect();
    let weight = |d: usize| match d {
        4 | 17 => Weight::Quiet,
        23 => Weight::Disturbed,
        _ => Weight::Usual,
    };
    let rows: Vec<Row<'_>> = names
        .iter()
        .zip(&days)
        .enumerate()
        .map(|(k, (name, y))| Row { name, x: &hours, y, weight: weight(k + 1) })
        .collect();
    let data = Stack {
        quantity: "H",
        unit: Unit::Nanotesla,
        apart: 50.0,
        rows: &rows,
        along: ("local mean time", Unit::Hour),
        hours: true,
        span: (0.0, 24.0),
        key: &[("Q quiet", Weight::Quiet), ("D disturbed", Weight::Disturbed)],
    };
    let words = words("stack", "Thirty days, one above the other.");
    plan::stack::stack(&data, frame, View::ALL, &words)
}

/// Three rows of 27 days with a recurrent dip.
pub fn rotations(frame: Frame) -> Plan {
    let x: Vec<f64> = (0..648).map(|h| (f64::from(h) + 0.5) / 24.0).collect();
    let mut noise = Noise::new(72);
    let rows: Vec<Vec<f64>> = (0..3)
        .map(|r| {
            let dip = 60.0 / f64::from(r + 1);
            let of = |d: &f64| -dip * (-((d - 9.0) / 0.9).powi(2)).exp() + 3.0 * noise.normal();
            x.iter().map(of).collect()
        })
        .collect();
    let row = |(name, y)| Row { name, x: &x[..], y, weight: Weight::Usual };
    let names = ["1 May", "28 May", "24 June"].into_iter().zip(rows.iter().map(Vec::as_slice));
    let shown: Vec<Row<'_>> = names.map(row).collect();
    let data = Stack {
        quantity: "local disturbance",
        unit: Unit::Nanotesla,
        apart: 100.0,
        rows: &shown,
        along: ("days from the row's start", Unit::None),
        hours: false,
        span: (0.0, 27.0),
        key: &[],
    };
    let words = words("rotations", "The disturbance in rows of 27 days.");
    plan::stack::stack(&data, frame, View::ALL, &words)
}

/// A cheap sensor against what may be seen.
pub fn sight(frame: Frame) -> Plan {
    let periods: Vec<f64> = (0..20).map(|k| 60.0 * 2f64.powf(f64::from(k) / 2.0)).collect();
    let noise: Vec<f64> = periods.iter().map(|p| (40_000.0 / p + 0.004 * p).sqrt()).collect();
    let lo: Vec<f64> =
        noise.iter().zip(&periods).map(|(n, p)| n * (1.0 - 0.002 * p.sqrt())).collect();
    let hi: Vec<f64> =
        noise.iter().zip(&periods).map(|(n, p)| n * (1.0 + 0.003 * p.sqrt())).collect();
    let signal = |name, periods_s, sizes, seen| Signal { name, periods_s, sizes, seen };
    let data = Sight {
        unit: Unit::Nanotesla,
        periods_s: &periods,
        noise: &noise,
        interval: (&lo, &hi),
        signals: &[
            signal("daily variation", (43_200.0, 86_400.0), (20.0, 50.0), Seen::Always),
            signal("Pc5", (150.0, 600.0), (1.0, 50.0), Seen::Large),
            signal("Pc3 and Pc4", (10.0, 150.0), (0.1, 5.0), Seen::Never),
            signal("parked car, 10 m", (600.0, 28_800.0), (40.0, 200.0), Seen::Always),
        ],
    };
    plan::sight::sight(&data, frame, View::ALL, &words("sight", "What the sensor can see."))
}
