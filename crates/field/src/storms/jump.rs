//! Jumps: places where the field changes within minutes and stays.
//!
//! The mean of ten minutes after a moment less the mean of ten minutes before it, with four
//! minutes between them for the rise, is compared with what such differences usually are.

use super::even::{Even, Sums};
use record::{Instant, NANOS_PER_SECOND};
use signal::robust;

/// Minutes averaged on each side, seconds.
const SIDE_S: f64 = 600.0;

/// Left out between the sides, seconds: commencements rise within two to six minutes.
const RISE_S: f64 = 240.0;

/// Share of a side that must be there.
const FEWEST: f64 = 0.6;

/// Rises tried, seconds.
const RISES_S: [f64; 9] = [0.0, 30.0, 60.0, 120.0, 180.0, 240.0, 300.0, 420.0, 600.0];

/// A change of level within minutes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jump {
    /// When it begins.
    pub time: Instant,
    /// Standard uncertainty of that, seconds.
    pub time_sigma_s: f64,
    /// Its size along the mean horizontal field, across it to the right, and down, nT.
    pub size_nt: [f64; 3],
    /// What such differences usually are, a robust standard deviation for each, nT.
    pub usual_nt: [f64; 3],
    /// How long it took, seconds.
    pub rise_s: f64,
    /// The longest that the samples allow (twice the standard uncertainty), seconds.
    pub rise_most_s: f64,
    /// Whether more than half of it is still there ten to twenty minutes later.
    pub stays: bool,
}

impl Jump {
    /// Size over the usual, of the component in which it stands out most.
    pub fn score(&self) -> f64 {
        score(&self.size_nt, &self.usual_nt)
    }

    /// Length of its vector, nT.
    pub fn total_nt(&self) -> f64 {
        record::vector::norm(self.size_nt)
    }
}

fn score(size: &[f64; 3], usual: &[f64; 3]) -> f64 {
    size.iter().zip(usual).map(|(d, s)| d.abs() / s).fold(0.0, f64::max)
}

/// A record made ready for looking.
pub struct Search<'a> {
    even: &'a Even,
    sums: [Sums; 3],
    side: usize,
    gap: usize,
    /// Robust standard deviation of the differences of each component, nT.
    pub usual_nt: [f64; 3],
}

impl<'a> Search<'a> {
    /// Makes a record ready.
    pub fn new(even: &'a Even) -> Self {
        let sums = [0, 1, 2].map(|c| Sums::of(&even.values[c]));
        let step_s = even.step_ns as f64 / NANOS_PER_SECOND as f64;
        let side = even.steps(SIDE_S).max(2);
        let gap = if step_s < RISE_S { even.steps(RISE_S) } else { 0 };
        let mut search = Self { even, sums, side, gap, usual_nt: [f64::NAN; 3] };
        search.usual_nt = search.usual();
        search
    }

    fn usual(&self) -> [f64; 3] {
        let places = (self.side..self.even.len()).step_by(self.side);
        let steps: Vec<[f64; 3]> = places.filter_map(|k| self.step(k)).collect();
        [0, 1, 2].map(|c| {
            let sizes: Vec<f64> = steps.iter().map(|s| s[c].abs()).collect();
            // A record that never changes has no usual change: anything stands out of it.
            (1.4826 * robust::median(&sizes).unwrap_or(f64::NAN)).max(1e-3_f64)
        })
    }

    /// Means after a place less means before it; `None` where too little is there.
    fn step(&self, k: usize) -> Option<[f64; 3]> {
        self.difference(k.checked_sub(self.side)?, k, k + self.gap, k + self.gap + self.side)
    }

    fn difference(&self, a: usize, b: usize, c: usize, d: usize) -> Option<[f64; 3]> {
        let mut out = [0.0; 3];
        for (slot, sums) in out.iter_mut().zip(&self.sums) {
            *slot = sums.mean(c, d, FEWEST)? - sums.mean(a, b, FEWEST)?;
        }
        Some(out)
    }

    /// Mean vector of a stretch of time of which half is there.
    pub(super) fn mean(&self, from: Instant, to: Instant) -> Option<[f64; 3]> {
        let (a, b) = (self.even.place(from), self.even.place(to));
        let mut out = [0.0; 3];
        for (slot, sums) in out.iter_mut().zip(&self.sums) {
            *slot = sums.mean(a, b, 0.5)?;
        }
        Some(out)
    }

    /// The difference across a moment, nT, as far as the record has it.
    pub fn change_at(&self, instant: Instant) -> Option<[f64; 3]> {
        self.step(self.even.place(instant))
    }

    /// Every place where a component differs by `sigmas` of its usual and by `least_nt`, the
    /// largest of neighbouring ones; in order of time.
    pub fn all(&self, sigmas: f64, least_nt: f64) -> Vec<Jump> {
        let mut best: Option<(usize, f64)> = None;
        let mut last = 0;
        let mut out = Vec::new();
        for k in self.side..self.even.len() {
            let Some(size) = self.step(k) else { continue };
            let score = score(&size, &self.usual_nt);
            if score < sigmas || size.iter().all(|d| d.abs() < least_nt) {
                continue;
            }
            let near = k - last <= self.side;
            last = k;
            match best {
                Some((_, s)) if near && score <= s => {}
                Some(_) if near => best = Some((k, score)),
                _ => out.extend(best.replace((k, score)).and_then(|(at, _)| self.jump(at))),
            }
        }
        out.extend(best.and_then(|(at, _)| self.jump(at)));
        out
    }

    /// The greatest rise along the mean horizontal field between two moments, if it stands out by
    /// `sigmas` and `least_nt` and stays.
    pub fn rise(&self, from: Instant, to: Instant, sigmas: f64, least_nt: f64) -> Option<Jump> {
        let least = least_nt.max(sigmas * self.usual_nt[0]);
        (self.even.place(from)..self.even.place(to))
            .filter_map(|k| Some((k, self.step(k)?[0])))
            .filter(|(_, size)| *size >= least)
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .and_then(|(k, _)| self.jump(k))
            .filter(|jump| jump.stays)
    }

    fn jump(&self, k: usize) -> Option<Jump> {
        let size_nt = self.step(k)?;
        let end = k + self.gap + self.side;
        let later = self.difference(k.checked_sub(self.side)?, k, end, end + self.side);
        let stays = later.is_none_or(|l| {
            record::vector::dot(l, size_nt) > 0.5 * record::vector::dot(size_nt, size_nt)
        });
        let fitted = self.fitted(k, &size_nt);
        Some(Jump {
            time: Instant(self.even.first.0 + (fitted.start * self.even.step_ns as f64) as i64),
            time_sigma_s: fitted.sigma_s,
            size_nt,
            usual_nt: self.usual_nt,
            rise_s: fitted.rise_s,
            rise_most_s: fitted.rise_most_s,
            stays,
        })
    }

    /// Beginning and length of the rise: the level, a ramp with level ends, and another level, by
    /// least squares over all beginnings and lengths.
    fn fitted(&self, k: usize, size: &[f64; 3]) -> Fitted {
        let step_s = self.even.step_ns as f64 / NANOS_PER_SECOND as f64;
        let from = k.saturating_sub(self.side);
        let to = (k + self.gap + self.side).min(self.even.len());
        // Along the jump, each component weighed by its noise.
        let weight = [0, 1, 2].map(|c| size[c] / (self.usual_nt[c] * self.usual_nt[c]));
        let unit = record::vector::dot(weight, *size);
        let samples: Vec<(f64, f64)> = (from..to)
            .map(|p| {
                let about = [0, 1, 2].map(|c| {
                    let level = self.sums[c].mean(from, to, 0.0).unwrap_or(0.0);
                    self.even.values[c][p] - level
                });
                (p as f64, record::vector::dot(weight, about) / unit)
            })
            .filter(|(_, v)| v.is_finite())
            .collect();
        likely_ramp(&samples, k as f64, (self.side + self.gap) as f64, step_s)
    }
}

struct Fitted {
    start: f64,
    sigma_s: f64,
    rise_s: f64,
    rise_most_s: f64,
}

/// Ramps through samples whose times count in steps.  The beginning is the mean over all ramps
/// tried, each weighed by how likely it makes the samples: beginning and length of a rise are hard
/// to tell apart in noise, and the best ramp alone would scatter more.
fn likely_ramp(samples: &[(f64, f64)], middle: f64, reach: f64, step_s: f64) -> Fitted {
    let fine = (10.0 / step_s).min(1.0);
    let tries = (1.6 * reach / fine) as usize;
    let starts: Vec<f64> = (0..=tries).map(|j| middle - 0.8 * reach + j as f64 * fine).collect();
    let residues: Vec<Vec<f64>> = RISES_S
        .iter()
        .map(|rise_s| starts.iter().map(|s| residue(samples, *s, rise_s / step_s)).collect())
        .collect();
    let least = residues.iter().flatten().copied().fold(f64::INFINITY, f64::min);
    let one = (least / (samples.len() as f64 - 4.0).max(1.0)).max(f64::MIN_POSITIVE);
    let (mut sum, mut sum_t, mut sum_tt, mut sum_rise) = (0.0, 0.0, 0.0, 0.0);
    let mut rise_most_s = 0.0;
    for (rise_s, list) in RISES_S.iter().zip(&residues) {
        for (start, left) in starts.iter().zip(list) {
            let weight = libm::exp(-0.5 * (left - least) / one);
            let t = start - middle;
            sum += weight;
            sum_t += weight * t;
            sum_tt += weight * t * t;
            sum_rise += weight * rise_s;
            if *left <= least + 4.0 * one {
                rise_most_s = *rise_s;
            }
        }
    }
    let mean = sum_t / sum;
    let width_s = (sum_tt / sum - mean * mean).max(0.0).sqrt() * step_s;
    Fitted {
        start: middle + mean,
        // No better than where in a step the change fell.
        sigma_s: libm::hypot(width_s, step_s / 12f64.sqrt()),
        rise_s: sum_rise / sum,
        rise_most_s,
    }
}

/// Sum of squares left by a level and a ramp.
fn residue(samples: &[(f64, f64)], start: f64, rise: f64) -> f64 {
    let n = samples.len() as f64;
    let (mut s, mut ss, mut y, mut yy, mut sy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (t, v) in samples {
        let u =
            if rise > 0.0 { ((t - start) / rise).clamp(0.0, 1.0) } else { f64::from(*t >= start) };
        let ramp = u * u * (3.0 - 2.0 * u);
        s += ramp;
        ss += ramp * ramp;
        y += v;
        yy += v * v;
        sy += ramp * v;
    }
    let (ss, sy, yy) = (ss - s * s / n, sy - s * y / n, yy - y * y / n);
    if ss > 0.0 { (yy - sy * sy / ss).max(0.0) } else { yy.max(0.0) }
}
