//! The figure of power spectral densities.

use crate::outcome::{Figure, Outcome};
use figure::{Words, plan};
use record::{Unit, print};
use signal::peaks::Peak;
use signal::spectrum::Spectrum;

/// Adds the figure of the spectra.
pub(crate) fn with_spectrum(
    outcome: Outcome,
    spectra: &[(String, Unit, Spectrum)],
    peaks: &[(String, Unit, Peak)],
) -> Outcome {
    let Some((_, unit, first)) = spectra.first() else { return outcome };
    let interval = first.interval(0.95);
    let names: Vec<&str> = spectra.iter().map(|(name, _, _)| name.as_str()).collect();
    let lines: Vec<String> = peaks
        .iter()
        .take(3)
        .map(|(name, unit, p)| {
            let amplitude = print::with_sigma(p.amplitude, p.amplitude_sigma);
            format!(
                "{} in {name} with amplitude {}",
                print::duration(p.period_s),
                print::with_unit(&amplitude, *unit)
            )
        })
        .collect();
    let words = Words {
        name: "spectrum".to_owned(),
        caption: format!(
            "Power spectral density of {}; the bar is the 95 % interval of every estimate.",
            names.join(", ")
        ),
        summary: format!(
            "Log–log spectrum of {} in {}²/Hz. Strongest lines: {}. The 95 % interval runs from \
             {} to {} times the estimate.",
            names.join(", "),
            unit.symbol(),
            if lines.is_empty() { "none stands out".to_owned() } else { lines.join("; ") },
            print::significant(interval.0, 2),
            print::significant(interval.1, 2),
        ),
        provenance: String::new(),
    };
    let spectra = spectra.to_vec();
    let marked: Vec<(f64, f64)> =
        peaks.iter().take(4).map(|(_, _, p)| (p.frequency_hz, p.period_s)).collect();
    outcome.figure(Figure::new("spectrum", "Power spectral density", move |frame, view| {
        let traces: Vec<plan::spectrum::SpectrumTrace<'_>> = spectra
            .iter()
            .map(|(name, unit, s)| plan::spectrum::SpectrumTrace {
                name,
                unit: *unit,
                frequency_hz: &s.frequency_hz,
                density: &s.density,
            })
            .collect();
        plan::spectrum::spectrum(&traces, interval, &marked, *frame, *view, &words)
    }))
}
