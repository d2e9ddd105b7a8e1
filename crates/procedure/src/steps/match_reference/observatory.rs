//! An observatory's record as north, east and down, on the station's grid,
//! whichever elements its file holds.

use super::Laid;
use crate::outcome::{Reference, State};
use field::days::Days;
use field::elements;
use record::{Fault, Record, Role, Unit, say};

/// Station and reference on one grid of equal bins.
pub(super) fn laid(
    state: &State,
    reference: &Reference,
    warmth: Option<&[f64]>,
) -> Result<Laid, Fault> {
    let record = &state.record;
    let axes = record.vector().ok_or_else(|| {
        Fault::new(
            "match-reference/no-vector",
            "There are no three field components in the log.",
            "Matching needs x, y and z of a magnetometer; see the columns in the reading report.",
        )
    })?;
    let mut columns: Vec<&[f64]> = axes.iter().map(|c| c.values.as_slice()).collect();
    columns.extend(warmth);
    let theirs = vector(&reference.record).ok_or_else(|| no_vector(reference))?;
    let slower = cadence_s(record).max(cadence_s(&reference.record)).max(60.0);
    let days = binned(record, &columns, slower)?;
    let lists: Vec<&[f64]> = theirs.iter().map(Vec::as_slice).collect();
    let other = binned(&reference.record, &lists, slower)?;
    let reference = [0, 1, 2].map(|axis| moved(&other, &days, axis));
    Ok(Laid { days, reference, warms: warmth.is_some() })
}

fn cadence_s(record: &Record) -> f64 {
    record.cadence().step_ns as f64 * 1e-9
}

fn binned(record: &Record, columns: &[&[f64]], bin_s: f64) -> Result<Days, Fault> {
    let marks = record.marks();
    let keep = |k: usize| marks.keeps(k);
    Ok(Days::new(record.times_ns(), columns, keep, cadence_s(record), bin_s, 0.5)?)
}

/// One component of the reference on the bins of the station.
fn moved(from: &Days, to: &Days, axis: usize) -> Vec<f64> {
    let n = to.values.first().map_or(0, Vec::len);
    let shift = (to.first.0 - from.first.0) / to.bin_ns();
    let at = |k: usize| usize::try_from(k as i64 + shift).ok();
    let value = |k: usize| at(k).and_then(|p| from.values[axis].get(p)).copied();
    (0..n).map(|k| value(k).unwrap_or(f64::NAN)).collect()
}

fn no_vector(reference: &Reference) -> Fault {
    Fault::new(
        "match-reference/no-components",
        say!("{} does not hold enough elements for north, east and down.", reference.name),
        "Choose a file with X Y Z, H D Z, D I F or another set of three that fixes the vector.",
    )
}

/// North, east and down from any set of elements that fixes them; D and I in
/// whichever unit the file has.
pub(in crate::steps) fn vector(record: &Record) -> Option<[Vec<f64>; 3]> {
    let get = |role: Role| {
        let channel = record.channel(role)?;
        let degrees = if channel.unit == Unit::Arcminute { 1.0 / 60.0 } else { 1.0 };
        Some(channel.values.iter().map(|v| v * degrees).collect::<Vec<f64>>())
    };
    let all = [Role::X, Role::Y, Role::Z, Role::H, Role::D, Role::I, Role::F].map(get);
    let [x, y, z, h, d, i, f] = all.each_ref().map(Option::as_ref);
    let n = record.len();
    let list = |of: &dyn Fn(usize) -> f64| (0..n).map(of).collect::<Vec<f64>>();
    let down = match (z, h, i, f) {
        (Some(z), ..) => z.clone(),
        (None, Some(h), Some(i), _) => list(&|k| h[k] * libm_tan(i[k])),
        (None, _, Some(i), Some(f)) => list(&|k| elements::components(0.0, i[k], f[k])[2]),
        // Down in the north, and no file without Z or I is of the south.
        (None, Some(h), None, Some(f)) => list(&|k| (f[k] * f[k] - h[k] * h[k]).max(0.0).sqrt()),
        _ => return None,
    };
    if let (Some(x), Some(y)) = (x, y) {
        return Some([x.clone(), y.clone(), down]);
    }
    let level = match (h, i, f) {
        (Some(h), ..) => h.clone(),
        (None, Some(i), Some(f)) => list(&|k| elements::components(0.0, i[k], f[k])[0]),
        (None, None, Some(f)) => list(&|k| (f[k] * f[k] - down[k] * down[k]).max(0.0).sqrt()),
        _ => return None,
    };
    let d = d?;
    let turned = |k: usize| elements::components(d[k], 0.0, level[k]);
    Some([list(&|k| turned(k)[0]), list(&|k| turned(k)[1]), down])
}

fn libm_tan(degrees: f64) -> f64 {
    let [level, _, down] = elements::components(0.0, degrees, 1.0);
    down / level
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::Channel;
    use std::sync::Arc;

    fn made(sets: &[(Role, Unit, f64)]) -> Record {
        let channels = sets
            .iter()
            .map(|(role, unit, v)| Channel::new(role.id(), *role, *unit, vec![*v; 3]))
            .collect();
        Record::with_marks(Arc::from(vec![0, 60, 120]), channels, record::Marks::none(3)).unwrap()
    }

    #[test]
    fn every_set_of_elements_gives_the_same_vector() {
        let (d, i, f) = (-5.0, 70.0, 50_000.0);
        let [x, y, z] = elements::components(d, i, f);
        let h = (x * x + y * y).sqrt();
        let nt = |role, v| (role, Unit::Nanotesla, v);
        let minutes = (Role::D, Unit::Arcminute, d * 60.0);
        let sets = [
            vec![nt(Role::X, x), nt(Role::Y, y), nt(Role::Z, z)],
            vec![nt(Role::H, h), minutes, nt(Role::Z, z)],
            vec![minutes, (Role::I, Unit::Degree, i), nt(Role::F, f)],
            vec![nt(Role::H, h), minutes, nt(Role::F, f)],
            vec![minutes, nt(Role::Z, z), nt(Role::F, f)],
            vec![nt(Role::X, x), nt(Role::Y, y), (Role::I, Unit::Degree, i), nt(Role::H, h)],
        ];
        for set in sets {
            let found = vector(&made(&set)).unwrap();
            for (got, want) in found.iter().zip([x, y, z]) {
                assert!((got[0] - want).abs() < 1e-6, "{set:?} {} {want}", got[0]);
            }
        }
        assert!(vector(&made(&[nt(Role::F, f)])).is_none());
        assert!(vector(&made(&[nt(Role::H, h), nt(Role::Z, z)])).is_none());
    }
}
