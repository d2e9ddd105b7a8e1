//! Which directions a turning saw, when no calibration came of it: for the map that tells a
//! student where to turn next.

use super::cloud::Cloud;
use super::coverage::{self, CELLS, CellCount};
use super::{algebraic, shape};
use record::vector::{self, Mat3, Vec3};

/// Enough points for a map.
const MOST: usize = 4_000;
/// Rounds of the fit; each step is held to a part of the field.
const ROUNDS: usize = 60;
/// A centre further away than this, in root-mean-square distances of the readings, has run off.
const FAR: f64 = 3.0;

/// Directions about the likeliest centre.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// The 48 cells of the sphere, with the readings in each.
    pub cells: Vec<CellCount>,
    /// Share of them with a reading, 0 to 1.
    pub coverage: f64,
    /// The sensor axis, with its sign, that the field has pointed along least.
    pub least_seen: &'static str,
    /// Reading taken for that of no field, raw unit.
    pub centre: Vec3,
}

/// The directions a turning saw, without a calibration.
///
/// # Arguments and units
///
/// * `raw` - three components, any one unit
/// * `keep` - whether a sample takes part; NaN never do
/// * `field` - the total field in the same unit, where it is known
///
/// Directions are taken about the centre of the sphere of radius `field` that fits best (gains
/// taken as equal), from the sensor's own zero and from the middle of the readings; without a
/// field, about the sphere through the readings or, where that runs off, about their middle.
/// Good for a map, not for a correction.  `None` without a reading.
///
/// # Source
///
/// Least squares by damped Gauss-Newton steps; common practice, no source.
pub fn seen(raw: [&[f64]; 3], keep: impl Fn(usize) -> bool, field: Option<f64>) -> Option<Seen> {
    let cloud = Cloud::gather(raw, keep).centred();
    if cloud.len() == 0 || !cloud.scale.is_finite() {
        return None;
    }
    let point = |p: &Vec3| -> Vec3 {
        std::array::from_fn(|axis| cloud.centre[axis] + cloud.scale * p[axis])
    };
    let some: Vec<Vec3> = cloud.thinned(MOST).points.iter().map(point).collect();
    let centre = match field.filter(|f| *f > 0.0 && f.is_finite()) {
        Some(field) => of_radius(&some, &cloud, field),
        None => round(&cloud),
    };
    let direction = |p: &Vec3| {
        let away = vector::sub(point(p), centre);
        let length = vector::norm(away);
        (length > 0.0).then(|| away.map(|v| v / length))
    };
    let cells = coverage::count(cloud.points.iter().filter_map(direction));
    let (coverage, least_seen) = (coverage::share(&cells), coverage::least_seen(&cells));
    Some(Seen { cells, coverage, least_seen, centre })
}

/// The better centre of the two starts.
fn of_radius(points: &[Vec3], cloud: &Cloud, field: f64) -> Vec3 {
    let settled = [[0.0; 3], cloud.centre].map(|start| settle(points, start, field));
    let [first, second] = settled.map(|centre| misfit(points, centre, field));
    // The sensor's own zero is the likelier start where both do as well.
    if second < 0.9 * first { settled[1] } else { settled[0] }
}

fn misfit(points: &[Vec3], centre: Vec3, field: f64) -> f64 {
    points.iter().map(|p| vector::norm(vector::sub(*p, centre)) - field).map(|r| r * r).sum()
}

fn settle(points: &[Vec3], start: Vec3, field: f64) -> Vec3 {
    let mut centre = start;
    for _ in 0..ROUNDS {
        let (mut normal, mut right): (Mat3, Vec3) = ([[0.0; 3]; 3], [0.0; 3]);
        for p in points {
            let away = vector::sub(*p, centre);
            let length = vector::norm(away);
            if length > 0.0 {
                let u = away.map(|v| v / length);
                for a in 0..3 {
                    right[a] += u[a] * (length - field);
                    for b in 0..3 {
                        normal[a][b] += u[a] * u[b];
                    }
                }
            }
        }
        // Directions that the readings leave open stay where they are.
        for (axis, row) in normal.iter_mut().enumerate() {
            row[axis] += 1e-3 * points.len() as f64;
        }
        let Some(inverse) = vector::inverse(&normal) else { return centre };
        let step = vector::apply(&inverse, right);
        let size = vector::norm(step);
        let hold = if size > 0.3 * field { 0.3 * field / size } else { 1.0 };
        centre = std::array::from_fn(|axis| centre[axis] + hold * step[axis]);
        if size < 1e-6 * field {
            break;
        }
    }
    centre
}

fn round(cloud: &Cloud) -> Vec3 {
    let found = algebraic::sphere(&cloud.thinned(MOST)).filter(|s| vector::norm(s.offset) < FAR);
    let inside = found
        .filter(|s| shape::square_root(&s.root).is_some())
        .map_or([0.0; 3], |surface| surface.offset);
    std::array::from_fn(|axis| cloud.centre[axis] + cloud.scale * inside[axis])
}

impl Seen {
    /// Cells without a reading.
    pub fn unseen(&self) -> usize {
        CELLS - self.cells.iter().filter(|cell| cell.count > 0).count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;

    fn columns(points: &[Vec3]) -> [Vec<f64>; 3] {
        std::array::from_fn(|axis| points.iter().map(|p| p[axis]).collect())
    }

    fn of(points: &[Vec3], field: Option<f64>) -> Seen {
        let [x, y, z] = columns(points);
        seen([&x, &y, &z], |_| true, field).unwrap()
    }

    fn cap(half_angle_deg: f64, offset: Vec3) -> Vec<Vec3> {
        let mut random = Random::new(9);
        let one = |u: Vec3| std::array::from_fn(|k| 50_000.0 * u[k] + offset[k]);
        (0..900).map(|_| one(random.direction(half_angle_deg))).collect()
    }

    #[test]
    fn a_cap_is_where_it_was_and_the_far_side_is_missing() {
        let points = cap(45.0, [6_000.0, -9_000.0, 4_000.0]);
        for field in [Some(50_000.0), None] {
            let found = of(&points, field);
            assert_eq!(found.least_seen, "−z");
            // A cap of 45 degrees is 15 % of the sphere.
            assert!((0.1..0.3).contains(&found.coverage), "{field:?} {}", found.coverage);
        }
        let found = of(&points, Some(50_000.0));
        assert!(vector::norm(vector::sub(found.centre, [6_000.0, -9_000.0, 4_000.0])) < 50.0);
    }

    #[test]
    fn a_level_turn_shows_a_ring_on_the_side_of_the_sensors_own_zero() {
        let ring: Vec<Vec3> = (0..360)
            .map(|k| {
                let (sin, cos) = libm::sincos(f64::from(k).to_radians());
                [20_000.0 * cos + 3_000.0, 20_000.0 * sin, 45_000.0]
            })
            .collect();
        let found = of(&ring, Some(49_244.0));
        let seen: Vec<&CellCount> = found.cells.iter().filter(|c| c.count > 0).collect();
        assert!(seen.iter().all(|c| c.centre[2] > 0.5), "{:?}", found.centre);
        assert_eq!((found.least_seen, seen.len() >= 3), ("−z", true));
    }

    #[test]
    fn nothing_and_one_reading_do_no_harm() {
        assert_eq!(seen([&[], &[], &[]], |_| true, None), None);
        let one = of(&[[1.0, 2.0, 3.0]], Some(50.0));
        assert_eq!(one.unseen(), CELLS - 1);
        assert_eq!(of(&[[1.0, 2.0, 3.0]], None).unseen(), CELLS);
    }
}
