//! The figure of spectra.

use crate::outcome::{Figure, Outcome};
use figure::Words;
use figure::plan::spectrum::{self, Height, SpectrumTrace};
use record::{
    Unit, print, say,
    words::{word, worded},
};
use signal::candidates::Candidate;
use signal::spectrum::Spectrum;

/// The spectrum of a channel.
#[derive(Clone)]
pub(crate) struct Drawn {
    /// The channel.
    pub name: String,
    /// Its unit.
    pub unit: Unit,
    /// Its densities.
    pub spectrum: Spectrum,
}

/// A line found in a spectrum.
#[derive(Clone)]
pub(crate) struct SpectralLine {
    /// The channel it is in.
    pub channel: String,
    /// The unit of its amplitude.
    pub unit: Unit,
    /// Where it stands.
    pub frequency_hz: f64,
    /// How well that is known.
    pub half_width_hz: f64,
    /// How tall it is.
    pub amplitude: f64,
    /// Standard uncertainty of that.
    pub amplitude_sigma: f64,
    /// The chance that noise shows one as tall anywhere.
    pub chance: f64,
    /// What it could be.
    pub candidates: Vec<Candidate>,
}

impl SpectralLine {
    /// Its period, seconds, no finer than its frequency is known.
    pub fn shown_period_s(&self) -> f64 {
        let period_s = 1.0 / self.frequency_hz;
        print::rounded_within(period_s, self.half_width_hz * period_s * period_s)
    }
}

/// Adds the figure of the spectra.
pub(crate) fn with_spectrum(
    outcome: Outcome,
    spectra: Vec<Drawn>,
    lines: &[SpectralLine],
    height: Height,
) -> Outcome {
    let Some(first) = spectra.first() else { return outcome };
    let interval = scaled(first.spectrum.interval(0.95), height);
    let words = words(&spectra, lines, interval, height);
    let marked: Vec<(f64, f64)> =
        lines.iter().take(4).map(|l| (l.frequency_hz, l.shown_period_s())).collect();
    let heights: Vec<Vec<f64>> = spectra
        .iter()
        .map(|d| match height {
            Height::Density => d.spectrum.density.clone(),
            Height::Amplitude => d.spectrum.amplitude(),
        })
        .collect();
    let title = match height {
        Height::Density => word("Power spectral density"),
        Height::Amplitude => word("Amplitude spectrum"),
    };
    outcome.figure(Figure::new("spectrum", title, move |frame, view| {
        let traces: Vec<SpectrumTrace<'_>> = spectra
            .iter()
            .zip(&heights)
            .map(|(d, heights)| SpectrumTrace {
                name: &d.name,
                unit: d.unit,
                frequency_hz: &d.spectrum.frequency_hz,
                density: heights,
                height,
            })
            .collect();
        spectrum::spectrum(&traces, interval, &marked, *frame, *view, &words)
    }))
}

// Amplitudes go with the root of densities.
fn scaled((low, high): (f64, f64), height: Height) -> (f64, f64) {
    match height {
        Height::Density => (low, high),
        Height::Amplitude => (low.sqrt(), high.sqrt()),
    }
}

fn words(spectra: &[Drawn], lines: &[SpectralLine], interval: (f64, f64), height: Height) -> Words {
    let names: Vec<&str> = spectra.iter().map(|d| d.name.as_str()).collect();
    let names = names.join(", ");
    let symbol = spectra.first().map_or("", |d| d.unit.symbol());
    let told: Vec<String> = lines
        .iter()
        .take(3)
        .map(|l| {
            let amplitude = print::with_sigma(l.amplitude, l.amplitude_sigma);
            say!(
                "{} in {} with amplitude {}",
                print::duration(l.shown_period_s()),
                l.channel,
                print::with_unit(&amplitude, l.unit)
            )
        })
        .collect();
    let (what, unit, note) = match height {
        Height::Density => (
            word("Power spectral density"),
            format!("{symbol}²/Hz"),
            word(
                "read noise here, lines \
             from the list",
            ),
        ),
        Height::Amplitude => (
            word("Amplitude spectrum"),
            symbol.to_owned(),
            word(
                "read lines here, noise from \
             the density",
            ),
        ),
    };
    Words {
        name: "spectrum".to_owned(),
        caption: say!("{what} of {names}; the bar is the 95 % interval of every estimate; {note}."),
        summary: say!(
            "Log–log spectrum of {names} in {unit}. Strongest lines: {}. The 95 % interval runs from \
             {} to {} times the estimate.",
            if told.is_empty() { worded("none stands out") } else { told.join("; ") },
            print::significant(interval.0, 2),
            print::significant(interval.1, 2),
        ),
        provenance: String::new(),
    }
}
