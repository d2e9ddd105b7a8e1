//! Three components on even steps, as fine as the log has them: where jumps are looked for.

use record::{Instant, NANOS_PER_SECOND};

/// Shortest step, seconds: finer logs are averaged to it, since a commencement takes minutes.
const SHORTEST_S: f64 = 10.0;

/// Most steps; longer logs get longer ones.
const MOST: f64 = 4.0e6;

/// Components at the middles of even steps, NaN where nothing is.
#[derive(Clone, Debug, PartialEq)]
pub struct Even {
    /// Middle of the first step.
    pub first: Instant,
    /// Length of a step, nanoseconds.
    pub step_ns: i64,
    /// Along the mean horizontal field, across it to the right, and down, nT about their medians
    /// or any other level.
    pub values: [Vec<f64>; 3],
}

impl Even {
    /// Averages samples over even steps of `cadence_s` or a little more; `None` for no sample that
    /// `keep` lets through.
    pub fn new(
        times_ns: &[i64],
        components: [&[f64]; 3],
        keep: impl Fn(usize) -> bool,
        cadence_s: f64,
    ) -> Option<Self> {
        let kept = || times_ns.iter().enumerate().filter(|(k, _)| keep(*k));
        let (low, high) =
            kept().fold((i64::MAX, i64::MIN), |(l, h), (_, t)| (l.min(*t), h.max(*t)));
        // As long as days are laid out for, at the most.
        if low > high || high.saturating_sub(low) > crate::days::MOST_DAYS * crate::days::DAY_NS {
            return None;
        }
        let span_s = (high - low) as f64 / NANOS_PER_SECOND as f64;
        let step_s = cadence_s.max(SHORTEST_S).max(span_s / MOST);
        let step_ns = (step_s * NANOS_PER_SECOND as f64) as i64;
        let place = |t: i64| ((t - low + step_ns / 2) / step_ns) as usize;
        let n = place(high) + 1;
        let values = components.map(|list| {
            let (mut sums, mut counts) = (vec![0.0; n], vec![0.0; n]);
            for (k, t) in kept() {
                if let Some(v) = list.get(k).filter(|v| v.is_finite()) {
                    sums[place(*t)] += v;
                    counts[place(*t)] += 1.0;
                }
            }
            sums.iter().zip(&counts).map(|(sum, count)| sum / count).collect()
        });
        Some(Self { first: Instant(low), step_ns, values })
    }

    /// Number of steps.
    pub fn len(&self) -> usize {
        self.values[0].len()
    }

    /// Whether there is no step.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Middle of a step.
    pub fn at(&self, place: usize) -> Instant {
        Instant(self.first.0 + place as i64 * self.step_ns)
    }

    /// The step that holds an instant, cut at the ends.
    pub fn place(&self, instant: Instant) -> usize {
        let place = (instant.0 - self.first.0 + self.step_ns / 2).div_euclid(self.step_ns.max(1));
        (place.max(0) as usize).min(self.len())
    }

    /// Steps in a length of time, one at the least.
    pub fn steps(&self, seconds: f64) -> usize {
        let step_s = self.step_ns as f64 / NANOS_PER_SECOND as f64;
        ((seconds / step_s).round() as usize).max(1)
    }
}

/// Running sums of a list with gaps, for means over any stretch at once.
pub(super) struct Sums {
    level: f64,
    sums: Vec<f64>,
    counts: Vec<u32>,
}

impl Sums {
    pub(super) fn of(list: &[f64]) -> Self {
        let level = list.iter().copied().find(|v| v.is_finite()).unwrap_or(0.0);
        let (mut sums, mut counts) = (vec![0.0], vec![0]);
        let (mut sum, mut count) = (0.0, 0);
        for v in list {
            if v.is_finite() {
                sum += v - level;
                count += 1;
            }
            sums.push(sum);
            counts.push(count);
        }
        Self { level, sums, counts }
    }

    /// Mean of a stretch of which at least a share is there.
    pub(super) fn mean(&self, from: usize, to: usize, share: f64) -> Option<f64> {
        if to <= from || to >= self.sums.len() {
            return None;
        }
        let count = f64::from(self.counts[to] - self.counts[from]);
        (count > 0.0 && count >= share * (to - from) as f64)
            .then(|| self.level + (self.sums[to] - self.sums[from]) / count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_fall_on_the_nearest_step_and_holes_stay_holes() {
        let second = NANOS_PER_SECOND;
        let times = [0, 30 * second, 31 * second, 90 * second];
        let values = [1.0, 2.0, 4.0, 8.0];
        let even = Even::new(&times, [&values, &values, &values], |_| true, 30.0).unwrap();
        assert_eq!((even.len(), even.values[0][0], even.values[0][1]), (4, 1.0, 3.0));
        assert!(even.values[0][2].is_nan());
        assert_eq!(even.place(even.at(3)), 3);
        assert_eq!((even.steps(600.0), even.steps(1.0)), (20, 1));
        assert!(Even::new(&times, [&values, &values, &values], |_| false, 30.0).is_none());
    }

    #[test]
    fn a_mean_wants_enough_of_its_stretch() {
        let sums = Sums::of(&[50_000.0, f64::NAN, 50_002.0, f64::NAN]);
        assert_eq!(sums.mean(0, 3, 0.6), Some(50_001.0));
        assert_eq!(sums.mean(1, 2, 0.1), None);
        assert_eq!(sums.mean(2, 9, 0.1), None);
    }
}
