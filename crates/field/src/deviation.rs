//! The deviation curve of a compass: what its headings lack on each known heading.
//!
//! Headings of a turntable (every 30° or 45°) and what the sensor said in; the five coefficients
//! of the curve out.  A is misalignment, B and C are hard iron fore-and-aft and athwart, D and E
//! soft iron.  Lengths of the field cannot see A.

use crate::circular::difference_deg;
use crate::linear;
use record::{Quantity, Unit};

/// δ = A + B sin ψ + C cos ψ + D sin 2ψ + E cos 2ψ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Deviation {
    /// A to E, degrees, with their uncertainties.
    pub coefficients_deg: [Quantity; 5],
    /// Root-mean-square of the deviations before, degrees.
    pub rms_before_deg: f64,
    /// Root-mean-square of what the curve leaves, degrees.
    pub rms_after_deg: f64,
    /// Headings used.
    pub n: usize,
}

impl Deviation {
    /// The curve at a heading, degrees.
    pub fn at(&self, heading_deg: f64) -> f64 {
        let values = self.coefficients_deg.map(|q| q.value);
        design(heading_deg).iter().zip(values).map(|(d, c)| d * c).sum()
    }
}

fn design(heading_deg: f64) -> [f64; 5] {
    let (sin, cos) = libm::sincos(heading_deg.to_radians());
    let (sin_2, cos_2) = libm::sincos(2.0 * heading_deg.to_radians());
    [1.0, sin, cos, sin_2, cos_2]
}

/// Fits the curve to known magnetic headings and the sensor's, degrees: deviation is known minus
/// sensor, the short way round.  NaN pairs are left out; `None` for fewer than six or for
/// headings that leave a coefficient unknown.
///
/// # Source
///
/// Handbook of Magnetic Compass Adjustment, Pub. 226: the five coefficients, and for the eight
/// cardinal headings A = Σδ/8, B = (δE − δW)/2 and so on, which least squares gives too.
pub fn fit(known_deg: &[f64], sensor_deg: &[f64]) -> Option<Deviation> {
    let n = known_deg.len().min(sensor_deg.len());
    let deviation = |k: usize| difference_deg(known_deg[k], sensor_deg[k]);
    let found = linear::fit::<5>(n, |k| (design(known_deg[k]), deviation(k)))?;
    let whole = (0..n).map(deviation).filter(|d| d.is_finite());
    let squares: f64 = whole.map(|d| d * d).sum();
    let quantity = |k: usize| Quantity::new(found.coefficients[k], found.sigma[k], Unit::Degree);
    Some(Deviation {
        coefficients_deg: std::array::from_fn(quantity),
        rms_before_deg: (squares / found.n as f64).sqrt(),
        rms_after_deg: found.rms,
        n: found.n,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eight_cardinal_headings_give_the_handbooks_coefficients() {
        // Handbook of Magnetic Compass Adjustment, Pub. 226: A = sum/8, B = (E - W)/2,
        // C = (N - S)/2, D = ((NE + SW) - (SE + NW))/4, E = ((N + S) - (E + W))/4.
        let headings: Vec<f64> = (0..8).map(|k| 45.0 * f64::from(k)).collect();
        let d = [2.0, 3.5, 4.0, 1.0, -1.5, -0.5, -3.0, 0.5];
        // A curve of five coefficients does not meet the three eighth-turn terms; take them out.
        let curve = |p: f64| {
            let v = [0.75, 3.5, 1.75, 0.4, -0.1];
            design(p).iter().zip(v).map(|(d, c)| d * c).sum::<f64>()
        };
        let sensor: Vec<f64> = headings.iter().map(|p| p - curve(*p)).collect();
        let found = fit(&headings, &sensor).unwrap();
        let delta: Vec<f64> = headings.iter().map(|p| curve(*p)).collect();
        let want = [
            delta.iter().sum::<f64>() / 8.0,
            (delta[2] - delta[6]) / 2.0,
            (delta[0] - delta[4]) / 2.0,
            ((delta[1] + delta[5]) - (delta[3] + delta[7])) / 4.0,
            ((delta[0] + delta[4]) - (delta[2] + delta[6])) / 4.0,
        ];
        for (got, want) in found.coefficients_deg.iter().zip(want) {
            assert!((got.value - want).abs() < 1e-12);
        }
        assert!(found.rms_after_deg < 1e-12 && found.rms_before_deg > 1.0);
        assert!((found.at(90.0) - curve(90.0)).abs() < 1e-12);
        // Any eight deviations: A and the semicircular terms are the handbook's all the same.
        let sensor: Vec<f64> = headings.iter().zip(d).map(|(p, d)| p - d + 360.0).collect();
        let found = fit(&headings, &sensor).unwrap();
        assert!((found.coefficients_deg[0].value - d.iter().sum::<f64>() / 8.0).abs() < 1e-12);
    }

    #[test]
    fn an_offset_across_the_field_gives_the_semicircular_coefficients() {
        // 1000 nT forward on 18,000 nT: B of about asin(1/18) = 3.18 degrees.
        let known: Vec<f64> = (0..12).map(|k| 30.0 * f64::from(k)).collect();
        let sensor: Vec<f64> = known
            .iter()
            .map(|p| {
                let (sin, cos) = libm::sincos(p.to_radians());
                crate::elements::magnetic_heading_deg(18_000.0 * cos + 1000.0, -18_000.0 * sin)
            })
            .collect();
        let found = fit(&known, &sensor).unwrap();
        assert!((found.coefficients_deg[1].value - 3.18).abs() < 0.01);
        assert!(found.coefficients_deg[2].value.abs() < 1e-9);
        assert!(fit(&known[..5], &sensor[..5]).is_none());
    }
}
