//! Sums over tapers and the means, F ratios and adaptive weights made of them.
//!
//! In: each taper's transform, bin by bin.  Out: mean powers with degrees of
//! freedom, and lines.

use super::{Dpss, Weighting};
use crate::fft::Complex;

/// Sums over tapers, one a bin.
pub(super) struct Sums {
    weights: Vec<f64>,
    pub(super) adaptive: bool,
    /// Sum of each taper: its answer to a line.
    answers: Vec<f64>,
    weighted: Vec<f64>,
    plain: Vec<f64>,
    line: Vec<Complex>,
    /// |y|^2 taper by taper, kept for adaptive weights only.
    pub(super) powers: Vec<Vec<f64>>,
}

impl Sums {
    pub(super) fn new(family: &Dpss, weighting: Weighting, bins: usize) -> Self {
        let weights = match weighting {
            Weighting::Equal => vec![1.0; family.tapers.len()],
            _ => family.concentration.clone(),
        };
        Self {
            weights,
            adaptive: weighting == Weighting::Adaptive,
            answers: family.tapers.iter().map(|taper| taper.iter().sum()).collect(),
            weighted: vec![0.0; bins],
            plain: vec![0.0; bins],
            line: vec![Complex::new(0.0, 0.0); bins],
            powers: Vec::new(),
        }
    }

    pub(super) fn add(&mut self, order: usize, bin: usize, y: Complex) {
        let power = y.norm_sqr();
        self.weighted[bin] += self.weights[order] * power;
        self.plain[bin] += power;
        self.line[bin] += y * self.answers[order];
        if self.adaptive {
            self.powers[order][bin] = power;
        }
    }

    /// Mean powers and their degrees of freedom.
    pub(super) fn densities(&self, family: &Dpss, variance: f64) -> (Vec<f64>, Vec<f64>) {
        let bins = self.weighted.len();
        if self.adaptive {
            let each = |bin: usize| {
                let powers: Vec<f64> = self.powers.iter().map(|taper| taper[bin]).collect();
                adapt(&powers, &family.concentration, variance)
            };
            return (0..bins).map(each).unzip();
        }
        let total: f64 = self.weights.iter().sum();
        let squares: f64 = self.weights.iter().map(|w| w * w).sum();
        let mean = self.weighted.iter().map(|sum| sum / total).collect();
        (mean, vec![2.0 * total * total / squares; bins])
    }

    /// F ratios and amplitudes of lines.
    ///
    /// The line's complex height is the least-squares one over the tapers;
    /// what it leaves is the noise it is compared with.
    pub(super) fn lines(&self, n: usize) -> (Vec<f64>, Vec<f64>) {
        let answer: f64 = self.answers.iter().map(|v| v * v).sum();
        let free = self.answers.len() as f64 - 1.0;
        let f = |bin: usize| {
            let explained = self.line[bin].norm_sqr() / answer;
            let rest = (self.plain[bin] - explained).max(0.0);
            if free > 0.0 { free * explained / rest } else { f64::NAN }
        };
        let amplitude = |bin: usize| {
            let sides = if single(bin, n) { 1.0 } else { 2.0 };
            sides * self.line[bin].norm_sqr().sqrt() / answer
        };
        ((0..self.line.len()).map(f).collect(), (0..self.line.len()).map(amplitude).collect())
    }

    /// Mean squared answer of the tapers to a line of unit height.
    pub(super) fn height_at_zero(&self) -> f64 {
        let pairs = self.weights.iter().zip(&self.answers);
        pairs.map(|(w, v)| w * v * v).sum::<f64>() / self.weights.iter().sum::<f64>()
    }
}

/// Whether a bin has no partner at the negative frequency.
fn single(bin: usize, n: usize) -> bool {
    bin == 0 || 2 * bin == n
}

pub(super) fn one_sided(density: &mut [f64], n: usize, rate_hz: f64) {
    for (bin, value) in density.iter_mut().enumerate() {
        *value *= if single(bin, n) { 1.0 } else { 2.0 } / rate_hz;
    }
}

/// Thomson's adaptive mean of one bin's powers and its degrees of freedom.
///
/// A taper's weight is the squared share of its power that belongs to the band,
/// judged by the present estimate; the rest is the leak of a white series of
/// the same variance.
fn adapt(powers: &[f64], concentration: &[f64], variance: f64) -> (f64, f64) {
    let first = &powers[..powers.len().min(2)];
    let mut estimate = first.iter().sum::<f64>() / first.len() as f64;
    let (mut sum, mut squares) = (1.0, 1.0);
    for _ in 0..MOST_ROUNDS {
        let (mut total, mut power) = (0.0, 0.0);
        squares = 0.0;
        for (p, kept) in powers.iter().zip(concentration) {
            let share = estimate / (kept * estimate + (1.0 - kept) * variance);
            let weight = if share.is_finite() { kept * share * share } else { 0.0 };
            total += weight;
            squares += weight * weight;
            power += weight * p;
        }
        sum = total;
        let next = if total > 0.0 { power / total } else { 0.0 };
        let done = (next - estimate).abs() <= 1e-12 * next;
        estimate = next;
        if done {
            break;
        }
    }
    let freedom = if squares > 0.0 { 2.0 * sum * sum / squares } else { 2.0 };
    (estimate, freedom)
}

/// The weights settle geometrically; this many rounds are never needed.
const MOST_ROUNDS: usize = 500;
