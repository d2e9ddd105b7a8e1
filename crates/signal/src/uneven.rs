//! Sums of c_j exp(2 pi i k x_j) over uneven places x_j for all whole k of a
//! range at once.
//!
//! In: places in turns and complex coefficients, one at a time.  Out: the sums.
//! Each coefficient is spread with a smooth kernel over the nearest cells of a
//! fine even grid, the grid is transformed, and the kernel's own transform
//! divided out.
//!
//! # Source
//!
//! A. Dutt and V. Rokhlin, SIAM J. Sci. Comput. 14 (1993) 1368 (the idea);
//! Kaiser-Bessel kernel and its width: J. I. Jackson et al., IEEE Trans. Med.
//! Imaging 10 (1991) 473.  Error at most 1e-10 of the sum of |c|, near 1e-12
//! in the middle of the range, for a width of 12 on a grid twice as fine.

use crate::fft::{Complex, Plan, quick_length};
use crate::window::bessel_i0;
use std::f64::consts::PI;

/// Cells that a coefficient is spread over.
const WIDTH: usize = 12;
/// Shape of the kernel for a grid twice as fine.
const BETA: f64 = 0.75 * PI * WIDTH as f64;
/// Coefficients of the polynomials that stand for the kernel in each cell.
const TERMS: usize = 17;

/// A grid and its kernel, for a number of modes.
pub(crate) struct Transform {
    count: usize,
    cells: usize,
    /// Coefficients by falling power, each for all cells.
    kernel: [[f64; WIDTH]; TERMS],
}

impl Transform {
    /// For `count` modes.
    pub(crate) fn new(count: usize) -> Self {
        let cells = quick_length(2 * count.max(2 * WIDTH));
        Self { count, cells, kernel: kernel() }
    }

    /// An empty grid, with room at its end for what spreads over the edge.
    pub(crate) fn grid(&self) -> Vec<Complex> {
        vec![Complex::new(0.0, 0.0); self.cells + WIDTH]
    }

    /// Spreads coefficients at one place, in turns, over as many grids.
    pub(crate) fn spread<const N: usize>(
        &self,
        turns: f64,
        coefficients: [Complex; N],
        grids: [&mut Vec<Complex>; N],
    ) {
        let place = (turns - libm::floor(turns)) * self.cells as f64;
        let first = libm::ceil(place);
        let weights = self.weights(first - place);
        // Cell `first` is the one just above; the kernel starts WIDTH / 2 below.
        let start = (first as usize + self.cells - WIDTH / 2) % self.cells;
        for (coefficient, grid) in coefficients.iter().zip(grids) {
            for (cell, weight) in grid[start..start + WIDTH].iter_mut().zip(&weights) {
                cell.re += coefficient.re * weight;
                cell.im += coefficient.im * weight;
            }
        }
    }

    /// Kernel at each cell, the first whole cell lying `above` the place.
    fn weights(&self, above: f64) -> [f64; WIDTH] {
        let s = 2.0 * above - 1.0;
        let mut out = self.kernel[0];
        for coefficients in &self.kernel[1..] {
            for (value, coefficient) in out.iter_mut().zip(coefficients) {
                *value = *value * s + coefficient;
            }
        }
        out
    }

    /// The sums for k = -middle, 1 - middle ... in order, of each grid.
    pub(crate) fn modes<const N: usize>(
        &self,
        grids: [Vec<Complex>; N],
        middle: usize,
    ) -> [Vec<Complex>; N] {
        let plan = Plan::inverse(self.cells);
        let most = middle.max(self.count - middle);
        let shares: Vec<f64> =
            (0..=most).map(|k| 1.0 / kernel_transform(k as f64 / self.cells as f64)).collect();
        grids.map(|mut grid| {
            for place in 0..WIDTH {
                let over = grid[self.cells + place];
                grid[place] += over;
            }
            grid.truncate(self.cells);
            plan.run(&mut grid);
            let mode = |k: usize| {
                let cell = if k < middle { k + self.cells - middle } else { k - middle };
                grid[cell] * shares[k.abs_diff(middle)]
            };
            (0..self.count).map(mode).collect()
        })
    }
}

/// I0(beta sqrt(1 - z^2)) at z = offset / half width.
fn kernel_at(offset: f64) -> f64 {
    let z = 2.0 * offset / WIDTH as f64;
    bessel_i0(BETA * (1.0 - z * z).max(0.0).sqrt())
}

/// Integral of the kernel times exp(2 pi i f x), f in turns a cell.
fn kernel_transform(f: f64) -> f64 {
    let omega = PI * WIDTH as f64 * f;
    let root = (BETA * BETA - omega * omega).sqrt();
    WIDTH as f64 * libm::sinh(root) / root
}

/// Polynomials in s = 2 `above` - 1 for the kernel at each cell.
fn kernel() -> [[f64; WIDTH]; TERMS] {
    let mut out = [[0.0; WIDTH]; TERMS];
    for cell in 0..WIDTH {
        let offset = cell as f64 - (WIDTH / 2) as f64;
        let powers = interpolate(|s| kernel_at(offset + 0.5 * (s + 1.0)));
        for (row, value) in out.iter_mut().zip(powers.iter().rev()) {
            row[cell] = *value;
        }
    }
    out
}

/// Power-series coefficients, lowest first, of the polynomial through a
/// function at the Chebyshev places of -1..1.
fn interpolate(f: impl Fn(f64) -> f64) -> [f64; TERMS] {
    let n = TERMS as f64;
    let mut out = [0.0; TERMS];
    let (mut before, mut now) = ([0.0; TERMS], [0.0; TERMS]);
    now[0] = 1.0;
    for k in 0..TERMS {
        let angle = |j: usize| PI * (j as f64 + 0.5) / n;
        let sum: f64 =
            (0..TERMS).map(|j| f(libm::cos(angle(j))) * libm::cos(k as f64 * angle(j))).sum();
        let c = sum * if k == 0 { 1.0 } else { 2.0 } / n;
        out.iter_mut().zip(&now).for_each(|(o, t)| *o += c * t);
        // The next Chebyshev polynomial, 2 s T_k - T_(k-1); T_1 = s.
        let factor = if k == 0 { 1.0 } else { 2.0 };
        let mut next = before.map(|v| -v);
        for power in 1..TERMS {
            next[power] += factor * now[power - 1];
        }
        (before, now) = (now, next);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rotor::pair;

    #[test]
    fn the_sums_are_those_of_their_definition() {
        for count in [1, 2, 37, 500] {
            let transform = Transform::new(count);
            let mut grid = transform.grid();
            let points: Vec<(f64, Complex)> = (0..90)
                .map(|j| {
                    let j = f64::from(j);
                    (0.37 * j * j - 8.0, Complex::new(libm::cos(j), 0.3 - libm::sin(1.7 * j)))
                })
                .collect();
            for (turns, c) in &points {
                transform.spread(*turns, [*c], [&mut grid]);
            }
            let middle = count / 2;
            let [found] = transform.modes([grid], middle);
            for (k, found) in found.iter().enumerate() {
                let mode = k as f64 - middle as f64;
                let turned = |turns: f64| {
                    let (c, s) = pair(mode * (turns - libm::round(turns)));
                    Complex::new(c, s)
                };
                let sum: Complex = points.iter().map(|(turns, c)| c * turned(*turns)).sum();
                assert!((found - sum).norm() < 90.0 * 1e-10, "{count} {k} {found} {sum}");
            }
        }
    }

    #[test]
    fn the_polynomials_stand_for_the_kernel() {
        let transform = Transform::new(10);
        for step in 0..=100 {
            let above = f64::from(step) / 100.0;
            for (cell, weight) in transform.weights(above).iter().enumerate() {
                let expected = kernel_at(cell as f64 - (WIDTH / 2) as f64 + above);
                assert!((weight - expected).abs() < 1e-12 * bessel_i0(BETA));
            }
        }
    }
}
