//! The readings of a turning log as points, centred and brought to a size of about one.
//!
//! Fits of raw numbers near 50,000 beside their squares lose half of their digits; fits of these
//! do not.

use super::shape::{self, ENTRIES};
use record::vector::{self, Vec3};

/// Points about their mean, over their root-mean-square distance from it.
#[derive(Clone, Debug)]
pub(super) struct Cloud {
    /// Points, scaled once [`Self::centred`].
    pub points: Vec<Vec3>,
    /// Which sample each point was.
    pub samples: Vec<usize>,
    /// Mean of the raw points.
    pub centre: Vec3,
    /// Raw units in one scaled unit; 0 when all points are the same.
    pub scale: f64,
}

impl Cloud {
    /// The samples that `keep` lets through and whose three values are finite, as they are.
    pub(super) fn gather(raw: [&[f64]; 3], keep: impl Fn(usize) -> bool) -> Self {
        let n = raw.iter().map(|list| list.len()).min().unwrap_or(0);
        let (mut points, mut samples) = (Vec::with_capacity(n), Vec::with_capacity(n));
        let [x, y, z] = raw.map(|list| &list[..n]);
        for k in 0..n {
            let p = [x[k], y[k], z[k]];
            if keep(k) && p.iter().all(|v| v.is_finite()) {
                points.push(p);
                samples.push(k);
            }
        }
        Self { points, samples, centre: [0.0; 3], scale: 1.0 }
    }

    /// Raw points brought about their mean and to a root-mean-square distance of 1 from it.
    pub(super) fn centred(mut self) -> Self {
        let count = self.len() as f64;
        let mut sums = [0.0; 3];
        for p in &self.points {
            sums = [sums[0] + p[0], sums[1] + p[1], sums[2] + p[2]];
        }
        self.centre = sums.map(|sum| sum / count);
        let mut squares = 0.0;
        for p in &mut self.points {
            *p = vector::sub(*p, self.centre);
            squares += vector::dot(*p, *p);
        }
        self.scale = (squares / count).sqrt();
        let divide = if self.scale > 0.0 { 1.0 / self.scale } else { 0.0 };
        for p in &mut self.points {
            *p = vector::scale(*p, divide);
        }
        self
    }

    pub(super) fn len(&self) -> usize {
        self.points.len()
    }

    /// The same cloud with the points at these places alone.
    fn at(&self, places: impl Iterator<Item = usize>, most: usize) -> Self {
        let (mut points, mut samples) = (Vec::with_capacity(most), Vec::with_capacity(most));
        for k in places {
            points.push(self.points[k]);
            samples.push(self.samples[k]);
        }
        Self { points, samples, ..*self }
    }

    /// The same cloud without some of its points.
    pub(super) fn only(&self, keep: impl Fn(usize) -> bool) -> Self {
        self.at((0..self.len()).filter(|k| keep(*k)), self.len())
    }

    /// One point of every so many, so that no more than `most` are left; which one changes from
    /// stretch to stretch, or a fault that comes round as often would be missed or doubled.
    pub(super) fn thinned(&self, most: usize) -> Self {
        let step = self.len().div_ceil(most.max(1)).max(1);
        let count = self.len().div_ceil(step);
        let place = |k: usize| k * step + (k * 7919 + k / 13) % step;
        self.at((0..count).map(place).filter(|k| *k < self.len()), count)
    }

    /// Standard deviation along the flattest and along the longest direction, with the flattest
    /// direction itself; for a cloud that is about its mean.
    pub(super) fn spread(&self) -> (f64, f64, Vec3) {
        let mut sums = [0.0; 6];
        for p in &self.points {
            for (sum, (a, b)) in sums.iter_mut().zip(ENTRIES) {
                *sum += p[a] * p[b];
            }
        }
        let n = self.len() as f64;
        let (values, vectors) = shape::eigen(&shape::symmetric(sums.map(|sum| sum / n)));
        // The least of three values of very different size is best taken from the points.
        let across = |p: &Vec3| vector::dot(*p, vectors[0]);
        let flat = self.points.iter().map(across).map(|v| v * v).sum::<f64>() / n;
        (flat.sqrt(), values[2].max(0.0).sqrt(), vectors[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cloud_is_centred_and_of_unit_size_and_knows_its_samples() {
        let x = [10.0, f64::NAN, 14.0, 99.0];
        let cloud = Cloud::gather([&x, &[1.0; 4], &[0.0; 4]], |k| k != 3).centred();
        assert_eq!(cloud.samples, [0, 2]);
        assert_eq!((cloud.centre, cloud.scale), ([12.0, 1.0, 0.0], 2.0));
        assert_eq!(cloud.points, [[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]]);
    }

    #[test]
    fn a_flat_cloud_is_flat_across_its_plane() {
        let angles = (0..60).map(|k| f64::from(k) * 0.1);
        let (x, y): (Vec<f64>, Vec<f64>) = angles.map(|a| (libm::cos(a), libm::sin(a))).unzip();
        let z: Vec<f64> = x.iter().zip(&y).map(|(x, y)| 0.5 * x + 0.5 * y).collect();
        let (flat, long, axis) = Cloud::gather([&x, &y, &z], |_| true).centred().spread();
        assert!(flat < 1e-9 * long);
        assert!((axis[0] / axis[2] + 0.5).abs() < 1e-9);
    }
}
