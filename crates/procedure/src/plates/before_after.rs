//! One figure of a channel before and after a filter: both traces, and both
//! spectra beneath.

use super::main_channels;
use crate::outcome::{Figure, Outcome};
use figure::plan::spectrum::{Height, SpectrumTrace, spectrum};
use figure::plan::{Trace, joined, parted, series};
use figure::{View, Words};
use record::gaps::runs;
use record::{Channel, Record, print, say, words::word};
use signal::detrend::Detrend;
use signal::spectrum::{Segments, Spectrum, welch_runs};
use signal::window::Window;

/// Fewest samples of a segment that still make a spectrum worth drawing.
const FEWEST: usize = 16;
/// Longest segment: what is compared is the shape, not the last line.
const LONGEST: usize = 8192;

/// Adds the figure of the first channel before and after, with its spectra.
pub(crate) fn with_before_after(
    outcome: Outcome,
    before: &Record,
    after: &Record,
    rate_hz: f64,
) -> Outcome {
    let Some(new) = main_channels(after).into_iter().next() else { return outcome };
    let Some(old) = before.named(&new.name).cloned() else { return outcome };
    let spectra = both_spectra((before, &old), (after, &new), rate_hz);
    let words = Words {
        name: "before-after".to_owned(),
        caption: say!(
            "{} before (faint) and after the filter, and below the spectra of both.",
            new.name
        ),
        summary: summary(&new.name, spectra.as_ref()),
        provenance: String::new(),
    };
    let times = after.shared_times();
    let marks = after.marks().clone();
    outcome.figure(Figure::new("before-after", word("Before and after"), move |frame, view| {
        let trace = Trace {
            name: &new.name,
            unit: new.unit,
            times_ns: &times,
            values: &new.values,
            marks: Some(&marks),
            faint: Some(&old.values),
        };
        let Some((a, b)) = &spectra else { return series(&[trace], *frame, *view, &words) };
        let (upper, lower) = parted(*frame, 0.46);
        let traces = [of(word("before"), &new, a), of(word("after"), &new, b)];
        let below = spectrum(&traces, a.interval(0.95), &[], lower, View::ALL, &words);
        joined(series(&[trace], upper, View::ALL, &words), below)
    }))
}

fn of<'a>(name: &'a str, channel: &Channel, found: &'a Spectrum) -> SpectrumTrace<'a> {
    SpectrumTrace {
        name,
        unit: channel.unit,
        frequency_hz: &found.frequency_hz,
        density: &found.density,
        height: Height::Density,
    }
}

fn pieces<'a>(record: &Record, channel: &'a Channel) -> Vec<&'a [f64]> {
    let (marks, values) = (record.marks(), &channel.values);
    let step_ns = record.cadence().step_ns;
    let whole = runs(record.times_ns(), step_ns, |k| marks.keeps(k) && values[k].is_finite());
    whole.into_iter().map(|run| &channel.values[run]).collect()
}

/// The spectra of both in segments of one length, a fourth of the longest run
/// that is left.
fn both_spectra(
    before: (&Record, &Channel),
    after: (&Record, &Channel),
    rate_hz: f64,
) -> Option<(Spectrum, Spectrum)> {
    let (old, new) = (pieces(before.0, before.1), pieces(after.0, after.1));
    let longest = new.iter().map(|piece| piece.len()).max()?;
    let len = (longest / 4).clamp(FEWEST, LONGEST).min(longest) & !1;
    if len < FEWEST {
        return None;
    }
    let cut = Segments { len, overlap: len / 2, window: Window::Hann, detrend: Detrend::Mean };
    Some((welch_runs(&old, rate_hz, &cut).ok()?, welch_runs(&new, rate_hz, &cut).ok()?))
}

/// How much of the fluctuation is left, in a sentence.
fn summary(name: &str, spectra: Option<&(Spectrum, Spectrum)>) -> String {
    let Some((a, b)) = spectra else {
        return say!(
            "{name} before and after the filter; what is left is too short for a spectrum."
        );
    };
    let power = |s: &Spectrum| s.variance_between(s.step_hz(), f64::INFINITY);
    say!(
        "{name} before and after the filter, and Welch spectra of both in segments of {}. After the filter \
         {} % of the fluctuation's power is left.",
        print::counted(a.segment_len, "sample", "samples"),
        print::significant(100.0 * power(b) / power(a), 3)
    )
}
