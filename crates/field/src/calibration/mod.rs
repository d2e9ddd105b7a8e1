//! Calibration: from a turning log to the offset and matrix that undo the sensor's own field.
//!
//! A sensor that is turned through all directions in a steady field should always read the same
//! length.  It does not: its readings lie on an ellipsoid off the origin.  The fit finds the
//! offset V (hard iron) and the matrix S (scales, skew, soft iron) with |S(m − V)| = F, with the
//! uncertainty of every number, and refuses what the readings cannot support.
//!
//! Only the lengths are seen, so a rotation stays open: the matrix is the symmetric one, which
//! turns the axes least, or on request the triangular one, which keeps the sensor's x axis.
//!
//! Readings that are NaN or that `keep` refuses take no part; rejected ones are listed.

use record::{say, words::word};

mod algebraic;
mod alike;
mod circle;
mod cloud;
pub mod coverage;
mod error;
mod gate;
mod geometric;
mod robust;
mod seen;
mod shape;
mod solve;
mod tell;
mod validate;
mod warning;

use record::vector::{self, Mat3, Vec3};

pub use coverage::CellCount;
pub use error::CalibrationError;
pub use seen::{Seen, seen};
pub use solve::{fit, fit_or_fall_back};

/// What a calibration may correct.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Model {
    /// Offset and full matrix: 9 numbers.
    Ellipsoid,
    /// Offset and one scale: 4 numbers.
    Sphere,
    /// A turn in one plane: the offset in that plane and one scale.
    Circle,
    /// A turn in one plane: the offset and the matrix of that plane, 5 numbers.
    Ellipse,
    /// Offset and matrix given, not fitted.
    Given,
}

impl Model {
    /// Stable name for files.
    pub fn id(self) -> &'static str {
        match self {
            Self::Ellipsoid => "ellipsoid",
            Self::Sphere => "sphere",
            Self::Circle => "circle",
            Self::Ellipse => "ellipse",
            Self::Given => "given",
        }
    }

    /// Whether the sensor turned in one plane only.
    pub fn is_flat(self) -> bool {
        matches!(self, Self::Circle | Self::Ellipse)
    }

    /// Numbers to be found.
    pub fn numbers(self) -> usize {
        match self {
            Self::Ellipsoid => 9,
            Self::Sphere => 4,
            Self::Circle => 3,
            Self::Ellipse => 5,
            Self::Given => 0,
        }
    }

    /// Largest condition number at which the fit is trusted; simulations with a known offset
    /// gave these gates: an offset known to about the noise of one reading or two, from a few
    /// hundred.  (Turns of 210, 180 and 150 degrees give an ellipse 10, 21 and 50.)
    pub fn condition_limit(self) -> f64 {
        match self {
            Self::Ellipsoid => 50.0,
            Self::Circle | Self::Ellipse => 20.0,
            Self::Sphere | Self::Given => 100.0,
        }
    }

    fn fewest(self) -> usize {
        match self {
            Self::Ellipsoid => 12,
            Self::Ellipse => 8,
            Self::Sphere => 6,
            Self::Circle | Self::Given => 4,
        }
    }

    fn noun(self) -> &'static str {
        match self {
            Self::Ellipsoid => word("an ellipsoid"),
            Self::Sphere => word("a sphere"),
            Self::Circle => word("a circle"),
            Self::Ellipse => word("an ellipse"),
            Self::Given => word("a given calibration"),
        }
    }

    fn phrase(self) -> String {
        say!("the fit of {}", self.noun())
    }
}

/// An ellipsoid longer than this many times its width is no working sensor's: the greatest gain
/// ratio of axes on common parts is below 2 (common practice, no source).
pub const LONGEST_RATIO: f64 = 4.0;

/// Readings further off the surface than this share of the field, on average, are no turning log
/// (common practice, no source: a good set outdoors stands 0.2 to 0.5 % off).
pub const LARGEST_RESIDUAL: f64 = 0.2;

/// How to fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// What to correct.
    pub model: Model,
    /// Total field to scale to with its standard uncertainty, nT; `None` keeps the raw unit and
    /// the mean radius of the raw data.  For a circle or an ellipse, the field in the plane of the turn: the
    /// horizontal intensity when the sensor was level.
    pub field: Option<(f64, f64)>,
    /// Whether wild readings are weighed down before the last fit.
    pub robust: bool,
    /// Readings further off than this many robust standard deviations are rejected and the fit
    /// repeated; 0 keeps all.  (Torn numbers, many times further off than any field, are rejected
    /// in any fit that is robust or rejects.)
    pub reject_beyond: f64,
    /// Whether the matrix is the lower triangular one that keeps the sensor's x axis, in place of
    /// the symmetric one.
    pub tied_to_x: bool,
}

impl Default for Options {
    /// An ellipsoid in the raw unit, robust, rejecting beyond 4, symmetric.
    fn default() -> Self {
        Self {
            model: Model::Ellipsoid,
            field: None,
            robust: true,
            reject_beyond: 4.0,
            tied_to_x: false,
        }
    }
}

/// An offset and matrix with all that is known of them.
///
/// "Field unit" is nT when a field was given to scale to, the raw unit otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// What was fitted.
    pub model: Model,
    /// Whether the matrix is lower triangular, tied to the sensor's x axis.
    pub tied_to_x: bool,
    /// Reading of the sensor in no field (hard iron), raw unit.
    pub offset: Vec3,
    /// Standard uncertainty of each, raw unit; NaN where the readings say nothing.
    pub offset_sigma: Vec3,
    /// Maps raw − offset to field.
    pub matrix: Mat3,
    /// Standard uncertainty of each entry, with the field to scale to taken as exact.
    pub matrix_sigma: Mat3,
    /// Length that all samples are brought to, field unit.
    pub radius: f64,
    /// Radius of the sphere with the volume of the fitted ellipsoid, raw unit.
    pub radius_raw: f64,
    /// Relative standard uncertainty of the scale, that of the field to scale to included.
    pub radius_sigma: f64,
    /// Covariance of the offset and of the matrix entries xx, xy, xz, yy, yz, zz (for a
    /// triangular matrix xx, yx, zx, yy, zy, zz), the field to scale to taken as exact.
    pub covariance: Vec<Vec<f64>>,
    /// Root-mean-square of |calibrated| − radius over the readings used, field unit.
    pub residual_rms: f64,
    /// The same over the radius.
    pub residual_relative: f64,
    /// Largest residual by size, field unit.
    pub residual_max: f64,
    /// What residual and parameter uncertainty mean for a heading of one reading, degrees, were
    /// the whole field horizontal; divide by H/F for a station ([`Self::heading_error_at`]).
    pub heading_error_deg: f64,
    /// Share of the 48 equal cells of the sphere of directions with a reading, 0 to 1.
    pub coverage: f64,
    /// The cells, in the sensor's axes.
    pub directions: Vec<CellCount>,
    /// Condition number of the design in unit directions.
    pub condition: f64,
    /// Longest over shortest semi-axis of the ellipsoid.
    pub axis_ratio: f64,
    /// 90° minus the angle between the sensor's axes: xy, xz, yz, degrees.
    pub non_orthogonality_deg: [f64; 3],
    /// Readings used.
    pub used: usize,
    /// Samples rejected, places in the input.
    pub rejected: Vec<usize>,
    /// |calibrated| − radius for every input sample, field unit; NaN where not used.
    pub residuals: Vec<f64>,
    /// Standard deviation of one reading about the surface, field unit.
    pub noise_sigma: f64,
    /// Readings that one independent reading takes, because neighbours are alike, on average over
    /// the numbers found; 1 or more.
    pub serial_inflation: f64,
    /// Root-mean-square residual of readings that took no part: five contiguous stretches, each
    /// left out once; `None` for fewer than 50 readings.
    pub held_out_rms: Option<f64>,
}

impl Calibration {
    /// Calibrated vector of a raw one, field unit.  NaN in, NaN out.
    pub fn apply(&self, raw: Vec3) -> Vec3 {
        vector::apply(&self.matrix, vector::sub(raw, self.offset))
    }

    /// Covariance of one calibrated vector from the uncertainty of offset and matrix, field unit
    /// squared; shared by all vectors near it, so no averaging lessens it.  The scale's own
    /// uncertainty ([`Self::radius_sigma`]) stands apart.  NaN where an offset is not known.
    pub fn covariance_of(&self, raw: Vec3) -> Mat3 {
        let d = vector::sub(raw, self.offset);
        let mut rows = [[0.0; 9]; 3];
        for (a, row) in rows.iter_mut().enumerate() {
            for (axis, slot) in row.iter_mut().take(3).enumerate() {
                *slot = -self.matrix[a][axis];
            }
            for (k, (p, q)) in shape::ENTRIES.into_iter().enumerate() {
                row[3 + k] = if self.tied_to_x {
                    // The entry of a lower triangular matrix stands in row q, column p.
                    if a == q { d[p] } else { 0.0 }
                } else {
                    let first = if a == p { d[q] } else { 0.0 };
                    let second = if a == q && p != q { d[p] } else { 0.0 };
                    first + second
                };
            }
        }
        std::array::from_fn(|a| std::array::from_fn(|b| self.quadratic(&rows[a], &rows[b])))
    }

    fn quadratic(&self, left: &[f64; 9], right: &[f64; 9]) -> f64 {
        let row = |list: &Vec<f64>| list.iter().zip(right).map(|(c, r)| c * r).sum::<f64>();
        self.covariance.iter().zip(left).map(|(list, l)| l * row(list)).sum()
    }

    /// [`Self::heading_error_deg`] at a horizontal intensity, degrees; at most 180.
    pub fn heading_error_at(&self, horizontal: f64) -> f64 {
        (self.heading_error_deg * self.radius / horizontal).min(180.0)
    }

    /// A calibration known beforehand: offset in the raw unit, matrix to field.  Uncertainties
    /// and all that a fit would tell are NaN, empty or nought.
    pub fn given(offset: Vec3, matrix: Mat3) -> Self {
        let axes = shape::axes(&matrix);
        Self {
            model: Model::Given,
            tied_to_x: false,
            offset,
            offset_sigma: [f64::NAN; 3],
            matrix,
            matrix_sigma: [[f64::NAN; 3]; 3],
            radius: f64::NAN,
            radius_raw: f64::NAN,
            radius_sigma: f64::NAN,
            covariance: vec![vec![0.0; 9]; 9],
            residual_rms: f64::NAN,
            residual_relative: f64::NAN,
            residual_max: f64::NAN,
            heading_error_deg: f64::NAN,
            coverage: f64::NAN,
            directions: coverage::cells(),
            condition: f64::NAN,
            axis_ratio: axes.ratio,
            non_orthogonality_deg: axes.non_orthogonality_deg,
            used: 0,
            rejected: Vec::new(),
            residuals: Vec::new(),
            noise_sigma: f64::NAN,
            serial_inflation: 1.0,
            held_out_rms: None,
        }
    }
}
