//! An observatory's record in the bins of the station's days.

use crate::outcome::Reference;
use field::days::Days;
use field::storms::Even;
use record::vector::Mat3;
use record::{Fault, Record, Role, say};

/// Its horizontal components and Z, in the station's bins; Z is missing where it has none.
pub(super) fn reference_days(reference: &Reference, days: &Days) -> Result<Days, Fault> {
    let [x, y] = horizontal(reference)?;
    let z = reference.record.channel(Role::Z).map(|c| c.values.to_vec());
    let z = z.unwrap_or_else(|| vec![f64::NAN; x.len()]);
    in_bins(reference, &[&x, &y, &z], days, 0)
}

/// Whatever can be compared: X and Y, given or from H and D or from D, I and F, or else H alone;
/// Z; and F where the components do not make it.
pub(super) fn elements_in_bins(
    reference: &Reference,
    days: &Days,
    stamp_ns: i64,
) -> Result<Vec<(&'static str, Vec<f64>)>, Fault> {
    let get = |role| reference.record.channel(role).map(|c| c.values.to_vec());
    let mut found: Vec<(&'static str, Option<Vec<f64>>)> = match horizontal(reference) {
        Ok([x, y]) => vec![("X", Some(x)), ("Y", Some(y))],
        Err(_) => vec![("H", get(Role::H))],
    };
    found.push(("Z", get(Role::Z).or_else(|| down(reference))));
    if found.iter().filter(|(_, list)| list.is_some()).count() < 3 {
        found.push(("F", get(Role::F)));
    }
    let (names, lists): (Vec<_>, Vec<_>) =
        found.into_iter().filter_map(|(name, list)| Some((name, list?))).unzip();
    if names.is_empty() {
        return Err(no_components(reference));
    }
    let columns: Vec<&[f64]> = lists.iter().map(Vec::as_slice).collect();
    Ok(names
        .into_iter()
        .zip(in_bins(reference, &columns, days, matched_ns(reference, days, stamp_ns))?.values)
        .collect())
}

// Z of D, I and F.
fn down(reference: &Reference) -> Option<Vec<f64>> {
    let [i, f] = [Role::I, Role::F].map(|role| reference.record.channel(role));
    let pairs = i?.values.iter().zip(f?.values.iter());
    Some(pairs.map(|(i, f)| field::elements::components(0.0, *i, *f)[2]).collect())
}

/// Where in their bin a record's samples stand on average, nanoseconds after its start: blocks of
/// five minutes stamped at their centre, on whole multiples, stand at the very start.
pub(super) fn stamp_ns(record: &Record, bin_ns: i64) -> i64 {
    let times = record.times_ns();
    let in_bin = |t: &i64| t.rem_euclid(bin_ns);
    if record.cadence().step_ns * 3 > bin_ns * 2 {
        return times.first().map_or(0, in_bin);
    }
    let sum: i128 = times.iter().map(|t| i128::from(in_bin(t))).sum();
    (sum / (times.len().max(1) as i128)) as i64
}

// By how much the reference's stamps are moved so that its bins hold the same minutes as the
// station's: whole steps of its own, since it has no finer ones.
fn matched_ns(reference: &Reference, days: &Days, stamp_ns: i64) -> i64 {
    let step = reference.record.cadence().step_ns.max(1);
    let apart = self::stamp_ns(&reference.record, days.bin_ns()) - stamp_ns;
    (apart as f64 / step as f64).round() as i64 * step
}

fn in_bins(
    reference: &Reference,
    columns: &[&[f64]],
    days: &Days,
    moved_ns: i64,
) -> Result<Days, Fault> {
    let record = &reference.record;
    let marks = record.marks();
    let cadence_s = record.cadence().step_ns as f64 * 1e-9;
    let bin_s = days.bin_ns() as f64 * 1e-9;
    let times: Vec<i64> = record.times_ns().iter().map(|t| t.saturating_add(moved_ns)).collect();
    let theirs = Days::new(&times, columns, |k| marks.keeps(k), cadence_s, bin_s, 0.5)?;
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
    if let (Some(d), Some(i), Some(f)) = (get(Role::D), get(Role::I), get(Role::F)) {
        let turn = |k: usize| field::elements::components(d[k], i[k], f[k]);
        let all: Vec<[f64; 3]> = (0..f.len()).map(turn).collect();
        return Ok([0, 1].map(|axis| all.iter().map(|p| p[axis]).collect()));
    }
    Err(no_components(reference))
}

fn no_components(reference: &Reference) -> Fault {
    Fault::new(
        "reference/no-components",
        say!("{} holds neither X and Y nor H and D nor D, I and F.", reference.name),
        "Choose a file with horizontal components.",
    )
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
            say!("{} holds no sample that can be used.", reference.name),
            "Look at its reading report.",
        )
    })
}
