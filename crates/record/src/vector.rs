//! Small vectors and 3 × 3 matrices, as plain arrays.

/// Three components.
pub type Vec3 = [f64; 3];
/// Three rows of three.
pub type Mat3 = [[f64; 3]; 3];

/// The identity matrix.
pub const IDENTITY: Mat3 = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

/// Scalar product.
#[inline]
pub fn dot(a: Vec3, b: Vec3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Vector product.
pub fn cross(a: Vec3, b: Vec3) -> Vec3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// Length.
#[inline]
pub fn norm(a: Vec3) -> f64 {
    dot(a, a).sqrt()
}

/// Difference `a - b`.
#[inline]
pub fn sub(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// Vector times number.
#[inline]
pub fn scale(a: Vec3, by: f64) -> Vec3 {
    [a[0] * by, a[1] * by, a[2] * by]
}

/// Matrix times vector.
#[inline]
pub fn apply(m: &Mat3, v: Vec3) -> Vec3 {
    [dot(m[0], v), dot(m[1], v), dot(m[2], v)]
}

/// Matrix times matrix.
pub fn multiply(a: &Mat3, b: &Mat3) -> Mat3 {
    let t = transpose(b);
    [apply(&t, a[0]), apply(&t, a[1]), apply(&t, a[2])]
}

/// Rows become columns.
pub fn transpose(m: &Mat3) -> Mat3 {
    [[m[0][0], m[1][0], m[2][0]], [m[0][1], m[1][1], m[2][1]], [m[0][2], m[1][2], m[2][2]]]
}

/// Determinant.
pub fn determinant(m: &Mat3) -> f64 {
    dot(m[0], cross(m[1], m[2]))
}

/// Inverse; `None` when the determinant is zero or not finite.
pub fn inverse(m: &Mat3) -> Option<Mat3> {
    let det = determinant(m);
    if det == 0.0 || !det.is_finite() {
        return None;
    }
    let columns = [cross(m[1], m[2]), cross(m[2], m[0]), cross(m[0], m[1])];
    let mut out = transpose(&columns);
    out.iter_mut().flatten().for_each(|entry| *entry /= det);
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_matrix_times_its_inverse_is_the_identity() {
        let m = [[1.1, 0.05, -0.02], [0.05, 0.95, 0.03], [-0.02, 0.03, 1.0]];
        let product = multiply(&m, &inverse(&m).unwrap());
        for (row, want) in product.iter().zip(IDENTITY) {
            for (a, b) in row.iter().zip(want) {
                assert!((a - b).abs() < 1e-15);
            }
        }
        assert!(inverse(&[[1.0, 2.0, 3.0]; 3]).is_none());
    }
}
