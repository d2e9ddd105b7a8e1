//! The shape of a calibration: symmetric roots, sensor axes, and the change from the symmetric
//! form to the one tied to the sensor's x axis.

use crate::elements::DEGREES;
use nalgebra::{Matrix3, SMatrix};
use record::vector::{self, Mat3, Vec3};

/// Places of the six entries of a symmetric matrix: xx, xy, xz, yy, yz, zz.
pub(super) const ENTRIES: [(usize, usize); 6] = [(0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2)];

/// A symmetric matrix from its six entries.
pub(super) fn symmetric(entries: [f64; 6]) -> Mat3 {
    let mut m = [[0.0; 3]; 3];
    for ((a, b), v) in ENTRIES.into_iter().zip(entries) {
        m[a][b] = v;
        m[b][a] = v;
    }
    m
}

/// The six entries of a symmetric matrix.
pub(super) fn entries(m: &Mat3) -> [f64; 6] {
    ENTRIES.map(|(a, b)| m[a][b])
}

fn to_nalgebra(m: &Mat3) -> Matrix3<f64> {
    Matrix3::from_fn(|a, b| m[a][b])
}

fn from_nalgebra(m: &Matrix3<f64>) -> Mat3 {
    std::array::from_fn(|a| std::array::from_fn(|b| m[(a, b)]))
}

/// Eigenvalues of a symmetric matrix, ascending, and their unit eigenvectors; NaN when an entry is
/// not finite.
pub(super) fn eigen(m: &Mat3) -> ([f64; 3], [Vec3; 3]) {
    // The iteration would never end on one.
    if !m.iter().flatten().all(|v| v.is_finite()) {
        return ([f64::NAN; 3], [[f64::NAN; 3]; 3]);
    }
    let found = to_nalgebra(m).symmetric_eigen();
    let mut order = [0, 1, 2];
    order.sort_by(|a, b| found.eigenvalues[*a].total_cmp(&found.eigenvalues[*b]));
    let vector = |k: usize| std::array::from_fn(|axis| found.eigenvectors[(axis, k)]);
    (order.map(|k| found.eigenvalues[k]), order.map(vector))
}

/// The positive square root of a positive definite symmetric matrix; `None` when it is not one.
pub(super) fn square_root(m: &Mat3) -> Option<Mat3> {
    let (values, vectors) = eigen(m);
    if !values.iter().all(|v| *v > 0.0 && v.is_finite()) {
        return None;
    }
    let mut out = [[0.0; 3]; 3];
    for (value, v) in values.iter().zip(vectors) {
        for (row, a) in out.iter_mut().zip(v) {
            for (entry, b) in row.iter_mut().zip(v) {
                *entry += value.sqrt() * a * b;
            }
        }
    }
    Some(out)
}

/// The lower triangular matrix L with LᵀL = SᵀS and a positive diagonal: the same calibration
/// with its frame tied to the sensor's x axis and xy plane.  `None` for a singular S.
pub(super) fn tied(s: &Mat3) -> Option<Mat3> {
    // W Wᵀ = (SᵀS)⁻¹ with W lower triangular; L = W⁻¹.
    let product = vector::multiply(&vector::transpose(s), s);
    let w = to_nalgebra(&vector::inverse(&product)?).cholesky()?.l();
    vector::inverse(&from_nalgebra(&w))
}

/// Derivatives of the six entries of [`tied`] (in transposed places) by the six of S.
pub(super) fn tied_derivatives(s: &Mat3) -> Option<SMatrix<f64, 6, 6>> {
    let size = vector::norm([s[0][0], s[1][1], s[2][2]]);
    let step = 1e-6 * size;
    let mut out = SMatrix::<f64, 6, 6>::zeros();
    let centre = entries(s);
    for column in 0..6 {
        let moved = |by: f64| {
            let mut e = centre;
            e[column] += by;
            tied(&symmetric(e)).map(|m| entries(&vector::transpose(&m)))
        };
        let (above, below) = (moved(step)?, moved(-step)?);
        for row in 0..6 {
            out[(row, column)] = (above[row] - below[row]) / (2.0 * step);
        }
    }
    Some(out)
}

/// What a calibration matrix says of the sensor itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Axes {
    /// Longest over shortest semi-axis of the ellipsoid.
    pub ratio: f64,
    /// 90° minus the angle between the sensor's axes: xy, xz, yz, degrees.
    pub non_orthogonality_deg: [f64; 3],
}

/// Axis ratio and non-orthogonality from a matrix that maps raw − offset to field.
/// NaN for a singular one.
pub(super) fn axes(matrix: &Mat3) -> Axes {
    let Some(w) = vector::inverse(matrix) else {
        return Axes { ratio: f64::NAN, non_orthogonality_deg: [f64::NAN; 3] };
    };
    let (values, _) = eigen(&vector::multiply(&w, &vector::transpose(&w)));
    let angle = |a: usize, b: usize| {
        let cos = vector::dot(w[a], w[b]) / (vector::norm(w[a]) * vector::norm(w[b]));
        libm::asin(cos.clamp(-1.0, 1.0)) * DEGREES
    };
    Axes {
        ratio: (values[2] / values[0]).sqrt(),
        non_orthogonality_deg: [angle(0, 1), angle(0, 2), angle(1, 2)],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::vector::{multiply, transpose};

    const W: Mat3 = [[1.10, 0.05, -0.02], [0.05, 0.95, 0.03], [-0.02, 0.03, 1.00]];

    fn near(a: &Mat3, b: &Mat3, tolerance: f64) {
        for (x, y) in a.iter().flatten().zip(b.iter().flatten()) {
            assert!((x - y).abs() < tolerance, "{a:?} {b:?}");
        }
    }

    #[test]
    fn a_root_squared_is_the_matrix() {
        let square = multiply(&W, &W);
        near(&square_root(&square).unwrap(), &W, 1e-14);
        assert!(square_root(&[[1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0]]).is_none());
    }

    #[test]
    fn the_tied_form_is_triangular_and_has_the_same_lengths() {
        let l = tied(&W).unwrap();
        assert_eq!((l[0][1], l[0][2], l[1][2]), (0.0, 0.0, 0.0));
        near(&multiply(&transpose(&l), &l), &multiply(&transpose(&W), &W), 1e-14);
    }

    #[test]
    fn skewed_axes_are_read_from_the_matrix() {
        // Sensor axes: x along x, y 2 degrees towards x, z along z; gains 1, 2, 1.
        let (sin, cos) = libm::sincos(2f64.to_radians());
        let w = [[1.0, 0.0, 0.0], [2.0 * sin, 2.0 * cos, 0.0], [0.0, 0.0, 1.0]];
        let found = axes(&vector::inverse(&w).unwrap());
        assert!((found.non_orthogonality_deg[0] - 2.0).abs() < 1e-12);
        assert!(found.non_orthogonality_deg[1].abs() < 1e-12);
        assert!((found.ratio - 2.0).abs() < 0.01);
    }
}
