//! The figures of the steps: which data, which caption, which summary.
//!
//! Steps hand over what they hold; here it becomes figures that can be planned
//! for any room.  Nothing is computed but what the words need.

use crate::outcome::{FieldFrame, Figure, Outcome};
use field::calibration::Calibration;
use field::mean::MeanElements;
use figure::Words;
use figure::plan;
use figure::plan::Trace;
use record::{Channel, Instant, Record, Role, Unit, print};
use signal::peaks::Peak;
use signal::spectrum::Spectrum;
use std::sync::Arc;

/// How many panels a figure of time series holds at most.
const MOST_PANELS: usize = 4;

/// Adds the figure of the record's main channels against time.
pub(crate) fn with_series(
    outcome: Outcome,
    record: &Record,
    before: Option<&Record>,
    name: &'static str,
    title: &'static str,
    caption: &str,
) -> Outcome {
    let shown: Vec<Channel> = main_channels(record).into_iter().take(MOST_PANELS).collect();
    if shown.is_empty() || record.is_empty() {
        return outcome;
    }
    let words = Words {
        name: name.to_owned(),
        caption: caption.to_owned(),
        summary: summary(record, &shown),
        provenance: String::new(),
    };
    let faint: Vec<Option<Channel>> = shown
        .iter()
        .map(|c| before.filter(|b| b.len() == record.len()).and_then(|b| b.named(&c.name)).cloned())
        .collect();
    let times = record.shared_times();
    let marks = record.marks().clone();
    outcome.figure(Figure::new(name, title, move |frame, view| {
        let traces: Vec<Trace<'_>> = shown
            .iter()
            .zip(&faint)
            .map(|(channel, faint)| Trace {
                name: &channel.name,
                unit: channel.unit,
                times_ns: &times,
                values: &channel.values,
                marks: Some(&marks),
                faint: faint.as_ref().map(|c| c.values.as_slice()),
            })
            .collect();
        plan::series(&traces, *frame, *view, &words)
    }))
}

// The components and the total field; without a vector, what there is.
fn main_channels(record: &Record) -> Vec<Channel> {
    let mut out: Vec<Channel> = match record.vector() {
        Some(axes) => axes.into_iter().cloned().collect(),
        None => record.channels().iter().filter(|c| has_numbers(c)).cloned().collect(),
    };
    if record.vector().is_some() {
        let derived = record.channels().iter().rev().find(|c| c.role == Role::F);
        let fourth = derived.or_else(|| record.channel(Role::Temperature));
        out.extend(fourth.filter(|c| has_numbers(c)).cloned());
    }
    out
}

fn has_numbers(channel: &Channel) -> bool {
    channel.values.iter().any(|v| v.is_finite())
}

/// Span, ranges and the largest excursion, in sentences.
fn summary(record: &Record, shown: &[Channel]) -> String {
    let names: Vec<&str> = shown.iter().map(|c| c.name.as_str()).collect();
    let span = match (record.start(), record.end()) {
        (Some(a), Some(b)) => print::span(a, b),
        _ => "no time".to_owned(),
    };
    let n = record.len();
    let kept = record.marks().kept();
    let mut text = format!(
        "{} against time from {span}: {}, of which {} are left out.",
        names.join(", "),
        print::counted(n, "sample", "samples"),
        print::count(n - kept)
    );
    for channel in shown.iter().take(3) {
        if let Some(sentence) = extremes(record, channel) {
            text.push(' ');
            text.push_str(&sentence);
        }
    }
    text
}

fn extremes(record: &Record, channel: &Channel) -> Option<String> {
    let kept = |k: &usize| record.marks().keeps(*k) && channel.values[*k].is_finite();
    let by_value = |a: &usize, b: &usize| channel.values[*a].total_cmp(&channel.values[*b]);
    let low = (0..record.len()).filter(kept).min_by(by_value)?;
    let high = (0..record.len()).filter(kept).max_by(by_value)?;
    let shown = |k: usize| {
        let number = print::significant(channel.values[k], 6);
        format!(
            "{} on {}",
            print::with_unit(&number, channel.unit),
            Instant(record.times_ns()[k]).readable()
        )
    };
    Some(format!("{} lies between {} and {}.", channel.name, shown(low), shown(high)))
}

/// Adds the calibration's figure: projections before and after, residuals.
pub(crate) fn with_calibration(
    outcome: Outcome,
    turned: &Record,
    fitted: Arc<Calibration>,
    raw_unit: Unit,
    unit: Unit,
) -> Outcome {
    let Some(axes) = turned.vector() else { return outcome };
    let columns: [Arc<Vec<f64>>; 3] = axes.map(|channel| Arc::clone(&channel.values));
    let words = Words {
        name: "calibration".to_owned(),
        caption: format!(
            "The turning before (as the sensor wrote it) and after calibration. Before, the \
             samples lie on a shifted ellipsoid; after, on a sphere of radius {}.",
            print::with_unit(&print::significant(fitted.radius, 5), unit)
        ),
        summary: calibration_summary(&fitted, unit),
        provenance: String::new(),
    };
    outcome.figure(Figure::new("calibration", "Before and after", move |frame, view| {
        let data = plan::calibration::CalibrationData {
            raw: [&columns[0], &columns[1], &columns[2]],
            raw_unit,
            unit,
            offset: fitted.offset,
            matrix: fitted.matrix,
            radius: fitted.radius,
            rejected: &fitted.rejected,
        };
        plan::calibration::calibration(&data, *frame, *view, &words)
    }))
}

fn calibration_summary(fitted: &Calibration, unit: Unit) -> String {
    let rms = print::with_unit(&print::significant(fitted.residual_rms, 3), unit);
    format!(
        "Three projections of {} turned samples before and after calibration, and the length of \
         each vector. Afterwards the lengths scatter by {rms} rms about {}. {} samples were left \
         out. {} % of all directions were seen.",
        print::count(fitted.used),
        print::with_unit(&print::significant(fitted.radius, 5), unit),
        print::count(fitted.rejected.len()),
        print::fixed(fitted.coverage * 100.0, 0),
    )
}

/// Adds the figure of the angles.
pub(crate) fn with_elements(
    outcome: Outcome,
    record: &Record,
    mean: &MeanElements,
    frame: FieldFrame,
) -> Outcome {
    if frame == FieldFrame::Sensor {
        return outcome;
    }
    let mut shown: Vec<(Channel, f64, f64)> = Vec::new();
    let angles = [
        (Role::D, "D", mean.declination_deg),
        (Role::I, "I", mean.inclination_deg),
        (Role::Other, "heading", mean.heading_deg),
    ];
    for (role, name, quantity) in angles {
        let found =
            record.channels().iter().rev().find(|c| c.role == role && c.name.starts_with(name));
        if let Some(channel) = found {
            let centre = match frame {
                FieldFrame::Geographic { azimuth_deg } if role == Role::Other => {
                    (azimuth_deg - mean.declination_deg.value).rem_euclid(360.0)
                }
                _ => quantity.value,
            };
            shown.push((channel.clone(), centre, quantity.sigma));
        }
    }
    let names: Vec<&str> = shown.iter().map(|(c, _, _)| c.name.as_str()).collect();
    let words = Words {
        name: "angles".to_owned(),
        caption: format!(
            "{} against time, with the mean and its standard uncertainty as a band.",
            names.join(", ")
        ),
        summary: format!(
            "{} against time in degrees. Means: {}.",
            names.join(", "),
            shown
                .iter()
                .map(|(c, m, s)| format!("{} {}°", c.name, print::with_sigma(*m, *s)))
                .collect::<Vec<_>>()
                .join(", ")
        ),
        provenance: String::new(),
    };
    let times = record.shared_times();
    let marks = record.marks().clone();
    outcome.figure(Figure::new("angles", "Declination, inclination, heading", move |room, view| {
        let traces: Vec<plan::angles::AngleTrace<'_>> = shown
            .iter()
            .map(|(channel, mean_deg, sigma_deg)| plan::angles::AngleTrace {
                name: &channel.name,
                times_ns: &times,
                values_deg: &channel.values,
                marks: Some(&marks),
                mean_deg: *mean_deg,
                sigma_deg: *sigma_deg,
            })
            .collect();
        plan::angles::angles(&traces, *room, *view, &words)
    }))
}

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
