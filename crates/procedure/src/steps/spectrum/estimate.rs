//! The four ways to a spectrum, and the lines each finds.

use crate::plates::{Drawn, SpectralLine};
use crate::step::Context;
use record::gaps::runs;
use record::{Channel, Fault, Reason, Record, Unit, print, say};
use signal::candidates::candidates;
use signal::detrend::Detrend;
use signal::lomb_scargle::{Grid, MOST_FREQUENCIES, Periodogram, lomb_scargle};
use signal::multitaper::{Multitaper, Tapers, Weighting, multitaper};
use signal::peaks;
use signal::spectrum::{self, Segments, Spectrum};
use signal::window::Window;

/// The spectrum of a channel and what was seen on the way.
pub(super) struct Estimate {
    /// The channel.
    pub name: String,
    /// Its unit.
    pub unit: Unit,
    /// The densities.
    pub spectrum: Spectrum,
    /// The lines, in no order.
    pub lines: Vec<SpectralLine>,
    /// Unbroken runs of the record.
    pub runs: usize,
    /// Filled samples that took part.
    pub filled: usize,
    /// The amplitude that white noise passes with a chance of 1 %; for
    /// Lomb-Scargle alone.
    pub white_level: Option<f64>,
}

impl Estimate {
    /// What a figure needs of it.
    pub(super) fn drawn(self) -> Drawn {
        Drawn { name: self.name, unit: self.unit, spectrum: self.spectrum }
    }
}

/// Lines that are listed of each channel, and of all.
const LINES: (usize, usize) = (6, 12);

/// Longest run that tapers are made for: each is as long as the run.
const MOST_TAPERED: usize = 1 << 21;

/// Frequencies tried in the width of a peak (J. T. VanderPlas, Astrophys. J.
/// Suppl. 236 (2018) 16, section 7.1: 5 to 10).
const PER_PEAK: f64 = 5.0;

/// The estimate that the sentence states.
pub(super) fn of(
    context: &Context<'_>,
    record: &Record,
    channel: &Channel,
    rate_hz: f64,
    tell: &mut dyn FnMut(f64),
) -> Result<Estimate, Fault> {
    let (marks, values) = (record.marks(), &channel.values);
    let step_ns = record.cadence().step_ns;
    let usable = |k: usize| marks.keeps(k) && values[k].is_finite();
    let unbroken = runs(record.times_ns(), step_ns, usable);
    let filled = |ranges: &[std::ops::Range<usize>]| {
        ranges.iter().flat_map(Clone::clone).filter(|k| marks.has(*k, Reason::Filled)).count()
    };
    let n_runs = unbroken.len();
    let longest: Vec<_> =
        unbroken.iter().max_by_key(|run| run.len()).cloned().into_iter().collect();
    let whole = longest.first().map_or(&[][..], |run| &values[run.clone()]);
    let left_out = record.len() - whole.len();
    let (found, filled) = match context.text("method") {
        "periodogram" => {
            let window = window(context.text("window"));
            let mut found = spectrum::periodogram(whole, rate_hz, window, Detrend::Mean)?;
            found.samples_left_out = left_out;
            (with_peaks(found, channel, rate_hz), filled(&longest))
        }
        "multitaper" => (tapered(context, whole, left_out, channel, rate_hz)?, filled(&longest)),
        "lomb-scargle" => (at_uneven_times(record, channel, rate_hz)?, 0),
        _ => {
            let pieces: Vec<&[f64]> = unbroken.iter().map(|run| &values[run.clone()]).collect();
            let found = welch(context, &pieces, rate_hz, tell)?;
            (with_peaks(found, channel, rate_hz), filled(&unbroken))
        }
    };
    Ok(Estimate { runs: n_runs, filled, ..found })
}

fn bare(spectrum: Spectrum, channel: &Channel, lines: Vec<SpectralLine>) -> Estimate {
    let (name, unit) = (channel.name.clone(), channel.unit);
    Estimate { name, unit, spectrum, lines, runs: 0, filled: 0, white_level: None }
}

fn welch(
    context: &Context<'_>,
    pieces: &[&[f64]],
    rate_hz: f64,
    tell: &mut dyn FnMut(f64),
) -> Result<Spectrum, Fault> {
    let wanted = context.number("segment_h") * 3600.0 * rate_hz;
    let len = wanted.round().clamp(8.0, 1e9) as usize;
    let longest = pieces.iter().map(|piece| piece.len()).max().unwrap_or(0);
    if len > longest {
        return Err(too_long(len, longest, rate_hz));
    }
    let overlap = (len as f64 * context.number("overlap") / 100.0).floor() as usize;
    let window = window(context.text("window"));
    let segments = Segments { len, overlap, window, detrend: Detrend::Mean };
    Ok(spectrum::welch_runs_telling(pieces, rate_hz, &segments, tell)?)
}

fn too_long(len: usize, longest: usize, rate_hz: f64) -> Fault {
    let time = |n: usize| print::duration(n as f64 / rate_hz);
    Fault::new(
        "spectrum/segment-too-long",
        say!(
            "A segment of {} does not fit: the longest unbroken run is {}.",
            time(len),
            time(longest)
        ),
        "Choose shorter segments, fill short gaps in the step before, or take the Lomb–Scargle method, \
         which gaps do not trouble.",
    )
}

fn window(id: &str) -> Window {
    match id {
        "hamming" => Window::Hamming,
        "blackman-harris" => Window::BlackmanHarris,
        "flat-top" => Window::FlatTop116d,
        "rectangle" => Window::Rectangle,
        _ => Window::Hann,
    }
}

fn line(
    channel: &Channel,
    frequency: (f64, f64),
    amplitude: (f64, f64),
    chance: f64,
) -> SpectralLine {
    SpectralLine {
        channel: channel.name.clone(),
        unit: channel.unit,
        frequency_hz: frequency.0,
        half_width_hz: frequency.1,
        amplitude: amplitude.0,
        amplitude_sigma: amplitude.1,
        chance,
        candidates: Vec::new(),
    }
}

// Peaks over the smooth background of a spectrum.
fn with_peaks(found: Spectrum, channel: &Channel, rate_hz: f64) -> Estimate {
    // A segment holds hardly more than one turn of the lowest periods: what
    // stands there is the trend, not a line.
    let lowest = 1.9 * found.step_hz();
    let lines = peaks::find(&found, LINES.0)
        .iter()
        .filter(|peak| peak.frequency_hz >= lowest)
        .map(|p| {
            let half_width_hz = (2.0 * p.frequency_sigma_hz).max(found.noise_bandwidth_hz / 2.0);
            let at = (p.frequency_hz, half_width_hz);
            named(line(channel, at, (p.amplitude, p.amplitude_sigma), p.false_alarm), rate_hz)
        })
        .collect();
    bare(found, channel, lines)
}

fn named(mut line: SpectralLine, rate_hz: f64) -> SpectralLine {
    line.candidates = candidates(line.frequency_hz, line.half_width_hz, rate_hz);
    line
}

fn tapered(
    context: &Context<'_>,
    run: &[f64],
    left_out: usize,
    channel: &Channel,
    rate_hz: f64,
) -> Result<Estimate, Fault> {
    if run.len() > MOST_TAPERED {
        return Err(Fault::new(
            "spectrum/too-long",
            say!(
                "The longest unbroken run has {}; tapers are made for {} at most.",
                print::counted(run.len(), "sample", "samples"),
                print::count(MOST_TAPERED)
            ),
            "Average into longer blocks first, or take Welch's method.",
        ));
    }
    let nw = context.number("bandwidth");
    // So many sine tapers smooth over as many bins as Slepian's (K. S. Riedel and
    // A. Sidorenko, IEEE Trans. Signal Process. 43 (1995) 188).
    let count = (2.0 * nw - 1.0).floor().max(2.0) as usize;
    let sine = context.text("tapers") == "sine";
    let tapers = if sine { Tapers::Sine { count } } else { Tapers::Dpss { nw, count } };
    let found = multitaper(run, rate_hz, tapers, Weighting::Adaptive)?;
    let mut spectrum = found.spectrum();
    spectrum.samples_left_out = left_out;
    let lines = steady(&found).into_iter().map(|bin| {
        let (f, size) = (found.line_f[bin], found.line_amplitude[bin]);
        // F is |mean|² over its variance; the amplitude has half of that.
        let sigma = size / (2.0 * f).sqrt();
        let bins = found.frequency_hz.len() as f64;
        let at = (found.frequency_hz[bin], spectrum.step_hz());
        named(line(channel, at, (size, sigma), (found.line_chance(bin) * bins).min(1.0)), rate_hz)
    });
    let lines = lines.collect();
    Ok(bare(spectrum, channel, lines))
}

/// Bins where the F ratio has a top that noise reaches in less than one of all
/// bins of such a record (D. J. Thomson, Proc. IEEE 70 (1982) 1055).
fn steady(found: &Multitaper) -> Vec<usize> {
    let (f, bins) = (&found.line_f, found.frequency_hz.len());
    let top = |k: &usize| f[*k] >= f[k - 1] && f[*k] > f[k + 1];
    let mut out: Vec<usize> = (2..bins.saturating_sub(1))
        .filter(top)
        .filter(|k| found.line_chance(*k) * (bins as f64) < 1.0)
        .collect();
    record::sort::by(&mut out, |a, b| {
        found.line_amplitude[*b].total_cmp(&found.line_amplitude[*a])
    });
    out.truncate(LINES.0);
    out
}

// Filled samples were not measured, and this method needs no filling.
fn at_uneven_times(record: &Record, channel: &Channel, rate_hz: f64) -> Result<Estimate, Fault> {
    let marks = record.marks();
    let first = record.times_ns().iter().min().copied().unwrap_or(0);
    let measured = |k: &usize| marks.keeps(*k) && !marks.has(*k, Reason::Filled);
    let places: Vec<usize> =
        (0..record.len()).filter(measured).filter(|k| channel.values[*k].is_finite()).collect();
    let times: Vec<f64> =
        places.iter().map(|k| (record.times_ns()[*k] - first) as f64 * 1e-9).collect();
    let values: Vec<f64> = places.iter().map(|k| channel.values[*k]).collect();
    let span = times.iter().fold(f64::NEG_INFINITY, |a, b| a.max(*b))
        - times.iter().fold(f64::INFINITY, |a, b| a.min(*b));
    let mut grid = Grid::up_to(rate_hz / 2.0, span.max(1e-9), PER_PEAK);
    grid.count = grid.count.min(MOST_FREQUENCIES / 4);
    let found = lomb_scargle(&times, &values, None, grid)?;
    let lines = found
        .peaks(LINES.0)
        .iter()
        // Less than two turns in the record are a trend, not a line.
        .filter(|p| p.frequency_hz * span > 1.9)
        .map(|p| {
            let half_width_hz = (2.0 * p.frequency_sigma_hz).max(0.5 / span);
            let at = (p.frequency_hz, half_width_hz);
            named(line(channel, at, (p.amplitude, p.amplitude_sigma), p.false_alarm), rate_hz)
        })
        .collect();
    let level = (2.0 * found.false_alarm_level(0.01) * found.chi2_about_mean
        / found.samples_used as f64)
        .sqrt();
    let mut spectrum = as_spectrum(found);
    spectrum.samples_left_out = record.len() - places.len();
    Ok(Estimate { white_level: Some(level), ..bare(spectrum, channel, lines) })
}

// Two degrees of freedom, one bin of the whole span.
fn as_spectrum(found: Periodogram) -> Spectrum {
    let n = found.samples_used as f64;
    let duration_s = found.span_s * n / (n - 1.0).max(1.0);
    Spectrum {
        density: found.density(),
        frequency_hz: found.frequency_hz,
        segments: 1,
        segment_len: found.samples_used,
        degrees_of_freedom: 2.0,
        noise_bandwidth_hz: 1.0 / duration_s,
        window: Window::Rectangle,
        samples_used: found.samples_used,
        samples_left_out: found.samples_left_out,
    }
}

/// The lines of all channels, the strongest first.
pub(super) fn strongest(estimates: &[Estimate]) -> Vec<SpectralLine> {
    let mut all: Vec<SpectralLine> = estimates.iter().flat_map(|e| e.lines.clone()).collect();
    record::sort::by(&mut all, |a, b| b.amplitude.total_cmp(&a.amplitude));
    all.truncate(LINES.1);
    all
}
