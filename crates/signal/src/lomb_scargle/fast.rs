//! The fast way to a periodogram: sums at all frequencies of a grid by
//! transforms, in time n log n.
//!
//! In: samples and a [`Grid`].  Out: a [`Periodogram`], equal to the direct
//! sums within 1e-9 in power.

use super::sums::{Mean, Samples, Sums};
use super::{Grid, LombError, MOST_FREQUENCIES, Periodogram, false_alarm};
use crate::fft::Complex;
use crate::rotor::pair;
use crate::uneven::Transform;

/// The periodogram over a grid of frequencies, with a floating mean.
///
/// # Arguments and units
///
/// * `times_s` - seconds, any order and origin
/// * `values` - any unit; missing ones (not finite) are skipped and counted
/// * `sigmas` - standard uncertainties of the values, or none for equal ones
/// * `grid` - frequencies, hertz
///
/// # Errors
///
/// [`LombError`] when lengths differ, fewer than 4 values can be used, or the
/// grid cannot be.
///
/// # Accuracy
///
/// 1e-9 in power (0 to 1) against direct sums.
///
/// # Source
///
/// M. Zechmeister and M. Kuerster, Astron. Astrophys. 496 (2009) 577; sums by
/// transforms after W. H. Press and G. B. Rybicki, Astrophys. J. 338 (1989)
/// 277, with a spreading kernel in place of their interpolation.
///
/// # Example
///
/// ```
/// use signal::lomb_scargle::{Grid, lomb_scargle};
/// let t: Vec<f64> = (0..300).map(|i| f64::from(i) + 0.3 * f64::from(i % 7)).collect();
/// let y: Vec<f64> = t.iter().map(|t| 5.0 + (2.0 * std::f64::consts::PI * 0.11 * t).sin()).collect();
/// let found = lomb_scargle(&t, &y, None, Grid::up_to(0.5, 300.0, 5.0))?;
/// let peak = found.peaks(1)[0];
/// assert!((peak.frequency_hz - 0.11).abs() < 1e-4);
/// assert!((peak.amplitude - 1.0).abs() < 0.02);
/// # Ok::<(), signal::lomb_scargle::LombError>(())
/// ```
pub fn lomb_scargle(
    times_s: &[f64],
    values: &[f64],
    sigmas: Option<&[f64]>,
    grid: Grid,
) -> Result<Periodogram, LombError> {
    let fits = grid.first_hz > 0.0
        && grid.step_hz > 0.0
        && (1..=MOST_FREQUENCIES).contains(&grid.count)
        && grid.at(grid.count).is_finite();
    if !fits {
        return Err(LombError::Grid(grid));
    }
    let samples = Samples::new(times_s, values, sigmas)?;
    let direct = samples.times_s.len() as u64 * grid.count as u64 <= DIRECT;
    let all = if direct { Vec::new() } else { all_sums(&samples, &grid) };
    let mut power = Vec::with_capacity(grid.count);
    let mut amplitude = Vec::with_capacity(grid.count);
    for k in 0..grid.count {
        let fast = all.get(k).map(|sums: &Sums| sums.solve(Mean::Floating, samples.scatter));
        let found = match fast {
            Some(sine) if sine.determinant > DELICATE => sine,
            _ => samples.sums(grid.at(k)).solve(Mean::Floating, samples.scatter),
        };
        power.push(found.power);
        amplitude.push(found.amplitude);
    }
    let highest_hz = grid.at(grid.count - 1);
    Ok(Periodogram {
        frequency_hz: grid.frequencies(),
        power,
        amplitude,
        samples_used: samples.times_s.len(),
        samples_left_out: samples.left_out,
        span_s: samples.span_s,
        chi2_about_mean: samples.scatter * samples.total_weight,
        bandwidth_times_spread: false_alarm::bandwidth_times_spread(
            &samples.times_s,
            &samples.weights,
            highest_hz,
        ),
    })
}

/// Products of samples and frequencies up to which direct sums are as quick.
const DIRECT: u64 = 100_000;
/// Determinants below this lose too many digits of the fast sums.
const DELICATE: f64 = 1e-3;

/// Sums at every frequency of the grid.
fn all_sums(samples: &Samples, grid: &Grid) -> Vec<Sums> {
    // The grid's middle frequency goes into the coefficients; the transforms
    // then answer steps to both sides of it.
    let middle = grid.count / 2;
    let middle_hz = grid.at(middle);
    let once = Transform::new(grid.count);
    let mut values = once.grid();
    let mut weights = once.grid();
    let mut doubled = once.grid();
    for ((t, w), y) in samples.times_s.iter().zip(&samples.weights).zip(&samples.values) {
        let (c, s) = pair(middle_hz * t);
        let turn = Complex::new(c, s) * *w;
        let twice = Complex::new(c * c - s * s, 2.0 * c * s) * *w;
        once.spread(t * grid.step_hz, [turn * *y, turn], [&mut values, &mut weights]);
        once.spread(2.0 * t * grid.step_hz, [twice], [&mut doubled]);
    }
    let [values, weights, doubled] = once.modes([values, weights, doubled], middle);
    (0..grid.count)
        .map(|k| Sums {
            yc: values[k].re,
            ys: values[k].im,
            c: weights[k].re,
            s: weights[k].im,
            c2: doubled[k].re,
            s2: doubled[k].im,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::{Normalisation, direct};
    use super::*;
    use crate::trial::Seeded;
    use proptest::prelude::*;

    fn uneven(n: usize, seed: u64) -> (Vec<f64>, Vec<f64>) {
        let mut seeded = Seeded(seed);
        let mut now = 1.7e9;
        let times: Vec<f64> = (0..n)
            .map(|_| {
                now += 60.0 * (0.2 + 1.6 * seeded.uniform());
                now
            })
            .collect();
        let values =
            times.iter().map(|t| 48_000.0 + libm::sin(t * 1e-3) + 2.0 * seeded.uniform()).collect();
        (times, values)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]
        #[test]
        fn the_fast_periodogram_equals_direct_sums(
            seed in 1..1000u64, n in 60..300usize, count in 700..1500usize,
            first in 0.1..20.0f64, step in 0.05..2.0f64
        ) {
            let (t, y) = uneven(n, seed);
            let unit = 1.0 / (t[n - 1] - t[0]);
            let grid = Grid { first_hz: first * unit, step_hz: step * unit, count };
            let fast = lomb_scargle(&t, &y, None, grid).unwrap();
            let slow = direct(&t, &y, None, &grid.frequencies(), Mean::Floating).unwrap();
            for (a, b) in fast.power.iter().zip(&slow) {
                prop_assert!((a - b).abs() < 1e-9, "{a} {b}");
            }
        }
    }

    #[test]
    fn uncertainties_weigh_and_missing_values_are_counted() {
        let (t, mut y) = uneven(400, 3);
        let mut sigmas = vec![1.0; 400];
        y[7] = f64::NAN;
        y[8] = 1e9;
        sigmas[8] = 1e12;
        sigmas[9] = 0.0;
        let grid = Grid::up_to(1e-3, t[399] - t[0], 5.0);
        let found = lomb_scargle(&t, &y, Some(&sigmas), grid).unwrap();
        assert_eq!((found.samples_used, found.samples_left_out), (398, 2));
        let slow = direct(&t, &y, Some(&sigmas), &grid.frequencies(), Mean::Floating).unwrap();
        assert!(found.power.iter().zip(&slow).all(|(a, b)| (a - b).abs() < 1e-9));
        let peak = found.peaks(3)[0];
        let off = peak.frequency_hz - 1e-3 / (2.0 * std::f64::consts::PI);
        assert!(off.abs() < 4.0 * peak.frequency_sigma_hz && off.abs() < 5e-6);
        assert!((peak.amplitude - 1.0).abs() < 4.0 * peak.amplitude_sigma);
        assert!(peak.false_alarm < 1e-10);
    }

    #[test]
    fn normalisations_are_those_of_the_explained_share() {
        let (t, y) = uneven(50, 4);
        let found = lomb_scargle(&t, &y, None, Grid::up_to(1e-3, 3000.0, 5.0)).unwrap();
        let p = found.power[3];
        assert_eq!(found.normalised(Normalisation::Standard)[3], p);
        assert!((found.normalised(Normalisation::Model)[3] - p / (1.0 - p)).abs() < 1e-15);
        assert!((found.normalised(Normalisation::Log)[3] + (1.0 - p).ln()).abs() < 1e-15);
        let half = 0.5 * p * found.chi2_about_mean;
        assert_eq!(found.normalised(Normalisation::ChiSquared)[3], half);
    }

    #[test]
    fn what_cannot_be_answered_is_refused() {
        let (t, y) = uneven(50, 5);
        let grid = Grid::up_to(1e-3, 3000.0, 5.0);
        let none = Grid { count: 0, ..grid };
        assert!(matches!(lomb_scargle(&t, &y, None, none), Err(LombError::Grid(_))));
        let zero = Grid { first_hz: 0.0, ..grid };
        assert!(matches!(lomb_scargle(&t, &y, None, zero), Err(LombError::Grid(_))));
        assert_eq!(lomb_scargle(&t, &[5.0; 50], None, grid), Err(LombError::TooFew(50)));
        let few = lomb_scargle(&t[..3], &y[..3], None, grid);
        assert_eq!(few, Err(LombError::TooFew(3)));
        let short = lomb_scargle(&t, &y[..9], None, grid);
        assert_eq!(short, Err(LombError::Length { times: 50, values: 9 }));
        assert!(direct(&[1.0; 9], &y[..9], None, &[1.0], Mean::Floating).is_err());
    }
}
