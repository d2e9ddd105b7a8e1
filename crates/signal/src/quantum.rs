//! Whether values stand on the steps of a digitiser, and how large these are.
//!
//! In: readings.  Out: the step, when there is one.  Calibration, averages and
//! filters wash the steps out: look at the readings themselves.

/// The steps that readings stand on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantum {
    /// The step, in the unit of the readings.
    pub step: f64,
    /// Different levels met.
    pub levels: usize,
    /// Share of the readings that stand on a whole number of steps.
    pub share: f64,
}

impl Quantum {
    /// Standard deviation of the rounding, step / sqrt(12) (closed form, for
    /// readings that cross several steps).
    pub fn rounding_sigma(&self) -> f64 {
        self.step / 12.0_f64.sqrt()
    }
}

/// A level may lie so far off a whole number of steps.
const OFF: f64 = 0.02;
/// So large a share of the readings must stand on steps.
const ENOUGH: f64 = 0.99;

/// The step that the readings stand on; `None` when fewer than 3 levels are
/// met, when most readings differ from all others, or when fewer than 99 % of
/// them lie within 2 % of a whole number of steps.
///
/// The step is the least distance between different levels, made better by
/// the whole span, which is a whole number of them.  Common practice, no
/// source.
pub fn quantum(x: &[f64]) -> Option<Quantum> {
    let mut sorted: Vec<f64> = x.iter().copied().filter(|v| v.is_finite()).collect();
    record::sort::ascending(&mut sorted);
    let (low, high) = (*sorted.first()?, *sorted.last()?);
    let n = sorted.len();
    // Closer than the digits of the readings are the same.
    let same = 1e-9 * (high - low).max(low.abs() * 1e-6).max(high.abs() * 1e-6);
    let gaps = sorted.windows(2).map(|w| w[1] - w[0]).filter(|gap| *gap > same);
    let (levels, least) = gaps.fold((1, f64::INFINITY), |(n, a), gap| (n + 1, a.min(gap)));
    if levels < 3 || 2 * levels > n {
        return None;
    }
    let step = (high - low) / ((high - low) / least).round();
    let on_step = |v: &f64| {
        let steps = (v - low) / step;
        (steps - steps.round()).abs() <= OFF
    };
    let share = sorted.iter().filter(|v| on_step(v)).count() as f64 / n as f64;
    (share >= ENOUGH).then_some(Quantum { step, levels, share })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Seeded;

    #[test]
    fn rounded_noise_shows_its_step() {
        let mut seeded = Seeded(3);
        let x: Vec<f64> = seeded
            .centred(5000)
            .iter()
            .map(|v| 48_000.0 + (v * 400.0 / 13.0).round() * 13.0)
            .collect();
        let found = quantum(&x).unwrap();
        assert!((found.step - 13.0).abs() < 1e-9, "{}", found.step);
        assert_eq!(found.share, 1.0);
        assert!((found.rounding_sigma() - 3.752_776_749_732_568).abs() < 1e-9);
    }

    #[test]
    fn readings_with_all_their_digits_have_no_step() {
        let mut seeded = Seeded(4);
        assert_eq!(quantum(&seeded.centred(5000)), None);
        assert_eq!(quantum(&[1.0; 50]), None);
        assert_eq!(quantum(&[f64::NAN; 5]), None);
    }
}
