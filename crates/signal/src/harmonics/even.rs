//! Harmonics of readings at even steps, without computing a sine a reading.
//!
//! In: a series with gaps as NaN, its interval, periods.  Out: [`Harmonics`]
//! with phases counted from the first reading.
//!
//! # Method
//!
//! Products of columns are sums of cosines at sums and differences of two
//! frequencies over the unbroken runs: geometric series, known in closed form.
//! Products with the readings are taken block by block with one table of sines
//! for all blocks, turned on to where each block starts.

use super::solve::{Triangle, alike, conclude};
use super::{HarmonicError, Harmonics, check_periods};
use crate::rotor::{Rotor, pair_at};
use crate::stats::mean;
use std::f64::consts::PI;
use std::ops::Range;

/// Fits a mean and sines of given periods to an evenly spaced series.
///
/// # Arguments and units
///
/// * `x` - any unit; missing readings (not finite) are skipped and counted
/// * `interval_s` - seconds from reading to reading
/// * `periods_s` - seconds, all different
///
/// # Errors
///
/// [`HarmonicError`] as for [`super::fit()`].
///
/// # Accuracy
///
/// As [`super::fit()`] within 1e-10 of the scatter.
pub fn fit_even(x: &[f64], interval_s: f64, periods_s: &[f64]) -> Result<Harmonics, HarmonicError> {
    check_periods(periods_s)?;
    if !(interval_s > 0.0 && interval_s.is_finite()) {
        return Err(HarmonicError::Interval(interval_s));
    }
    let unknowns = 2 * periods_s.len() + 1;
    let used = x.iter().filter(|v| v.is_finite()).count();
    if used < unknowns {
        return Err(HarmonicError::TooFew { samples: used, unknowns });
    }
    let turns: Vec<f64> = periods_s.iter().map(|p| interval_s / p).collect();
    let products = column_products(&runs(x), &turns);
    let triangle = Triangle::new(&products, unknowns)
        .map_err(|column| alike(column, periods_s, interval_s * (x.len() - 1) as f64))?;
    let waves = Waves::new(&turns);
    let level = mean(x).unwrap_or(0.0);
    let mut rest: Vec<f64> = x.iter().map(|v| v - level).collect();
    let mut coefficients = vec![0.0; unknowns];
    // The second round takes off the rounding of the first.
    for _ in 0..2 {
        let step = triangle.solve(&waves.project(&rest));
        waves.take_off(&step, &mut rest);
        coefficients.iter_mut().zip(&step).for_each(|(c, s)| *c += s);
    }
    coefficients[0] += level;
    Ok(conclude(&triangle, &coefficients, periods_s, &rest, used, x.len() - used))
}

/// Unbroken stretches.
fn runs(x: &[f64]) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = Vec::new();
    for (place, value) in x.iter().enumerate() {
        if !value.is_finite() {
            continue;
        }
        match out.last_mut() {
            Some(run) if run.end == place => run.end += 1,
            _ => out.push(place..place + 1),
        }
    }
    out
}

/// Sums of cos and sin of 2 pi `turns` k over the places k of runs.
fn wave_sums(runs: &[Range<usize>], turns: f64) -> (f64, f64) {
    let off = turns - libm::round(turns);
    let bottom = libm::sin(PI * off);
    let (mut cosines, mut sines) = (0.0, 0.0);
    for run in runs {
        let len = (run.end - run.start) as u64;
        // sin(L w / 2) / sin(w / 2), turned to the middle of the run.
        let height = if bottom == 0.0 { len as f64 } else { pair_at(off / 2.0, len).1 / bottom };
        let (c, s) = pair_at(off / 2.0, (run.start + run.end - 1) as u64);
        cosines += height * c;
        sines += height * s;
    }
    (cosines, sines)
}

/// Products of the columns 1, cos, sin, cos, sin... (lower triangle).
fn column_products(runs: &[Range<usize>], turns: &[f64]) -> Vec<f64> {
    let size = 2 * turns.len() + 1;
    let mut out = vec![0.0; size * size];
    out[0] = runs.iter().map(|run| (run.end - run.start) as f64).sum();
    for (i, f) in turns.iter().enumerate() {
        let row = 2 * i + 1;
        (out[row * size], out[(row + 1) * size]) = wave_sums(runs, *f);
        for (j, g) in turns[..=i].iter().enumerate() {
            let column = 2 * j + 1;
            let (c_less, s_less) = wave_sums(runs, f - g);
            let (c_more, s_more) = wave_sums(runs, f + g);
            out[row * size + column] = 0.5 * (c_less + c_more);
            out[row * size + column + 1] = 0.5 * (s_more - s_less);
            out[(row + 1) * size + column] = 0.5 * (s_more + s_less);
            out[(row + 1) * size + column + 1] = 0.5 * (c_less - c_more);
        }
    }
    out
}

/// Readings in a block.
const BLOCK: usize = 512;

/// Tables of each wave over one block.
struct Waves {
    turns: Vec<f64>,
    tables: Vec<(Vec<f64>, Vec<f64>)>,
}

impl Waves {
    fn new(turns: &[f64]) -> Self {
        let table = |f: &f64| Rotor::new(*f).take(BLOCK).unzip();
        Self { turns: turns.to_vec(), tables: turns.iter().map(table).collect() }
    }

    /// Products of the readings with 1 and each wave; missing ones add nothing.
    fn project(&self, x: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; 2 * self.turns.len() + 1];
        let mut block = [0.0; BLOCK];
        for (number, part) in x.chunks(BLOCK).enumerate() {
            for (slot, value) in block.iter_mut().zip(part) {
                *slot = if value.is_finite() { *value } else { 0.0 };
            }
            let block = &block[..part.len()];
            out[0] += sum(block);
            for (k, (cosines, sines)) in self.tables.iter().enumerate() {
                let (a, b) = (dot(block, cosines), dot(block, sines));
                let (c, s) = pair_at(self.turns[k], (number * BLOCK) as u64);
                out[2 * k + 1] += c * a - s * b;
                out[2 * k + 2] += s * a + c * b;
            }
        }
        out
    }

    /// Takes a mean and waves off the readings.
    fn take_off(&self, coefficients: &[f64], x: &mut [f64]) {
        for (number, part) in x.chunks_mut(BLOCK).enumerate() {
            part.iter_mut().for_each(|value| *value -= coefficients[0]);
            for (k, (cosines, sines)) in self.tables.iter().enumerate() {
                let (p, q) = (coefficients[2 * k + 1], coefficients[2 * k + 2]);
                let (c, s) = pair_at(self.turns[k], (number * BLOCK) as u64);
                let (p, q) = (p * c + q * s, q * c - p * s);
                for ((value, cosine), sine) in part.iter_mut().zip(cosines).zip(sines) {
                    *value -= p * cosine + q * sine;
                }
            }
        }
    }
}

fn sum(x: &[f64]) -> f64 {
    dot(x, &[1.0; BLOCK])
}

/// A product summed in four lanes.
fn dot(x: &[f64], y: &[f64]) -> f64 {
    let mut lanes = [0.0; 4];
    let (xs, ys) = (x.chunks_exact(4), y[..x.len()].chunks_exact(4));
    let rest: f64 = xs.remainder().iter().zip(ys.remainder()).map(|(a, b)| a * b).sum();
    for (a, b) in xs.zip(ys) {
        for lane in 0..4 {
            lanes[lane] += a[lane] * b[lane];
        }
    }
    (lanes[0] + lanes[1]) + (lanes[2] + lanes[3]) + rest
}

#[cfg(test)]
mod tests {
    use super::super::fit;
    use super::*;
    use crate::trial::Seeded;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn even_steps_and_general_times_give_the_same_fit(
            x in prop::collection::vec(
                prop_oneof![9 => -50.0..50.0f64, 1 => Just(f64::NAN)], 300..1400),
            p in 40.0..90.0f64, q in 110.0..300.0f64,
        ) {
            let times: Vec<f64> = (0..x.len()).map(|i| 3.0 * i as f64).collect();
            let general = fit(&times, &x, &[p, q]).unwrap();
            let even = fit_even(&x, 3.0, &[p, q]).unwrap();
            prop_assert!((general.level - even.level).abs() < 1e-9);
            prop_assert!((general.residual_sd - even.residual_sd).abs() < 1e-9);
            for (a, b) in general.terms.iter().zip(&even.terms) {
                prop_assert!((a.cos - b.cos).abs() < 1e-9 && (a.sin - b.sin).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn stated_uncertainties_are_those_of_repeated_trials_white_or_correlated() {
        for memory in [0.0, 0.8] {
            let mut seeded = Seeded(5);
            let (mut squares, trials) = (0.0, 60);
            for _ in 0..trials {
                let noise = seeded.remembering(2000, memory);
                let wave = |i: usize| libm::cos(2.0 * PI * i as f64 / 500.0);
                let x: Vec<f64> = noise.iter().enumerate().map(|(i, v)| v + wave(i)).collect();
                let term = fit_even(&x, 1.0, &[500.0]).unwrap().terms[0];
                squares += ((term.amplitude - 1.0) / term.amplitude_sigma).powi(2);
                squares += (term.phase_rad / term.phase_sigma_rad).powi(2);
            }
            let ratio = squares / f64::from(2 * trials);
            assert!((0.55..1.7).contains(&ratio), "{memory}: {ratio}");
        }
    }

    #[test]
    fn a_wave_at_half_the_rate_or_without_readings_is_refused() {
        let x = [1.0; 64];
        assert!(matches!(fit_even(&x, 1.0, &[2.0]), Err(HarmonicError::Alike { .. })));
        assert!(matches!(fit_even(&x, 1.0, &[1.0]), Err(HarmonicError::Alike { .. })));
        assert!(matches!(fit_even(&x, 0.0, &[5.0]), Err(HarmonicError::Interval(_))));
        assert!(matches!(fit_even(&[f64::NAN; 9], 1.0, &[5.0]), Err(HarmonicError::TooFew { .. })));
    }
}
