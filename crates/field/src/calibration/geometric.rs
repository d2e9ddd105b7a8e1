//! The geometric fit: every calibrated vector as near as can be to the same length.
//!
//! Minimises Σ ρ(|S(p − V)| − 1) over the offset V and the matrix S by the Levenberg–Marquardt
//! method with analytic derivatives, in one pass over the points an iteration.

// Plain indices in the loops over points: see `gram`.
#![allow(clippy::needless_range_loop)]

use super::shape;
use crate::gram::{BLOCK, Block, Gram, dot};
use nalgebra::SMatrix;
use record::vector::{self, Mat3, Vec3};

/// An offset and a symmetric matrix that brings points to length one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Surface {
    pub offset: Vec3,
    pub root: Mat3,
}

impl Surface {
    pub(super) fn sphere(offset: Vec3, inverse_radius: f64) -> Self {
        let s = inverse_radius;
        Self { offset, root: [[s, 0.0, 0.0], [0.0, s, 0.0], [0.0, 0.0, s]] }
    }

    /// The calibrated vector of a point, of length about one.
    pub(super) fn bring(&self, p: Vec3) -> Vec3 {
        vector::apply(&self.root, vector::sub(p, self.offset))
    }

    /// Length of the calibrated vector less one.
    pub(super) fn residual(&self, p: Vec3) -> f64 {
        vector::norm(self.bring(p)) - 1.0
    }
}

/// A family of surfaces with `P` numbers to find.
pub(super) trait Family<const P: usize> {
    fn numbers(surface: &Surface) -> [f64; P];
    fn surface(numbers: &[f64; P]) -> Surface;
    /// Derivatives of the family's residual at a point, and that residual.
    fn row(surface: &Surface, p: Vec3) -> ([f64; P], f64);
    /// The family's residual over [`Surface::residual`].
    fn unit(surface: &Surface) -> f64;
    /// Covariance of offset and six matrix entries from that of the family's numbers.
    fn spread(surface: &Surface, own: &SMatrix<f64, P, P>) -> SMatrix<f64, 9, 9>;
}

/// Offset and full symmetric matrix.
pub(super) struct Ellipsoid;

impl Family<9> for Ellipsoid {
    fn numbers(surface: &Surface) -> [f64; 9] {
        let ([x, y, z], [a, b, c, d, e, f]) = (surface.offset, shape::entries(&surface.root));
        [x, y, z, a, b, c, d, e, f]
    }

    fn surface(n: &[f64; 9]) -> Surface {
        let root = shape::symmetric([n[3], n[4], n[5], n[6], n[7], n[8]]);
        Surface { offset: [n[0], n[1], n[2]], root }
    }

    #[inline]
    fn row(surface: &Surface, p: Vec3) -> ([f64; 9], f64) {
        let d = vector::sub(p, surface.offset);
        let b = vector::apply(&surface.root, d);
        let length = vector::norm(b);
        let u = vector::scale(b, 1.0 / length);
        let back = vector::apply(&surface.root, u);
        let row = [
            -back[0],
            -back[1],
            -back[2],
            u[0] * d[0],
            u[0] * d[1] + u[1] * d[0],
            u[0] * d[2] + u[2] * d[0],
            u[1] * d[1],
            u[1] * d[2] + u[2] * d[1],
            u[2] * d[2],
        ];
        (row, length - 1.0)
    }

    fn unit(_: &Surface) -> f64 {
        1.0
    }

    fn spread(_: &Surface, own: &SMatrix<f64, 9, 9>) -> SMatrix<f64, 9, 9> {
        *own
    }
}

/// Offset and one radius.  Its residual is the distance from the sphere: that of the calibrated
/// length would favour a sphere too large where directions are few.
pub(super) struct Sphere;

impl Family<4> for Sphere {
    fn numbers(surface: &Surface) -> [f64; 4] {
        let [x, y, z] = surface.offset;
        [x, y, z, 1.0 / surface.root[0][0]]
    }

    fn surface(n: &[f64; 4]) -> Surface {
        Surface::sphere([n[0], n[1], n[2]], 1.0 / n[3])
    }

    fn row(surface: &Surface, p: Vec3) -> ([f64; 4], f64) {
        let d = vector::sub(p, surface.offset);
        let length = vector::norm(d);
        let [x, y, z] = d.map(|v| -v / length);
        ([x, y, z, -1.0], length - Self::unit(surface))
    }

    fn unit(surface: &Surface) -> f64 {
        1.0 / surface.root[0][0]
    }

    fn spread(surface: &Surface, own: &SMatrix<f64, 4, 4>) -> SMatrix<f64, 9, 9> {
        let s = surface.root[0][0];
        // Each diagonal entry is 1/R.
        let mut change = SMatrix::<f64, 9, 4>::zeros();
        for k in 0..3 {
            change[(k, k)] = 1.0;
        }
        for k in [3, 6, 8] {
            change[(k, 3)] = -s * s;
        }
        change * own * change.transpose()
    }
}

/// A circle in the plane z = 0: centre and radius.
pub(super) struct Circle;

impl Family<3> for Circle {
    fn numbers(surface: &Surface) -> [f64; 3] {
        [surface.offset[0], surface.offset[1], 1.0 / surface.root[0][0]]
    }

    fn surface(n: &[f64; 3]) -> Surface {
        Surface::sphere([n[0], n[1], 0.0], 1.0 / n[2])
    }

    fn row(surface: &Surface, p: Vec3) -> ([f64; 3], f64) {
        let ([x, y, _, r], residual) = Sphere::row(surface, p);
        ([x, y, r], residual)
    }

    fn unit(surface: &Surface) -> f64 {
        Sphere::unit(surface)
    }

    fn spread(surface: &Surface, own: &SMatrix<f64, 3, 3>) -> SMatrix<f64, 9, 9> {
        // Nothing is known, and nothing claimed, across the plane.
        let mut sphere = SMatrix::<f64, 4, 4>::zeros();
        for (a, from) in [0, 1, 3].into_iter().enumerate() {
            for (b, to) in [0, 1, 3].into_iter().enumerate() {
                sphere[(from, to)] = own[(a, b)];
            }
        }
        Sphere::spread(surface, &sphere)
    }
}

/// An ellipse in the plane z = 0: centre, and the symmetric matrix of the plane.  Across the plane
/// the scale is the mean of those within.
pub(super) struct Ellipse;

impl Family<5> for Ellipse {
    fn numbers(surface: &Surface) -> [f64; 5] {
        let (v, s) = (surface.offset, surface.root);
        [v[0], v[1], s[0][0], s[0][1], s[1][1]]
    }

    fn surface(n: &[f64; 5]) -> Surface {
        let across = (n[2] * n[4] - n[3] * n[3]).sqrt();
        let root = shape::symmetric([n[2], n[3], 0.0, n[4], 0.0, across]);
        Surface { offset: [n[0], n[1], 0.0], root }
    }

    fn row(surface: &Surface, p: Vec3) -> ([f64; 5], f64) {
        let (r, residual) = Ellipsoid::row(surface, p);
        ([r[0], r[1], r[3], r[4], r[6]], residual)
    }

    fn unit(_: &Surface) -> f64 {
        1.0
    }

    fn spread(surface: &Surface, own: &SMatrix<f64, 5, 5>) -> SMatrix<f64, 9, 9> {
        let s = surface.root;
        let mut change = SMatrix::<f64, 9, 5>::zeros();
        for (k, to) in [0, 1, 3, 4, 6].into_iter().enumerate() {
            change[(to, k)] = 1.0;
        }
        // The scale across is √(ac − b²).
        for (k, slope) in [(2, s[1][1]), (3, -2.0 * s[0][1]), (4, s[0][0])] {
            change[(8, k)] = slope / (2.0 * s[2][2]);
        }
        change * own * change.transpose()
    }
}

/// How residuals are weighed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Loss {
    /// Least squares.
    Square,
    /// Huber's: squares to 1.345 scales, straight beyond.
    Huber(f64),
    /// Tukey's bisquare: nothing beyond 4.685 scales counts.
    Tukey(f64),
}

/// 95 % efficiency on normal residuals; Huber 1981, Robust Statistics.
const HUBER: f64 = 1.345;
/// 95 % efficiency on normal residuals; Holland and Welsch 1977, doi 10.1080/03610927708827533.
const TUKEY: f64 = 4.685;

impl Loss {
    /// Weight of a residual in the normal equations and twice its share of the cost.
    pub(super) fn weigh(self, r: f64) -> (f64, f64) {
        match self {
            Self::Square => (1.0, r * r),
            Self::Huber(scale) => {
                let limit = HUBER * scale;
                if r.abs() <= limit {
                    (1.0, r * r)
                } else {
                    (limit / r.abs(), 2.0 * limit * r.abs() - limit * limit)
                }
            }
            Self::Tukey(scale) => {
                let limit = TUKEY * scale;
                let t = r / limit;
                let left = (1.0 - t * t).max(0.0);
                (left * left, limit * limit / 3.0 * (1.0 - left * left * left))
            }
        }
    }

    /// Weight and slope of the influence ψ at a residual: ψ = w r and ψ′.
    pub(super) fn influence(self, r: f64) -> (f64, f64) {
        let weight = self.weigh(r).0;
        let slope = match self {
            Self::Square => 1.0,
            Self::Huber(scale) => f64::from(u8::from(r.abs() <= HUBER * scale)),
            Self::Tukey(scale) => {
                let t = r / (TUKEY * scale);
                let left = (1.0 - t * t).max(0.0);
                left * (left - 4.0 * t * t)
            }
        };
        (weight * r, slope)
    }
}

/// Where a fit ended.
pub(super) struct Fitted<const P: usize> {
    pub surface: Surface,
    /// Normal equations there, or a last small step before; weighted as the loss says.
    pub gram: Gram<P>,
}

/// Most iterations; from an algebraic start three to six are usual.
const MOST: usize = 60;
/// What is left to go, in the scaled unit, when a fit ends.
const ENOUGH: f64 = 1e-9;
/// A step after which the JᵀJ before it serves on: in error by about this share of itself.
pub(super) const NEAR: f64 = 1e-3;

/// The design and the residuals of up to [`BLOCK`] points at a surface, weighed, with their cost.
#[cfg_attr(target_arch = "wasm32", target_feature(enable = "simd128"))]
fn fill<const P: usize, F: Family<P>>(
    chunk: &[Vec3],
    surface: &Surface,
    loss: Loss,
    block: &mut Block<P>,
) -> f64 {
    if chunk.len() < BLOCK {
        *block = Block::empty();
    }
    for k in 0..chunk.len().min(BLOCK) {
        let (row, r) = F::row(surface, chunk[k]);
        block.set(k, row, -r);
    }
    if loss == Loss::Square {
        return dot(&block.right, &block.right);
    }
    let mut cost = 0.0;
    let mut roots = [0.0; BLOCK];
    for (root, r) in roots.iter_mut().zip(&mut block.right).take(chunk.len()) {
        let (weight, share) = loss.weigh(*r);
        *root = weight.sqrt();
        *r *= *root;
        cost += share;
    }
    for column in &mut block.columns {
        column.iter_mut().zip(&roots).for_each(|(v, root)| *v *= root);
    }
    cost
}

/// Normal equations and cost at a surface; with `slope_only`, JᵀJ is left nought.
fn pass<const P: usize, F: Family<P>>(
    points: &[Vec3],
    surface: &Surface,
    loss: Loss,
    slope_only: bool,
) -> (Gram<P>, f64) {
    let mut gram = Gram::empty();
    let mut cost = 0.0;
    let mut block = Block::empty();
    for chunk in points.chunks(BLOCK) {
        cost += fill::<P, F>(chunk, surface, loss, &mut block);
        if slope_only {
            gram.add_slope(&block);
        } else {
            gram.add(&block);
        }
    }
    (gram, cost)
}

/// Refines a surface; `None` when the points do not fix it or the fit runs away.
///
/// # Source
///
/// Marquardt 1963, doi 10.1137/0111030; damping as in Madsen, Nielsen and Tingleff 2004, Methods
/// for Non-Linear Least Squares Problems (from memory).
pub(super) fn refine<const P: usize, F: Family<P>>(
    points: &[Vec3],
    start: &Surface,
    loss: Loss,
) -> Option<Fitted<P>> {
    let mut numbers = F::numbers(start);
    let (mut gram, mut cost) = pass::<P, F>(points, start, loss, false);
    let mut damping = 1e-6;
    let mut before = f64::INFINITY;
    for _ in 0..MOST {
        let Some(step) = gram.solve(damping) else {
            if damping > 1e8 {
                return None;
            }
            damping *= 100.0;
            continue;
        };
        let trial: [f64; P] = std::array::from_fn(|k| numbers[k] + step[k]);
        let size = step.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
        // Steps shrink by about the same share each time; what is left after this one is that
        // share of it.
        let share = (size / before).max(1e-3);
        if damping <= 1e-6 && share < 0.3 && size * share < ENOUGH {
            numbers = trial;
            break;
        }
        let surface = F::surface(&trial);
        // So near the end JᵀJ hardly changes any more.
        let near = size < NEAR;
        let (mut next, next_cost) = pass::<P, F>(points, &surface, loss, near);
        if near {
            next.jtj = gram.jtj;
        }
        // Near the end rounding alone can raise the cost of a step too small to matter.
        let better = next_cost <= cost || size < 1e-8 && next_cost <= cost * (1.0 + 1e-9) + 1e-30;
        if better {
            (numbers, gram, cost, before) = (trial, next, next_cost, size);
            damping *= 0.01;
            if size < ENOUGH {
                break;
            }
        } else {
            before = f64::INFINITY;
            damping = (damping * 30.0).max(1e-6);
            if damping > 1e12 {
                break;
            }
        }
    }
    let sound = numbers.iter().all(|v| v.is_finite()) && cost.is_finite();
    sound.then(|| Fitted { surface: F::surface(&numbers), gram })
}

/// Normal equations of plain least squares at a surface.
pub(super) fn plain_gram<const P: usize, F: Family<P>>(
    points: &[Vec3],
    surface: &Surface,
) -> Gram<P> {
    pass::<P, F>(points, surface, Loss::Square, false).0
}

/// The scores Jᵢ ψᵢ of each point, in order; of a long log, sums of neighbours, no more than
/// `most` or, if that is more, one of a block.
pub(super) fn scores<const P: usize, F: Family<P>>(
    points: &[Vec3],
    surface: &Surface,
    loss: Loss,
    most: usize,
) -> Vec<[f64; P]> {
    let mut block = Block::empty();
    let mut out = Vec::with_capacity(points.len().min(most.max(points.len() / BLOCK + 1)));
    for chunk in points.chunks(BLOCK) {
        fill::<P, F>(chunk, surface, Loss::Square, &mut block);
        for r in block.right.iter_mut().filter(|_| loss != Loss::Square) {
            *r = loss.influence(*r).0;
        }
        if points.len() > most {
            let mut gram = Gram::empty();
            gram.add_slope(&block);
            out.push(gram.jtr);
        } else {
            for k in 0..chunk.len() {
                let mut score = [0.0; P];
                for j in 0..P {
                    score[j] = block.columns[j][k] * block.right[k];
                }
                out.push(score);
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const SURFACE: Surface = Surface {
        offset: [0.1, -0.2, 0.05],
        root: [[1.1, 0.04, -0.02], [0.04, 0.95, 0.03], [-0.02, 0.03, 1.02]],
    };

    fn slopes_are_right<const P: usize, F: Family<P>>(surface: &Surface) {
        // A flat family knows the plane z = 0 alone.
        let p = if P == 5 { [0.7, 0.3, 0.0] } else { [0.7, 0.3, -0.6] };
        let numbers = F::numbers(surface);
        let (row, r) = F::row(surface, p);
        assert!((r - F::unit(surface) * surface.residual(p)).abs() < 1e-14);
        for k in 0..P {
            let moved = |by: f64| {
                let mut n = numbers;
                n[k] += by;
                F::row(&F::surface(&n), p).1
            };
            let slope = (moved(1e-6) - moved(-1e-6)) / 2e-6;
            assert!((row[k] - slope).abs() < 1e-8, "{k}: {} {slope}", row[k]);
        }
    }

    #[test]
    fn derivatives_are_differences_of_residuals() {
        slopes_are_right::<9, Ellipsoid>(&SURFACE);
        slopes_are_right::<4, Sphere>(&Surface::sphere([0.1, 0.2, -0.1], 0.9));
        let flat = Ellipse::surface(&[0.1, -0.2, 1.1, 0.04, 0.95]);
        slopes_are_right::<5, Ellipse>(&flat);
    }

    #[test]
    fn a_weight_is_the_slope_of_its_loss_over_the_residual() {
        for loss in [Loss::Square, Loss::Huber(0.1), Loss::Tukey(0.1)] {
            for r in [-0.6, -0.3, -0.05, 0.02, 0.13, 0.4] {
                let slope = (loss.weigh(r + 1e-6).1 - loss.weigh(r - 1e-6).1) / 4e-6;
                let (psi, psi_slope) = loss.influence(r);
                assert!((loss.weigh(r).0 * r - slope).abs() < 1e-8, "{loss:?} {r}");
                let bend = (loss.influence(r + 1e-6).0 - loss.influence(r - 1e-6).0) / 2e-6;
                assert!((psi - slope).abs() < 1e-8 && (psi_slope - bend).abs() < 1e-6);
            }
        }
    }
}
