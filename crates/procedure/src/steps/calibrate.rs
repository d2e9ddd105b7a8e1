//! `calibrate`: from what the sensor wrote to the field, by a turning log.

use crate::outcome::{Named, Outcome, State, Value};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use field::calibration::{self, Calibration, Model, Options};
use record::vector::Vec3;
use record::{Channel, Fault, Quantity, Record, Unit, Warning, print};
use std::sync::Arc;

/// Fits an ellipsoid or sphere and applies it.
pub static STEP: Step = Step {
    id: "calibrate",
    stage: Stage::Calibrate,
    title: "Calibrate",
    params: &[
        Param::choice(
            "model",
            "Calibration model",
            &[("ellipsoid", "an ellipsoid"), ("sphere", "a sphere")],
            "ellipsoid",
            "A sphere finds offsets only and asks for less turning.",
        ),
        Param::choice(
            "source",
            "Turned in",
            &[
                ("turning", "the turning log"),
                ("log", "the whole log"),
                ("span", "a span of the log"),
            ],
            "turning",
            "Where the sensor was turned through all directions.",
        ),
        Param::span("span", "Span of turning", "Used when the turning is a span of the log."),
        Param::number(
            "reject",
            "Rejection limit",
            Unit::None,
            (0.0, 50.0, 0.5),
            4.0,
            "In robust deviations of the residual; 0 keeps every sample.",
        ),
        Param::choice(
            "scale",
            "Scale from",
            &[
                ("model", "the model field of the station"),
                ("typed", "a total field of"),
                ("sensor", "the sensor's own scale"),
            ],
            "model",
            "A turning fixes the shape; its size must come from somewhere.",
        ),
        Param::number(
            "field",
            "Total field",
            Unit::Nanotesla,
            (10_000.0, 100_000.0, 100.0),
            50_000.0,
            "The Earth's field is 22,000 to 67,000 nT.",
        ),
        Param::number(
            "field_sigma",
            "Its uncertainty",
            Unit::Nanotesla,
            (0.0, 20_000.0, 10.0),
            150.0,
            "One standard uncertainty.",
        ),
    ],
    sentence,
    why: Why {
        what: "Turned in a steady field, a perfect sensor draws a sphere about zero; yours draws a \
               shifted and squeezed one, and the fit finds the shift (hard iron) and the squeeze \
               (soft iron and unequal axes) and takes them off.",
        why: "Uncorrected offsets of a cheap sensor are often larger than the Earth's field and \
              turn every heading and inclination into nonsense.",
        wrong: "A turning that left out some directions lets the fit put the blame on the wrong \
                axis, so watch the coverage and the condition before you believe the residual.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn sentence(context: &Context<'_>) -> &'static str {
    match (context.text("source") == "span", context.text("scale") == "typed") {
        (false, false) => {
            "Fit {model} to {source}, leaving out samples more than {reject} robust deviations \
             off it, and bring its radius to {scale}."
        }
        (false, true) => {
            "Fit {model} to {source}, leaving out samples more than {reject} robust deviations \
             off it, and bring its radius to {scale} {field} ± {field_sigma}."
        }
        (true, false) => {
            "Fit {model} to {source}, {span}, leaving out samples more than {reject} robust \
             deviations off it, and bring its radius to {scale}."
        }
        (true, true) => {
            "Fit {model} to {source}, {span}, leaving out samples more than {reject} robust \
             deviations off it, and bring its radius to {scale} {field} ± {field_sigma}."
        }
    }
}

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let turned = turned(context, state)?;
    let axes = turned.vector().ok_or_else(|| no_vector("the turning"))?;
    let target = state.record.vector().ok_or_else(|| no_vector("the log"))?;
    if axes[0].unit != target[0].unit {
        return Err(Fault::new(
            "calibrate/units",
            format!(
                "The turning is in {} and the log in {}.",
                axes[0].unit.symbol(),
                target[0].unit.symbol()
            ),
            "Both must come from the same sensor with the same settings; look at the units in \
             both reading reports.",
        ));
    }
    let options = Options {
        model: if context.text("model") == "sphere" { Model::Sphere } else { Model::Ellipsoid },
        field: scale(context, state)?,
        robust: true,
        reject_beyond: context.number("reject"),
        tied_to_x: false,
    };
    let marks = turned.marks();
    let raw = axes.map(|channel| channel.values.as_slice());
    let fitted = calibration::fit(raw, |k| marks.keeps(k), &options)?;
    let raw_unit = axes[0].unit;
    let unit = if options.field.is_some() { Unit::Nanotesla } else { raw_unit };
    let next = applied(state, &fitted, unit)?;
    Ok(told(next, fitted, raw_unit, unit, &turned, &options))
}

fn no_vector(what: &str) -> Fault {
    Fault::new(
        "calibrate/no-vector",
        format!("There are no three field components in {what}."),
        "Calibration needs x, y and z of a magnetometer; see the columns in the reading report.",
    )
}

fn turned(context: &Context<'_>, state: &State) -> Result<Record, Fault> {
    match context.text("source") {
        "log" => Ok(state.record.clone()),
        "span" => {
            let (start, end) = context.span("span").ok_or_else(|| {
                Fault::new(
                    "calibrate/no-span",
                    "No span of turning has been chosen.",
                    "Drag it on the figure of the step before, or type its two times.",
                )
            })?;
            Ok(state.record.slice(state.record.places_between(start, end)))
        }
        _ => state.turning.as_deref().cloned().ok_or_else(|| {
            Fault::new(
                "calibrate/no-turning",
                "No turning log has been opened.",
                "Turn the sensor slowly through all directions for a few minutes and drop that \
                 log here too, or choose a span of this log in which it was turned.",
            )
        }),
    }
}

fn scale(context: &Context<'_>, state: &State) -> Result<Option<(f64, f64)>, Fault> {
    match context.text("scale") {
        "typed" => Ok(Some((context.number("field"), context.number("field_sigma")))),
        "sensor" => Ok(None),
        _ => match &state.model {
            Some(model) => Ok(Some((model.f_nt, model.sigma.f_nt))),
            None => Err(Fault::new(
                "calibrate/no-model",
                "The model field is not known, because the station's place is not.",
                "Switch the station step on and fill in its place, or choose another scale.",
            )),
        },
    }
}

fn applied(state: &State, fitted: &Calibration, unit: Unit) -> Result<State, Fault> {
    let mut next = state.clone();
    next.record = apply_to(&state.record, fitted, unit)?;
    next.before = apply_to(&state.before, fitted, unit)?;
    let mean = mean_vector(&state.record).unwrap_or(fitted.offset);
    next.shared.component = fitted.covariance_of(mean);
    next.shared.scale = fitted.radius_sigma;
    next.calibration = Some(Arc::new(fitted.clone()));
    Ok(next)
}

fn apply_to(record: &Record, fitted: &Calibration, unit: Unit) -> Result<Record, Fault> {
    let Some(axes) = record.vector() else { return Ok(record.clone()) };
    let n = record.len();
    let mut columns = [Vec::with_capacity(n), Vec::with_capacity(n), Vec::with_capacity(n)];
    for k in 0..n {
        let raw: Vec3 = [axes[0].values[k], axes[1].values[k], axes[2].values[k]];
        for (column, value) in columns.iter_mut().zip(fitted.apply(raw)) {
            column.push(value);
        }
    }
    let channels: Vec<Channel> =
        axes.iter().zip(columns).map(|(axis, values)| axis.with_values(unit, values)).collect();
    channels.into_iter().try_fold(record.clone(), |r, c| r.with_channel(c)).map_err(super::internal)
}

pub(super) fn mean_vector(record: &Record) -> Option<Vec3> {
    let axes = record.vector()?;
    let marks = record.marks();
    let mut sum = [0.0; 3];
    let mut n = 0usize;
    for k in (0..record.len()).filter(|k| marks.keeps(*k)) {
        let v = [axes[0].values[k], axes[1].values[k], axes[2].values[k]];
        if v.iter().all(|c| c.is_finite()) {
            for (total, c) in sum.iter_mut().zip(v) {
                *total += c;
            }
            n += 1;
        }
    }
    (n > 0).then(|| sum.map(|total| total / n as f64))
}

fn told(
    next: State,
    fitted: Calibration,
    raw_unit: Unit,
    unit: Unit,
    turned: &Record,
    options: &Options,
) -> Outcome {
    let n = fitted.used + fitted.rejected.len();
    let rms = print::with_unit(&print::significant(fitted.residual_rms, 3), unit);
    let relative = print::significant(fitted.residual_relative * 100.0, 2);
    let heading = print::significant(fitted.heading_error_deg, 2);
    let remark = format!(
        "Used {} of {}; the residual is {rms} rms, {relative} % of the field, which is about \
         {heading}° of heading; {} % of all directions were seen, condition {}.",
        print::count(fitted.used),
        print::counted(n, "sample", "samples"),
        print::fixed(fitted.coverage * 100.0, 0),
        print::significant(fitted.condition, 2),
    );
    let mut outcome = Outcome::new(next, remark);
    outcome = offsets_and_matrix(outcome, &fitted, raw_unit);
    let count = |n: usize| n as f64;
    outcome = outcome
        .number("radius", fitted.radius, unit)
        .number("residual_rms", fitted.residual_rms, unit)
        .number("residual_relative", fitted.residual_relative, Unit::None)
        .number("heading_error_deg", fitted.heading_error_deg, Unit::Degree)
        .number("coverage", fitted.coverage, Unit::None)
        .number("condition", fitted.condition, Unit::None)
        .number("rejected", count(fitted.rejected.len()), Unit::None)
        .number("used", count(fitted.used), Unit::None);
    outcome = outcome
        .line("residual_rms", "Residual", format!("{rms} rms, {relative} % of the field"))
        .line(
            "coverage",
            "Directions seen",
            format!("{} %", print::fixed(fitted.coverage * 100.0, 0)),
        )
        .line("rejected", "Left out", print::counted(fitted.rejected.len(), "sample", "samples"));
    for warning in warnings(&fitted, options) {
        outcome = outcome.warn(warning);
    }
    let fitted = Arc::new(fitted);
    let outcome = plates::with_calibration(outcome, turned, Arc::clone(&fitted), raw_unit, unit);
    plates::with_directions(outcome, &fitted)
}

fn offsets_and_matrix(mut outcome: Outcome, fitted: &Calibration, raw_unit: Unit) -> Outcome {
    outcome = outcome
        .value(Named {
            name: "offset",
            value: Value::List(fitted.offset.to_vec()),
            unit: raw_unit,
            sigma: Some(Value::List(fitted.offset_sigma.to_vec())),
        })
        .value(Named {
            name: "matrix",
            value: Value::Rows(fitted.matrix.iter().map(|row| row.to_vec()).collect()),
            unit: Unit::None,
            sigma: Some(Value::Rows(fitted.matrix_sigma.iter().map(|r| r.to_vec()).collect())),
        });
    for (k, axis) in ["x", "y", "z"].into_iter().enumerate() {
        let offset = Quantity::new(fitted.offset[k], fitted.offset_sigma[k], raw_unit);
        let name = format!("offset_{axis}");
        outcome = outcome.line(&name, &format!("Offset {axis} (hard iron)"), offset.readable());
    }
    outcome
}

fn warnings(fitted: &Calibration, options: &Options) -> Vec<Warning> {
    let mut out = fitted.warnings();
    if options.field.is_none() {
        out.push(Warning::new(
            "calibrate/own-scale",
            "The size of the field is the sensor's own; nothing outside has confirmed it.",
            "Fill in the station to scale it by the model field. Angles do not depend on it.",
        ));
    }
    out
}
