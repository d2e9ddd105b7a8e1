//! Scenes of spectra.

use super::noise::Noise;
use super::words;
use figure::{Frame, Plan, View, plan};
use record::Unit;

/// A red spectrum with lines at a day and its parts above a white floor.
pub fn three_components(frame: Frame) -> Plan {
    let frequency: Vec<f64> = (0..8_000).map(|k| f64::from(k) * 1.0 / (8_000.0 * 60.0)).collect();
    let density = |floor: f64, red: f64, lines: f64, seed: u64| -> Vec<f64> {
        let mut noise = Noise::new(seed);
        let of = |f: f64| {
            let line = |period_h: f64, height: f64| {
                let off = (f - 1.0 / (period_h * 3_600.0)) / 2.5e-6;
                height * (-off * off).exp()
            };
            let daily = line(24.0, 1.0) + line(12.0, 0.4) + line(8.0, 0.1);
            floor + red * (f.max(1e-6) / 1e-5).powf(-1.7) + lines * daily
        };
        let scattered = |f: &f64| {
            let chi: f64 = (0..16).map(|_| noise.normal().powi(2)).sum::<f64>() / 16.0;
            of(*f) * chi
        };
        frequency.iter().map(scattered).collect()
    };
    let x = density(120.0, 3e6, 4e7, 11);
    let y = density(90.0, 1e6, 6e7, 12);
    let z = density(310.0, 8e5, 6e6, 13);
    let trace = |name, density| plan::spectrum::SpectrumTrace {
        name,
        unit: Unit::Nanotesla,
        frequency_hz: &frequency,
        density,
        height: plan::spectrum::Height::Density,
    };
    let traces = [trace("X", &x[..]), trace("Y", &y), trace("Z", &z)];
    let peaks = [24.0, 12.0, 8.0].map(|h| (1.0 / (h * 3_600.0), h * 3_600.0));
    let words = words("spectrum", "Power spectral density of three components.");
    plan::spectrum::spectrum(&traces, (0.55, 2.3), &peaks, frame, View::ALL, &words)
}
