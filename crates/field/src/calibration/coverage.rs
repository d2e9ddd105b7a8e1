//! Which directions a turning log has seen, and how well they fix a fit.

// Plain indices in the loops over points: see `gram`.
#![allow(clippy::needless_range_loop)]

use super::Model;
use crate::gram::condition;
use nalgebra::SMatrix;
use record::vector::Vec3;

/// Bands of the sphere from +z to −z: upper edge of each in z, and its number of cells.  The
/// heights go with the numbers, so that all 48 cells have the same area; each spans about 30°.
const BANDS: [(f64, usize); 6] =
    [(1.0, 3), (0.875, 9), (0.5, 12), (0.0, 12), (-0.5, 9), (-0.875, 3)];

/// Number of cells.
pub const CELLS: usize = 48;

/// One cell of the sphere of directions, in the sensor's axes, and the readings in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CellCount {
    /// Lowest and highest z of its unit vectors.
    pub z: [f64; 2],
    /// From and to, degrees about z, from x towards y, 0 to 360.
    pub azimuth_deg: [f64; 2],
    /// Unit vector to its middle.
    pub centre: Vec3,
    /// Readings whose field pointed into it.
    pub count: usize,
}

/// The 48 cells, empty, from +z to −z and by azimuth.
pub fn cells() -> Vec<CellCount> {
    let mut all = Vec::with_capacity(CELLS);
    for (band, (top, count)) in BANDS.into_iter().enumerate() {
        let bottom = BANDS.get(band + 1).map_or(-1.0, |(z, _)| *z);
        let middle = 0.5 * (top + bottom);
        let across = (1.0 - middle * middle).sqrt();
        let width = 360.0 / count as f64;
        for k in 0..count {
            let from = k as f64 * width;
            let (sin, cos) = libm::sincos((from + 0.5 * width).to_radians());
            all.push(CellCount {
                z: [bottom, top],
                azimuth_deg: [from, from + width],
                centre: [across * cos, across * sin, middle],
                count: 0,
            });
        }
    }
    all
}

/// A quarter of a turn goes from 0 to 1, the whole from 0 to 4: grows with the angle, as it must
/// to be compared, without its cost.
fn turn(x: f64, y: f64) -> f64 {
    let along = y / (x.abs() + y.abs());
    let about = if x < 0.0 { 2.0 - along } else { along };
    if about < 0.0 { about + 4.0 } else { about }
}

/// Sectors of 10 degrees: each band's are several of them.
const SECTORS: usize = 36;
/// Parts of a quarter turn, so small that none holds two edges of sectors.
const PARTS: usize = 64;

/// Which cell a unit vector lies in, without a branch to guess or an angle to compute.
struct Places {
    /// Of each part of the turn: the sector it begins in, and where the next begins.
    parts: Vec<(usize, f64)>,
    /// First cell and number of cells of each band.
    bands: [(usize, usize); BANDS.len()],
}

impl Places {
    fn new() -> Self {
        let mut first = 0;
        let bands = BANDS.map(|(_, count)| {
            first += count;
            (first - count, count)
        });
        let edge = |sector: usize| {
            let (sin, cos) = libm::sincos((sector as f64 * 360.0 / SECTORS as f64).to_radians());
            if sector < SECTORS { turn(cos, sin) } else { f64::INFINITY }
        };
        let edges: Vec<f64> = (1..=SECTORS).map(edge).collect();
        let part = |k: usize| {
            let sector = edges.iter().filter(|e| **e <= k as f64 / PARTS as f64).count();
            (sector, edges[sector])
        };
        Self { parts: (0..=4 * PARTS).map(part).collect(), bands }
    }

    fn of(&self, [x, y, z]: Vec3) -> usize {
        let mut band = 0;
        for (top, _) in &BANDS[1..] {
            band += usize::from(z <= *top);
        }
        let (first, count) = self.bands[band];
        let at = turn(x, y);
        let part = ((at * PARTS as f64) as u32).min(4 * PARTS as u32);
        let (sector, next) = self.parts[part as usize];
        let sector = (sector + usize::from(at >= next)).min(SECTORS - 1);
        first + sector * count / SECTORS
    }
}

/// The cell of a unit vector, 0 to 47.
pub fn cell_of(u: Vec3) -> usize {
    Places::new().of(u)
}

/// Readings in each cell.
pub fn count(directions: impl Iterator<Item = Vec3>) -> Vec<CellCount> {
    let mut all = cells();
    let places = Places::new();
    for u in directions {
        all[places.of(u)].count += 1;
    }
    all
}

/// Share of the cells with a reading, 0 to 1.
pub fn share(cells: &[CellCount]) -> f64 {
    cells.iter().filter(|cell| cell.count > 0).count() as f64 / cells.len().max(1) as f64
}

/// The sensor axis, with its sign, that the field has pointed along least: `+x` ... `−z`; of
/// several, the one furthest from all that was seen.
pub fn least_seen(cells: &[CellCount]) -> &'static str {
    const NAMES: [&str; 6] = ["+x", "−x", "+y", "−y", "+z", "−z"];
    let seen = |k: usize| -> usize {
        let sign = if k.is_multiple_of(2) { 1.0 } else { -1.0 };
        let near = |cell: &&CellCount| sign * cell.centre[k / 2] > 0.7;
        cells.iter().filter(near).filter(|cell| cell.count > 0).count()
    };
    let middle = |axis: usize| -> f64 {
        cells.iter().filter(|cell| cell.count > 0).map(|cell| cell.centre[axis]).sum()
    };
    let toward = |k: usize| if k.is_multiple_of(2) { middle(k / 2) } else { -middle(k / 2) };
    let order =
        |a: &usize, b: &usize| seen(*a).cmp(&seen(*b)).then(toward(*a).total_cmp(&toward(*b)));
    (0..6).min_by(order).map_or("", |k| NAMES[k])
}

/// Sums of the design of a fit in unit directions, for its condition number.
#[derive(Clone, Debug)]
pub(super) struct Design {
    model: Model,
    /// The upper triangle.
    sums: [[f64; 9]; 9],
}

impl Design {
    pub(super) fn new(model: Model) -> Self {
        Self { model, sums: [[0.0; 9]; 9] }
    }

    pub(super) fn add(&mut self, [x, y, z]: Vec3) {
        let row = if self.model == Model::Ellipsoid {
            [x, y, z, x * x, y * y, z * z, 2.0 * x * y, 2.0 * x * z, 2.0 * y * z]
        } else {
            [x, y, z, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0]
        };
        for a in 0..9 {
            for b in a..9 {
                self.sums[a][b] += row[a] * row[b];
            }
        }
    }

    /// Condition number of the design; infinite when something is not known at all.
    pub(super) fn condition(&self) -> f64 {
        let sums = SMatrix::<f64, 9, 9>::from_fn(|a, b| self.sums[a.min(b)][a.max(b)]);
        if self.model == Model::Ellipsoid {
            condition(&sums)
        } else {
            condition(&sums.fixed_view::<4, 4>(0, 0).into_owned())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;

    #[test]
    fn every_cell_holds_its_own_middle_and_the_same_share_of_directions() {
        let all = cells();
        assert_eq!(all.len(), CELLS);
        for (k, cell) in all.iter().enumerate() {
            assert_eq!(cell_of(cell.centre), k);
            let area = (cell.z[1] - cell.z[0]) * (cell.azimuth_deg[1] - cell.azimuth_deg[0]);
            assert!((area - 2.0 * 360.0 / 48.0).abs() < 1e-9);
        }
        let mut random = Random::new(4);
        let counted = count((0..48_000).map(|_| random.direction(180.0)));
        assert!(counted.iter().all(|cell| (850..1150).contains(&cell.count)));
        assert_eq!(share(&counted), 1.0);
    }

    #[test]
    fn poles_and_the_seam_have_a_cell() {
        for u in [[0.0, 0.0, 1.0], [0.0, 0.0, -1.0], [1.0, 0.0, 0.0], [1.0, -1e-18, 0.0]] {
            assert!(cell_of(u) < CELLS);
        }
    }

    #[test]
    fn a_half_sphere_has_not_seen_minus_z() {
        let mut random = Random::new(4);
        let counted = count((0..5_000).map(|_| random.direction(90.0)));
        assert_eq!(least_seen(&counted), "−z");
        assert!((share(&counted) - 0.5).abs() < 1e-9);
    }
}
