//! `spectrum`: power spectral density, with its interval and its peaks.

use crate::outcome::{Named, Outcome, State, Table, Value};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use record::gaps::runs;
use record::{Channel, Fault, NANOS_PER_SECOND, Unit, Warning, print};
use signal::detrend::Detrend;
use signal::peaks::{self, Peak};
use signal::spectrum::{self, Segments, Spectrum};
use signal::window::Window;

/// Estimates spectra.
pub static STEP: Step = Step {
    id: "spectrum",
    stage: Stage::Spectrum,
    title: "Spectrum",
    params: &[
        Param::channel(
            "channel",
            "Channel",
            &[("components", "the three components")],
            "components",
            "",
        ),
        Param::choice(
            "method",
            "Method",
            &[("welch", "Welch's method"), ("periodogram", "one periodogram")],
            "welch",
            "Welch averages segments: smoother, and blind to periods longer than a segment.",
        ),
        Param::choice(
            "window",
            "Window",
            &[
                ("hann", "Hann"),
                ("hamming", "Hamming"),
                ("blackman-harris", "Blackman–Harris"),
                ("flat-top", "flat-top"),
                ("rectangle", "rectangular"),
            ],
            "hann",
            "Hann suits nearly everything; flat-top reads the height of a line best.",
        ),
        Param::number(
            "segment_h",
            "Segment length",
            Unit::Hour,
            (1e-5, 1e5, 24.0),
            240.0,
            "Longer segments separate closer periods, shorter ones average more.",
        ),
        Param::number(
            "overlap",
            "Overlap",
            Unit::Percent,
            (0.0, 90.0, 5.0),
            50.0,
            "Half is usual with a Hann window.",
        ),
    ],
    sentence: |context| {
        if context.text("method") == "periodogram" {
            "Estimate the power spectral density of {channel} by {method} with a {window} window, over \
             the longest unbroken run."
        } else {
            "Estimate the power spectral density of {channel} by {method}, with {window} windows of \
             {segment_h} overlapping by {overlap}."
        }
    },
    why: Why {
        what: "The record is cut into overlapping pieces, each is tapered by the window and turned \
               into the power at each frequency, and the pieces are averaged.",
        why: "A period that repeats stands out as a peak, noise spreads out as a floor, and both can \
              be given in units: nT²/Hz for noise, nT for the height of a line.",
        wrong: "The height of a line in a density plot depends on the segment length, so read its \
                amplitude from the list of peaks and use the density for noise only.",
    },
    run,
    repeatable: true,
    removable: true,
};

struct Estimate {
    name: String,
    unit: Unit,
    spectrum: Spectrum,
}

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let step_ns = state.record.cadence().step_ns;
    if step_ns <= 0 {
        return Err(Fault::new(
            "spectrum/no-step",
            "The record has fewer than two times, so it has no sampling rate.",
            "Look at the reading report.",
        ));
    }
    let channels = chosen(context, state)?;
    let estimates = channels
        .iter()
        .map(|channel| estimate(context, state, channel, step_ns))
        .collect::<Result<Vec<_>, _>>()?;
    let peaks = peaks_of(&estimates);
    let first = &estimates[0].spectrum;
    let outcome = Outcome::new(state.clone(), remark(context, first, &peaks));
    let outcome = reported(outcome, &estimates, &peaks);
    Ok(plates::with_spectrum(outcome, &plates_input(&estimates), &peaks))
}

fn plates_input(estimates: &[Estimate]) -> Vec<(String, Unit, Spectrum)> {
    estimates.iter().map(|e| (e.name.clone(), e.unit, e.spectrum.clone())).collect()
}

pub(super) fn chosen(context: &Context<'_>, state: &State) -> Result<Vec<Channel>, Fault> {
    let name = context.text("channel");
    if name == "components" {
        if let Some(axes) = state.record.vector() {
            return Ok(axes.into_iter().cloned().collect());
        }
        let first = state.record.channels().iter().find(|c| c.values.iter().any(|v| v.is_finite()));
        return first.cloned().map(|c| vec![c]).ok_or_else(|| {
            Fault::new(
                "spectrum/no-channel",
                "There is no channel with numbers.",
                "Look at the reading report.",
            )
        });
    }
    let channel = state.record.named(name).cloned().ok_or_else(|| {
        let known: Vec<&str> = state.record.channels().iter().map(|c| c.name.as_str()).collect();
        Fault::new(
            "spectrum/no-such-channel",
            format!("There is no channel called “{name}” at this step."),
            format!("Choose one of: {}.", known.join(", ")),
        )
    })?;
    Ok(vec![channel])
}

fn estimate(
    context: &Context<'_>,
    state: &State,
    channel: &Channel,
    step_ns: i64,
) -> Result<Estimate, Fault> {
    let marks = state.record.marks();
    let values = &channel.values;
    let unbroken =
        runs(state.record.times_ns(), step_ns, |k| marks.keeps(k) && values[k].is_finite());
    let pieces: Vec<&[f64]> = unbroken.into_iter().map(|run| &values[run]).collect();
    let rate_hz = NANOS_PER_SECOND as f64 / step_ns as f64;
    let window = window(context.text("window"));
    let spectrum = if context.text("method") == "periodogram" {
        let longest = pieces.iter().max_by_key(|piece| piece.len()).copied().unwrap_or(&[]);
        let left_out = state.record.len() - longest.len();
        let mut found = spectrum::periodogram(longest, rate_hz, window, Detrend::Mean)?;
        found.samples_left_out = left_out;
        found
    } else {
        let wanted = context.number("segment_h") * 3600.0 * rate_hz;
        let len = wanted.round().clamp(8.0, 1e9) as usize;
        let longest = pieces.iter().map(|piece| piece.len()).max().unwrap_or(0);
        if len > longest {
            return Err(too_long(len, longest, rate_hz));
        }
        let overlap = (len as f64 * context.number("overlap") / 100.0).floor() as usize;
        let segments = Segments { len, overlap, window, detrend: Detrend::Mean };
        spectrum::welch_runs(&pieces, rate_hz, &segments)?
    };
    Ok(Estimate { name: channel.name.clone(), unit: channel.unit, spectrum })
}

fn too_long(len: usize, longest: usize, rate_hz: f64) -> Fault {
    let time = |n: usize| print::duration(n as f64 / rate_hz);
    Fault::new(
        "spectrum/segment-too-long",
        format!(
            "A segment of {} does not fit: the longest unbroken run is {}.",
            time(len),
            time(longest)
        ),
        "Choose shorter segments, or fill short gaps in the step before.",
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

// The peaks of all components, the strongest first.
fn peaks_of(estimates: &[Estimate]) -> Vec<(String, Unit, Peak)> {
    let mut all: Vec<(String, Unit, Peak)> = Vec::new();
    for estimate in estimates {
        // A segment holds hardly more than one turn of the lowest periods: what
        // stands there is the trend, not a line.
        let lowest = 1.9 * estimate.spectrum.frequency_hz.get(1).copied().unwrap_or(0.0);
        for peak in peaks::find(&estimate.spectrum, 6) {
            if peak.frequency_hz >= lowest {
                all.push((estimate.name.clone(), estimate.unit, peak));
            }
        }
    }
    all.sort_by(|a, b| b.2.amplitude.total_cmp(&a.2.amplitude));
    all.truncate(12);
    all
}

fn remark(context: &Context<'_>, first: &Spectrum, peaks: &[(String, Unit, Peak)]) -> String {
    let used = print::counted(first.samples_used, "sample", "samples");
    let mut text = if context.text("method") == "periodogram" {
        format!("Used the longest unbroken run, {used}")
    } else {
        format!(
            "Averaged {} of {}, {} degrees of freedom",
            print::counted(first.segments, "segment", "segments"),
            print::counted(first.segment_len, "sample", "samples"),
            print::fixed(first.degrees_of_freedom, 1)
        )
    };
    if first.samples_left_out > 0 {
        text.push_str(&format!(
            "; {} did not take part",
            print::counted(first.samples_left_out, "sample", "samples")
        ));
    }
    if let Some((name, unit, peak)) = peaks.first() {
        text.push_str(&format!(
            "; the strongest line is in {name} at a period of {}, amplitude {}",
            print::duration(peak.period_s),
            print::with_unit(&print::with_sigma(peak.amplitude, peak.amplitude_sigma), *unit)
        ));
    }
    text.push('.');
    text
}

fn reported(
    mut outcome: Outcome,
    estimates: &[Estimate],
    peaks: &[(String, Unit, Peak)],
) -> Outcome {
    let rows = peaks
        .iter()
        .map(|(_, _, p)| vec![p.frequency_hz, p.period_s, p.amplitude, p.amplitude_sigma]);
    let names: Vec<&str> = peaks.iter().map(|(name, _, _)| name.as_str()).collect();
    outcome = outcome
        .value(Named {
            name: "peaks",
            value: Value::Rows(rows.collect()),
            unit: Unit::None,
            sigma: None,
        })
        .value(Named {
            name: "peak_channels",
            value: Value::Text(names.join(" ")),
            unit: Unit::None,
            sigma: None,
        });
    for (k, (name, unit, peak)) in peaks.iter().enumerate() {
        let amplitude = print::with_sigma(peak.amplitude, peak.amplitude_sigma);
        outcome = outcome.line(
            &format!("peak_{}", k + 1),
            &format!("{name}, period {}", print::duration(peak.period_s)),
            print::with_unit(&amplitude, *unit),
        );
    }
    let first = &estimates[0].spectrum;
    outcome = outcome
        .number("segments", first.segments as f64, Unit::None)
        .number("degrees_of_freedom", first.degrees_of_freedom, Unit::None)
        .number("noise_bandwidth_hz", first.noise_bandwidth_hz, Unit::Hertz);
    if let Some((slope, sigma)) = slope_of(first) {
        outcome = outcome.value(Named {
            name: "slope",
            value: Value::Number(slope),
            unit: Unit::None,
            sigma: Some(Value::Number(sigma)),
        });
        let text = print::with_sigma(slope, sigma);
        outcome = outcome.line("slope", "Slope of the spectrum", format!("density ∝ f^({text})"));
    }
    outcome.tables.push(table(estimates));
    few_segments(outcome, first)
}

fn slope_of(spectrum: &Spectrum) -> Option<(f64, f64)> {
    let low = *spectrum.frequency_hz.get(2)?;
    let high = *spectrum.frequency_hz.last()?;
    signal::slope::log_log(spectrum, low, high).ok()
}

fn few_segments(outcome: Outcome, first: &Spectrum) -> Outcome {
    if first.segments > 0 && first.segments < 4 {
        return outcome.warn(Warning::new(
            "spectrum/few-segments",
            format!(
                "Only {} went into the average, so single peaks and dips may be chance.",
                print::counted(first.segments, "segment", "segments")
            ),
            "Choose shorter segments, or compare with the 95 % bar before believing a peak.",
        ));
    }
    outcome
}

fn table(estimates: &[Estimate]) -> Table {
    let mut columns = vec!["frequency_hz".to_owned()];
    let mut data = vec![estimates[0].spectrum.frequency_hz.clone()];
    for e in estimates {
        let unit = if e.unit == Unit::None { "1".to_owned() } else { e.unit.ascii().to_owned() };
        columns.push(format!("psd_{} ({unit}^2/Hz)", e.name));
        data.push(e.spectrum.density.clone());
    }
    Table { name: "spectrum".to_owned(), columns, data, times_ns: None }
}
