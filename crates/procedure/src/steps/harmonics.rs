//! `harmonics`: amplitudes and phases of known periods, by least squares.

use super::spectrum::chosen;
use crate::outcome::{Named, Outcome, State, Value};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use record::{Channel, Fault, Instant, Unit, Warning, print};
use signal::harmonics::{Harmonics, fit};

/// Fits the day's harmonics, and the Moon's half day when asked.
pub static STEP: Step = Step {
    id: "harmonics",
    stage: Stage::Spectrum,
    title: "Harmonics",
    params: &[
        Param::channel(
            "channel",
            "Channel",
            &[("components", "the three components")],
            "components",
            "",
        ),
        Param::whole(
            "count",
            "Harmonics of day",
            (1.0, 12.0, 1.0),
            false,
            4.0,
            "Four go down to 6 hours.",
        ),
        Param::choice(
            "moon",
            "Lunar term",
            &[("without", "without"), ("with", "with")],
            "without",
            "The Moon's 12.42 hours need 15 days to be told from 12 hours.",
        ),
    ],
    sentence: |_| {
        "Fit {count} harmonics of 24 hours to {channel} by least squares, {moon} the lunar half day of \
         12.42 hours."
    },
    why: Why {
        what: "Sines of the stated periods are fitted to all kept samples at once, gaps and all, and each \
               gives an amplitude and the hour of its maximum.",
        why: "For a period that is known beforehand this is sharper than a spectrum, and it does not mind \
              gaps.",
        wrong: "Least squares finds an amplitude for any period you name, also in pure noise: compare it \
                with its uncertainty.",
    },
    run,
    repeatable: true,
    removable: true,
};

/// Period of the principal lunar semidiurnal term M2, hours: 360° at
/// 28.9841042° an hour (constituent speeds, National Oceanography Centre).
const M2_H: f64 = 360.0 / 28.984_104_2;

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let midnight = record.start().map_or(0, |s| s.0.div_euclid(DAY_NS) * DAY_NS);
    let times_s: Vec<f64> =
        record.times_ns().iter().map(|t| (t - midnight) as f64 * 1e-9).collect();
    let mut periods_h: Vec<f64> = (1..=context.whole("count")).map(|k| 24.0 / k as f64).collect();
    if context.text("moon") == "with" {
        periods_h.push(M2_H);
    }
    let periods_s: Vec<f64> = periods_h.iter().map(|h| h * 3600.0).collect();
    let channels = chosen(context, state)?;
    let marks = record.marks();
    let mut found: Vec<(Channel, Harmonics)> = Vec::new();
    for channel in channels {
        let kept: Vec<f64> = channel
            .values
            .iter()
            .enumerate()
            .map(|(k, v)| if marks.keeps(k) { *v } else { f64::NAN })
            .collect();
        found.push((channel.clone(), fit(&times_s, &kept, &periods_s)?));
    }
    let longitude = state.station.as_ref().map_or(0.0, |s| s.longitude_deg);
    let mut outcome = reported(state, &found, longitude);
    if let (Some(start), Some(end)) = (record.start(), record.end())
        && context.text("moon") == "with"
        && (end.0 - start.0) as f64 * 1e-9 < 14.77 * 86_400.0
    {
        outcome = outcome.warn(Warning::new(
            "harmonics/too-short-for-the-moon",
            "The record is too short to tell the lunar half day from 12 hours (14.77 days).",
            "Leave the lunar term out, or log longer.",
        ));
    }
    let mut curve = record.clone();
    for (channel, harmonics) in &found {
        let values = times_s.iter().map(|t| harmonics.at(*t)).collect();
        curve = curve
            .with_channel(channel.with_values(channel.unit, values))
            .map_err(super::internal)?;
    }
    let caption = "The fitted harmonics (strong) over the record (faint).";
    Ok(plates::with_series(outcome, &curve, Some(record), "series", "Harmonics", caption))
}

const DAY_NS: i64 = 86_400_000_000_000;

fn reported(state: &State, found: &[(Channel, Harmonics)], longitude_deg: f64) -> Outcome {
    let mut strongest: Option<(f64, String)> = None;
    let mut lines = Vec::new();
    for (channel, harmonics) in found {
        for term in &harmonics.terms {
            let local_h = (term.maximum_s() / 3600.0 + longitude_deg / 15.0)
                .rem_euclid(term.period_s / 3600.0);
            let size = print::with_unit(
                &print::with_sigma(term.amplitude, term.amplitude_sigma),
                channel.unit,
            );
            let label = format!("{}, {}", channel.name, print::duration(term.period_s));
            let text =
                format!("{size}, greatest at {} h local mean time", print::fixed(local_h, 1));
            if strongest.as_ref().is_none_or(|(a, _)| term.amplitude > *a) {
                strongest = Some((term.amplitude, format!("{label}: {text}")));
            }
            lines.push((label, text));
        }
    }
    let remark = strongest.map_or_else(
        || "Nothing was fitted.".to_owned(),
        |(_, text)| format!("The strongest term is {text}."),
    );
    let rows = |f: fn(&signal::harmonics::Term) -> f64| -> Value {
        Value::Rows(found.iter().map(|(_, h)| h.terms.iter().map(f).collect()).collect())
    };
    let unit = found.first().map_or(Unit::None, |(c, _)| c.unit);
    let mut outcome = Outcome::new(state.clone(), remark)
        .value(Named {
            name: "amplitude_nt",
            value: rows(|t| t.amplitude),
            unit,
            sigma: Some(rows(|t| t.amplitude_sigma)),
        })
        .value(Named {
            name: "phase_h",
            value: rows(|t| t.maximum_s() / 3600.0),
            unit: Unit::Hour,
            sigma: None,
        });
    for (k, (label, text)) in lines.into_iter().enumerate() {
        outcome = outcome.line(&format!("term_{}", k + 1), &label, text);
    }
    let from = state.record.start().map_or_else(String::new, Instant::readable);
    outcome.line("origin", "Hours count from", format!("midnight UTC of {from}"))
}
