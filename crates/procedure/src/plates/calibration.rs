//! The calibration's figure: projections before and after, residuals.

use crate::outcome::{Figure, Outcome};
use field::calibration::{Calibration, CellCount, Seen, coverage};
use figure::plan::sphere_map::SphereCell;
use figure::{Words, plan};
use record::{Record, Unit, print, say, words::word};
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
        caption: say!(
            "The turning before (as the sensor wrote it) and after calibration. Before, the \
             samples lie on a shifted ellipsoid; after, on a sphere of radius {}.",
            radius(&fitted, unit)
        ),
        summary: calibration_summary(&fitted, unit),
        provenance: String::new(),
    };
    outcome.figure(Figure::new("calibration", word("Before and after"), move |frame, view| {
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

/// The radius to the place that it is known to, and to five figures at most.
fn radius(fitted: &Calibration, unit: Unit) -> String {
    let known = (fitted.radius_sigma * fitted.radius).max(2e-4 * fitted.radius);
    let text = print::with_sigma(fitted.radius, known);
    print::with_unit(text.split(" ±").next().unwrap_or(&text), unit)
}

fn calibration_summary(fitted: &Calibration, unit: Unit) -> String {
    let rms = print::with_unit(&print::significant(fitted.residual_rms, 3), unit);
    say!(
        "Three projections of {} turned samples before and after calibration, and the length of \
         each vector. Afterwards the lengths scatter by {rms} rms about {}. {} samples were left \
         out. {} % of all directions were seen.",
        print::count(fitted.used),
        radius(fitted, unit),
        print::count(fitted.rejected.len()),
        print::fixed(fitted.coverage * 100.0, 0),
    )
}

/// Edges and counts of a histogram, before and after.
struct Lengths {
    edges: Vec<f64>,
    before: Vec<u64>,
    after: Vec<u64>,
}

/// Adds the histogram of the vectors' lengths before, at the mean scale, and
/// after.
pub(crate) fn with_lengths(
    outcome: Outcome,
    turned: &Record,
    fitted: &Calibration,
    unit: Unit,
) -> Outcome {
    let Some(counted) = lengths(turned, fitted) else { return outcome };
    let aim = radius(fitted, unit);
    let words = Words {
        name: "lengths".to_owned(),
        caption: say!(
            "How long the turned vectors were before (at the mean scale) and after calibration; \
             in a steady field all should be {aim}."
        ),
        summary: say!(
            "Histogram of the vectors' lengths. Before they run from {} to {}; after they scatter \
             by {} about {aim}.",
            print::with_unit(&print::significant(counted.edges[0], 4), unit),
            print::with_unit(
                &print::significant(counted.edges.last().copied().unwrap_or(0.0), 4),
                unit
            ),
            print::with_unit(&print::significant(fitted.residual_rms, 3), unit),
        ),
        provenance: String::new(),
    };
    outcome.figure(Figure::new("lengths", word("Lengths before and after"), move |frame, view| {
        let bins = plan::histogram::Bins {
            quantity: "|B|",
            unit,
            edges: &counted.edges,
            counts: &counted.after,
            behind: &counted.before,
            normal: None,
        };
        plan::histogram::histogram(&bins, *frame, *view, &words)
    }))
}

fn lengths(turned: &Record, fitted: &Calibration) -> Option<Lengths> {
    const BINS: usize = 60;
    let axes = turned.vector()?;
    let factor = fitted.radius / fitted.radius_raw;
    let (mut before, mut after) = (Vec::new(), Vec::new());
    for k in (0..turned.len()).filter(|k| fitted.residuals[*k].is_finite()) {
        let raw = [axes[0].values[k], axes[1].values[k], axes[2].values[k]];
        before.push(factor * record::vector::norm(raw));
        after.push(fitted.radius + fitted.residuals[k]);
    }
    let all = || before.iter().chain(&after).copied();
    let (lo, hi) = (all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max));
    if !(hi > lo && hi.is_finite()) {
        return None;
    }
    let width = (hi - lo) / BINS as f64;
    let count = |list: &[f64]| {
        let mut counts = vec![0u64; BINS];
        for v in list {
            counts[(((v - lo) / width) as usize).min(BINS - 1)] += 1;
        }
        counts
    };
    let edges = (0..=BINS).map(|k| lo + width * k as f64).collect();
    Some(Lengths { edges, before: count(&before), after: count(&after) })
}

/// Adds the map of the mean residual in each direction.
pub(crate) fn with_residual_map(
    outcome: Outcome,
    turned: &Record,
    fitted: &Calibration,
    unit: Unit,
) -> Outcome {
    let Some(axes) = turned.vector() else { return outcome };
    let mut cells = fitted.directions.clone();
    let mut sums = vec![0.0; cells.len()];
    cells.iter_mut().for_each(|cell| cell.count = 0);
    for k in (0..turned.len()).filter(|k| fitted.residuals[*k].is_finite()) {
        let b = fitted.apply([axes[0].values[k], axes[1].values[k], axes[2].values[k]]);
        let length = record::vector::norm(b);
        let cell = coverage::cell_of(b.map(|v| v / length));
        cells[cell].count += 1;
        sums[cell] += fitted.residuals[k];
    }
    let means: Vec<f64> = sums.iter().zip(&cells).map(|(s, c)| s / c.count as f64).collect();
    let largest = means
        .iter()
        .copied()
        .filter(|v| v.is_finite())
        .fold(0.0, |most: f64, v| if v.abs() > most.abs() { v } else { most });
    let largest = print::with_unit(&print::significant(largest, 2), unit);
    let words = Words {
        name: "residual-map".to_owned(),
        caption: say!(
            "Mean residual in each direction, {}: scattered signs are noise, a pattern is \
             something that the model does not hold, such as steel nearby.",
            unit.symbol()
        ),
        summary: say!(
            "Map of the sphere of directions with the mean of length less aim in each of {} equal \
             areas. The largest of these means is {largest}.",
            cells.len()
        ),
        provenance: String::new(),
    };
    let cells = sphere_cells(&cells);
    outcome.figure(Figure::new("residual-map", word("Residual by direction"), move |frame, _| {
        plan::sphere_map::residual_map(&cells, (&means, unit), *frame, &words)
    }))
}

fn sphere_cells(cells: &[CellCount]) -> Vec<SphereCell> {
    let one = |c: &CellCount| SphereCell { z: c.z, azimuth_deg: c.azimuth_deg, count: c.count };
    cells.iter().map(one).collect()
}

/// Adds the map of the directions that the turning saw.
pub(crate) fn with_directions(outcome: Outcome, fitted: &Calibration) -> Outcome {
    let caption = word(
        "Directions in which the field pointed, seen from the sensor while it was \
                   turned: the upper and the lower half of the sphere of directions, in equal \
                   areas.",
    );
    with_map(outcome, &fitted.directions, caption.to_owned())
}

/// Adds the map of what a refused turning saw, and of what is missing.
pub(crate) fn with_refused_directions(outcome: Outcome, seen: &Seen) -> Outcome {
    let caption = say!(
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
    let cells = sphere_cells(cells);
    if cells.is_empty() {
        return outcome;
    }
    let seen = cells.iter().filter(|c| c.count > 0).count();
    let words = Words {
        name: "directions".to_owned(),
        caption,
        summary: say!(
            "Map of {} equal areas of the sphere; {} were seen. Empty ones are where the turning \
             should go next.",
            cells.len(),
            seen
        ),
        provenance: String::new(),
    };
    outcome.figure(Figure::new("directions", word("Directions seen"), move |frame, view| {
        plan::sphere_map::sphere_map(&cells, *frame, *view, &words)
    }))
}
