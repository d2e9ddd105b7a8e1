//! A calibration known beforehand: typed, or kept from another turning.

use super::apply;
use crate::outcome::{Outcome, State};
use crate::param::read_numbers;
use crate::plates;
use crate::step::Context;
use field::calibration::Calibration;
use record::vector::Mat3;
use record::{Fault, Unit, Warning, print, say};

/// Applies the calibration that stands in the sentence.
pub(super) fn run(context: &Context<'_>, state: &State, raw_unit: Unit) -> Result<Outcome, Fault> {
    let offset = numbers::<3>(context, "offset")?;
    let rows = numbers::<9>(context, "matrix")?;
    let matrix: Mat3 = std::array::from_fn(|a| std::array::from_fn(|b| rows[3 * a + b]));
    if record::vector::inverse(&matrix).is_none() {
        return Err(Fault::new(
            "calibrate/singular",
            "The matrix brings different readings to the same field: its rows are not independent.",
            "Look at its nine numbers again, row by row.",
        ));
    }
    if raw_unit.symbol() != context.text("raw_unit") {
        return Err(Fault::new(
            "calibrate/units",
            say!(
                "The known calibration is for readings in {}, and the log is in {}.",
                context.text("raw_unit"),
                raw_unit.symbol()
            ),
            "Use the calibration of this sensor with these settings, or change the unit in the \
             reading report.",
        ));
    }
    let known = of(context, offset, matrix);
    let next = apply::applied(state, &known, Unit::Nanotesla)?;
    let after = next.record.clone();
    let outcome = super::tell::known(Outcome::new(next, remark(context, state)), &known, raw_unit);
    let outcome = told(outcome, context);
    let caption = say!("The field by the calibration known from {}.", context.text("origin"));
    Ok(plates::with_series(outcome, &after, None, "series", "Calibrated", &caption))
}

fn of(context: &Context<'_>, offset: [f64; 3], matrix: Mat3) -> Calibration {
    let mut known = Calibration::given(offset, matrix);
    known.radius_sigma = context.number("scale_sigma") / 100.0;
    known.tied_to_x = context.text("convention") == "tied";
    let half = read_numbers(context.text("spread")).unwrap_or_default();
    if half.len() == 45 {
        known.covariance = super::kept::square(&half);
        known.offset_sigma = std::array::from_fn(|k| known.covariance[k][k].max(0.0).sqrt());
        known.matrix_sigma = super::kept::matrix_sigma(&known);
    }
    known
}

fn numbers<const N: usize>(context: &Context<'_>, key: &str) -> Result<[f64; N], Fault> {
    let list = read_numbers(context.text(key)).unwrap_or_default();
    list.try_into().map_err(|_| {
        Fault::new(
            "calibrate/nothing-given",
            say!("The {key} of the known calibration has not been given."),
            "Drop the calibration that was saved from another turning, or type its numbers.",
        )
    })
}

fn remark(context: &Context<'_>, state: &State) -> String {
    let n = print::counted(state.record.len(), "sample", "samples");
    say!("{n} brought to field by a calibration known from {}.", context.text("origin"))
}

fn told(outcome: Outcome, context: &Context<'_>) -> Outcome {
    let outcome = outcome.warn(Warning::new(
        "calibrate/known",
        "A known calibration holds for the same sensor, fixed to the same things, at about the \
         same temperature.",
        "Turn the sensor anew when anything near it was moved.",
    ));
    if context.text("spread").is_empty() {
        return outcome.warn(Warning::new(
            "calibrate/no-uncertainty",
            "Nothing says how well the known offset and matrix were found, so the uncertainties \
             of what follows leave that out.",
            "Open the calibration file in place of typed numbers: it carries them.",
        ));
    }
    outcome
}
