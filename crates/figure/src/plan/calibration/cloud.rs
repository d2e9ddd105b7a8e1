//! The readings before and after, few enough to draw, and their outlines.

use super::CalibrationData;
use record::vector::{Mat3, Vec3, apply, determinant, inverse, multiply, norm, sub, transpose};

/// At most this many readings are drawn in each cloud.
const MOST: usize = 1200;

/// Both clouds, and the length of each vector.
#[derive(Clone, Debug, Default)]
pub(super) struct Cloud {
    pub before: Vec<Vec3>,
    pub after: Vec<Vec3>,
    pub rejected: Vec<Vec3>,
    pub n_rejected: usize,
    /// Sample, counted from 1, and length; readings before by the mean scale.
    pub lengths_before: Vec<(f64, f64)>,
    pub lengths_after: Vec<(f64, f64)>,
    /// How many samples there are.
    pub samples: usize,
    /// Whether the cloud before was moved to the centre, to fit.
    pub moved: bool,
    radius: f64,
    centre: Vec3,
    /// Maps the unit sphere to the ellipsoid before, in the drawn unit.
    shape: Option<Mat3>,
}

impl Cloud {
    /// The clouds in a unit of which `factor` make one of the calibration's.
    pub(super) fn new(data: &CalibrationData<'_>, factor: f64) -> Self {
        let radius = data.radius * factor;
        let scale = mean_scale(&data.matrix) * factor;
        let far = norm(data.offset) * scale > 3.0 * radius;
        let shift = if far { data.offset } else { [0.0; 3] };
        let drawn = |raw: Vec3, from: Vec3| sub(raw, from).map(|v| v * scale);
        let samples = data.raw.iter().map(|c| c.len()).min().unwrap_or(0);
        let readings: Vec<(usize, Vec3)> = (0..samples)
            .map(|k| (k, data.raw.map(|c| c[k])))
            .filter(|(_, v)| v.iter().all(|c| c.is_finite()))
            .collect();
        let rejected = |k: &usize| data.rejected.binary_search(k).is_ok();
        let kept: Vec<(usize, Vec3)> =
            readings.iter().copied().filter(|(k, _)| !rejected(k)).collect();
        let left: Vec<Vec3> =
            readings.iter().filter(|(k, _)| rejected(k)).map(|(_, v)| *v).collect();
        let field = |raw: Vec3| apply(&data.matrix, sub(raw, data.offset)).map(|v| v * factor);
        let number = |k: usize| k as f64 + 1.0;
        let few = sparse(&kept);
        Self {
            before: few.iter().map(|(_, v)| drawn(*v, shift)).collect(),
            after: few.iter().map(|(_, v)| field(*v)).collect(),
            rejected: sparse(&left).into_iter().map(|v| drawn(v, shift)).collect(),
            n_rejected: left.len(),
            lengths_before: few
                .iter()
                .map(|(k, v)| (number(*k), norm(drawn(*v, [0.0; 3]))))
                .collect(),
            lengths_after: few.iter().map(|(k, v)| (number(*k), norm(field(*v)))).collect(),
            samples,
            moved: far,
            radius,
            centre: drawn(data.offset, shift),
            shape: inverse(&data.matrix).map(|m| m.map(|row| row.map(|v| v * scale * data.radius))),
        }
    }

    /// Half the side of a square about zero that holds both clouds.
    pub(super) fn reach(&self) -> f64 {
        let all = self.before.iter().chain(&self.after).chain(&self.rejected);
        let furthest = all.flatten().map(|v| v.abs()).filter(|v| v.is_finite());
        let reach = furthest.fold(self.radius.abs(), f64::max) * 1.08;
        if reach > 0.0 && reach.is_finite() { reach } else { 1.0 }
    }

    /// The outline of the ellipsoid before, seen along the third axis: the
    /// shadow of the sphere's image has the covariance's block as its form.
    pub(super) fn outline(&self, (a, b): (usize, usize)) -> Option<(Vec<f64>, Vec<f64>)> {
        let shape = self.shape?;
        let form = multiply(&shape, &transpose(&shape));
        let (aa, ab, bb) = (form[a][a], form[a][b], form[b][b]);
        let first = aa.sqrt();
        let second = ab / first;
        let third = (bb - second * second).max(0.0).sqrt();
        let usable = first > 0.0 && first.is_finite() && third.is_finite();
        usable.then(|| {
            let turn = turn();
            let x = turn.iter().map(|(c, _)| self.centre[a] + first * c).collect();
            let y = turn.iter().map(|(c, s)| self.centre[b] + second * c + third * s).collect();
            (x, y)
        })
    }
}

/// A circle about zero.
pub(super) fn circle(radius: f64) -> (Vec<f64>, Vec<f64>) {
    turn().into_iter().map(|(c, s)| (radius * c, radius * s)).unzip()
}

/// A line's points, broken where samples between are missing for long.
pub(super) fn broken(points: &[(f64, f64)]) -> (Vec<f64>, Vec<f64>) {
    let step = points.windows(2).map(|w| w[1].0 - w[0].0).fold(f64::INFINITY, f64::min);
    let mut out = (Vec::new(), Vec::new());
    for (k, (x, y)) in points.iter().enumerate() {
        if k > 0 && x - points[k - 1].0 > 20.0 * step {
            out.0.push(f64::NAN);
            out.1.push(f64::NAN);
        }
        out.0.push(*x);
        out.1.push(*y);
    }
    out
}

/// Cosine and sine of a whole turn.
fn turn() -> Vec<(f64, f64)> {
    let at = |k: u32| std::f64::consts::TAU * f64::from(k) / 120.0;
    (0..=120).map(|k| (libm::cos(at(k)), libm::sin(at(k)))).collect()
}

/// The scale of a sphere's volume: the cube root of the determinant.
fn mean_scale(matrix: &Mat3) -> f64 {
    let scale = libm::cbrt(determinant(matrix).abs());
    if scale > 0.0 && scale.is_finite() { scale } else { 1.0 }
}

/// Every n-th, so that at most [`MOST`] are left.
fn sparse<T: Copy>(all: &[T]) -> Vec<T> {
    all.iter().step_by(all.len().div_ceil(MOST).max(1)).copied().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::Unit;

    #[test]
    fn the_outline_touches_the_furthest_point_of_a_turned_ellipsoid() {
        let matrix = [[1.1, 0.2, -0.1], [0.2, 0.9, 0.05], [-0.1, 0.05, 1.05]];
        let data = CalibrationData {
            raw: [&[], &[], &[]],
            raw_unit: Unit::Microtesla,
            unit: Unit::Microtesla,
            offset: [5.0, -3.0, 2.0],
            matrix,
            radius: 50.0,
            rejected: &[],
        };
        let cloud = Cloud::new(&data, 1.0);
        let (x, _) = cloud.outline((0, 2)).unwrap();
        let furthest = x.into_iter().fold(f64::NEG_INFINITY, f64::max);
        // The slow twin: many points of the sphere sent back to the readings.
        let back = inverse(&matrix).unwrap();
        let scale = mean_scale(&matrix);
        let mut slow = f64::NEG_INFINITY;
        for i in 0..400 {
            for j in 0..400 {
                let turn = std::f64::consts::TAU / 400.0;
                let (u, v) = (f64::from(i) * 0.5 * turn, f64::from(j) * turn);
                let on = [u.sin() * v.cos(), u.sin() * v.sin(), u.cos()].map(|c| c * 50.0);
                slow = slow.max((apply(&back, on)[0] + 5.0) * scale);
            }
        }
        assert!((furthest - slow).abs() < 0.02, "{furthest} {slow}");
    }
}
