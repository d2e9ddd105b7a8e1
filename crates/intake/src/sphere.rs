//! How a triple of columns lies in space: the length of its vector, and the
//! sphere that fits it.
//!
//! The fit is the linear one, |m|² = 2 m·v + (r² − |v|²), on centred and scaled
//! samples; good enough to tell a turned field sensor from anything else, and
//! not meant for calibration.  Rows with a NaN are left out.

/// A sphere and how well it fits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ball {
    /// Its radius, in the unit of the columns.
    pub radius: f64,
    /// Distance of its centre from zero.
    pub offset: f64,
    /// Root mean square of the distances from its surface, over the radius.
    pub relative: f64,
    /// How far apart samples lie along the axis on which they lie closest, over
    /// the radius.
    pub narrowest: f64,
    /// The same along the axis on which they lie farthest.
    pub widest: f64,
}

impl Ball {
    /// Whether the samples reach over enough of the sphere to show it.
    pub(crate) fn turned(&self) -> bool {
        self.widest > 0.8 && self.narrowest > 0.15
    }
}

/// Whether a length in nanotesla can be the Earth's field at its surface.
pub(crate) fn earthly(nanotesla: f64) -> bool {
    (22_000.0..=67_000.0).contains(&nanotesla)
}

/// Samples looked at.
const LOOKED_AT: usize = 5_000;

fn samples(axes: [&[f64]; 3]) -> Vec<[f64; 3]> {
    let n = axes.iter().map(|a| a.len()).min().unwrap_or(0);
    let stride = n.div_ceil(LOOKED_AT).max(1);
    (0..n)
        .step_by(stride)
        .map(|k| [axes[0][k], axes[1][k], axes[2][k]])
        .filter(|m| m.iter().all(|v| v.is_finite()))
        .collect()
}

fn length(m: [f64; 3]) -> f64 {
    record::vector::norm(m)
}

/// The sphere about zero: median length, and the spread of lengths (half of
/// the middle 68 %) over it.  Radius 0 and an infinite spread without samples.
pub(crate) fn about_zero(axes: [&[f64]; 3]) -> Ball {
    let mut lengths: Vec<f64> = samples(axes).into_iter().map(length).collect();
    record::sort::ascending(&mut lengths);
    let n = lengths.len();
    if n == 0 {
        return Ball {
            radius: 0.0,
            offset: 0.0,
            relative: f64::INFINITY,
            narrowest: 0.0,
            widest: 0.0,
        };
    }
    let radius = lengths[n / 2];
    let half = (lengths[n - 1 - n * 16 / 100] - lengths[n * 16 / 100]) / 2.0;
    let relative = if radius > 0.0 { half / radius } else { f64::INFINITY };
    Ball { radius, offset: 0.0, relative, narrowest: 0.0, widest: 0.0 }
}

/// The sphere of least squares; `None` for fewer than 20 samples or samples
/// that lie in a plane or a point.
pub(crate) fn fit(axes: [&[f64]; 3]) -> Option<Ball> {
    let m = samples(axes);
    if m.len() < 20 {
        return None;
    }
    let n = m.len() as f64;
    let mean = [0, 1, 2].map(|k| m.iter().map(|s| s[k]).sum::<f64>() / n);
    let scale = m.iter().map(|s| length(record::vector::sub(*s, mean))).fold(0.0, f64::max);
    if scale <= 0.0 || !scale.is_finite() {
        return None;
    }
    let centred: Vec<[f64; 3]> =
        m.iter().map(|s| record::vector::sub(*s, mean).map(|v| v / scale)).collect();
    let mut system = [[0.0; 5]; 4];
    for s in &centred {
        let row =
            [2.0 * s[0], 2.0 * s[1], 2.0 * s[2], 1.0, s[0] * s[0] + s[1] * s[1] + s[2] * s[2]];
        for i in 0..4 {
            for j in 0..5 {
                system[i][j] += row[i] * row[j] / n;
            }
        }
    }
    let [cx, cy, cz, k] = solve(system)?;
    let centre = [cx, cy, cz];
    let radius = (k + record::vector::dot(centre, centre)).sqrt();
    let off = centred.iter().map(|s| {
        let d = length(record::vector::sub(*s, centre)) - radius;
        d * d
    });
    let relative = (off.sum::<f64>() / n).sqrt() / radius;
    let spread = [0, 1, 2].map(|axis| {
        let ends = |(low, high): (f64, f64), s: &[f64; 3]| (low.min(s[axis]), high.max(s[axis]));
        let (low, high) = centred.iter().fold((f64::MAX, f64::MIN), ends);
        (high - low) / radius
    });
    let narrowest = spread.into_iter().fold(f64::MAX, f64::min);
    let widest = spread.into_iter().fold(0.0, f64::max);
    let place = [0, 1, 2].map(|axis| centre[axis] * scale + mean[axis]);
    let ball = Ball { radius: radius * scale, offset: length(place), relative, narrowest, widest };
    (relative.is_finite() && ball.radius > 0.0).then_some(ball)
}

// Gauss elimination with partial pivoting; `None` when singular.
fn solve(mut a: [[f64; 5]; 4]) -> Option<[f64; 4]> {
    for column in 0..4 {
        let pivot =
            (column..4).max_by(|i, j| a[*i][column].abs().total_cmp(&a[*j][column].abs()))?;
        a.swap(column, pivot);
        if a[column][column].abs() < 1e-9 {
            return None;
        }
        let (above, below) = a.split_at_mut(column + 1);
        let lead = &above[column];
        for row in below {
            let factor = row[column] / lead[column];
            row.iter_mut().zip(lead).skip(column).for_each(|(a, b)| *a -= factor * b);
        }
    }
    let mut out = [0.0; 4];
    for row in (0..4).rev() {
        let known: f64 = (row + 1..4).map(|k| a[row][k] * out[k]).sum();
        out[row] = (a[row][4] - known) / a[row][row];
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turned_sensor_lies_on_a_sphere_about_its_offset() {
        let mut axes = [vec![], vec![], vec![]];
        for k in 0..500 {
            let (z, turn) = (1.0 - f64::from(k) / 250.0, f64::from(k) * 2.4);
            let r = (1.0 - z * z).max(0.0).sqrt();
            axes[0].push(100.0 + 50.0 * r * libm::cos(turn));
            axes[1].push(-20.0 + 50.0 * r * libm::sin(turn));
            axes[2].push(50.0 * z);
        }
        let ball = fit([&axes[0], &axes[1], &axes[2]]).unwrap();
        assert!((ball.radius - 50.0).abs() < 1e-9 && ball.relative < 1e-12);
        assert!((ball.offset - libm::hypot(100.0, 20.0)).abs() < 1e-9);
        assert!(about_zero([&axes[0], &axes[1], &axes[2]]).relative > 0.1);
    }

    #[test]
    fn a_level_turn_has_no_sphere() {
        let circle: Vec<f64> = (0..100).map(|k| libm::cos(f64::from(k))).collect();
        let other: Vec<f64> = (0..100).map(|k| libm::sin(f64::from(k))).collect();
        assert_eq!(fit([&circle, &other, &[1.0; 100]]), None);
    }
}
