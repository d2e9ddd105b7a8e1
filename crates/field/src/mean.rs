//! Mean elements of a record with their uncertainties, contribution by contribution.
//!
//! Three components in the local frame and what is known about the instrument in; one value with
//! its standard uncertainty an element out, and the budget that makes it up.  Samples that are
//! NaN or that `keep` refuses are passed over and not counted.

use crate::elements::{self, DEGREES};
use crate::{circular, serial};
use record::vector::{self, Mat3, Vec3};
use record::{Quantity, Unit, words::word};

/// What is known about the instrument, beside the scatter of its samples.  All are standard
/// uncertainties, shared by every sample, so that no averaging lessens them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertainty {
    /// Covariance of the three components from the calibration, nT²
    /// ([`crate::calibration::Calibration::covariance_of`] turned into the local frame).
    pub component_nt: Mat3,
    /// Relative uncertainty of the scale, 1 (0.003 for 138 nT of a 46,000 nT model field).
    pub scale_relative: f64,
    /// How far from level the sensor may stand, degrees, about each horizontal axis.
    pub tilt_deg: f64,
    /// Uncertainty of the azimuth by which the record was turned to north, degrees.
    pub azimuth_deg: f64,
    /// Step of the sensor's last digit, nT; counts as step/√12 (GUM 4.3.7).
    pub step_nt: f64,
}

impl Default for Uncertainty {
    /// Nothing but the scatter of the samples.
    fn default() -> Self {
        Self {
            component_nt: [[0.0; 3]; 3],
            scale_relative: 0.0,
            tilt_deg: 0.0,
            azimuth_deg: 0.0,
            step_nt: 0.0,
        }
    }
}

/// One line of an uncertainty budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    /// Where it comes from, for reading: "scatter of the samples".
    pub name: &'static str,
    /// Standard uncertainty that it alone would give, in the element's unit.
    pub sigma: f64,
    /// Whether it was found from the samples themselves (type A of the GUM) or not (type B).
    pub type_a: bool,
}

/// Mean elements, each with its combined standard uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct MeanElements {
    /// Declination, degrees, east positive.
    pub declination_deg: Quantity,
    /// Inclination, degrees, down positive.
    pub inclination_deg: Quantity,
    /// Horizontal intensity, nT.
    pub horizontal_nt: Quantity,
    /// Total intensity, nT.
    pub total_nt: Quantity,
    /// North component, nT.
    pub x_nt: Quantity,
    /// East component, nT.
    pub y_nt: Quantity,
    /// Downward component, nT.
    pub z_nt: Quantity,
    /// Magnetic heading of the forward axis, degrees.
    pub heading_deg: Quantity,
    /// Lines of the budget, one list an element in the order of [`MeanElements::NAMES`].
    pub budget: [Vec<Contribution>; 8],
    /// Samples that took part.
    pub n: usize,
    /// Independent samples that they are worth, the least of the three components.
    pub effective_n: f64,
}

impl MeanElements {
    /// Names of the elements, in the order of [`MeanElements::budget`].
    pub const NAMES: [&str; 8] = ["D", "I", "H", "F", "X", "Y", "Z", "heading"];

    /// The elements with their names, in the order of [`MeanElements::NAMES`].
    pub fn all(&self) -> [(&'static str, Quantity); 8] {
        let values = [
            self.declination_deg,
            self.inclination_deg,
            self.horizontal_nt,
            self.total_nt,
            self.x_nt,
            self.y_nt,
            self.z_nt,
            self.heading_deg,
        ];
        std::array::from_fn(|k| (Self::NAMES[k], values[k]))
    }
}

/// Mean elements of three components of equal length, nT, in the local frame.
///
/// Intensities are arithmetic means over the samples; declination, inclination and heading are
/// mean directions ([`circular`]).  The scatter (type A) is the covariance of the samples over
/// their effective number ([`serial`]); the instrument's uncertainties (type B) are carried to
/// each element by its derivatives at the mean vector and added as squares.
///
/// NaN and samples that `keep` refuses are left out.  With no sample every value is NaN, with
/// one every uncertainty is, since one sample says nothing of its scatter; where H is tiny,
/// declination and heading are NaN.
///
/// # Accuracy
///
/// First order: noise of σ nT in each component moves the mean of H up by σ²/(2H), 2.5 nT for
/// 300 nT on 18,000 nT.
///
/// # Source
///
/// JCGM 100:2008 (GUM), equations 10 and 13, 4.2 (type A), 4.3 (type B).
pub fn mean(
    x: &[f64],
    y: &[f64],
    z: &[f64],
    keep: impl Fn(usize) -> bool,
    uncertainty: &Uncertainty,
) -> MeanElements {
    let n = x.len().min(y.len()).min(z.len());
    let whole = |k: &usize| keep(*k) && !(x[*k] + y[*k] + z[*k]).is_nan();
    let used: Vec<usize> = (0..n).filter(whole).collect();
    let pick = |list: &[f64]| -> Vec<f64> { used.iter().map(|k| list[*k]).collect() };
    let axes = [pick(x), pick(y), pick(z)];
    let e = elements::of(&axes[0], &axes[1], &axes[2]);
    let serial = axes.each_ref().map(|list| serial::mean(list.iter().copied()));
    let at: Vec3 = serial.map(|s| s.mean);
    let scatter = scatter(&axes, &serial);
    let sources = sources(at, scatter, uncertainty);
    let rows = derivatives(at);
    let average = |list: &[f64]| list.iter().sum::<f64>() / list.len() as f64;
    let values = [
        circular::signed_deg(circular::mean_deg(e.d.iter().copied())),
        circular::signed_deg(circular::mean_deg(e.i.iter().copied())),
        average(&e.h),
        average(&e.f),
        at[0],
        at[1],
        at[2],
        circular::mean_deg(elements::headings_deg(&e.d)),
    ];
    let budget = rows.map(|row| lines(row, &sources));
    let [d, i, h, f, x, y, z, heading] = std::array::from_fn(|k| {
        let unit = if matches!(k, 0 | 1 | 7) { Unit::Degree } else { Unit::Nanotesla };
        let squares: f64 = budget[k].iter().map(|line| line.sigma * line.sigma).sum();
        Quantity::new(values[k], squares.sqrt(), unit)
    });
    MeanElements {
        declination_deg: d,
        inclination_deg: i,
        horizontal_nt: h,
        total_nt: f,
        x_nt: x,
        y_nt: y,
        z_nt: z,
        heading_deg: heading,
        budget,
        n: used.len(),
        effective_n: serial.iter().map(|s| s.effective_n).fold(f64::INFINITY, f64::min),
    }
}

/// A source of uncertainty as a covariance of the three components, nT².
struct Source {
    name: &'static str,
    covariance: Mat3,
    type_a: bool,
}

/// Covariance of the mean: correlation of the samples, with the standard error of each mean.
fn scatter(lists: &[Vec<f64>; 3], serial: &[serial::SerialMean; 3]) -> Mat3 {
    let mut out = [[0.0; 3]; 3];
    for a in 0..3 {
        for b in 0..3 {
            let (sa, sb) = (&serial[a], &serial[b]);
            let product: f64 = lists[a]
                .iter()
                .zip(&lists[b])
                .map(|(p, q)| (p - sa.mean) * (q - sb.mean))
                .sum::<f64>();
            let covariance = product / (sa.n as f64 - 1.0);
            let spread = sa.sd * sb.sd;
            let correlation = if spread > 0.0 { covariance / spread } else { f64::from(a == b) };
            out[a][b] = correlation * sa.sigma_mean * sb.sigma_mean;
        }
    }
    out
}

fn sources(at: Vec3, scatter: Mat3, u: &Uncertainty) -> Vec<Source> {
    let variance_about = |turns: &[(Vec3, f64)]| {
        let mut out = [[0.0; 3]; 3];
        for (axis, angle_deg) in turns {
            let moved = vector::cross(*axis, at).map(|v| v * angle_deg.to_radians());
            add_outer(&mut out, moved);
        }
        out
    };
    let mut scale = [[0.0; 3]; 3];
    add_outer(&mut scale, at.map(|v| v * u.scale_relative));
    let step = u.step_nt * u.step_nt / 12.0;
    let step = std::array::from_fn(|a| std::array::from_fn(|b| if a == b { step } else { 0.0 }));
    let tilt = [([1.0, 0.0, 0.0], u.tilt_deg), ([0.0, 1.0, 0.0], u.tilt_deg)];
    let azimuth = [([0.0, 0.0, 1.0], u.azimuth_deg)];
    let source = |name, covariance| Source { name, covariance, type_a: false };
    vec![
        Source { type_a: true, ..source(word("scatter of the samples"), scatter) },
        source(word("offset and matrix of the calibration"), u.component_nt),
        source(word("scale"), scale),
        source(word("levelling"), variance_about(&tilt)),
        source(word("azimuth"), variance_about(&azimuth)),
        source(word("last digit of the sensor"), step),
    ]
}

fn add_outer(m: &mut Mat3, v: Vec3) {
    for (row, a) in m.iter_mut().zip(v) {
        for (entry, b) in row.iter_mut().zip(v) {
            *entry += a * b;
        }
    }
}

/// Derivatives of D, I (degrees), H, F, X, Y, Z and heading by X, Y, Z at a vector.
fn derivatives([x, y, z]: Vec3) -> [Vec3; 8] {
    let h = libm::hypot(x, y);
    let f = libm::hypot(h, z);
    let (h2, f2) = (h * h, f * f);
    let d = [-y / h2 * DEGREES, x / h2 * DEGREES, 0.0];
    let i = [-z * x / (h * f2), -z * y / (h * f2), h / f2].map(|v| v * DEGREES);
    [
        d,
        i,
        [x / h, y / h, 0.0],
        [x / f, y / f, z / f],
        [1.0, 0.0, 0.0],
        [0.0, 1.0, 0.0],
        [0.0, 0.0, 1.0],
        d.map(|v| -v),
    ]
}

/// Lines of one element's budget; sources that add nothing are left out.
fn lines(row: Vec3, sources: &[Source]) -> Vec<Contribution> {
    let variance = |s: &Source| vector::dot(row, vector::apply(&s.covariance, row));
    // What rounding leaves of a variance that is nought.
    let rounding = |s: &Source| {
        let trace = s.covariance[0][0] + s.covariance[1][1] + s.covariance[2][2];
        1e-12 * trace * vector::dot(row, row)
    };
    sources
        .iter()
        .map(|s| (s, variance(s)))
        .filter(|(s, v)| v.is_nan() || *v > rounding(s))
        .map(|(s, v)| Contribution { name: s.name, sigma: v.sqrt(), type_a: s.type_a })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;

    fn noisy(n: usize, sigma: f64, seed: u64) -> [Vec<f64>; 3] {
        let mut random = Random::new(seed);
        [17_900.0, -1_900.0, 40_400.0]
            .map(|v| (0..n).map(|_| v + sigma * random.normal()).collect())
    }

    fn sigma_of(list: &[Contribution], name: &str) -> f64 {
        list.iter().find(|line| line.name == name).map_or(0.0, |line| line.sigma)
    }

    #[test]
    fn scatter_alone_falls_with_the_square_root_of_the_number() {
        let [x, y, z] = noisy(10_000, 300.0, 3);
        let found = mean(&x, &y, &z, |_| true, &Uncertainty::default());
        assert!((found.x_nt.sigma - 3.0).abs() < 0.45, "{}", found.x_nt.sigma);
        assert!((found.x_nt.value - 17_900.0).abs() < 4.0 * found.x_nt.sigma);
        // Closed form: sigma_D = sigma_perpendicular / H, in radians.
        let want = found.y_nt.sigma / 18_000.0 * DEGREES;
        assert!((found.declination_deg.sigma / want - 1.0).abs() < 0.1);
        assert_eq!(found.budget[0].len(), 1);
    }

    #[test]
    fn a_tilt_of_a_degree_moves_the_heading_by_a_degree_times_tan_i() {
        // Closed form tilt tan I: 1 degree at I = 66 degrees is 2.246 degrees.
        let [x, y, z] = elements::components(0.0, 66.0, 44_255.0).map(|v| vec![v; 20]);
        let u = Uncertainty { tilt_deg: 1.0, ..Uncertainty::default() };
        let found = mean(&x, &y, &z, |_| true, &u);
        assert!((found.heading_deg.sigma - 2.246).abs() < 1e-3);
        assert!((found.total_nt.sigma).abs() < 1e-9);
        assert!((found.inclination_deg.sigma - 1.0).abs() < 1e-9);
    }

    #[test]
    fn contributions_add_as_squares_and_scale_moves_no_angle() {
        let [x, y, z] = noisy(5_000, 100.0, 9);
        let covariance = [[400.0, 0.0, 0.0], [0.0, 900.0, 0.0], [0.0, 0.0, 1600.0]];
        let u = Uncertainty {
            component_nt: covariance,
            scale_relative: 0.003,
            tilt_deg: 0.1,
            azimuth_deg: 0.2,
            step_nt: 40.0,
        };
        let found = mean(&x, &y, &z, |_| true, &u);
        for (list, (name, q)) in found.budget.iter().zip(found.all()) {
            let squares: f64 = list.iter().map(|line| line.sigma * line.sigma).sum();
            assert!((squares.sqrt() - q.sigma).abs() < 1e-12, "{name}");
        }
        assert!(sigma_of(&found.budget[0], "scale") < 1e-9);
        assert!((sigma_of(&found.budget[3], "scale") / found.total_nt.value - 0.003).abs() < 1e-6);
        assert!((sigma_of(&found.budget[0], "azimuth") - 0.2).abs() < 1e-9);
        assert!(sigma_of(&found.budget[1], "azimuth") < 1e-9);
        assert!((sigma_of(&found.budget[6], "last digit of the sensor") - 11.547).abs() < 1e-3);
    }

    #[test]
    fn refused_and_missing_samples_take_no_part() {
        let x = [1.0, f64::NAN, 3.0, 1e9];
        let found = mean(&x, &[0.0; 4], &[0.0; 4], |k| k != 3, &Uncertainty::default());
        assert_eq!((found.n, found.x_nt.value), (2, 2.0));
    }

    #[test]
    fn no_sample_gives_no_value_and_no_panic() {
        let found = mean(&[], &[], &[], |_| true, &Uncertainty::default());
        assert!(found.all().iter().all(|(_, q)| q.value.is_nan() && q.sigma.is_nan()));
    }

    #[test]
    fn headings_on_both_sides_of_north_average_to_north() {
        let found =
            mean(&[100.0, 100.0], &[1.0, -1.0], &[0.0; 2], |_| true, &Uncertainty::default());
        assert!(circular::signed_deg(found.heading_deg.value).abs() < 1e-9);
    }
}
