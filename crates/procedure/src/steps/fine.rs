//! The field as finely as the log has it, for the timing of jumps: the record before it was
//! averaged, brought into the frame of the averaged field.
//!
//! Calibration and orientation are one linear map; it is read off the averaged blocks themselves,
//! of which both sides are known, so that no step has to be run twice.

use super::daily;
use crate::outcome::State;
use field::storms::Even;
use record::vector::{Mat3, Vec3, apply, dot, inverse, multiply};
use record::{Fault, Record};

/// The field along the mean horizontal direction, across it, and down, in fine steps.
pub(super) fn even(state: &State, turn: &Mat3) -> Result<Even, Fault> {
    let field = daily::field_record(state);
    let fine = state.fine.as_ref().and_then(|fine| Some((fine, map(fine, field)?)));
    let made = match fine {
        Some((record, map)) => of(record, &multiply(turn, &map)),
        None => of(field, turn),
    };
    made.ok_or_else(|| {
        Fault::new(
            "storms/no-sample",
            "No sample is left to look at.",
            "See which cleaning step marked them.",
        )
    })
}

/// A record's vector through a matrix, on even steps.
fn of(record: &Record, matrix: &Mat3) -> Option<Even> {
    let [x, y, z] = record.vector()?.map(|c| c.values.as_slice());
    let mut out = [vec![0.0; x.len()], vec![0.0; x.len()], vec![0.0; x.len()]];
    for k in 0..x.len() {
        let turned = apply(matrix, [x[k], y[k], z[k]]);
        (0..3).for_each(|c| out[c][k] = turned[c]);
    }
    let marks = record.marks();
    let cadence_s = record.cadence().step_ns as f64 * 1e-9;
    Even::new(record.times_ns(), [&out[0], &out[1], &out[2]], |k| marks.keeps(k), cadence_s)
}

/// The linear map from fine readings to the field, by least squares over the differences of
/// neighbouring blocks; `None` when the blocks do not determine it.
fn map(fine: &Record, field: &Record) -> Option<Mat3> {
    let blocks = blocks(fine, field)?;
    let axes = field.vector()?.map(|c| c.values.as_slice());
    let (mut own, mut cross, mut all) = ([[0.0; 3]; 3], [[0.0; 3]; 3], 0.0);
    for k in 1..blocks.len() {
        let from: Vec3 = record::vector::sub(blocks[k], blocks[k - 1]);
        let to: Vec3 = [0, 1, 2].map(|c| axes[c][k] - axes[c][k - 1]);
        if !(dot(from, from) + dot(to, to)).is_finite() {
            continue;
        }
        all += dot(to, to);
        for a in 0..3 {
            for b in 0..3 {
                own[a][b] += from[a] * from[b];
                cross[a][b] += to[a] * from[b];
            }
        }
    }
    let found = multiply(&cross, &inverse(&own)?);
    let explained: f64 = (0..3).map(|a| dot(found[a], cross[a])).sum();
    // Blocks stamped at another place, or medians, are not quite this map of the means; far from
    // it, the averaged record serves.
    (explained > 0.8 * all).then_some(found)
}

/// Means of the fine samples that fall into each block of the averaged record.
fn blocks(fine: &Record, field: &Record) -> Option<Vec<Vec3>> {
    let axes = fine.vector()?.map(|c| c.values.as_slice());
    let (marks, times) = (fine.marks(), fine.times_ns());
    let centres = field.times_ns();
    let step = field.cadence().step_ns.max(1);
    if !fine.is_ordered() || !field.is_ordered() {
        return None;
    }
    let mut next = 0;
    let block = |centre: &i64| {
        while next < times.len() && times[next] < centre - step / 2 {
            next += 1;
        }
        let (mut sum, mut count) = ([0.0; 3], 0.0);
        while next < times.len() && times[next] < centre - step / 2 + step {
            if marks.keeps(next) {
                (0..3).for_each(|c| sum[c] += axes[c][next]);
                count += 1.0;
            }
            next += 1;
        }
        sum.map(|v| v / count)
    };
    Some(centres.iter().map(block).collect())
}
