//! The turn between a magnetometer and the accelerometer beside it, from poses at rest.
//!
//! The angle between gravity and the field is the same in every pose, since both are fixed to the
//! Earth.  Lengths cannot see how the magnetometer's axes stand to the accelerometer's; this angle
//! can.  Calibrated field and gravity in; a rotation, the inclination, and the uncertainty of both
//! out.  Samples in motion must be left out by `keep`: those whose acceleration is not of the usual
//! size are left out here.

use crate::elements::DEGREES;
use crate::gram::{BLOCK, Block, Gram, condition};
use crate::{orientation, serial};
use record::vector::{self, IDENTITY, Mat3, Vec3};
use record::{Fault, Quantity, Unit, print, say, words::word};
use std::fmt;

/// The turn from the magnetometer's axes to the accelerometer's.
#[derive(Clone, Debug, PartialEq)]
pub struct Alignment {
    /// Takes a field vector to the accelerometer's axes.
    pub rotation: Mat3,
    /// The angle of that rotation beyond its gross axes, degrees.
    pub angle_deg: f64,
    /// Standard uncertainty of the rotation about each axis, degrees.
    pub sigma_deg: [f64; 3],
    /// Gross axes of the magnetometer in the accelerometer's, such as `+x-y-z`.
    pub axes: String,
    /// Whether the two triples differ in handedness.
    pub left_handed: bool,
    /// Inclination of the field, degrees, down positive.
    pub inclination_deg: Quantity,
    /// Scatter of the angle between gravity and field before, with the gross axes alone, degrees.
    pub scatter_before_deg: f64,
    /// The same after.
    pub scatter_after_deg: f64,
    /// Samples used.
    pub n: usize,
    /// Samples left out because their acceleration was not that of rest.
    pub moving: usize,
}

/// Why there is no alignment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AlignmentError {
    /// Too few samples at rest.
    TooFew {
        /// Usable samples at rest.
        usable: usize,
        /// Samples left out as moving.
        moving: usize,
    },
    /// The poses leave a turn unknown: the sensor was turned about one axis only, or the field is
    /// nearly vertical.
    FewPoses,
    /// The angle between gravity and field is not steady for any axes.
    Unsteady {
        /// Its scatter for the best axes, degrees.
        scatter_deg: f64,
    },
}

impl fmt::Display for AlignmentError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fault = Fault::from(*self);
        write!(f, "{} {}", fault.message, fault.remedy)
    }
}

impl std::error::Error for AlignmentError {}

impl From<AlignmentError> for Fault {
    fn from(error: AlignmentError) -> Self {
        match error {
            AlignmentError::TooFew { usable, moving } => Self::new(
                "orient/too-few",
                say!(
                    "{} at rest have both field and acceleration ({} were left out as moving); \
                     an alignment needs at least {FEWEST}.",
                    print::counted(usable, "sample", "samples"),
                    print::count(moving)
                ),
                word(
                    "Let the sensor rest for some seconds in each of a dozen poses while it logs.",
                ),
            ),
            AlignmentError::FewPoses => Self::new(
                "orient/few-poses",
                word("The poses leave one turn between magnetometer and accelerometer unknown."),
                word("Let the sensor rest on every face, and in between."),
            ),
            AlignmentError::Unsteady { scatter_deg } => Self::new(
                "orient/unsteady",
                say!(
                    "The angle between gravity and field scatters by {}° for the best choice of \
                     axes.",
                    print::significant(scatter_deg, 2)
                ),
                word(
                    "Calibrate the magnetometer first, and check that both sensors are on one board \
                 and were at rest.",
                ),
            ),
        }
    }
}

const FEWEST: usize = 30;
/// Acceleration further than this share from its median is motion.
const MOTION: f64 = 0.03;
/// A larger scatter, degrees, is no fixed angle.
const UNSTEADY_DEG: f64 = 15.0;
/// Poses are too alike beyond this condition number.
const ALIKE: f64 = 1e3;

/// Aligns a magnetometer to an accelerometer.
///
/// # Arguments and units
///
/// * `field` - three calibrated components, any unit
/// * `gravity_down` - three components of gravity, pointing down (many accelerometers print +1 on
///   the axis that points up: flip them first), any unit
/// * `keep` - whether a sample takes part; NaN never do
///
/// Minimises Σ(ĝ·R b̂ − sin I)² over the rotation R and the inclination I, from each of the 48
/// signed permutations of axes.
///
/// # Errors
///
/// [`AlignmentError`] for too few samples, too few poses, or an angle that is not steady.
///
/// # Source
///
/// The constant angle between gravity and field, as in Liu et al. 2014 (from memory); least
/// squares on rotations by small turns, common practice.
pub fn fit(
    field: [&[f64]; 3],
    gravity_down: [&[f64]; 3],
    keep: impl Fn(usize) -> bool,
) -> Result<Alignment, AlignmentError> {
    let (pairs, moving) = at_rest(field, gravity_down, keep);
    if pairs.len() < FEWEST {
        return Err(AlignmentError::TooFew { usable: pairs.len(), moving });
    }
    let gross = orientation::signed_permutations()
        .into_iter()
        .min_by(|a, b| scatter(&pairs, a).total_cmp(&scatter(&pairs, b)))
        .unwrap_or(IDENTITY);
    let start = scatter(&pairs, &gross);
    if angle_of(start, &pairs, &gross) > UNSTEADY_DEG {
        return Err(AlignmentError::Unsteady { scatter_deg: angle_of(start, &pairs, &gross) });
    }
    let (rotation, sine, gram) = refine(&pairs, gross).ok_or(AlignmentError::FewPoses)?;
    let inverse = gram.matrix().try_inverse().ok_or(AlignmentError::FewPoses)?;
    let left = |p: &Pair| vector::dot(p.gravity, vector::apply(&rotation, p.field)) - sine;
    let squares: f64 = pairs.iter().map(left).map(|r| r * r).sum();
    let variance = squares / (pairs.len() as f64 - 4.0);
    let alike = serial::mean(pairs.iter().map(left)).inflation();
    let sigma = |k: usize| (variance * alike * inverse[(k, k)]).max(0.0).sqrt();
    let inclination = libm::asin(sine.clamp(-1.0, 1.0)) * DEGREES;
    let cos = (1.0 - sine * sine).max(1e-12).sqrt();
    let turned = vector::multiply(&rotation, &vector::transpose(&gross));
    Ok(Alignment {
        rotation,
        angle_deg: orientation::angle_deg(&turned),
        sigma_deg: std::array::from_fn(|k| sigma(k) * DEGREES),
        axes: orientation::axes_text(&gross).unwrap_or_default(),
        left_handed: orientation::is_left_handed(&gross),
        inclination_deg: Quantity::new(inclination, sigma(3) / cos * DEGREES, Unit::Degree),
        scatter_before_deg: angle_of(start, &pairs, &gross),
        scatter_after_deg: angle_of(scatter(&pairs, &rotation), &pairs, &rotation),
        n: pairs.len(),
        moving,
    })
}

/// Unit vectors of one sample.
struct Pair {
    field: Vec3,
    gravity: Vec3,
}

fn at_rest(
    field: [&[f64]; 3],
    gravity: [&[f64]; 3],
    keep: impl Fn(usize) -> bool,
) -> (Vec<Pair>, usize) {
    let n = field.iter().chain(&gravity).map(|list| list.len()).min().unwrap_or(0);
    let of = |lists: &[&[f64]; 3], k: usize| lists.map(|list| list[k]);
    let whole = |k: &usize| {
        let (b, g) = (vector::norm(of(&field, *k)), vector::norm(of(&gravity, *k)));
        keep(*k) && b.is_finite() && b > 0.0 && g.is_finite() && g > 0.0
    };
    let used: Vec<usize> = (0..n).filter(whole).collect();
    let mut sizes: Vec<f64> = used.iter().map(|k| vector::norm(of(&gravity, *k))).collect();
    if sizes.is_empty() {
        return (Vec::new(), 0);
    }
    let middle = sizes.len() / 2;
    let usual = record::sort::nth(&mut sizes, middle);
    let still = |k: &usize| (vector::norm(of(&gravity, *k)) - usual).abs() <= MOTION * usual;
    let unit = |v: Vec3| {
        let length = vector::norm(v);
        v.map(|c| c / length)
    };
    let pairs: Vec<Pair> = used
        .iter()
        .filter(|k| still(k))
        .map(|k| Pair { field: unit(of(&field, *k)), gravity: unit(of(&gravity, *k)) })
        .collect();
    let moving = used.len() - pairs.len();
    (pairs, moving)
}

/// Standard deviation of the cosine between gravity and the turned field.
fn scatter(pairs: &[Pair], m: &Mat3) -> f64 {
    let n = pairs.len() as f64;
    let (mut sum, mut squares) = (0.0, 0.0);
    for p in pairs {
        let c = vector::dot(p.gravity, vector::apply(m, p.field));
        (sum, squares) = (sum + c, squares + c * c);
    }
    (squares / n - (sum / n) * (sum / n)).max(0.0).sqrt()
}

/// A scatter of the cosine as one of the angle, degrees.
fn angle_of(scatter: f64, pairs: &[Pair], m: &Mat3) -> f64 {
    let n = pairs.len() as f64;
    let mean: f64 =
        pairs.iter().map(|p| vector::dot(p.gravity, vector::apply(m, p.field))).sum::<f64>() / n;
    scatter / (1.0 - mean * mean).max(scatter * scatter).max(1e-12).sqrt() * DEGREES
}

/// Gauss–Newton on small turns, with the sine of the inclination beside.
fn refine(pairs: &[Pair], start: Mat3) -> Option<(Mat3, f64, Gram<4>)> {
    let n = pairs.len() as f64;
    let cosine = |m: &Mat3, p: &Pair| vector::dot(p.gravity, vector::apply(m, p.field));
    let mut rotation = start;
    let mut sine = pairs.iter().map(|p| cosine(&start, p)).sum::<f64>() / n;
    let mut gram = Gram::<4>::empty();
    for _ in 0..30 {
        gram = Gram::empty();
        for chunk in pairs.chunks(BLOCK) {
            let mut block = Block::empty();
            for (k, p) in chunk.iter().enumerate() {
                let turned = vector::apply(&rotation, p.field);
                let [x, y, z] = vector::cross(turned, p.gravity);
                block.set(k, [x, y, z, -1.0], sine - vector::dot(p.gravity, turned));
            }
            gram.add(&block);
        }
        if condition(&gram.matrix()) > ALIKE {
            return None;
        }
        let [x, y, z, s] = gram.solve(0.0)?;
        rotation = vector::multiply(&small_turn([x, y, z]), &rotation);
        sine += s;
        if x.abs().max(y.abs()).max(z.abs()) < 1e-12 {
            break;
        }
    }
    sine.is_finite().then_some((rotation, sine, gram))
}

/// The rotation by a vector's length (radians) about its direction (Rodrigues).
fn small_turn(v: Vec3) -> Mat3 {
    let angle = vector::norm(v);
    if angle < 1e-300 {
        return IDENTITY;
    }
    let [x, y, z] = v.map(|c| c / angle);
    let (sin, cos) = libm::sincos(angle);
    let rest = 1.0 - cos;
    [
        [cos + x * x * rest, x * y * rest - z * sin, x * z * rest + y * sin],
        [y * x * rest + z * sin, cos + y * y * rest, y * z * rest - x * sin],
        [z * x * rest - y * sin, z * y * rest + x * sin, cos + z * z * rest],
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;
    use record::vector::{apply, multiply, transpose};

    type Lists = [Vec<f64>; 3];

    /// Poses at rest, the magnetometer turned by a small rotation after gross axes.
    fn poses(n: usize, gross: &str, noise: f64, seed: u64) -> (Lists, Lists, Mat3) {
        let mut random = Random::new(seed);
        let truth = multiply(&small_turn([0.03, -0.05, 0.02]), &orientation::axes(gross).unwrap());
        let back = transpose(&truth);
        let earth = crate::elements::components(0.0, 66.0, 1.0);
        let (mut field, mut gravity) = ([vec![], vec![], vec![]], [vec![], vec![], vec![]]);
        for _ in 0..n {
            let axis = random.direction(180.0);
            let turn = small_turn(axis.map(|v| v * 3.0 * random.uniform()));
            let b = apply(&back, apply(&turn, earth));
            let g = apply(&turn, [0.0, 0.0, 9.8]);
            for k in 0..3 {
                field[k].push(48_000.0 * (b[k] + noise * random.normal()));
                gravity[k].push(g[k] + 9.8 * noise * random.normal());
            }
        }
        (field, gravity, truth)
    }

    fn three(lists: &Lists) -> [&[f64]; 3] {
        [&lists[0], &lists[1], &lists[2]]
    }

    #[test]
    fn the_turn_and_the_inclination_come_back_within_their_uncertainty() {
        let (mut inside, mut total) = (0u32, 0u32);
        for seed in 0..60 {
            let (field, gravity, truth) = poses(200, "+x+y+z", 0.005, seed);
            let found = fit(three(&field), three(&gravity), |_| true).unwrap();
            let left = multiply(&found.rotation, &transpose(&truth));
            // A small rotation is its own skew part.
            let turn = [left[2][1], left[0][2], left[1][0]].map(|v| v * DEGREES);
            for (off, sigma) in turn.iter().zip(found.sigma_deg) {
                total += 1;
                inside += u32::from(off.abs() < sigma);
            }
            total += 1;
            let off = (found.inclination_deg.value - 66.0).abs();
            inside += u32::from(off < found.inclination_deg.sigma);
            assert!((found.angle_deg - 3.53).abs() < 0.3 && found.axes == "+x+y+z");
            assert!(found.scatter_after_deg < 0.5 * found.scatter_before_deg);
        }
        let share = f64::from(inside) / f64::from(total);
        assert!((0.58..0.82).contains(&share), "{share}");
    }

    #[test]
    fn swapped_and_mirrored_axes_are_told() {
        let (field, gravity, _) = poses(200, "+y-x+z", 0.002, 1);
        let found = fit(three(&field), three(&gravity), |_| true).unwrap();
        assert_eq!((found.axes.as_str(), found.left_handed), ("+y-x+z", false));
        let (field, gravity, _) = poses(200, "+x-y+z", 0.002, 2);
        let found = fit(three(&field), three(&gravity), |_| true).unwrap();
        assert_eq!((found.axes.as_str(), found.left_handed), ("+x-y+z", true));
    }

    #[test]
    fn samples_in_motion_are_left_out_and_counted() {
        let (field, mut gravity, _) = poses(200, "+x+y+z", 0.002, 1);
        gravity[2][..20].fill(30.0);
        let found = fit(three(&field), three(&gravity), |_| true).unwrap();
        assert_eq!((found.moving, found.n), (20, 180));
    }

    #[test]
    fn one_pose_is_too_few_and_noise_is_unsteady() {
        let (field, gravity, _) = poses(1, "+x+y+z", 0.0, 1);
        let same = |lists: &Lists| -> Lists { [0, 1, 2].map(|k| vec![lists[k][0]; 50]) };
        let (field, gravity) = (same(&field), same(&gravity));
        let error = fit(three(&field), three(&gravity), |_| true);
        assert_eq!(error, Err(AlignmentError::FewPoses));
        let error = fit(three(&field), three(&gravity), |k| k < 3);
        assert_eq!(error, Err(AlignmentError::TooFew { usable: 3, moving: 0 }));
        let mut random = Random::new(3);
        let noise: Lists = [0; 3].map(|_| (0..200).map(|_| random.normal()).collect());
        let (_, gravity, _) = poses(200, "+x+y+z", 0.0, 1);
        let error = fit(three(&noise), three(&gravity), |_| true);
        assert!(matches!(error, Err(AlignmentError::Unsteady { .. })), "{error:?}");
    }
}
