//! What is said of a calibration: remark, values, lines, warnings, figures.

use crate::outcome::{Named, Outcome, State, Value};
use crate::plates;
use field::calibration::{Calibration, Options};
use record::{
    Quantity, Record, Unit, Warning, print, say,
    words::{word, worded},
};
use std::sync::Arc;

/// The outcome of a fit.
pub(super) fn told(
    next: State,
    fitted: Calibration,
    (raw_unit, unit): (Unit, Unit),
    turned: &Record,
    options: &Options,
) -> Outcome {
    let level = next.model.as_ref().map(|earth| earth.h_nt).filter(|_| options.field.is_some());
    let remark = remark(&fitted, unit, level);
    let outcome = known(Outcome::new(next, remark), &fitted, raw_unit);
    let mut outcome = numbers(outcome, &fitted, unit, level);
    for warning in warnings(&fitted, options) {
        outcome = outcome.warn(warning);
    }
    let fitted = Arc::new(fitted);
    let outcome = plates::with_calibration(outcome, turned, Arc::clone(&fitted), raw_unit, unit);
    let outcome = plates::with_directions(outcome, &fitted);
    let outcome = plates::with_lengths(outcome, turned, &fitted, unit);
    if fitted.model.is_flat() {
        return outcome;
    }
    plates::with_residual_map(outcome, turned, &fitted, unit)
}

/// Degrees of heading at the station, or, without one, of a level field.
fn heading_deg(fitted: &Calibration, level: Option<f64>) -> f64 {
    match level.filter(|_| !fitted.model.is_flat()) {
        Some(h_nt) => fitted.heading_error_at(h_nt),
        None => fitted.heading_error_deg,
    }
}

fn remark(fitted: &Calibration, unit: Unit, level: Option<f64>) -> String {
    let n = fitted.used + fitted.rejected.len();
    let rms = print::with_unit(&print::significant(fitted.residual_rms, 3), unit);
    let relative = print::significant(fitted.residual_relative * 100.0, 2);
    let heading = print::significant(heading_deg(fitted, level), 2);
    let held_out =
        fitted.held_out_rms.filter(|rms| rms.is_finite()).map_or_else(String::new, |rms| {
            let rms = print::with_unit(&print::significant(rms, 3), unit);
            say!("fifths of the turning, each foretold by the rest, stand {rms} off; ")
        });
    // A field that dips turns a heading by more than its own direction.
    let known = level.is_some() || fitted.model.is_flat();
    let of = if known { word("of heading") } else { word("of direction") };
    let whole = if fitted.model.is_flat() { word("the turn") } else { word("all directions") };
    say!(
        "Used {} of {}; the residual is {rms} rms, {relative} % of the field, which is about \
         {heading}° {of}; {held_out}{} % of {whole} {} seen, condition {}.",
        print::count(fitted.used),
        print::counted(n, "sample", "samples"),
        print::fixed(fitted.coverage * 100.0, 0),
        word(if fitted.model.is_flat() { "was" } else { "were" }),
        print::significant(fitted.condition, 2),
    )
}

fn numbers(outcome: Outcome, fitted: &Calibration, unit: Unit, level: Option<f64>) -> Outcome {
    let rms = print::with_unit(&print::significant(fitted.residual_rms, 3), unit);
    let relative = print::significant(fitted.residual_relative * 100.0, 2);
    let count = |n: usize| n as f64;
    let radius_sigma = fitted.radius_sigma * fitted.radius;
    outcome
        .value(Named {
            name: "radius",
            value: Value::Number(fitted.radius),
            unit,
            sigma: radius_sigma.is_finite().then_some(Value::Number(radius_sigma)),
        })
        .number("residual_rms", fitted.residual_rms, unit)
        .number("residual_relative", fitted.residual_relative, Unit::None)
        .number("heading_error_deg", fitted.heading_error_deg, Unit::Degree)
        .number("heading_error_here_deg", heading_deg(fitted, level), Unit::Degree)
        .number("held_out_rms", fitted.held_out_rms.unwrap_or(f64::NAN), unit)
        .number("noise", fitted.noise_sigma, unit)
        .number("serial_inflation", fitted.serial_inflation, Unit::None)
        .number("axis_ratio", fitted.axis_ratio, Unit::None)
        .number("coverage", fitted.coverage, Unit::None)
        .number("condition", fitted.condition, Unit::None)
        .number("rejected", count(fitted.rejected.len()), Unit::None)
        .number("used", count(fitted.used), Unit::None)
        .line("residual_rms", "Residual", say!("{rms} rms, {relative} % of the field"))
        .line(
            "coverage",
            word("Directions seen"),
            format!("{} %", print::fixed(fitted.coverage * 100.0, 0)),
        )
        .line(
            "rejected",
            word("Left out"),
            print::counted(fitted.rejected.len(), "sample", "samples"),
        )
}

/// Offset and matrix with their uncertainties, fitted or given.
pub(super) fn known(mut outcome: Outcome, fitted: &Calibration, raw_unit: Unit) -> Outcome {
    let convention =
        if fitted.tied_to_x { word("triangular, tied to x") } else { word("symmetric root") };
    let sigma = |all: Vec<f64>| all.iter().any(|v| v.is_finite()).then_some(Value::List(all));
    let rows = |m: &[[f64; 3]; 3]| Value::Rows(m.iter().map(|row| row.to_vec()).collect());
    let matrix_known = fitted.matrix_sigma.iter().flatten().all(|v| v.is_finite());
    outcome = outcome
        .value(Named {
            name: "offset",
            value: Value::List(fitted.offset.to_vec()),
            unit: raw_unit,
            sigma: sigma(fitted.offset_sigma.to_vec()),
        })
        .value(Named {
            name: "matrix",
            value: rows(&fitted.matrix),
            unit: Unit::None,
            sigma: matrix_known.then(|| rows(&fitted.matrix_sigma)),
        })
        .value(Named {
            name: "convention",
            value: Value::Text(convention.to_owned()),
            unit: Unit::None,
            sigma: None,
        });
    for (k, axis) in ["x", "y", "z"].into_iter().enumerate() {
        let offset = Quantity::new(fitted.offset[k], fitted.offset_sigma[k], raw_unit);
        let unknown = fitted.model.is_flat() && !fitted.offset_sigma[k].is_finite();
        let text = if unknown { worded("not found by a flat turn") } else { offset.readable() };
        let name = format!("offset_{axis}");
        outcome = outcome.line(&name, &say!("Offset {axis} (hard iron)"), text);
    }
    outcome
}

fn warnings(fitted: &Calibration, options: &Options) -> Vec<Warning> {
    let mut out = fitted.warnings();
    if fitted.model.is_flat() {
        out.push(Warning::new(
            "calibrate/flat",
            "A flat turn says nothing of the axis across it: total field, inclination and the \
             vertical component that follow are not calibrated.",
            "Use level headings and the horizontal field only, or turn the sensor through all \
             directions and fit an ellipsoid.",
        ));
    }
    if options.field.is_none() {
        out.push(Warning::new(
            "calibrate/own-scale",
            "The size of the field is the sensor's own; nothing outside has confirmed it.",
            "Fill in the station to scale it by the model field. Angles do not depend on it.",
        ));
    }
    out
}
