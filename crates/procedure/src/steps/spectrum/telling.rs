//! A spectrum in words, values and a table.

use super::estimate::Estimate;
use crate::outcome::{Named, Outcome, Table, Value};
use crate::plates::SpectralLine;
use crate::step::Context;
use record::{
    Fault, Unit, Warning, print, say,
    words::{word, worded},
};
use signal::candidates::to_part_s;
use signal::slope::{PowerLaw, power_law};
use signal::spectrum::Spectrum;

/// A line stands out when noise alone shows one as tall in at most so many of its
/// spectra (common practice, no source).
const STANDS_OUT: f64 = 0.05;

/// What was averaged, what took no part, and the strongest line.
pub(super) fn remark(context: &Context<'_>, first: &Estimate, lines: &[SpectralLine]) -> String {
    let spectrum = &first.spectrum;
    let used = print::counted(spectrum.samples_used, "sample", "samples");
    let mut text = match context.text("method") {
        "periodogram" => say!("Used the longest of {}, {used}", runs(first)),
        "multitaper" => say!(
            "Used the longest of {}, {used}; about {} degrees of freedom",
            runs(first),
            print::fixed(spectrum.degrees_of_freedom, 1)
        ),
        "lomb-scargle" => {
            let (a, b) = (spectrum.frequency_hz.last(), spectrum.frequency_hz.first());
            let period = |f: Option<&f64>| print::duration(1.0 / f.copied().unwrap_or(f64::NAN));
            say!("Tried periods from {} to {} on {used}", period(a), period(b))
        }
        _ => say!(
            "Averaged {} of {}, {} degrees of freedom",
            print::counted(spectrum.segments, "segment", "segments"),
            print::counted(spectrum.segment_len, "sample", "samples"),
            print::fixed(spectrum.degrees_of_freedom, 1)
        ),
    };
    if spectrum.samples_left_out > 0 {
        let out = print::counted(spectrum.samples_left_out, "sample", "samples");
        text.push_str(&say!("; {out} did not take part"));
    }
    if first.filled > 0 {
        let filled = print::counted(first.filled, "sample", "samples");
        text.push_str(&say!("; {filled} that took part were filled, not measured"));
    }
    match lines.first() {
        Some(line) if line.chance <= STANDS_OUT => text.push_str(&say!(
            "; the strongest line is in {} at a period of {}, amplitude {}",
            line.channel,
            print::duration(line.shown_period_s()),
            by_chance(line)
        )),
        None if context.text("method") == "multitaper" => {
            text.push_str(word("; no steady line passes the F test"));
        }
        _ => text.push_str(word("; no line stands out")),
    }
    text.push('.');
    text
}

fn runs(estimate: &Estimate) -> String {
    print::counted(estimate.runs, word("unbroken run"), word("unbroken runs"))
}

fn amplitude(line: &SpectralLine) -> String {
    print::with_unit(&print::with_sigma(line.amplitude, line.amplitude_sigma), line.unit)
}

/// The values, the lines for reading, the warnings and the table.
pub(super) fn reported(
    outcome: Outcome,
    context: &Context<'_>,
    estimates: &[Estimate],
    lines: &[SpectralLine],
) -> Outcome {
    let first = &estimates[0];
    let mut outcome = with_values(outcome, lines);
    for (k, line) in lines.iter().enumerate() {
        let label = say!("{}, period {}", line.channel, print::duration(1.0 / line.frequency_hz));
        outcome = outcome.line(&format!("peak_{}", k + 1), &label, told(line));
    }
    if let Some(level) = first.white_level {
        let text = print::with_unit(&print::significant(level, 2), first.unit);
        let label = say!("{}, 1 % level of white noise", first.name);
        outcome = outcome.number("white_level", level, first.unit);
        outcome = outcome.line("white_level", &label, text);
    }
    let s = &first.spectrum;
    let sine = print::significant(1.0 / (2.0 * s.noise_bandwidth_hz), 3);
    let density = squared(first.unit);
    outcome = outcome
        .number("segments", s.segments as f64, Unit::None)
        .number("degrees_of_freedom", s.degrees_of_freedom, Unit::None)
        .number("noise_bandwidth_hz", s.noise_bandwidth_hz, Unit::Hertz)
        .line(
            "noise_bandwidth_hz",
            word("From one scaling to the other"),
            say!(
                "bandwidth {} Hz: a sine of amplitude 1 adds {sine} {density} to the density",
                print::significant(s.noise_bandwidth_hz, 3)
            ),
        );
    let (low_hz, high_hz) = slope_range_hz(context, s);
    let law = power_law(s, low_hz, high_hz);
    outcome = match law {
        Ok(law) => with_slope(outcome, law, low_hz, high_hz),
        Err(error) if context.text("slope") == "between" => {
            let fault = Fault::from(error);
            outcome.warn(Warning::new("spectrum/slope", fault.message, fault.remedy))
        }
        Err(_) => outcome,
    };
    outcome.tables.push(table(estimates));
    warned(outcome, context, first, law.ok())
}

fn squared(unit: Unit) -> String {
    if unit == Unit::None { "1/Hz".to_owned() } else { format!("{}²/Hz", unit.symbol()) }
}

/// Its size, and how often noise alone shows one as tall.
fn by_chance(line: &SpectralLine) -> String {
    let chance = match line.chance {
        c if c < 1e-6 => worded("under one in a million"),
        c => format!("{} %", print::significant(100.0 * c, 2)),
    };
    say!("{} (by chance: {chance})", amplitude(line))
}

fn told(line: &SpectralLine) -> String {
    let mut text = by_chance(line);
    let names: Vec<&str> = line.candidates.iter().map(|c| c.name.as_str()).collect();
    if !names.is_empty() {
        text.push_str(&say!(", perhaps {}", names.join(word(" or "))));
    }
    if let Some(part_s) = to_part_s(&line.candidates).filter(|s| s.is_finite()) {
        text.push_str(&say!("; to part these takes {}", print::duration(part_s)));
    }
    text
}

fn with_values(outcome: Outcome, lines: &[SpectralLine]) -> Outcome {
    let row = |l: &SpectralLine| {
        vec![l.frequency_hz, 1.0 / l.frequency_hz, l.amplitude, l.amplitude_sigma, l.chance]
    };
    let names: Vec<&str> = lines.iter().map(|l| l.channel.as_str()).collect();
    let named = |l: &SpectralLine| l.candidates.first().map_or(String::new(), |c| c.name.clone());
    let text = |name, text| Named { name, value: Value::Text(text), unit: Unit::None, sigma: None };
    outcome
        .value(Named {
            name: "peaks",
            value: Value::Rows(lines.iter().map(row).collect()),
            unit: Unit::None,
            sigma: None,
        })
        .value(text("peak_channels", names.join(" ")))
        .value(text("peak_names", lines.iter().map(named).collect::<Vec<_>>().join("; ")))
}

/// The frequencies between which the slope is fitted; all but the first two, which a trend
/// reaches, unless others are asked for.
fn slope_range_hz(context: &Context<'_>, spectrum: &Spectrum) -> (f64, f64) {
    if context.text("slope") == "between" {
        let hz = |key: &str| 1.0 / (3600.0 * context.number(key));
        return (hz("slope_to_h"), hz("slope_from_h"));
    }
    let at = |f: Option<&f64>| f.copied().unwrap_or(f64::NAN);
    (at(spectrum.frequency_hz.get(2)), at(spectrum.frequency_hz.last()))
}

fn with_slope(outcome: Outcome, law: PowerLaw, low_hz: f64, high_hz: f64) -> Outcome {
    let text = say!(
        "density ∝ f^({}), from {} to {}",
        print::with_sigma(law.slope, law.slope_sigma),
        print::duration(1.0 / high_hz),
        print::duration(1.0 / low_hz)
    );
    outcome
        .value(Named {
            name: "slope",
            value: Value::Number(law.slope),
            unit: Unit::None,
            sigma: Some(Value::Number(law.slope_sigma)),
        })
        .line("slope", word("Slope of the spectrum"), text)
}

/// Above this share of samples that take no part, a transform is announced as
/// one of a gappy record.
const GAPPY: f64 = 0.1;
/// A spectrum that falls more steeply than this is called red.
const RED: f64 = -0.5;

fn warned(
    mut outcome: Outcome,
    context: &Context<'_>,
    first: &Estimate,
    law: Option<PowerLaw>,
) -> Outcome {
    let s = &first.spectrum;
    let all = (s.samples_used + s.samples_left_out).max(1) as f64;
    let by_transform = context.text("method") != "lomb-scargle";
    if by_transform && s.samples_left_out as f64 > GAPPY * all {
        outcome = outcome.warn(Warning::new(
            "spectrum/gaps",
            say!(
                "The record is broken into {}: {} took no part, so this is the spectrum of a part of it.",
                runs(first),
                print::percent(s.samples_left_out, all as usize)
            ),
            "Take the Lomb–Scargle method, which uses every measured sample, or fill short gaps first.",
        ));
    }
    if by_transform && first.filled as f64 > GAPPY / 2.0 * s.samples_used.max(1) as f64 {
        outcome = outcome.warn(Warning::new(
            "spectrum/filled",
            say!(
                "{} of the samples were filled by straight lines, which lowers the spectrum at short \
                 periods.",
                print::percent(first.filled, s.samples_used)
            ),
            "Fill less, or take the Lomb–Scargle method, which needs no filling.",
        ));
    }
    if let Some(law) = law.filter(|law| !by_transform && law.slope < RED) {
        outcome = outcome.warn(Warning::new(
            "spectrum/red-noise",
            say!(
                "The chances suppose white noise, but this spectrum falls as f^({}): slow noise alone \
                 makes peaks at long periods that they call significant.",
                print::fixed(law.slope, 1)
            ),
            "Believe a line only when it stands out of its neighbours, returns in both halves of the \
             record, or was expected beforehand.",
        ));
    }
    let averaged = context.text("method") == "welch";
    if averaged && s.segments > 0 && s.segments < 4 {
        outcome = outcome.warn(Warning::new(
            "spectrum/few-segments",
            say!(
                "Only {} went into the average, so single peaks and dips may be chance.",
                print::counted(s.segments, "segment", "segments")
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
    let (low, high) = estimates[0].spectrum.interval(0.95);
    let n = data[0].len();
    for (name, factor) in [("low_95 (times psd)", low), ("high_95 (times psd)", high)] {
        columns.push(name.to_owned());
        data.push(vec![factor; n]);
    }
    Table { name: "spectrum".to_owned(), columns, data, times_ns: None }
}
