//! The readings of a turning log as points, centred and brought to a size of about one.
//!
//! Fits of raw numbers near 50,000 beside their squares lose half of their digits; fits of these
//! do not.

use record::vector::{Mat3, Vec3};

/// Points about their mean, over their root-mean-square distance from it.
#[derive(Clone, Debug)]
pub(super) struct Cloud {
    /// Scaled points.
    pub points: Vec<Vec3>,
    /// Which sample each point was.
    pub samples: Vec<usize>,
    /// Mean of the raw points.
    pub centre: Vec3,
    /// Raw units in one scaled unit; 0 when all points are the same.
    pub scale: f64,
}

impl Cloud {
    /// The samples that `keep` lets through and whose three values are finite.
    pub(super) fn gather(raw: [&[f64]; 3], keep: impl Fn(usize) -> bool) -> Self {
        let n = raw.iter().map(|list| list.len()).min().unwrap_or(0);
        let at = |k: usize| [raw[0][k], raw[1][k], raw[2][k]];
        let samples: Vec<usize> =
            (0..n).filter(|k| keep(*k) && at(*k).iter().all(|v| v.is_finite())).collect();
        let count = samples.len() as f64;
        let centre: Vec3 =
            std::array::from_fn(|axis| samples.iter().map(|k| raw[axis][*k]).sum::<f64>() / count);
        let mut points: Vec<Vec3> =
            samples.iter().map(|k| record::vector::sub(at(*k), centre)).collect();
        let squares: f64 = points.iter().map(|p| record::vector::dot(*p, *p)).sum();
        let scale = (squares / count).sqrt();
        let divide = if scale > 0.0 { 1.0 / scale } else { 0.0 };
        points.iter_mut().flatten().for_each(|v| *v *= divide);
        Self { points, samples, centre, scale }
    }

    pub(super) fn len(&self) -> usize {
        self.points.len()
    }

    /// The same cloud without some of its points.
    pub(super) fn only(&self, keep: impl Fn(usize) -> bool) -> Self {
        let places = (0..self.len()).filter(|k| keep(*k));
        let (points, samples) = places.map(|k| (self.points[k], self.samples[k])).unzip();
        Self { points, samples, ..*self }
    }

    /// One point of every so many, so that no more than `most` are left; which one changes from
    /// stretch to stretch, or a fault that comes round as often would be missed or doubled.
    pub(super) fn thinned(&self, most: usize) -> Self {
        let step = self.len().div_ceil(most.max(1)).max(1);
        let pick = |k: usize| (k / step * 7919 + k / step / 13) % step;
        self.only(|k| k % step == pick(k))
    }

    /// Standard deviation along the flattest and along the longest direction, with the flattest
    /// direction itself.
    pub(super) fn spread(&self) -> (f64, f64, Vec3) {
        let n = self.len() as f64;
        let mut mean = [0.0; 3];
        for p in &self.points {
            for (m, v) in mean.iter_mut().zip(p) {
                *m += v / n;
            }
        }
        let mut covariance: Mat3 = [[0.0; 3]; 3];
        for p in &self.points {
            let d = record::vector::sub(*p, mean);
            for (row, a) in covariance.iter_mut().zip(d) {
                for (entry, b) in row.iter_mut().zip(d) {
                    *entry += a * b / n;
                }
            }
        }
        let (values, vectors) = super::shape::eigen(&covariance);
        (values[0].max(0.0).sqrt(), values[2].max(0.0).sqrt(), vectors[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cloud_is_centred_and_of_unit_size_and_knows_its_samples() {
        let x = [10.0, f64::NAN, 14.0, 99.0];
        let cloud = Cloud::gather([&x, &[1.0; 4], &[0.0; 4]], |k| k != 3);
        assert_eq!(cloud.samples, [0, 2]);
        assert_eq!((cloud.centre, cloud.scale), ([12.0, 1.0, 0.0], 2.0));
        assert_eq!(cloud.points, [[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]]);
    }

    #[test]
    fn a_flat_cloud_is_flat_across_its_plane() {
        let angles = (0..60).map(|k| f64::from(k) * 0.1);
        let (x, y): (Vec<f64>, Vec<f64>) = angles.map(|a| (libm::cos(a), libm::sin(a))).unzip();
        let z: Vec<f64> = x.iter().zip(&y).map(|(x, y)| 0.5 * x + 0.5 * y).collect();
        let (flat, long, axis) = Cloud::gather([&x, &y, &z], |_| true).spread();
        assert!(flat < 1e-9 * long);
        assert!((axis[0] / axis[2] + 0.5).abs() < 1e-9);
    }
}
