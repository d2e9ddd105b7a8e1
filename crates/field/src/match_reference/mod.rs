//! A station set against an observatory: the matrix that brings its axes, scales and signs to
//! those of the reference, the lag between the clocks, and how well the two then agree.
//!
//! Both on one even grid, gaps as NaN.  The noisy station is regressed on the quiet observatory
//! and the matrix inverted: the other way round noise would shrink every entry.

mod error;

use crate::linear::{self, Linear};
use crate::{compare, orientation};
use record::vector::{self, Mat3, Vec3};

pub use error::MatchError;

/// How to match.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Largest clock difference sought, seconds each way; 0 takes the clocks as right.
    pub longest_lag_s: f64,
    /// Whether a steady drift of each station component is fitted beside.
    pub drift: bool,
}

impl Default for Options {
    /// Lags to ±30 minutes, with drift.
    fn default() -> Self {
        Self { longest_lag_s: 1800.0, drift: true }
    }
}

/// How a station becomes its reference: reference = matrix · station + offset.
#[derive(Clone, Debug, PartialEq)]
pub struct Match {
    /// Maps a station vector to the reference's axes and scale.
    pub matrix: Mat3,
    /// Standard uncertainty of each entry.
    pub matrix_sigma: Mat3,
    /// Added after the matrix, nT.
    pub offset: Vec3,
    /// How much later the station shows the same thing, seconds: positive when its clock is
    /// behind in time stamps, that is, stamps too late.
    pub lag_s: f64,
    /// The signed permutation of axes nearest to the matrix, such as `+x-y-z`.
    pub axes: String,
    /// Whether the station's axes are left-handed.
    pub left_handed: bool,
    /// Root-mean-square of matched station minus reference, each component, nT.
    pub rms_nt: [f64; 3],
    /// Correlation of matched station and reference, each component.
    pub correlation: [f64; 3],
    /// Share of the station's variance that is not its own noise, each of its components: what a
    /// regression the wrong way round would have shrunk slopes by.
    pub reliability: [f64; 3],
    /// Drift of each station component over the whole record, nT; nought when not fitted.
    pub drift_nt: [f64; 3],
    /// Change of each station component with temperature, nT/°C, with its standard uncertainty;
    /// nought when there was no thermometer.
    pub per_degc_nt: [[f64; 2]; 3],
    /// Temperature at which that is nought: the mean of those used, °C.
    pub reference_degc: f64,
    /// Samples with both.
    pub n: usize,
}

impl Match {
    /// A station vector less drift and temperature, nT: `place` runs from −½ at the beginning of
    /// the grid to ½ at its end; `degc` counts only where there was a thermometer.
    pub fn steadied(&self, station: Vec3, place: f64, degc: f64) -> Vec3 {
        std::array::from_fn(|k| {
            let warm = self.per_degc_nt[k][0];
            let warmth = if warm == 0.0 { 0.0 } else { warm * (degc - self.reference_degc) };
            station[k] - self.drift_nt[k] * place - warmth
        })
    }

    /// A station vector in the reference's frame, nT.  NaN in, NaN out.
    pub fn apply(&self, station: Vec3) -> Vec3 {
        let v = vector::apply(&self.matrix, station);
        std::array::from_fn(|k| v[k] + self.offset[k])
    }
}

const FEWEST: usize = 100;
/// Below this reliability a component says nothing of the reference.
const UNRELATED: f64 = 0.02;

/// Matches a station to a reference.
///
/// # Arguments and units
///
/// * `station`, `reference` - three components each, nT, on one even grid, gaps as NaN
/// * `degc` - the station's temperature on the same grid, where there is a thermometer
/// * `keep` - whether a sample takes part
/// * `cadence_s` - step of the grid, seconds
///
/// # Errors
///
/// [`MatchError`] says what is lacking.
///
/// # Accuracy
///
/// The reference's own noise and the true difference between two places shrink slopes by their
/// share of the reference's variance; uncertainties allow for residuals that are alike.
///
/// # Source
///
/// Fuller 1987, Measurement Error Models (reliability ratio); the steps are common practice, no
/// source.
pub fn fit(
    station: [&[f64]; 3],
    reference: [&[f64]; 3],
    degc: Option<&[f64]>,
    keep: impl Fn(usize) -> bool,
    cadence_s: f64,
    options: &Options,
) -> Result<Match, MatchError> {
    let lists = station.iter().chain(&reference).chain(degc.as_ref());
    let n = lists.map(|list| list.len()).min().unwrap_or(0);
    let grid = Grid { station, reference, degc, keep: &keep, n };
    let shift = grid.best_shift(cadence_s, options.longest_lag_s);
    let pairs = grid.pairs(shift.round() as i64);
    if pairs.len() < FEWEST {
        return Err(MatchError::TooFew { usable: pairs.len() });
    }
    let means = pairs.means();
    let fits = [0, 1, 2].map(|axis| pairs.regress(axis, &means, options.drift));
    let [Some(x), Some(y), Some(z)] = fits else {
        return Err(MatchError::NoVariety { spread_nt: pairs.reference_spread(&means) });
    };
    let three = [x, y, z];
    let reliability = three.map(|l| l.r_squared());
    let forward: Mat3 = three.map(|l| [l.coefficients[1], l.coefficients[2], l.coefficients[3]]);
    let matrix = vector::inverse(&forward)
        .filter(|_| reliability.iter().all(|r| *r > UNRELATED))
        .ok_or(MatchError::Unrelated { reliability })?;
    let moved = vector::apply(&matrix, means.station);
    let mut out = Match {
        matrix,
        matrix_sigma: inverse_sigma(&matrix, three.map(|l| [l.sigma[1], l.sigma[2], l.sigma[3]])),
        offset: std::array::from_fn(|k| means.reference[k] - moved[k]),
        lag_s: shift * cadence_s,
        axes: nearest_axes(&matrix),
        left_handed: orientation::is_left_handed(&matrix),
        rms_nt: [0.0; 3],
        correlation: [0.0; 3],
        reliability,
        drift_nt: three.map(|l| l.coefficients[4]),
        per_degc_nt: three.map(|l| [l.coefficients[5], l.sigma[5]]),
        reference_degc: means.degc,
        n: pairs.len(),
    };
    for axis in 0..3 {
        let agreement = pairs.agreement(&out, axis);
        out.rms_nt[axis] = agreement.rms_nt;
        out.correlation[axis] = agreement.correlation;
    }
    Ok(out)
}

/// Share by which noise in the regressor shrinks a slope: σx²/(σx² + σn²).
///
/// # Source
///
/// Fuller 1987, Measurement Error Models, section 1.1.
pub fn reliability(signal_sigma: f64, noise_sigma: f64) -> f64 {
    let (s, n) = (signal_sigma * signal_sigma, noise_sigma * noise_sigma);
    s / (s + n)
}

/// Standard error of a slope from residuals, spread of the regressor and independent samples.
pub fn slope_sigma(residual_sigma: f64, regressor_sigma: f64, independent: f64) -> f64 {
    residual_sigma / (regressor_sigma * independent.sqrt())
}

/// First-order uncertainty of an inverse: dC = −C dK C.
fn inverse_sigma(matrix: &Mat3, sigma: Mat3) -> Mat3 {
    std::array::from_fn(|a| {
        std::array::from_fn(|b| {
            let mut variance = 0.0;
            for (i, row) in sigma.iter().enumerate() {
                for (j, s) in row.iter().enumerate() {
                    let part = matrix[a][i] * s * matrix[j][b];
                    variance += part * part;
                }
            }
            variance.sqrt()
        })
    })
}

/// The signed permutation with the largest scalar product with the rows of a matrix.
fn nearest_axes(matrix: &Mat3) -> String {
    let product = |m: &Mat3| -> f64 {
        m.iter().zip(matrix).map(|(a, b)| vector::dot(*a, *b) / vector::norm(*b)).sum()
    };
    orientation::signed_permutations()
        .iter()
        .max_by(|a, b| product(a).total_cmp(&product(b)))
        .and_then(orientation::axes_text)
        .unwrap_or_default()
}

fn chosen<const P: usize>(row: &[f64; 6], places: &[usize; P]) -> [f64; P] {
    places.map(|place| row[place])
}

fn spread_out<const P: usize>(of: &Linear<P>, places: &[usize; P]) -> Option<Linear<6>> {
    let (mut coefficients, mut sigma) = ([0.0; 6], [0.0; 6]);
    for (k, place) in places.iter().enumerate() {
        (coefficients[*place], sigma[*place]) = (of.coefficients[k], of.sigma[k]);
    }
    let (rms, spread, n) = (of.rms, of.spread, of.n);
    Some(Linear { coefficients, sigma, rms, spread, n })
}

struct Grid<'a> {
    station: [&'a [f64]; 3],
    reference: [&'a [f64]; 3],
    degc: Option<&'a [f64]>,
    keep: &'a dyn Fn(usize) -> bool,
    n: usize,
}

struct Means {
    station: Vec3,
    reference: Vec3,
    degc: f64,
}

struct Pairs {
    station: Vec<Vec3>,
    reference: Vec<Vec3>,
    place: Vec<f64>,
    /// Nought all through without a thermometer.
    degc: Vec<f64>,
    warms: bool,
}

impl Grid<'_> {
    /// Samples by which the station runs late, with a fraction: where changes of the two lengths
    /// of horizontal and vertical field correlate best, whatever the axes.
    fn best_shift(&self, cadence_s: f64, longest_lag_s: f64) -> f64 {
        let most = (longest_lag_s / cadence_s).floor();
        if most.is_nan() || most < 1.0 {
            return 0.0;
        }
        let changes = |list: &[f64]| -> Vec<f64> {
            (0..self.n)
                .map(|k| if k > 0 && (self.keep)(k) { list[k] - list[k - 1] } else { f64::NAN })
                .collect()
        };
        let station = self.station.map(changes);
        let reference = self.reference.map(changes);
        compare::best_shift(&station, &reference, most.min(self.n as f64 / 2.0) as usize)
    }

    /// Both vectors wherever all six values are there, the station read `shift` samples later.
    fn pairs(&self, shift: i64) -> Pairs {
        let warms = self.degc.is_some();
        let mut out =
            Pairs { station: vec![], reference: vec![], place: vec![], degc: vec![], warms };
        for k in 0..self.n as i64 {
            let from = k + shift;
            if from < 0 || from >= self.n as i64 || !(self.keep)(from as usize) {
                continue;
            }
            let s = self.station.map(|list| list[from as usize]);
            let r = self.reference.map(|list| list[k as usize]);
            let degc = self.degc.map_or(0.0, |list| list[from as usize]);
            if s.iter().chain(&r).all(|v| v.is_finite()) && degc.is_finite() {
                out.degc.push(degc);
                out.station.push(s);
                out.reference.push(r);
                out.place.push(k as f64 / self.n as f64 - 0.5);
            }
        }
        out
    }
}

impl Pairs {
    fn len(&self) -> usize {
        self.station.len()
    }

    fn means(&self) -> Means {
        let mean = |list: &[Vec3]| -> Vec3 {
            std::array::from_fn(|k| list.iter().map(|v| v[k]).sum::<f64>() / list.len() as f64)
        };
        let degc = self.degc.iter().sum::<f64>() / self.len() as f64;
        Means { station: mean(&self.station), reference: mean(&self.reference), degc }
    }

    /// Station component on the reference's three, about the means, with drift and temperature
    /// where they are asked for; what is not is nought.
    fn regress(&self, axis: usize, means: &Means, drift: bool) -> Option<Linear<6>> {
        let right = |k: usize| self.station[k][axis] - means.station[axis];
        let row = |k: usize| -> [f64; 6] {
            let [x, y, z] = vector::sub(self.reference[k], means.reference);
            [1.0, x, y, z, self.place[k], self.degc[k] - means.degc]
        };
        let n = self.len();
        match (drift, self.warms) {
            (true, true) => linear::fit(n, |k| (row(k), right(k))),
            (true, false) => spread_out(
                &linear::fit::<5>(n, |k| (chosen(&row(k), &[0, 1, 2, 3, 4]), right(k)))?,
                &[0, 1, 2, 3, 4],
            ),
            (false, true) => spread_out(
                &linear::fit::<5>(n, |k| (chosen(&row(k), &[0, 1, 2, 3, 5]), right(k)))?,
                &[0, 1, 2, 3, 5],
            ),
            (false, false) => spread_out(
                &linear::fit::<4>(n, |k| (chosen(&row(k), &[0, 1, 2, 3]), right(k)))?,
                &[0, 1, 2, 3],
            ),
        }
    }

    fn reference_spread(&self, means: &Means) -> [f64; 3] {
        std::array::from_fn(|k| {
            let away = |v: &Vec3| (v[k] - means.reference[k]) * (v[k] - means.reference[k]);
            (self.reference.iter().map(away).sum::<f64>() / self.len() as f64).sqrt()
        })
    }

    fn agreement(&self, found: &Match, axis: usize) -> compare::Agreement {
        let matched: Vec<f64> = (0..self.len())
            .map(|k| {
                let (place, degc) = (self.place[k], self.degc[k]);
                found.apply(found.steadied(self.station[k], place, degc))[axis]
            })
            .collect();
        let reference: Vec<f64> = self.reference.iter().map(|v| v[axis]).collect();
        compare::agreement(&matched, &reference, |_| true)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;
    use record::vector::{apply, multiply};

    /// Two disturbed days of minutes at an observatory.
    fn observatory(random: &mut Random) -> [Vec<f64>; 3] {
        [(17_500.0, 60.0), (-900.0, 40.0), (46_000.0, 25.0)].map(|(level, size)| {
            let (mut slow, mut fast) = (0.0, 0.0);
            (0..2880)
                .map(|_| {
                    fast = 0.9 * fast + random.normal();
                    slow = 0.995 * slow + 0.1 * random.normal();
                    level + size * (slow + 0.2 * fast)
                })
                .collect()
        })
    }

    /// What a sensor with other axes, scale and offset shows, late by some samples.
    fn station(
        of: &[Vec<f64>; 3],
        k: &Mat3,
        late: usize,
        noise: f64,
        random: &mut Random,
    ) -> [Vec<f64>; 3] {
        let mut out = [vec![], vec![], vec![]];
        for j in 0..of[0].len() {
            let from = j.saturating_sub(late);
            let b = apply(k, [of[0][from], of[1][from], of[2][from]]);
            for axis in 0..3 {
                out[axis].push(b[axis] + 700.0 + noise * random.normal());
            }
        }
        out
    }

    fn three(list: &[Vec<f64>; 3]) -> [&[f64]; 3] {
        [&list[0], &list[1], &list[2]]
    }

    #[test]
    fn axes_scale_and_lag_come_back_within_their_uncertainty() {
        let truth = [[0.02, -1.03, 0.01], [0.98, 0.0, -0.03], [0.01, 0.02, 1.05]];
        let (mut inside, mut total) = (0u32, 0u32);
        for seed in 0..20 {
            let mut random = Random::new(seed);
            let reference = observatory(&mut random);
            let station = station(&reference, &truth, 7, 2.0, &mut random);
            let found =
                fit(three(&station), three(&reference), None, |_| true, 60.0, &Options::default())
                    .unwrap();
            assert!((found.lag_s - 420.0).abs() < 30.0, "{}", found.lag_s);
            assert_eq!(found.axes, "+y-x+z");
            assert!(!found.left_handed && found.correlation.iter().all(|r| *r > 0.98));
            assert!(found.rms_nt.iter().all(|rms| (1.5..2.5).contains(rms)), "{:?}", found.rms_nt);
            let want = vector::inverse(&truth).unwrap();
            let entries = found.matrix.iter().flatten().zip(found.matrix_sigma.iter().flatten());
            for ((got, sigma), want) in entries.zip(want.iter().flatten()) {
                total += 1;
                inside += u32::from((got - want).abs() < 2.0 * sigma);
                assert!((got - want).abs() < 0.03, "{got} {want}");
            }
            let product = multiply(&found.matrix, &truth);
            assert!((vector::determinant(&product) - 1.0).abs() < 0.03);
        }
        let share = f64::from(inside) / f64::from(total);
        assert!(share > 0.88, "{share}");
    }

    #[test]
    fn a_thermometer_beside_the_reference_is_told_apart_from_it() {
        let (mut random, turned) =
            (Random::new(6), [[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]);
        let reference = observatory(&mut random);
        let mut station = station(&reference, &turned, 0, 2.0, &mut random);
        let warm = |k: usize| 12.0 + 6.0 * libm::sin(std::f64::consts::TAU * k as f64 / 1440.0);
        let degc: Vec<f64> = (0..2880).map(|k| warm(k) + 0.05 * random.normal()).collect();
        for (axis, per_degc) in [(0, 3.0), (1, -5.0), (2, 8.0)] {
            for (v, t) in station[axis].iter_mut().zip(&degc) {
                *v += per_degc * (t - 12.0);
            }
        }
        let options = Options::default();
        let found =
            fit(three(&station), three(&reference), Some(&degc), |_| true, 60.0, &options).unwrap();
        for (axis, want) in [(0, 3.0), (1, -5.0), (2, 8.0)] {
            let [got, sigma] = found.per_degc_nt[axis];
            assert!((got - want).abs() < 3.0 * sigma && sigma < 0.3, "{got} {sigma} {want}");
        }
        assert!(found.rms_nt.iter().all(|rms| *rms < 2.6), "{:?}", found.rms_nt);
        let bare = fit(three(&station), three(&reference), None, |_| true, 60.0, &options).unwrap();
        assert!(bare.rms_nt[2] > 10.0 && bare.per_degc_nt == [[0.0; 2]; 3]);
    }

    #[test]
    fn a_mirrored_sensor_is_told() {
        let mut random = Random::new(4);
        let reference = observatory(&mut random);
        let mirror = [[1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0]];
        let station = station(&reference, &mirror, 0, 1.0, &mut random);
        let found =
            fit(three(&station), three(&reference), None, |_| true, 60.0, &Options::default());
        let found = found.unwrap();
        assert!(found.left_handed);
        assert_eq!((found.axes.as_str(), found.lag_s.abs() < 30.0), ("+x-y+z", true));
    }

    #[test]
    fn noise_alone_is_refused_and_so_is_an_empty_record() {
        let mut random = Random::new(4);
        let reference = observatory(&mut random);
        let noise = [0; 3].map(|_| (0..2880).map(|_| random.normal()).collect::<Vec<f64>>());
        let error =
            fit(three(&noise), three(&reference), None, |_| true, 60.0, &Options::default());
        assert!(matches!(error, Err(MatchError::Unrelated { .. })));
        let error =
            fit(three(&noise), three(&reference), None, |_| false, 60.0, &Options::default());
        assert_eq!(error, Err(MatchError::TooFew { usable: 0 }));
        let still = [0; 3].map(|_| vec![1.0; 2880]);
        let error = fit(three(&noise), three(&still), None, |_| true, 60.0, &Options::default());
        assert!(matches!(error, Err(MatchError::NoVariety { .. })));
    }
}
