//! Scenes of curves, bars and maps.

use super::noise::Noise;
use super::time::{component, start_ns};
use super::words;
use figure::plan::curves::{Along, Curve, Curves, Level, Look, Note, Spacing, curves};
use figure::{Frame, Plan, View, plan};
use record::Unit;

fn along(quantity: &str, unit: Unit, spacing: Spacing) -> Along<'_> {
    Along { quantity, unit, spacing, span: None }
}

/// An Allan deviation with its interval and its minimum named.
pub fn allan(frame: Frame) -> Plan {
    let tau: Vec<f64> = (0..13).map(|k| 30.0 * 2f64.powi(k)).collect();
    let of = |t: &f64| (400.0 / t + 0.02 + 3e-6 * t).sqrt();
    let y: Vec<f64> = tau.iter().map(of).collect();
    let spread = |k: usize| 0.03 * 1.45f64.powi(k as i32);
    let lo: Vec<f64> = y.iter().enumerate().map(|(k, v)| v / (1.0 + spread(k))).collect();
    let hi: Vec<f64> = y.iter().enumerate().map(|(k, v)| v * (1.0 + spread(k))).collect();
    let data = Curves {
        curves: &[Curve {
            name: "X",
            x: &tau,
            y: &y,
            interval: Some((&lo, &hi)),
            look: Look::Both,
        }],
        x: along("averaging time", Unit::Second, Spacing::Durations),
        y: along("Allan deviation", Unit::Nanotesla, Spacing::Log),
        levels: &[],
        notes: &[Note { x: 11_500.0, y: 0.29, text: "least 0.29 nT at 3 h 12 min" }],
    };
    curves(&data, frame, View::ALL, &words("allan", "Allan deviation of X."))
}

/// A quiet day in three components over the hours.
pub fn quiet_day(frame: Frame) -> Plan {
    let hours: Vec<f64> = (0..=96).map(|k| f64::from(k) * 0.25).collect();
    let curve = |size: f64, noon: f64| -> Vec<f64> {
        hours.iter().map(|h| size * (-((h - noon) / 3.1).powi(2)).exp()).collect()
    };
    let (x, y, z) = (curve(-24.0, 12.4), curve(31.0, 14.2), curve(-11.0, 11.8));
    let lo: Vec<f64> = y.iter().map(|v| v - 4.0).collect();
    let hi: Vec<f64> = y.iter().map(|v| v + 4.0).collect();
    let one = |name, y, interval| Curve { name, x: &hours[..], y, interval, look: Look::Line };
    let data = Curves {
        curves: &[
            one("X", &x[..], None),
            one("Y", &y, Some((&lo[..], &hi[..]))),
            one("Z", &z, None),
        ],
        x: along("UTC", Unit::Hour, Spacing::Hours),
        y: along("variation", Unit::Nanotesla, Spacing::Even),
        levels: &[Level { at: 12.66, upright: true, name: "local noon" }],
        notes: &[],
    };
    curves(&data, frame, View::ALL, &words("quiet-day", "The quiet day at Tern Skerry."))
}

/// The station against its reference, with the fitted line.
pub fn scatter(frame: Frame) -> Plan {
    let mut noise = Noise::new(31);
    let x: Vec<f64> = (0..700).map(|_| 17_480.0 + 22.0 * noise.normal()).collect();
    let y: Vec<f64> =
        x.iter().map(|v| 17_466.0 + 0.97 * (v - 17_480.0) + 4.0 * noise.normal()).collect();
    let (ends, fit) = ([17_400.0, 17_560.0], [17_388.4, 17_543.6]);
    let data = Curves {
        curves: &[
            Curve { name: "minutes", x: &x, y: &y, interval: None, look: Look::Points },
            Curve { name: "fit", x: &ends, y: &fit, interval: None, look: Look::Line },
        ],
        x: Along {
            span: Some((17_410.0, 17_550.0)),
            ..along("X at Kelda Head", Unit::Nanotesla, Spacing::Even)
        },
        y: along("X at Tern Skerry", Unit::Nanotesla, Spacing::Even),
        levels: &[],
        notes: &[],
    };
    curves(&data, frame, View::ALL, &words("compare", "The station against its reference."))
}

/// Station and reference in one panel, their difference in another, a storm shaded.
pub fn compare(frame: Frame) -> Plan {
    let times: Vec<i64> =
        (0..2_880).map(|k| start_ns() + (20 * 1_440 + k * 3) * 60_000_000_000).collect();
    let a = component(&times, 17_480.0, -28.0, -160.0, 7);
    let b: Vec<f64> = component(&times, 17_505.0, -26.0, -150.0, 8);
    let difference: Vec<f64> = a.iter().zip(&b).map(|(a, b)| a - b).collect();
    let trace = |name, values| plan::Trace {
        name,
        unit: Unit::Nanotesla,
        times_ns: &times,
        values,
        marks: None,
        faint: None,
    };
    let both = [trace("Tern Skerry", &a[..]), trace("Kelda Head", &b[..])];
    let one = [trace("difference", &difference[..])];
    let panel =
        |quantity, traces| plan::overlay::Overlay { quantity, unit: Unit::Nanotesla, traces };
    let day = 86_400_000_000_000;
    let storm = plan::overlay::Stretch {
        start_ns: start_ns() + 23 * day + day / 3,
        end_ns: start_ns() + 25 * day,
        name: "storm",
    };
    let panels = [panel("X", &both[..]), panel("difference", &one[..])];
    let words = words("compare", "Station and reference over six days.");
    plan::overlay::overlay(&panels, &[storm], frame, View::ALL, &words)
}

/// K indices of station and reference over eight days.
pub fn k_index(frame: Frame) -> Plan {
    let starts: Vec<i64> =
        (0..64).map(|k| start_ns() + (18 * 24 + k * 3) * 3_600_000_000_000).collect();
    let mut noise = Noise::new(9);
    let station: Vec<f64> = (0..64)
        .map(|k| {
            let storm = 6.0 * (-((f64::from(k) - 44.0) / 4.0).powi(2)).exp();
            let index = (1.6 + storm + 0.9 * noise.normal()).round().clamp(0.0, 9.0);
            if (20..23).contains(&k) { f64::NAN } else { index }
        })
        .collect();
    let reference: Vec<f64> = station
        .iter()
        .map(
            |k| if k.is_nan() { 2.0 } else { (k + (0.4 * noise.normal()).round()).clamp(0.0, 9.0) },
        )
        .collect();
    let set =
        |name, k, floor| plan::k_index::KIndices { name, starts_ns: &starts, hours: 3.0, k, floor };
    let sets =
        [set("K, Tern Skerry", &station[..], Some(1)), set("K, Kelda Head", &reference, None)];
    plan::k_index::k_index(&sets, frame, View::ALL, &words("k-index", "K indices over eight days."))
}

/// Residuals of a calibration.
pub fn histogram(frame: Frame) -> Plan {
    let mut noise = Noise::new(41);
    let edges: Vec<f64> = (0..=36).map(|k| -540.0 + 30.0 * f64::from(k)).collect();
    let mut counts = vec![0u64; 36];
    for _ in 0..900 {
        let place = (160.0 * noise.normal() + 540.0) / 30.0;
        if (0.0..36.0).contains(&place) {
            counts[place as usize] += 1;
        }
    }
    let bins = plan::histogram::Bins {
        quantity: "residual",
        unit: Unit::Nanotesla,
        edges: &edges,
        counts: &counts,
        behind: &[],
        normal: Some((0.0, 160.0)),
    };
    plan::histogram::histogram(&bins, frame, View::ALL, &words("residuals", "Residuals."))
}

/// Directions seen by a turning that missed the lower pole.
pub fn directions(frame: Frame) -> Plan {
    let bands: [(f64, f64, usize); 6] = [
        (0.875, 1.0, 4),
        (0.5, 0.875, 8),
        (0.0, 0.5, 12),
        (-0.5, 0.0, 12),
        (-0.875, -0.5, 8),
        (-1.0, -0.875, 4),
    ];
    let mut noise = Noise::new(51);
    let mut cells = Vec::new();
    for (lo, hi, n) in bands {
        for k in 0..n {
            let step = 360.0 / n as f64;
            let azimuth_deg = [k as f64 * step, (k + 1) as f64 * step];
            let seen = (40.0 * (lo + 0.9) * noise.even()).max(0.0) as usize;
            cells.push(plan::sphere_map::SphereCell { z: [lo, hi], azimuth_deg, count: seen });
        }
    }
    plan::sphere_map::sphere_map(&cells, frame, View::ALL, &words("directions", "Directions seen."))
}

/// A day of pulsations with a gap.
pub fn spectrogram(frame: Frame) -> Plan {
    let mut noise = Noise::new(61);
    let mut times: Vec<i64> = (0..144).map(|k| start_ns() + k * 600_000_000_000).collect();
    times.drain(60..70);
    let frequency: Vec<f64> = (0..128).map(|k| f64::from(k) * 0.0039).collect();
    let mut density = Vec::new();
    for t in &times {
        let hour = (*t - start_ns()) as f64 / 3.6e12;
        for f in &frequency {
            let wave = 60.0
                * (-((f - 0.05 - 0.002 * hour) / 0.01).powi(2)).exp()
                * (-((hour - 7.0) / 3.0).powi(2)).exp();
            let red = 0.02 * (f.max(0.002) / 0.1).powf(-2.2);
            density.push((red + wave + 0.01) * (0.6 + 0.8 * noise.even()));
        }
    }
    let data = plan::spectrogram::Spectrogram {
        unit: Unit::Nanotesla,
        times_ns: &times,
        frequency_hz: &frequency,
        density: &density,
    };
    plan::spectrogram::spectrogram(
        &data,
        frame,
        View::ALL,
        &words("spectrogram", "A day of pulsations."),
    )
}
