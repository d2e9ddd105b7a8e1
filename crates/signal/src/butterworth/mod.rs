//! Butterworth filters: design, response, and use in one direction or both.
//!
//! In: an order, a band in hertz and a sampling rate; then a series.  Out:
//! second-order sections; then the filtered series.  One long polynomial is
//! never formed: it loses all digits for a low cut-off.  Nothing here fills a
//! gap.

mod apply;
mod design;

pub use apply::{causal, causal_from_rest, zero_phase, zero_phase_telling};
pub use design::{Band, MOST_ORDER, design, for_zero_phase, zero_phase_cutoff_factor};

use crate::fft::{Complex, turn_by};
use record::{Fault, say, words::word};
use std::fmt;

/// A second-order section, H = (b0 + b1/z + b2/z^2) / (a0 + a1/z + a2/z^2)
/// with a0 = 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// Numerator.
    pub b: [f64; 3],
    /// Denominator, its first coefficient 1.
    pub a: [f64; 3],
}

impl Section {
    /// Gain for a constant.
    pub(crate) fn gain_at_rest(&self) -> f64 {
        // The ends first: for a low cut-off all but a few digits cancel.
        let sum = |c: &[f64; 3]| (c[0] + c[2]) + c[1];
        sum(&self.b) / sum(&self.a)
    }

    /// Distance of the slower pole from the origin.
    fn pole_radius(&self) -> f64 {
        let [_, a1, a2] = self.a;
        let inside = a1 * a1 / 4.0 - a2;
        if inside < 0.0 { a2.sqrt() } else { a1.abs() / 2.0 + inside.sqrt() }
    }
}

/// Gain and phase (radians, -pi to pi) of one pass at a frequency.
///
/// A zero-phase filter has the square of this gain and no phase.
pub fn response(sections: &[Section], frequency_hz: f64, rate_hz: f64) -> (f64, f64) {
    let back = turn_by(frequency_hz / rate_hz);
    let at = |c: &[f64; 3]| back * (back * c[2] + c[1]) + c[0];
    let mut whole = Complex::new(1.0, 0.0);
    for section in sections {
        whole *= at(&section.b) / at(&section.a);
    }
    (libm::hypot(whole.re, whole.im), libm::atan2(whole.im, whole.re))
}

/// How many samples next to an edge or gap are not to be trusted: until the
/// slowest part of the filter's memory has faded to 1 %.
///
/// The limit of 1 % is common practice, no source.  A zero-phase filter has
/// such a stretch at both edges.
pub fn settle_samples(sections: &[Section]) -> usize {
    let slowest = sections.iter().map(Section::pole_radius).fold(0.0, f64::max);
    if slowest <= 0.0 {
        return sections.len() * 2;
    }
    libm::ceil(libm::log(0.01) / libm::log(slowest.min(1.0 - 1e-12))) as usize
}

/// Why a filter cannot be made or used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FilterError {
    /// The order is 0 or too high.
    Order(usize),
    /// The sampling rate is not a positive number.
    Rate(f64),
    /// A cut-off is not between 0 and half the sampling rate.
    CutOff {
        /// The cut-off, hertz.
        cutoff_hz: f64,
        /// Half the sampling rate, hertz.
        limit_hz: f64,
    },
    /// The lower edge of a band is not below its upper edge.
    Edges {
        /// Lower edge, hertz.
        low_hz: f64,
        /// Upper edge, hertz.
        high_hz: f64,
    },
    /// A sample is missing.
    Gap(usize),
    /// Too few samples.
    TooShort {
        /// Samples there are.
        samples: usize,
        /// Samples needed.
        needed: usize,
    },
}

impl fmt::Display for FilterError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Order(order) => f.write_str(&say!(
                "A filter of order {order} cannot be made; orders go from 1 to {MOST_ORDER}."
            )),
            Self::Rate(rate_hz) => {
                f.write_str(&say!("The sampling rate is {rate_hz} Hz; it must be more than 0."))
            }
            Self::CutOff { cutoff_hz, limit_hz } => f.write_str(&say!(
                "The cut-off {cutoff_hz} Hz does not lie between 0 and half the sampling rate, \
                 {limit_hz} Hz."
            )),
            Self::Edges { low_hz, high_hz } => {
                f.write_str(&say!("The band from {low_hz} Hz to {high_hz} Hz has no width."))
            }
            Self::Gap(sample) => f.write_str(&say!("Sample {} has no value.", sample + 1)),
            Self::TooShort { samples, needed } => f.write_str(&say!(
                "There are {samples} samples in a row; this filter needs at least {needed}."
            )),
        }
    }
}

impl std::error::Error for FilterError {}

impl From<FilterError> for Fault {
    fn from(error: FilterError) -> Self {
        let (code, remedy) = match error {
            FilterError::Order(_) => {
                ("signal/order", word("Orders of 2 to 8 serve almost every purpose."))
            }
            FilterError::Rate(_) => {
                ("signal/rate", word("Give the log's cadence, or let it be found from the times."))
            }
            FilterError::CutOff { .. } => (
                "signal/cut-off",
                word("Choose a period longer than two sampling steps, or use data sampled faster."),
            ),
            FilterError::Edges { .. } => {
                ("signal/band", word("Give the lower frequency first, the higher one second."))
            }
            FilterError::Gap(_) => (
                "signal/gap",
                word(
                    "A filter needs an unbroken series. Fill short gaps first, or filter each \
                 stretch between gaps.",
                ),
            ),
            FilterError::TooShort { .. } => (
                "signal/too-short",
                word("Lower the order of the filter, or choose a longer stretch without gaps."),
            ),
        };
        let fault = Self::new(code, error.to_string(), remedy);
        match error {
            FilterError::Gap(sample) => fault.at(say!("sample {}", sample + 1)),
            _ => fault,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_filter_is_trusted_after_its_memory_has_faded() {
        let sections = design(4, Band::Low(0.01), 1.0).unwrap();
        let settle = settle_samples(&sections);
        let mut step = vec![0.0; 4 * settle];
        step[settle..].fill(1.0);
        let passed = causal_from_rest(&sections, &step);
        assert!((50..500).contains(&settle), "{settle}");
        assert!(passed[2 * settle..].iter().all(|v| (v - 1.0).abs() < 0.02));
    }

    #[test]
    fn a_cut_off_above_half_the_rate_is_refused_with_both_figures() {
        let error = design(2, Band::Low(3.0), 4.0).unwrap_err();
        let fault = Fault::from(error);
        assert_eq!(fault.code, "signal/cut-off");
        assert!(fault.message.contains("3 Hz") && fault.message.contains("2 Hz"));
    }

    #[test]
    fn a_gap_is_refused_at_its_first_sample() {
        let sections = design(2, Band::Low(0.1), 1.0).unwrap();
        let mut x = vec![0.0; 40];
        x[12] = f64::NAN;
        x[30] = f64::NAN;
        assert_eq!(zero_phase(&sections, &x), Err(FilterError::Gap(12)));
    }
}
