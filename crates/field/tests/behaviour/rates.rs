//! Simulated turning logs with a known truth: uncertainties hold at their rate, degenerate turns
//! are refused.

use field::calibration::{Calibration, CalibrationError, Model, Options, fit, fit_or_fall_back};
use record::vector::{self, Mat3, Vec3};

/// SplitMix64 (Steele, Lea and Flood 2014) with Box-Muller normals.
struct Random(u64);

impl Random {
    fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xA076_1D64_78BD_642F)
    }

    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        ((z >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * libm::log(self.uniform())).sqrt();
        radius * libm::cos(std::f64::consts::TAU * self.uniform())
    }

    fn direction(&mut self, half_angle_deg: f64) -> Vec3 {
        let lowest = libm::cos(half_angle_deg.to_radians());
        let z = lowest + (1.0 - lowest) * self.uniform();
        let (sin, cos) = libm::sincos(std::f64::consts::TAU * self.uniform());
        let across = (1.0 - z * z).sqrt();
        [across * cos, across * sin, z]
    }
}

/// What the sensor does to a field, nT: raw = W b + V + noise.
struct Sensor {
    w: Mat3,
    offset: Vec3,
    noise: f64,
}

const FIELD: f64 = 48_000.0;

impl Sensor {
    fn random(random: &mut Random, noise: f64) -> Self {
        let mut w = [[0.0; 3]; 3];
        for a in 0..3 {
            for b in a..3 {
                let v = 0.05 * random.normal() + if a == b { 1.0 } else { 0.0 };
                w[a][b] = v;
                w[b][a] = v;
            }
        }
        Self { w, offset: [0; 3].map(|_| 10_000.0 * random.normal()), noise }
    }

    fn read(&self, directions: &[Vec3], random: &mut Random) -> [Vec<f64>; 3] {
        let mut out = [vec![], vec![], vec![]];
        for u in directions {
            let b = vector::apply(&self.w, u.map(|v| v * FIELD));
            for axis in 0..3 {
                out[axis].push(b[axis] + self.offset[axis] + self.noise * random.normal());
            }
        }
        out
    }
}

fn slices(raw: &[Vec<f64>; 3]) -> [&[f64]; 3] {
    [&raw[0], &raw[1], &raw[2]]
}

fn options(model: Model) -> Options {
    Options { model, field: Some((FIELD, 100.0)), ..Options::default() }
}

/// Directions of level turns in a field of inclination 66 degrees, rolled by each angle, with a
/// wobble.
fn turns(rolls_deg: &[f64], wobble_deg: f64, n: usize, random: &mut Random) -> Vec<Vec3> {
    let (sin_i, cos_i) = libm::sincos(66f64.to_radians());
    let mut all = Vec::new();
    for roll in rolls_deg {
        for k in 0..n {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * k as f64 / n as f64);
            let b = [cos_i * cos, -cos_i * sin, sin_i];
            let angle = (roll + wobble_deg * random.uniform()).to_radians();
            let (s, c) = libm::sincos(angle);
            all.push([b[0], c * b[1] + s * b[2], -s * b[1] + c * b[2]]);
        }
    }
    all
}

#[test]
fn offsets_lie_within_their_uncertainty_at_the_stated_rate() {
    let (mut inside_one, mut inside_two, mut total) = (0u32, 0u32, 0u32);
    for seed in 0..150 {
        let mut random = Random::new(seed);
        let sensor = Sensor::random(&mut random, 200.0);
        let directions: Vec<Vec3> = (0..400).map(|_| random.direction(180.0)).collect();
        let raw = sensor.read(&directions, &mut random);
        let found = fit(slices(&raw), |_| true, &options(Model::Ellipsoid)).unwrap();
        let truth = vector::inverse(&sensor.w).unwrap();
        let mut score = |error: f64, sigma: f64| {
            total += 1;
            inside_one += u32::from(error.abs() < sigma);
            inside_two += u32::from(error.abs() < 2.0 * sigma);
        };
        for axis in 0..3 {
            score(found.offset[axis] - sensor.offset[axis], found.offset_sigma[axis]);
            for b in axis..3 {
                let error = found.matrix[axis][b] - truth[axis][b];
                score(error, found.matrix_sigma[axis][b]);
            }
        }
    }
    // Normal: 68.3 % and 95.4 %; 1350 scores, correlated in nines, give some 1.5 and 0.7 % of
    // play; the serial factors are never below 1 and make the bars a little long.
    let share = |count: u32| f64::from(count) / f64::from(total);
    let (one, two) = (share(inside_one), share(inside_two));
    assert!((0.64..0.78).contains(&one), "{one}");
    assert!((0.93..0.985).contains(&two), "{two}");
}

/// Noise of 200 nT a component, each reading's like the one before it by `memory`.
fn with_memory(raw: &mut [Vec<f64>; 3], memory: f64, random: &mut Random) {
    for list in raw {
        let mut state = 200.0 * random.normal();
        for v in list {
            *v += state;
            state = memory * state + (1.0 - memory * memory).sqrt() * 200.0 * random.normal();
        }
    }
}

/// Shares of the 95 % intervals of the offset's three and the matrix's six numbers that hold the
/// truth, over 400 turnings of 500 readings of sensors drawn at random.
fn held(memory: f64, robust: bool, reject_beyond: f64) -> [f64; 2] {
    const RUNS: u32 = 400;
    let mut inside = [0u32; 2];
    for seed in 0..RUNS {
        let mut random = Random::new(90_000 + u64::from(seed));
        let sensor = Sensor::random(&mut random, 0.0);
        let directions: Vec<Vec3> = (0..500).map(|_| random.direction(180.0)).collect();
        let mut raw = sensor.read(&directions, &mut random);
        with_memory(&mut raw, memory, &mut random);
        let options = Options { robust, reject_beyond, ..options(Model::Ellipsoid) };
        let found = fit(slices(&raw), |_| true, &options).unwrap();
        let truth = vector::inverse(&sensor.w).unwrap();
        let mut score = |part: usize, error: f64, sigma: f64| {
            inside[part] += u32::from(error.abs() < 1.96 * sigma);
        };
        for axis in 0..3 {
            score(0, found.offset[axis] - sensor.offset[axis], found.offset_sigma[axis]);
            for b in axis..3 {
                score(1, found.matrix[axis][b] - truth[axis][b], found.matrix_sigma[axis][b]);
            }
        }
    }
    [(0, 3), (1, 6)].map(|(part, numbers)| f64::from(inside[part]) / f64::from(numbers * RUNS))
}

#[test]
fn ninety_five_of_a_hundred_intervals_hold_the_truth() {
    // 1200 scores of offsets and 2400 of matrix entries each: a binomial error of 0.6 and 0.4 %.
    // Robust with rejection, plain, and robust with all readings kept; white noise, and noise
    // with a correlation of 0.7 between neighbours.
    for memory in [0.0, 0.7] {
        for (robust, reject_beyond) in [(true, 4.0), (false, 0.0), (true, 0.0)] {
            let [offset, matrix] = held(memory, robust, reject_beyond);
            println!(
                "memory {memory}, robust {robust}, reject beyond {reject_beyond}: offset \
                 {offset:.4}, matrix {matrix:.4}"
            );
            for share in [offset, matrix] {
                assert!((0.93..=0.97).contains(&share), "{memory} {robust}: {share}");
            }
        }
    }
}

#[test]
fn the_covariance_of_a_vector_is_the_scatter_of_repeated_calibrations() {
    // The same sensor turned again and again: the spread of one calibrated vector.
    let mut random = Random::new(77);
    let sensor = Sensor::random(&mut random, 300.0);
    let at = [20_000.0, -15_000.0, 30_000.0];
    for tied_to_x in [false, true] {
        let (mut values, mut stated) = (Vec::new(), [[0.0; 3]; 3]);
        const RUNS: usize = 200;
        for _ in 0..RUNS {
            let directions: Vec<Vec3> = (0..150).map(|_| random.direction(180.0)).collect();
            let raw = sensor.read(&directions, &mut random);
            let options = Options { tied_to_x, robust: false, ..options(Model::Ellipsoid) };
            let found = fit(slices(&raw), |_| true, &options).unwrap();
            values.push(found.apply(at));
            let one = found.covariance_of(at);
            for a in 0..3 {
                for b in 0..3 {
                    stated[a][b] += one[a][b] / RUNS as f64;
                }
            }
        }
        for axis in 0..3 {
            let mean = values.iter().map(|v| v[axis]).sum::<f64>() / RUNS as f64;
            let squares: f64 = values.iter().map(|v| (v[axis] - mean).powi(2)).sum();
            let spread = (squares / (RUNS as f64 - 1.0)).sqrt();
            let ratio = spread / stated[axis][axis].sqrt();
            assert!((0.8..1.15).contains(&ratio), "tied {tied_to_x} axis {axis}: {ratio}");
        }
    }
}

#[test]
fn wild_readings_are_rejected_and_change_nothing() {
    let mut random = Random::new(5);
    let sensor = Sensor::random(&mut random, 150.0);
    let directions: Vec<Vec3> = (0..1000).map(|_| random.direction(180.0)).collect();
    let mut raw = sensor.read(&directions, &mut random);
    let clean = fit(slices(&raw), |_| true, &options(Model::Ellipsoid)).unwrap();
    for k in (0..1000).step_by(12) {
        let u = random.direction(180.0);
        for axis in 0..3 {
            raw[axis][k] += 15_000.0 * u[axis] + 8_000.0;
        }
    }
    let found = fit(slices(&raw), |_| true, &options(Model::Ellipsoid)).unwrap();
    let caught = (0..1000).step_by(12).filter(|k| found.rejected.contains(k)).count();
    assert!(caught >= 78, "{caught} of 84");
    assert_eq!(found.used + found.rejected.len(), 1000);
    assert!(found.rejected.iter().all(|k| found.residuals[*k].is_nan()));
    for axis in 0..3 {
        let moved = (found.offset[axis] - clean.offset[axis]).abs();
        assert!(moved < 1.5 * clean.offset_sigma[axis], "{moved}");
    }
    // Without rejection the robust fit alone still holds.
    let keep_all = Options { reject_beyond: 0.0, ..options(Model::Ellipsoid) };
    let soft = fit(slices(&raw), |_| true, &keep_all).unwrap();
    assert!(soft.rejected.is_empty());
    for axis in 0..3 {
        let moved = (soft.offset[axis] - clean.offset[axis]).abs();
        assert!(moved < 3.0 * clean.offset_sigma[axis], "{moved}");
    }
}

fn refused(directions: &[Vec3], model: Model, random: &mut Random) -> CalibrationError {
    let sensor = Sensor::random(random, 200.0);
    let raw = sensor.read(directions, random);
    fit(slices(&raw), |_| true, &options(model)).unwrap_err()
}

#[test]
fn a_narrow_cap_is_refused_an_ellipsoid_and_given_a_sphere() {
    // Condition numbers 125, 470, 2800 for caps of 60, 45, 30 degrees.
    for seed in 0..20 {
        for half_angle in [60.0, 45.0, 30.0] {
            let mut random = Random::new(seed);
            let directions: Vec<Vec3> = (0..600).map(|_| random.direction(half_angle)).collect();
            let error = refused(&directions, Model::Ellipsoid, &mut random);
            assert!(matches!(error, CalibrationError::PoorCoverage { .. }), "{error:?}");
        }
    }
    let mut random = Random::new(3);
    let mut sensor = Sensor::random(&mut random, 200.0);
    sensor.w = vector::IDENTITY;
    let directions: Vec<Vec3> = (0..600).map(|_| random.direction(60.0)).collect();
    let raw = sensor.read(&directions, &mut random);
    let (found, reasons) =
        fit_or_fall_back(slices(&raw), |_| true, &options(Model::Ellipsoid)).unwrap();
    assert_eq!(found.model, Model::Sphere);
    assert!(matches!(reasons[..], [CalibrationError::PoorCoverage { .. }]));
    for axis in 0..3 {
        let error = (found.offset[axis] - sensor.offset[axis]).abs();
        assert!(error < 4.0 * found.offset_sigma[axis]);
    }
}

#[test]
fn a_level_turn_with_wobble_is_refused_both_ways() {
    // Condition number about 450 for a sphere and 2.4e5 for an ellipsoid.
    for seed in 0..20 {
        let mut random = Random::new(seed);
        let directions = turns(&[0.0], 2.0, 300, &mut random);
        for model in [Model::Ellipsoid, Model::Sphere] {
            let error = refused(&directions, model, &mut random);
            let right = matches!(
                error,
                CalibrationError::PoorCoverage { .. } | CalibrationError::Flat { .. }
            );
            assert!(right, "{model:?} {error:?}");
        }
    }
}

#[test]
fn turns_on_three_faces_are_enough() {
    let mut random = Random::new(11);
    let directions = turns(&[0.0, 90.0, 180.0], 2.0, 150, &mut random);
    let sensor = Sensor::random(&mut random, 200.0);
    let raw = sensor.read(&directions, &mut random);
    let found = fit(slices(&raw), |_| true, &options(Model::Ellipsoid)).unwrap();
    assert!(found.condition > 6.0 && found.condition < 30.0, "{}", found.condition);
    for axis in 0..3 {
        let error = (found.offset[axis] - sensor.offset[axis]).abs();
        assert!(error < 4.0 * found.offset_sigma[axis]);
    }
}

#[test]
fn three_turns_tilted_by_20_degrees_are_refused_an_ellipsoid() {
    // Condition number 720.
    let mut random = Random::new(2);
    let directions = turns(&[-20.0, 0.0, 20.0], 1.0, 150, &mut random);
    let error = refused(&directions, Model::Ellipsoid, &mut random);
    assert!(matches!(error, CalibrationError::PoorCoverage { .. }), "{error:?}");
}

#[test]
fn condition_numbers_follow_the_table_of_simulated_coverage() {
    // Full sphere 1.6 and 1.7, half sphere 17 and 4.4, caps of 120 degrees 4.2 and 2.5: numpy
    // 2.5.5, numpy.linalg.cond of the same designs.
    let round = Sensor { w: vector::IDENTITY, offset: [0.0; 3], noise: 1.0 };
    let cases = [(180.0, 1.6, 1.75), (120.0, 4.3, 2.5), (90.0, 17.0, 4.4)];
    for (half_angle, ellipsoid, sphere) in cases {
        let mut random = Random::new(1);
        let directions: Vec<Vec3> = (0..3000).map(|_| random.direction(half_angle)).collect();
        let raw = round.read(&directions, &mut random);
        for (model, want) in [(Model::Ellipsoid, ellipsoid), (Model::Sphere, sphere)] {
            let found = fit(slices(&raw), |_| true, &options(model)).unwrap();
            assert!((found.condition / want - 1.0).abs() < 0.1, "{model:?} {}", found.condition);
        }
    }
}

#[test]
fn neighbours_that_are_alike_make_the_bars_longer() {
    // Each noise value held for ten samples, as a slow sensor behind a fast logger does.
    let mut random = Random::new(8);
    let sensor = Sensor::random(&mut random, 0.0);
    let directions: Vec<Vec3> = (0..4000u32)
        .map(|k| {
            let (sin, cos) = libm::sincos(f64::from(k) * 0.01);
            let z = (f64::from(k) / 2000.0 - 1.0).clamp(-1.0, 1.0);
            let across = (1.0 - z * z).sqrt();
            [across * cos, across * sin, z]
        })
        .collect();
    let mut raw = sensor.read(&directions, &mut random);
    for k in 0..4000 {
        if k % 10 == 0 {
            let push = [0; 3].map(|_| 200.0 * random.normal());
            for j in k..k + 10 {
                for axis in 0..3 {
                    raw[axis][j] += push[axis];
                }
            }
        }
    }
    let found = fit(slices(&raw), |_| true, &options(Model::Ellipsoid)).unwrap();
    assert!((6.0..16.0).contains(&found.serial_inflation), "{}", found.serial_inflation);
}

#[test]
fn nonsense_is_refused_with_words_and_never_a_panic() {
    let zeros = vec![0.0; 100];
    let ramp: Vec<f64> = (0..100).map(f64::from).collect();
    let huge = vec![1e300; 100];
    let nan = vec![f64::NAN; 100];
    for list in [&zeros, &ramp, &huge, &nan] {
        for model in [Model::Ellipsoid, Model::Sphere] {
            let error = fit([list, list, list], |_| true, &options(model)).unwrap_err();
            let fault = record::Fault::from(error);
            assert!(fault.code.starts_with("calibrate/"));
            assert!(!fault.message.is_empty() && !fault.remedy.is_empty());
        }
    }
    let mut random = Random::new(1);
    let raw = [0; 3].map(|_| (0..500).map(|_| random.normal()).collect::<Vec<f64>>());
    let error = fit(slices(&raw), |_| true, &options(Model::Ellipsoid)).unwrap_err();
    assert!(matches!(error, CalibrationError::NotEllipsoid { .. }), "{error:?}");
    let bad_scale = Options { field: Some((f64::NAN, 1.0)), ..Options::default() };
    let error = fit(slices(&raw), |_| true, &bad_scale).unwrap_err();
    assert!(matches!(error, CalibrationError::NoScale { .. }));
}

#[test]
fn a_given_calibration_is_applied_as_it_is() {
    let given =
        Calibration::given([1.0, 2.0, 3.0], [[2.0, 0.0, 0.0], [0.0, 3.0, 0.0], [0.0, 0.0, 4.0]]);
    assert_eq!(given.apply([2.0, 3.0, 4.0]), [2.0, 3.0, 4.0]);
    assert_eq!(given.model, Model::Given);
    assert!(given.warnings().is_empty());
}
