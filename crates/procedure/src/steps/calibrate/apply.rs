//! A calibration put to use on a record.

use crate::outcome::State;
use field::calibration::Calibration;
use record::vector::Vec3;
use record::{Channel, Fault, Record, Unit};
use std::sync::Arc;

/// The state with its record calibrated and what that leaves uncertain.
pub(super) fn applied(state: &State, fitted: &Calibration, unit: Unit) -> Result<State, Fault> {
    let mut next = state.clone();
    next.record = apply_to(&state.record, fitted, unit)?;
    next.before = apply_to(&state.before, fitted, unit)?;
    let mean = mean_vector(&state.record).unwrap_or(fitted.offset);
    next.shared.component = fitted.covariance_of(mean);
    if fitted.model.is_flat() {
        // Nothing is known across the plane: it is told, not carried as a number.
        for entry in next.shared.component.iter_mut().flatten() {
            *entry = if entry.is_finite() { *entry } else { 0.0 };
        }
    }
    next.shared.scale = if fitted.radius_sigma.is_finite() { fitted.radius_sigma } else { 0.0 };
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
    channels
        .into_iter()
        .try_fold(record.clone(), |r, c| r.with_channel(c))
        .map_err(super::super::internal)
}

/// The mean of the vectors that take part.
fn mean_vector(record: &Record) -> Option<Vec3> {
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
