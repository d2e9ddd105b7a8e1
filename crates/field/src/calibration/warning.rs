//! What a student should know of a calibration that was not refused.

use super::{Calibration, Model};
use record::{Warning, print, say, words::worded};

impl Calibration {
    /// Warnings, most serious first; empty for a good set.
    pub fn warnings(&self) -> Vec<Warning> {
        if self.model == Model::Given {
            return Vec::new();
        }
        [self.held_out(), self.off_surface(), self.many_rejected(), self.patchy(), self.alike()]
            .into_iter()
            .flatten()
            .collect()
    }

    fn held_out(&self) -> Option<Warning> {
        let held_out = self.held_out_rms.filter(|rms| *rms > 2.0 * self.residual_rms)?;
        let times = held_out / self.residual_rms;
        let message = if times.is_finite() {
            say!(
                "Stretches of the turning log that were left out stand {} times further off than \
                 those fitted: the fit follows the readings it saw, not the sensor.",
                print::significant(times, 2)
            )
        } else {
            worded(
                "One stretch of the turning log carries the fit alone: without it no fit is possible.",
            )
        };
        Some(Warning::new(
            "calibrate/held-out",
            message,
            "Turn the sensor through all directions more than once.",
        ))
    }

    fn off_surface(&self) -> Option<Warning> {
        (self.residual_relative > 0.01).then(|| {
            Warning::new(
                "calibrate/residual",
                say!(
                    "The readings stand {} % of the field off the fitted surface; a good set \
                     outdoors stands 0.2 to 0.5 % off.",
                    print::significant(100.0 * self.residual_relative, 2)
                ),
                "Steel, cables or telephones nearby change the field while the sensor turns: turn \
                 it in place, out of doors, away from them.",
            )
        })
    }

    fn many_rejected(&self) -> Option<Warning> {
        let total = self.used + self.rejected.len();
        let share = self.rejected.len() as f64 / total.max(1) as f64;
        (share > 0.05).then(|| {
            Warning::new(
                "calibrate/rejected",
                say!(
                    "{} of {} readings were rejected as too far off.",
                    print::count(self.rejected.len()),
                    print::count(total)
                ),
                "See in the residuals whether they come from one stretch of the log, and leave \
                 that out.",
            )
        })
    }

    fn patchy(&self) -> Option<Warning> {
        (self.coverage < 0.5 && !self.model.is_flat()).then(|| {
            Warning::new(
                "calibrate/coverage-low",
                say!(
                    "The field was seen in {} of the sphere of directions.",
                    format_args!("{} %", print::significant(100.0 * self.coverage, 2))
                ),
                say!(
                    "The matrix holds for the directions seen; turn the sensor so that the field \
                     points along {} too.",
                    super::coverage::least_seen(&self.directions)
                ),
            )
        })
    }

    fn alike(&self) -> Option<Warning> {
        (self.serial_inflation > 10.0).then(|| {
            Warning::new(
                "calibrate/alike",
                say!(
                    "Neighbouring residuals are alike: {} readings are worth {}. The uncertainties \
                     say so already.",
                    print::count(self.used),
                    print::significant(self.used as f64 / self.serial_inflation, 2)
                ),
                "Turn faster, or change faces more often, so that the log holds more independent \
                 directions.",
            )
        })
    }
}
