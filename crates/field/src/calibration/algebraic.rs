//! Algebraic fits: a linear system gives the quadric through the points at once.
//!
//! Quick, but biased towards small, flat ellipsoids where noise is large or directions are few:
//! only the start of the geometric fit.

use super::cloud::Cloud;
use super::geometric::{Ellipse, Family, Surface};
use super::shape;
use crate::gram::{BLOCK, Block, Gram};
use record::vector::{self, Vec3};

/// Normal equations of a linear system with one row a point.
fn normal<const P: usize>(cloud: &Cloud, row: impl Fn(Vec3) -> ([f64; P], f64)) -> Gram<P> {
    let mut gram = Gram::empty();
    for chunk in cloud.points.chunks(BLOCK) {
        let mut block = Block::empty();
        for (k, p) in chunk.iter().enumerate() {
            let (design, right) = row(*p);
            block.set(k, design, right);
        }
        gram.add(&block);
    }
    gram
}

/// The ellipsoid of the quadric that is nearest to 1 at every point; `None` when the quadric is
/// not an ellipsoid.
///
/// # Source
///
/// The plain quadric fit: rows x², y², z², 2xy, 2xz, 2yz, 2x, 2y, 2z against 1 (common practice,
/// no source).
pub(super) fn ellipsoid(cloud: &Cloud) -> Option<Surface> {
    let q = normal(cloud, |[x, y, z]| {
        let squares = [x * x, y * y, z * z, 2.0 * x * y, 2.0 * x * z, 2.0 * y * z];
        let [a, b, c, d, e, f] = squares;
        ([a, b, c, d, e, f, 2.0 * x, 2.0 * y, 2.0 * z], 1.0)
    })
    .solve(0.0)?;
    let a = shape::symmetric([q[0], q[3], q[4], q[1], q[5], q[2]]);
    let b = [q[6], q[7], q[8]];
    let offset = vector::apply(&vector::inverse(&a)?, b).map(|v| -v);
    let k = 1.0 + vector::dot(offset, vector::apply(&a, offset));
    let root = shape::square_root(&a.map(|row| row.map(|v| v / k)))?;
    Some(Surface { offset, root })
}

/// The sphere |p|² = 2p·V + (R² − |V|²) by linear least squares; `None` when the points do not
/// fix one.
pub(super) fn sphere(cloud: &Cloud) -> Option<Surface> {
    let q = normal(cloud, |p| ([2.0 * p[0], 2.0 * p[1], 2.0 * p[2], 1.0], vector::dot(p, p)))
        .solve(0.0)?;
    let offset = [q[0], q[1], q[2]];
    let radius_2 = q[3] + vector::dot(offset, offset);
    if radius_2 <= 0.0 || !radius_2.is_finite() {
        return None;
    }
    Some(Surface::sphere(offset, 1.0 / radius_2.sqrt()))
}

/// The circle through points of the plane z = 0 by linear least squares; `None` when they do not
/// fix one.
pub(super) fn circle(cloud: &Cloud) -> Option<Surface> {
    let q = normal(cloud, |p| ([2.0 * p[0], 2.0 * p[1], 1.0], vector::dot(p, p))).solve(0.0)?;
    let radius_2 = q[2] + q[0] * q[0] + q[1] * q[1];
    if radius_2 <= 0.0 || !radius_2.is_finite() {
        return None;
    }
    Some(Surface::sphere([q[0], q[1], 0.0], 1.0 / radius_2.sqrt()))
}

/// The ellipse of the conic that is nearest to 1 at every point of the plane z = 0; `None` when the
/// conic is not an ellipse.
pub(super) fn ellipse(cloud: &Cloud) -> Option<Surface> {
    let q = normal(cloud, |[x, y, _]| ([x * x, y * y, 2.0 * x * y, 2.0 * x, 2.0 * y], 1.0))
        .solve(0.0)?;
    // The third axis is any: a 1 that neither the centre nor the root of the others sees.
    let a = [[q[0], q[2], 0.0], [q[2], q[1], 0.0], [0.0, 0.0, 1.0]];
    let [x, y, _] = vector::apply(&vector::inverse(&a)?, [q[3], q[4], 0.0]);
    let k = 1.0 + x * q[3] + y * q[4];
    let root = shape::square_root(&a.map(|row| row.map(|v| v / k)))?;
    Some(Ellipse::surface(&[-x, -y, root[0][0], root[0][1], root[1][1]]))
}
