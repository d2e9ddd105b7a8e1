//! The calibration's figure: projections before and after, residuals.

use crate::outcome::{Figure, Outcome};
use field::calibration::Calibration;
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
