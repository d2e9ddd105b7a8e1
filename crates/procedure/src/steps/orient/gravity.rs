//! Levelling by the accelerometer: which way is down, how the magnetometer's
//! axes stand to its own, and whether one of the two is left-handed.

use crate::outcome::{Outcome, State};
use field::alignment::{self, Alignment, AlignmentError};
use field::orientation;
use record::vector::{self, IDENTITY, Mat3, Vec3, apply, multiply};
use record::{Fault, Quantity, Record, Role, Unit, Warning, print, say, words::word};

/// What takes the sensor's vectors to level ones.
pub(super) struct Levelling {
    /// From the magnetometer's axes to the accelerometer's.
    align: Mat3,
    /// From nominal axes to level ones, on average.
    level: Mat3,
    /// The same for every sample; empty for one that stands still.
    each: Vec<Mat3>,
    told: Option<Told>,
}

struct Told {
    roll_pitch_deg: (f64, f64),
    alignment: Result<Alignment, AlignmentError>,
    /// Samples without a usable acceleration, levelled on average.
    without: usize,
    /// Samples whose acceleration was not that of rest.
    moving: usize,
}

/// Acceleration further than this share from its median is motion.
const MOTION: f64 = 0.03;

impl Levelling {
    /// Nothing is measured: the sensor counts as level.
    pub(super) fn by_hand() -> Self {
        Self { align: IDENTITY, level: IDENTITY, each: Vec::new(), told: None }
    }

    /// From the sensor's axes to level ones, on average.
    pub(super) fn on_average(&self, axes: &Mat3) -> Mat3 {
        multiply(&self.level, &multiply(axes, &self.align))
    }

    /// The same at a sample, where each has its own.
    pub(super) fn at(&self, sample: usize, axes: &Mat3) -> Option<Mat3> {
        self.each.get(sample).map(|level| multiply(level, &multiply(axes, &self.align)))
    }

    /// What was levelled, in a sentence and a space; empty by hand.
    pub(super) fn remark(&self) -> String {
        let Some(told) = &self.told else { return String::new() };
        let (roll, pitch) = told.roll_pitch_deg;
        let mut text = say!(
            "By gravity the sensor leant {}° to its right side and {}° nose up; that is taken off",
            print::fixed(roll, 1),
            print::fixed(pitch, 1)
        );
        if let Ok(found) = &told.alignment {
            text.push_str(&say!(
                "; its magnetometer stands {} to its accelerometer, {}° askew",
                found.axes,
                print::fixed(found.angle_deg, 1)
            ));
        }
        text.push_str(". ");
        text
    }

    /// Values and warnings of the levelling.
    pub(super) fn told(self, mut outcome: Outcome) -> Outcome {
        let Some(told) = self.told else { return outcome };
        let (roll, pitch) = told.roll_pitch_deg;
        outcome = outcome
            .number("roll_deg", roll, Unit::Degree)
            .number("pitch_deg", pitch, Unit::Degree)
            .number("moving", told.moving as f64, Unit::None);
        outcome = match &told.alignment {
            Ok(found) => aligned(outcome, found),
            Err(error) => outcome.warn(not_aligned(error)),
        };
        if told.moving > 0 && !self.each.is_empty() {
            outcome = outcome.warn(Warning::new(
                "orient/moving",
                say!(
                    "{} were taken while the sensor was pushed or swung: gravity alone does not \
                     level them, and their headings are off.",
                    print::counted(told.moving, "sample", "samples")
                ),
                "Hold the sensor still for a few seconds wherever you want a heading.",
            ));
        }
        if told.without > 0 {
            outcome = outcome.warn(Warning::new(
                "orient/no-gravity",
                say!(
                    "{} have no acceleration and are levelled as the rest were on average.",
                    print::counted(told.without, "sample", "samples")
                ),
                "",
            ));
        }
        outcome.warn(Warning::new(
            "orient/raw-gravity",
            "The accelerometer itself is taken as it is: offsets of some hundredths of gravity, \
             usual in cheap ones, tilt it by a degree or two.",
            "Turn the sensor by half a turn on the same spot: half of the change in tilt is its \
             own. Put what remains into the levelling's uncertainty.",
        ))
    }
}

fn aligned(outcome: Outcome, found: &Alignment) -> Outcome {
    let sigma = vector::norm(found.sigma_deg) / 3f64.sqrt();
    let outcome = outcome
        .quantity(
            "alignment_deg",
            word("Magnetometer to accelerometer"),
            Quantity::new(found.angle_deg, sigma, Unit::Degree),
        )
        .quantity(
            "alignment_inclination_deg",
            word("Inclination by gravity"),
            found.inclination_deg,
        );
    if !found.left_handed {
        return outcome;
    }
    outcome.warn(Warning::new(
        "orient/left-handed",
        say!(
            "Magnetometer and accelerometer differ in handedness (their axes stand {}): one of \
             the two triples is left-handed. The field was brought to the accelerometer's.",
            found.axes
        ),
        "See the drawing on the sensor's board which of the two axes is printed the wrong way.",
    ))
}

fn not_aligned(error: &AlignmentError) -> Warning {
    let fault = Fault::from(*error);
    Warning::new(
        "orient/not-aligned",
        say!(
            "How the magnetometer's axes stand to the accelerometer's was not found, so they are \
             taken as parallel: {}",
            fault.message
        ),
        fault.remedy,
    )
}

/// The levelling that the accelerometer of a log gives.
///
/// # Errors
///
/// `orient/no-accelerometer` without three components of acceleration;
/// `orient/no-down` when none is usable.
pub(super) fn levelling(state: &State, axes: &Mat3, each: bool) -> Result<Levelling, Fault> {
    let record = &state.record;
    let own = acceleration(record).ok_or_else(|| {
        Fault::new(
            "orient/no-accelerometer",
            "The log has no three components of acceleration.",
            "Level the sensor by hand with a bubble, or log its accelerometer beside the field.",
        )
    })?;
    let marks = record.marks();
    let mean = mean_of(&own, |k| marks.keeps(k)).ok_or_else(no_down)?;
    // Whether the numbers point up or down: the sensor's down axis decides.
    let sign = if apply(axes, mean)[2] < 0.0 { -1.0 } else { 1.0 };
    let alignment = alignment(state, &own, sign);
    let align = alignment.as_ref().map_or(IDENTITY, |found| found.rotation);
    let down = |v: Vec3| apply(axes, v.map(|c| sign * c));
    let level = orientation::level(down(mean)).ok_or_else(no_down)?;
    let roll_pitch_deg = orientation::roll_pitch_deg(down(mean));
    let at = |k: usize| own.each_ref().map(|list| list[k]);
    let usual = signal::robust::median(
        &(0..record.len()).map(|k| vector::norm(at(k))).collect::<Vec<f64>>(),
    )
    .unwrap_or(f64::NAN);
    let still = |k: &usize| (vector::norm(at(*k)) - usual).abs() <= MOTION * usual;
    let finite = (0..record.len()).filter(|k| vector::norm(at(*k)).is_finite());
    let moving = finite.filter(|k| !still(k)).count();
    let mut without = 0;
    let mut levels = Vec::new();
    if each {
        levels = (0..record.len())
            .map(|k| {
                orientation::level(down(at(k))).unwrap_or_else(|| {
                    without += 1;
                    level
                })
            })
            .collect();
    }
    let told = Some(Told { roll_pitch_deg, alignment, without, moving });
    Ok(Levelling { align, level, each: levels, told })
}

fn no_down() -> Fault {
    Fault::new(
        "orient/no-down",
        "The acceleration has no direction: its mean over the log is nought or not a number.",
        "Level the sensor by hand, and look at the three columns in the reading report.",
    )
}

fn acceleration(record: &Record) -> Option<[Vec<f64>; 3]> {
    let get = |role| record.channel(role).map(|c| c.values.to_vec());
    Some([get(Role::AccelX)?, get(Role::AccelY)?, get(Role::AccelZ)?])
}

fn mean_of(lists: &[Vec<f64>; 3], keep: impl Fn(usize) -> bool) -> Option<Vec3> {
    let n = lists[0].len();
    let whole = |k: &usize| keep(*k) && lists.iter().all(|list| list[*k].is_finite());
    let used: Vec<usize> = (0..n).filter(whole).collect();
    let mean = |list: &Vec<f64>| used.iter().map(|k| list[*k]).sum::<f64>() / used.len() as f64;
    (!used.is_empty()).then(|| lists.each_ref().map(mean))
}

/// The alignment by the turning log, where it has an accelerometer, or by the
/// log itself.
fn alignment(state: &State, own: &[Vec<f64>; 3], sign: f64) -> Result<Alignment, AlignmentError> {
    let turned = state.turning.as_deref().and_then(|turning| {
        let fitted = state.calibration.as_ref()?;
        let (axes, gravity) = (turning.vector()?, acceleration(turning)?);
        let field: Vec<Vec3> =
            (0..turning.len()).map(|k| fitted.apply(axes.map(|c| c.values[k]))).collect();
        Some((field, gravity))
    });
    let (field, gravity) = match turned {
        Some(found) => found,
        None => {
            let axes = state.record.vector();
            let field = axes
                .map(|axes| (0..state.record.len()).map(|k| axes.map(|c| c.values[k])).collect());
            (field.unwrap_or_default(), own.clone())
        }
    };
    let columns: [Vec<f64>; 3] =
        std::array::from_fn(|axis| field.iter().map(|v| v[axis]).collect());
    let down = gravity.map(|list| list.iter().map(|v| sign * v).collect::<Vec<f64>>());
    alignment::fit(
        columns.each_ref().map(Vec::as_slice),
        down.each_ref().map(Vec::as_slice),
        |_| true,
    )
}
