//! `temperature`: how the components follow the thermometer, taken off.

mod basis;

use crate::outcome::{Figure, Named, Outcome, State, Value};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use field::follow::Lagged;
use field::temperature::{Options, TemperatureFit, fit};
use figure::Words;
use figure::plan::curves::{Along, Curve, Curves, Look, Spacing, curves};
use record::{Channel, Fault, Reason, Record, Role, Unit, print, say, words::word};

/// Regresses the field on the temperature and takes that off.
pub static STEP: Step = Step {
    id: "temperature",
    stage: Stage::Calibrate,
    title: "Temperature",
    params: &[
        Param::number(
            "lag_min",
            "Longest lag",
            Unit::None,
            (0.0, 600.0, 5.0),
            60.0,
            "In minutes: how slowly the sensor may follow the thermometer.",
        ),
        Param::choice(
            "basis",
            "What is regressed",
            &[
                ("safe", "each component beside the reference or, without one, about its mean day"),
                ("reference", "each component beside the reference"),
                ("mean-day", "each component about its mean day"),
                ("plain", "each component as it is"),
            ],
            "safe",
            "The Sun's daily variation comes round with the temperature: a reference shows it \
             apart, and about the mean day of field and temperature it is gone.",
        ),
        Param::choice(
            "hours",
            "Hours used",
            &[("all", "all hours"), ("night", "the night hours, 21 to 03 local mean time")],
            "all",
            "At night the Sun's own daily variation is nearly flat.",
        ),
        Param::choice(
            "action",
            "Done with it",
            &[("take", "take it off"), ("tell", "only report it")],
            "take",
            "",
        ),
    ],
    sentence: |_| {
        "Find how {basis} follows the temperature, with a time constant of up to {lag_min} \
         minutes, in {hours}, and {action}."
    },
    why: Why {
        what: "A straight line of field against temperature is fitted for each component at the time \
               constant that leaves the least scatter, and its change with temperature is subtracted.",
        why: "A cheap sensor changes by several nanotesla for each degree, which can be as much as the \
              whole daily variation.",
        wrong: "Temperature and the Sun's daily variation both repeat every 24 hours, so the line steals \
                part of what you want to measure unless an observatory's record, the mean day or the night \
                keeps it out.",
        picture: "A thermometer, a line through readings against temperature, and a tall daily \
                  wave that becomes a flat one.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let axes = record.vector().ok_or_else(|| {
        Fault::new(
            "temperature/no-vector",
            "There are no three field components.",
            "This step needs x, y and z of a magnetometer.",
        )
    })?;
    let thermometer = record.channel(Role::Temperature).ok_or_else(|| {
        Fault::new(
            "temperature/no-thermometer",
            "The log has no temperature.",
            "Log the temperature beside the field, or switch this step off.",
        )
    })?;
    let unit = axes[0].unit;
    let start = record.times_ns().first().copied().unwrap_or(0);
    let times_s: Vec<f64> = record.times_ns().iter().map(|t| (t - start) as f64 * 1e-9).collect();
    let marks = record.marks();
    let night = context.text("hours") == "night";
    let keep = |k: usize| marks.keeps(k) && (!night || is_night(state, record.times_ns()[k]));
    let columns = axes.map(|c| c.values.as_slice());
    let basis = basis::chosen(context, state)?;
    let options = Options {
        longest_lag_s: context.number("lag_min") * 60.0,
        drift: true,
        mean_day: basis.mean_day,
        ..Options::default()
    };
    let beside: Vec<&[f64]> = basis.beside.iter().map(Vec::as_slice).collect();
    let found = fit(&times_s, columns, &thermometer.values, keep, &options, &beside)?;
    let followed = Lagged::new(&times_s, &thermometer.values).followed(found.response, found.lag_s);
    let mut next = state.clone();
    let mut unknown = 0;
    if context.text("action") == "take" {
        (next.record, unknown) = corrected(record, &followed, &found)?;
        next.shared.warmth_nt_per_degc = Some(found.coefficient_nt_per_degc.map(|q| q.sigma));
    }
    let after = next.record.clone();
    let before = scatter(record, &followed, None);
    let rest = scatter(record, &followed, Some(&found));
    let remark = format!("{}{}", basis.words, remark(&found, unit, unknown));
    let outcome = reported(Outcome::new(next, remark), &found, &axes, unit);
    let outcome = basis.warning.into_iter().fold(outcome, Outcome::warn);
    let outcome = with_scatter(outcome, before, &axes, unit, false);
    let outcome = with_scatter(outcome, rest, &axes, unit, true);
    let caption =
        word("The components before (faint) and after the change with temperature is taken off.");
    Ok(plates::with_series(
        outcome,
        &after,
        Some(record),
        "series",
        word("Temperature taken off"),
        caption,
    ))
}

fn is_night(state: &State, time_ns: i64) -> bool {
    let longitude = state.station.as_ref().map_or(0.0, |s| s.longitude_deg);
    let day = 86_400e9;
    let hours = (time_ns as f64).rem_euclid(day) / day * 24.0 + longitude / 15.0;
    let local = hours.rem_euclid(24.0);
    !(3.0..21.0).contains(&local)
}

fn corrected(
    record: &Record,
    followed: &[f64],
    found: &TemperatureFit,
) -> Result<(Record, usize), Fault> {
    let Some(axes) = record.vector() else { return Ok((record.clone(), 0)) };
    let off: Vec<[f64; 3]> = followed.iter().map(|t| found.correction_nt(*t)).collect();
    let channels: Vec<Channel> = axes
        .iter()
        .enumerate()
        .map(|(axis, channel)| {
            let values = channel.values.iter().zip(&off).map(|(v, o)| v - o[axis]).collect();
            channel.with_values(channel.unit, values)
        })
        .collect();
    let next = channels
        .into_iter()
        .try_fold(record.clone(), |r, c| r.with_channel(c))
        .map_err(super::internal)?;
    // Where the sensor's own temperature is not known, nothing can be taken off.
    let unknown: Vec<bool> = followed.iter().map(|t| t.is_nan()).collect();
    let mut marks = next.marks().clone();
    let count = marks.add(Reason::Missing, &unknown);
    Ok((next.marked(marks).map_err(super::internal)?, count))
}

fn remark(found: &TemperatureFit, unit: Unit, unknown: usize) -> String {
    let each: Vec<String> = ["x", "y", "z"]
        .iter()
        .zip(found.coefficient_nt_per_degc)
        .map(|(axis, q)| {
            format!("{axis} {} {}/°C", print::with_sigma(q.value, q.sigma), unit.symbol())
        })
        .collect();
    let before = record::vector::norm(found.rms_before_nt);
    let after = record::vector::norm(found.rms_after_nt);
    let mut text = say!(
        "{}, following with a time constant of {}; the scatter falls from {} to {}",
        each.join(", "),
        print::duration(found.lag_s),
        print::with_unit(&print::significant(before, 3), unit),
        print::with_unit(&print::significant(after, 3), unit)
    );
    if unknown > 0 {
        text.push_str(&say!(
            "; {} after gaps are left out, since the sensor's own temperature is not known there",
            print::counted(unknown, "sample", "samples")
        ));
    }
    text.push('.');
    text
}

fn reported(
    mut outcome: Outcome,
    found: &TemperatureFit,
    axes: &[&Channel; 3],
    unit: Unit,
) -> Outcome {
    let values = found.coefficient_nt_per_degc.map(|q| q.value).to_vec();
    let sigmas = found.coefficient_nt_per_degc.map(|q| q.sigma).to_vec();
    outcome = outcome.value(Named {
        name: "coefficient_nt_per_degc",
        value: Value::List(values),
        unit: Unit::NanoteslaPerCelsius,
        sigma: Some(Value::List(sigmas)),
    });
    outcome = outcome.number("lag_s", found.lag_s, Unit::Second);
    for ((channel, q), share) in axes.iter().zip(found.coefficient_nt_per_degc).zip(found.r_squared)
    {
        let text = say!(
            "{} {}/°C, explains {} % of its scatter",
            print::with_sigma(q.value, q.sigma),
            unit.symbol(),
            print::fixed(share * 100.0, 0)
        );
        outcome = outcome.line(&channel.name, &say!("{} with temperature", channel.name), text);
    }
    outcome
}

// At most some two thousand points a component, evenly picked: a figure
// cannot show more.
fn scatter(
    record: &Record,
    followed: &[f64],
    less: Option<&TemperatureFit>,
) -> (Vec<f64>, [Vec<f64>; 3]) {
    let Some(axes) = record.vector() else { return (Vec::new(), Default::default()) };
    let marks = record.marks();
    let stride = record.len().div_ceil(2_000).max(1);
    let middle = axes.map(|c| signal::robust::median(&c.values).unwrap_or(0.0));
    let mut degc = Vec::new();
    let mut field: [Vec<f64>; 3] = Default::default();
    for k in (0..record.len()).step_by(stride).filter(|k| marks.keeps(*k)) {
        degc.push(followed[k]);
        let off = less.map_or([0.0; 3], |found| found.correction_nt(followed[k]));
        for (axis, list) in field.iter_mut().enumerate() {
            list.push(axes[axis].values[k] - middle[axis] - off[axis]);
        }
    }
    (degc, field)
}

fn with_scatter(
    outcome: Outcome,
    (degc, field): (Vec<f64>, [Vec<f64>; 3]),
    axes: &[&Channel; 3],
    unit: Unit,
    after: bool,
) -> Outcome {
    let names = axes.map(|c| c.name.clone());
    let (name, title) = if after {
        ("scatter-after", word("Against temperature, after"))
    } else {
        ("scatter", word("Against temperature, before"))
    };
    let words = Words {
        name: name.to_owned(),
        caption: say!(
            "Each component about its median against the temperature that it follows, {} the \
             change with temperature is taken off.",
            word(if after { "after" } else { "before" })
        ),
        summary: say!(
            "Scatter of {} against temperature in °C; a slope is the sensor's change with temperature.",
            names.join(", ")
        ),
        provenance: String::new(),
    };
    outcome.figure(Figure::new(name, title, move |frame, view| {
        let shown: Vec<Curve<'_>> = names
            .iter()
            .zip(&field)
            .map(|(name, y)| Curve { name, x: &degc, y, interval: None, look: Look::Points })
            .collect();
        let data = Curves {
            curves: &shown,
            x: Along {
                quantity: word("temperature"),
                unit: Unit::Celsius,
                spacing: Spacing::Even,
                span: None,
            },
            y: Along {
                quantity: word("field about its median"),
                unit,
                spacing: Spacing::Even,
                span: None,
            },
            levels: &[],
            notes: &[],
        };
        curves(&data, *frame, *view, &words)
    }))
}
