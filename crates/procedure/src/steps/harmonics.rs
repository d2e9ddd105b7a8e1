//! `harmonics`: amplitudes and phases of known periods, by least squares.

use super::spectrum::chosen;
use crate::outcome::{Named, Outcome, State, Value};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use record::{
    Channel, Fault, Instant, Unit, Warning, print, say,
    words::{word, worded},
};
use signal::harmonics::{Harmonics, Named as Period, PERIODS, fit, record_to_part_s};

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
            &[
                ("without", "without a lunar term"),
                ("with", "with the lunar half day M2"),
                ("all", "with the lunar terms M2, N2 and O1"),
            ],
            "without",
            "M2 (12.42 h) needs 14.8 days to be told from 12 hours, N2 (12.66 h) 27.6 days from M2, O1 \
             (25.82 h) 14.2 days from 24 hours.",
        ),
    ],
    sentence: |_| "Fit {count} harmonics of 24 hours to {channel} by least squares, {moon}.",
    why: Why {
        what: "Sines of the stated periods are fitted to all kept samples at once, gaps and all, and each \
               gives an amplitude and the hour of its maximum.",
        why: "For a period that is known beforehand this is sharper than a spectrum, and it does not mind \
              gaps.",
        wrong: "Least squares finds an amplitude for any period you name, also in pure noise: compare it \
                with its uncertainty.",
        picture: "A sine runs through scattered dots and across a gap; its height and the time of \
                  its maximum are marked.",
    },
    run,
    repeatable: true,
    removable: true,
};

/// Periods of the lunar terms asked for, by the speeds of the tide tables.
fn lunar_s(moon: &str) -> Vec<f64> {
    let names: &[&str] = match moon {
        "with" => &["M2"],
        "all" => &["M2", "N2", "O1"],
        _ => &[],
    };
    PERIODS.iter().filter(|p| names.contains(&p.name)).map(Period::period_s).collect()
}

/// The two closest of the periods, when the record cannot part them.
fn alike(periods_s: &[f64], span_s: f64) -> Option<(f64, f64, f64)> {
    let mut worst: Option<(f64, f64, f64)> = None;
    for (k, a) in periods_s.iter().enumerate() {
        for b in &periods_s[..k] {
            let needed = record_to_part_s(*a, *b);
            if needed > span_s && worst.is_none_or(|(_, _, most)| needed > most) {
                worst = Some((*a, *b, needed));
            }
        }
    }
    worst
}

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let midnight = record.start().map_or(0, |s| s.0.div_euclid(DAY_NS) * DAY_NS);
    let times_s: Vec<f64> =
        record.times_ns().iter().map(|t| (t - midnight) as f64 * 1e-9).collect();
    let mut periods_s: Vec<f64> =
        (1..=context.whole("count")).map(|k| 86_400.0 / k as f64).collect();
    periods_s.extend(lunar_s(context.text("moon")));
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
    let span_s = times_s.last().unwrap_or(&0.0) - times_s.first().unwrap_or(&0.0);
    if let Some((a, b, needed)) = alike(&periods_s, span_s) {
        outcome = outcome.warn(Warning::new(
            "harmonics/not-parted",
            say!(
                "The record of {} cannot part {} from {}, which takes {}: what one lacks the other takes.",
                print::duration(span_s),
                print::duration(a),
                print::duration(b),
                print::duration(needed)
            ),
            "Leave the lunar terms out, fit fewer harmonics, or log longer.",
        ));
    }
    let mut curve = record.clone();
    for (channel, harmonics) in &found {
        let values = times_s.iter().map(|t| harmonics.at(*t)).collect();
        curve = curve
            .with_channel(channel.with_values(channel.unit, values))
            .map_err(super::internal)?;
    }
    let caption = word("The fitted harmonics (strong) over the record (faint).");
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
            let sigma_h = term.phase_sigma_rad / std::f64::consts::TAU * term.period_s / 3600.0;
            let at = print::with_sigma(local_h, sigma_h);
            let text = say!("{size}, greatest at {at} h local mean time");
            if strongest.as_ref().is_none_or(|(a, _)| term.amplitude > *a) {
                strongest = Some((term.amplitude, format!("{label}: {text}")));
            }
            lines.push((label, text));
        }
    }
    let remark = strongest.map_or_else(
        || worded("Nothing was fitted."),
        |(_, text)| say!("The strongest term is {text}."),
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
    outcome.line("origin", word("Hours count from"), say!("midnight UTC of {from}"))
}
