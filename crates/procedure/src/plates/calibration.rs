//! The calibration's figure: projections before and after, residuals.

use crate::outcome::{Figure, Outcome};
use field::calibration::{Calibration, CellCount, Seen};
use figure::plan::sphere_map::SphereCell;
use figure::{Words, plan};
use record::{Record, Unit, print};
use std::sync::Arc;

/// Adds the calibration's figure: projections before and after, residuals.
pub(crate) fn with_calibration(
    outcome: Outcome,
    turned: &Record,
    fitted: Arc<Calibration>,
    raw_unit: Unit,
    unit: Unit,
) -> Outcome {
    let Some(axes) = turned.vector() else { return outcome };
    let columns: [Arc<Vec<f64>>; 3] = axes.map(|channel| Arc::clone(&channel.values));
    let words = Words {
        name: "calibration".to_owned(),
        caption: format!(
            "The turning before (as the sensor wrote it) and after calibration. Before, the \
             samples lie on a shifted ellipsoid; after, on a sphere of radius {}.",
            print::with_unit(&print::significant(fitted.radius, 5), unit)
        ),
        summary: calibration_summary(&fitted, unit),
        provenance: String::new(),
    };
    outcome.figure(Figure::new("calibration", "Before and after", move |frame, view| {
        let data = plan::calibration::CalibrationData {
            raw: [&columns[0], &columns[1], &columns[2]],
            raw_unit,
            unit,
            offset: fitted.offset,
            matrix: fitted.matrix,
            radius: fitted.radius,
            rejected: &fitted.rejected,
        };
        plan::calibration::calibration(&data, *frame, *view, &words)
    }))
}

fn calibration_summary(fitted: &Calibration, unit: Unit) -> String {
    let rms = print::with_unit(&print::significant(fitted.residual_rms, 3), unit);
    format!(
        "Three projections of {} turned samples before and after calibration, and the length of \
         each vector. Afterwards the lengths scatter by {rms} rms about {}. {} samples were left \
         out. {} % of all directions were seen.",
        print::count(fitted.used),
        print::with_unit(&print::significant(fitted.radius, 5), unit),
        print::count(fitted.rejected.len()),
        print::fixed(fitted.coverage * 100.0, 0),
    )
}

/// Adds the map of the directions that the turning saw.
pub(crate) fn with_directions(outcome: Outcome, fitted: &Calibration) -> Outcome {
    let caption = "Directions in which the field pointed, seen from the sensor while it was \
                   turned: the upper and the lower half of the sphere of directions, in equal \
                   areas.";
    with_map(outcome, &fitted.directions, caption.to_owned())
}

/// Adds the map of what a refused turning saw, and of what is missing.
pub(crate) fn with_refused_directions(outcome: Outcome, seen: &Seen) -> Outcome {
    let caption = format!(
        "Why the turning was refused: of {} equal areas of the sphere of directions, {} stayed \
         empty (0), most of all towards {}. Turn the sensor until the field has pointed into them \
         too. Upper and lower half, seen from the sensor, about the likeliest offset.",
        seen.cells.len(),
        seen.unseen(),
        seen.least_seen,
    );
    with_map(outcome, &seen.cells, caption)
}

fn with_map(outcome: Outcome, cells: &[CellCount], caption: String) -> Outcome {
    let cells: Vec<SphereCell> = cells
        .iter()
        .map(|c| SphereCell { z: c.z, azimuth_deg: c.azimuth_deg, count: c.count })
        .collect();
    if cells.is_empty() {
        return outcome;
    }
    let seen = cells.iter().filter(|c| c.count > 0).count();
    let words = Words {
        name: "directions".to_owned(),
        caption,
        summary: format!(
            "Map of {} equal areas of the sphere; {} were seen. Empty ones are where the turning \
             should go next.",
            cells.len(),
            seen
        ),
        provenance: String::new(),
    };
    outcome.figure(Figure::new("directions", "Directions seen", move |frame, view| {
        plan::sphere_map::sphere_map(&cells, *frame, *view, &words)
    }))
}
