//! Why a turning log gives no calibration, in words a student can act on.

use super::Model;
use super::coverage::CELLS;
use record::{
    Fault, print, say,
    words::{word, worded},
};
use std::fmt;

/// Why a calibration was refused.
#[derive(Clone, Debug, PartialEq)]
pub enum CalibrationError {
    /// Fewer readings than the model needs.
    TooFew {
        /// Usable readings.
        usable: usize,
        /// Fewest that the model takes.
        needed: usize,
        /// The model asked for.
        model: Model,
    },
    /// All readings lie in one plane, on one line or at one point.
    Flat {
        /// Unit vector across the plane, in the sensor's axes.
        across: [f64; 3],
        /// Spread across the plane over the spread along it.
        ratio: f64,
        /// The model asked for.
        model: Model,
    },
    /// The readings do not lie in one plane, as those of a circle do.
    NotPlanar {
        /// Spread across the flattest plane over the spread along it.
        ratio: f64,
    },
    /// The readings lie on no ellipsoid that a sensor could have made.
    NotEllipsoid {
        /// Root-mean-square residual over the radius; NaN when no ellipsoid was found at all.
        residual_relative: f64,
        /// Longest over shortest semi-axis; NaN when no ellipsoid was found at all.
        axis_ratio: f64,
        /// The model asked for.
        model: Model,
    },
    /// Too few directions for the model.
    PoorCoverage {
        /// Share of the sphere's cells with a reading, 0 to 1.
        coverage: f64,
        /// Condition number of the design; infinite when something is not known at all.
        condition: f64,
        /// Largest condition number that the model is trusted with.
        limit: f64,
        /// The model asked for.
        model: Model,
        /// The sensor axis seen least, such as `−z`.
        least_seen: &'static str,
    },
    /// The total field to scale to is not a positive number, or its uncertainty is negative.
    NoScale {
        /// The total field given, nT.
        field_nt: f64,
        /// Its standard uncertainty, nT.
        sigma_nt: f64,
    },
    /// The model is not one that a fit can find.
    NothingToFit,
}

impl fmt::Display for CalibrationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fault = Fault::from(self.clone());
        write!(f, "{} {}", fault.message, fault.remedy)
    }
}

impl std::error::Error for CalibrationError {}

const ROUND: &str = "Turn the sensor once right round while it logs.";
const TURN_MORE: &str = "Turn the sensor onto another face and slowly round again, until every \
                         side has pointed up and down";

impl From<CalibrationError> for Fault {
    fn from(error: CalibrationError) -> Self {
        match error {
            CalibrationError::TooFew { usable, needed, model } => Self::new(
                "calibrate/too-few",
                say!(
                    "{} in the turning log can be used; {} needs at least {needed}.",
                    print::counted(usable, "reading", "readings"),
                    model.phrase()
                ),
                word(
                    "Turn the sensor for a minute or two while it logs, or look whether marks leave \
                 most of the log out.",
                ),
            ),
            CalibrationError::Flat { across, ratio, model } => flat(across, ratio, model),
            CalibrationError::NotPlanar { ratio } => Self::new(
                "calibrate/not-planar",
                say!(
                    "The readings do not lie in one plane: across the flattest they spread {} of \
                     what they spread along it.",
                    print::significant(ratio, 2)
                ),
                word(
                    "Fit an ellipsoid or a sphere: the sensor was turned through more than a plane.",
                ),
            ),
            CalibrationError::NotEllipsoid { residual_relative, axis_ratio, model } => {
                not_ellipsoid(residual_relative, axis_ratio, model)
            }
            CalibrationError::PoorCoverage { coverage, condition, limit, model, least_seen } => {
                poor_coverage(coverage, condition, limit, model, least_seen)
            }
            CalibrationError::NoScale { field_nt, sigma_nt } => Self::new(
                "calibrate/no-scale",
                say!(
                    "A total field of {field_nt} nT with an uncertainty of {sigma_nt} nT cannot \
                     set the scale."
                ),
                word(
                    "Give the station's place and date, so that the field model can set the scale, or \
                 keep the sensor's own unit.",
                ),
            ),
            CalibrationError::NothingToFit => Self::new(
                "calibrate/nothing-to-fit",
                word("A given offset and matrix are used as they are; there is nothing to fit."),
                word(
                    "Choose the ellipsoid, the sphere, the circle or the ellipse to fit a turning log.",
                ),
            ),
        }
    }
}

fn flat(across: [f64; 3], ratio: f64, model: Model) -> Fault {
    let [x, y, z] = across.map(|v| print::fixed(v, 2));
    Fault::new(
        "calibrate/flat",
        say!(
            "The readings lie in one plane (across {x}, {y}, {z} they spread {} of what they \
             spread along it), so {} cannot be found.",
            print::significant(ratio, 2),
            model.phrase()
        ),
        match model {
            Model::Circle | Model::Ellipse => ROUND.to_owned(),
            _ => {
                say!("{TURN_MORE}; or fit a flat circle or ellipse, which serve at this tilt only.")
            }
        },
    )
}

fn not_ellipsoid(residual_relative: f64, axis_ratio: f64, model: Model) -> Fault {
    let message = if residual_relative.is_nan() && axis_ratio.is_nan() {
        say!("The readings do not lie on {}.", model.noun())
    } else if axis_ratio > super::LONGEST_RATIO {
        say!(
            "The best fit of {} is {} times longer than it is wide; no working sensor is that \
             uneven.",
            model.noun(),
            print::significant(axis_ratio, 2)
        )
    } else {
        say!(
            "The readings stand {} % of the field off {}, on average.",
            print::significant(100.0 * residual_relative, 2),
            model.noun()
        )
    };
    Fault::new(
        "calibrate/not-ellipsoid",
        message,
        "Look at the three columns: are they a magnetic field, in one unit, of one sensor? Then \
         log again out of doors, away from steel, magnets and telephones.",
    )
}

fn poor_coverage(
    coverage: f64,
    condition: f64,
    limit: f64,
    model: Model,
    least_seen: &'static str,
) -> Fault {
    let seen = (coverage * CELLS as f64).round() as usize;
    if model.is_flat() {
        return short_turn(coverage, condition, model);
    }
    let ill = if condition.is_finite() {
        say!("has condition number {}", print::significant(condition, 3))
    } else {
        worded("leaves something unknown altogether")
    };
    let or = match model {
        Model::Ellipsoid => word("; or fit a sphere, which finds the offset alone"),
        _ => "",
    };
    let aim = if least_seen.is_empty() {
        String::new()
    } else {
        say!(" (the field has pointed along {least_seen} least)")
    };
    Fault::new(
        "calibrate/coverage",
        say!(
            "The field was seen in {seen} of {CELLS} patches of the sphere of directions, and the \
             fit of {} {ill}; up to {} can be trusted.",
            model.noun(),
            print::fixed(limit, 0)
        ),
        format!("{TURN_MORE}{aim}{or}."),
    )
}

fn short_turn(coverage: f64, condition: f64, model: Model) -> Fault {
    let ill = if condition.is_finite() {
        say!(
            "the fit of {} has condition number {}",
            model.noun(),
            print::significant(condition, 3)
        )
    } else {
        say!("{} cannot be found", model.noun())
    };
    Fault::new(
        "calibrate/coverage",
        say!(
            "The turn shows {} % of a full circle, and {ill}; up to {} can be trusted.",
            print::significant(100.0 * coverage, 2),
            print::significant(model.condition_limit(), 2)
        ),
        match model {
            Model::Ellipse => word(
                "Turn the sensor once right round while it logs; or fit a circle, \
                               which half a turn allows.",
            ),
            _ => ROUND,
        },
    )
}
