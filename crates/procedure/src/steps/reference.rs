//! An observatory's record in the bins of the station's days.

use crate::outcome::Reference;
use field::days::Days;
use field::storms::Even;
use record::vector::Mat3;
use record::{Fault, Role};

// Z is compared like the others; H and D of a reference become X and Y.
pub(super) fn reference_days(reference: &Reference, days: &Days) -> Result<Days, Fault> {
    let record = &reference.record;
    let axes = horizontal(reference)?;
    let z = record.channel(Role::Z).map(|c| c.values.to_vec());
    let z = z.unwrap_or_else(|| vec![f64::NAN; record.len()]);
    let marks = record.marks();
    let cadence_s = record.cadence().step_ns as f64 * 1e-9;
    let bin_s = days.bin_ns() as f64 * 1e-9;
    let columns: [&[f64]; 3] = [&axes[0], &axes[1], &z];
    let theirs = Days::new(record.times_ns(), &columns, |k| marks.keeps(k), cadence_s, bin_s, 0.5)?;
    if theirs.bins != days.bins {
        return Err(Fault::new(
            "reference/slower",
            "The observatory's record is slower than the log.",
            "Average the log into blocks as long as the observatory's step.",
        ));
    }
    Ok(aligned(&theirs, days))
}

fn horizontal(reference: &Reference) -> Result<[Vec<f64>; 2], Fault> {
    let record = &reference.record;
    let get = |role| record.channel(role).map(|c| c.values.to_vec());
    if let (Some(x), Some(y)) = (get(Role::X), get(Role::Y)) {
        return Ok([x, y]);
    }
    if let (Some(h), Some(d)) = (get(Role::H), get(Role::D)) {
        let turn = |k: usize| field::elements::components(d[k], 0.0, h[k]);
        let pairs: Vec<[f64; 3]> = (0..h.len()).map(turn).collect();
        return Ok([0, 1].map(|axis| pairs.iter().map(|p| p[axis]).collect()));
    }
    Err(Fault::new(
        "reference/no-components",
        format!("{} holds neither X and Y nor H and D.", reference.name),
        "Choose a file with horizontal components.",
    ))
}

// The reference's days, moved so that they begin and end with the log's.
fn aligned(theirs: &Days, days: &Days) -> Days {
    let shift = (theirs.first.0 - days.first.0) / days.bin_ns();
    let n = days.len() * days.bins;
    let pick = |list: &Vec<f64>| -> Vec<f64> {
        (0..n as i64)
            .map(|k| {
                usize::try_from(k - shift)
                    .ok()
                    .and_then(|p| list.get(p))
                    .copied()
                    .unwrap_or(f64::NAN)
            })
            .collect()
    };
    Days { first: days.first, bins: days.bins, values: theirs.values.iter().map(pick).collect() }
}

/// The reference along its mean horizontal direction, across it, and down, in its own steps; Z is
/// nought where it has none.
pub(super) fn fine_reference(reference: &Reference, turn: &Mat3) -> Result<Even, Fault> {
    let record = &reference.record;
    let [x, y] = horizontal(reference)?;
    let z = record.channel(Role::Z).map_or_else(|| vec![0.0; x.len()], |c| c.values.to_vec());
    let turned = |row: usize| -> Vec<f64> {
        x.iter().zip(&y).map(|(x, y)| turn[row][0] * x + turn[row][1] * y).collect()
    };
    let (along, across) = (turned(0), turned(1));
    let marks = record.marks();
    let cadence_s = record.cadence().step_ns as f64 * 1e-9;
    let columns: [&[f64]; 3] = [&along, &across, &z];
    Even::new(record.times_ns(), columns, |k| marks.keeps(k), cadence_s).ok_or_else(|| {
        Fault::new(
            "reference/no-sample",
            format!("{} holds no sample that can be used.", reference.name),
            "Look at its reading report.",
        )
    })
}
