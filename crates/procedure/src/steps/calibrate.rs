//! `calibrate`: from what the sensor wrote to the field, by a turning log.

mod apply;
mod given;
pub(crate) mod kept;
mod refuse;
mod tell;

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use field::calibration::{self, Model, Options};
use record::{Fault, Record, Unit, say, words::word};

/// Fits an ellipsoid, sphere, circle or ellipse, or takes a known calibration, and
/// applies it.
pub static STEP: Step = Step {
    id: "calibrate",
    stage: Stage::Calibrate,
    title: "Calibrate",
    params: &[
        Param::choice(
            "model",
            "Calibration model",
            &[
                ("ellipsoid", "an ellipsoid"),
                ("sphere", "a sphere"),
                ("circle", "a flat circle"),
                ("ellipse", "a flat ellipse"),
                ("given", "a known calibration"),
            ],
            "ellipsoid",
            "A sphere finds offsets only and asks for less turning; a flat circle or ellipse serves \
             a level turntable and gives level headings only, the ellipse also where iron nearby \
             squeezes the turn.",
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
            "convention",
            "Form of the matrix",
            &[("symmetric", "symmetric matrix"), ("tied", "triangular matrix")],
            "symmetric",
            "The symmetric one turns all axes as little as can be, the triangular one keeps the \
             sensor's x axis; a turning cannot tell them apart.",
        ),
        Param::choice(
            "scale",
            "Scale from",
            &[
                ("model", "the model field of the station"),
                ("typed", "a field of"),
                ("sensor", "the sensor's own scale"),
            ],
            "model",
            "A turning fixes the shape; its size must come from somewhere.",
        ),
        Param::number(
            "field",
            "Field to scale to",
            Unit::Nanotesla,
            (1_000.0, 100_000.0, 100.0),
            50_000.0,
            "The Earth's total field is 22,000 to 67,000 nT; for a flat turn, its level part.",
        ),
        Param::number(
            "field_sigma",
            "Its uncertainty",
            Unit::Nanotesla,
            (0.0, 20_000.0, 10.0),
            150.0,
            "One standard uncertainty.",
        ),
        Param::text("origin", "Known from", "a note", "Where the known calibration comes from."),
        Param::numbers("offset", "Known offset", 3, "x, y and z of the reading in no field."),
        Param::numbers("matrix", "Known matrix", 9, "Row by row; it maps raw − offset to field."),
        Param::choice(
            "raw_unit",
            "Unit of the offset",
            &[("nT", "nT"), ("count", "counts")],
            "nT",
            "That of the log the calibration is for.",
        ),
        Param::numbers(
            "spread",
            "Covariance",
            45,
            "Upper half, row by row, of the covariance of offset and matrix entries.",
        ),
        Param::number(
            "scale_sigma",
            "Scale uncertainty",
            Unit::Percent,
            (0.0, 100.0, 0.1),
            0.0,
            "One standard uncertainty of the size of the field.",
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
        picture: "A tilted ellipse of dots off the centre becomes a circle about the centre.",
    },
    run,
    repeatable: false,
    removable: true,
};

macro_rules! fitted {
    ($source:literal, $form:literal, $scale:literal) => {
        concat!(
            "Fit {model} to ",
            $source,
            ", leaving out samples more than {reject} robust deviations off it; ",
            $form,
            "bring its radius to ",
            $scale,
            "."
        )
    };
}

fn sentence(context: &Context<'_>) -> &'static str {
    let model = context.text("model");
    let span = context.text("source") == "span";
    let typed = context.text("scale") == "typed";
    match (model, span, typed) {
        ("given", ..) => word(
            "Use {model}, from {origin}: take off the offset {offset} {raw_unit} and multiply by \
             the matrix {matrix}, whose scale is good to {scale_sigma}.",
        ),
        ("ellipsoid", false, false) => {
            fitted!("{source}", "use the {convention} and ", "{scale}")
        }
        ("ellipsoid", false, true) => {
            fitted!("{source}", "use the {convention} and ", "{scale} {field} ± {field_sigma}")
        }
        ("ellipsoid", true, false) => {
            fitted!("{source}, {span}", "use the {convention} and ", "{scale}")
        }
        ("ellipsoid", true, true) => fitted!(
            "{source}, {span}",
            "use the {convention} and ",
            "{scale} {field} ± {field_sigma}"
        ),
        (_, false, false) => fitted!("{source}", "", "{scale}"),
        (_, false, true) => fitted!("{source}", "", "{scale} {field} ± {field_sigma}"),
        (_, true, false) => fitted!("{source}, {span}", "", "{scale}"),
        (_, true, true) => fitted!("{source}, {span}", "", "{scale} {field} ± {field_sigma}"),
    }
}

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let target = state.record.vector().ok_or_else(|| no_vector(word("the log")))?;
    let raw_unit = target[0].unit;
    let Some(model) = model(context) else { return given::run(context, state, raw_unit) };
    let turned = turned(context, state)?;
    let axes = turned.vector().ok_or_else(|| no_vector(word("the turning")))?;
    if axes[0].unit != raw_unit {
        return Err(other_units(axes[0].unit, raw_unit));
    }
    let options = Options {
        model,
        field: scale(context, state, model)?,
        robust: true,
        reject_beyond: context.number("reject"),
        tied_to_x: model == Model::Ellipsoid && context.text("convention") == "tied",
    };
    let marks = turned.marks();
    let raw = axes.map(|channel| channel.values.as_slice());
    match calibration::fit(raw, |k| marks.keeps(k), &options) {
        Ok(fitted) => {
            let unit = if options.field.is_some() { Unit::Nanotesla } else { raw_unit };
            let next = apply::applied(state, &fitted, unit)?;
            Ok(tell::told(next, fitted, (raw_unit, unit), &turned, &options))
        }
        Err(error) => Ok(refuse::refused(state, &turned, error, &options)),
    }
}

/// What is fitted; none for a known calibration.
fn model(context: &Context<'_>) -> Option<Model> {
    match context.text("model") {
        "given" => None,
        "sphere" => Some(Model::Sphere),
        "circle" => Some(Model::Circle),
        "ellipse" => Some(Model::Ellipse),
        _ => Some(Model::Ellipsoid),
    }
}

fn other_units(turned: Unit, log: Unit) -> Fault {
    Fault::new(
        "calibrate/units",
        say!("The turning is in {} and the log in {}.", turned.symbol(), log.symbol()),
        "Both must come from the same sensor with the same settings; look at the units in both \
         reading reports.",
    )
}

fn no_vector(what: &str) -> Fault {
    Fault::new(
        "calibrate/no-vector",
        say!("There are no three field components in {what}."),
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

/// The field to scale to and its uncertainty: for a flat turn, the level part of
/// the model field.
fn scale(context: &Context<'_>, state: &State, model: Model) -> Result<Option<(f64, f64)>, Fault> {
    match context.text("scale") {
        "typed" => Ok(Some((context.number("field"), context.number("field_sigma")))),
        "sensor" => Ok(None),
        _ => match &state.model {
            Some(earth) if model.is_flat() => Ok(Some((earth.h_nt, earth.sigma.h_nt))),
            Some(earth) => Ok(Some((earth.f_nt, earth.sigma.f_nt))),
            None => Err(Fault::new(
                "calibrate/no-model",
                "The model field is not known, because the station's place is not.",
                "Switch the station step on and fill in its place, or choose another scale.",
            )),
        },
    }
}
