//! Where ticks stand and what they say.
//!
//! Each file here knows one kind of axis.  All of them are given the span and
//! the room, and choose the finest step whose labels keep apart; none of them
//! knows where on the sheet the axis lies.

pub(crate) mod angle;
pub(crate) mod linear;
pub(crate) mod log;
pub(crate) mod period;
pub(crate) mod time;

use crate::metrics::run_width_px;
use crate::model::{Run, Tick};

/// The room along an axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Room {
    /// Length of the axis.
    pub length_px: f64,
    /// Height of the labels.
    pub font_px: f64,
    /// Whether labels stand one above the other.
    pub upright: bool,
}

impl Room {
    /// Least distance between the middles of neighbouring labels.  A third of
    /// the text's height more is left for faces wider than the table's.
    fn apart_px(&self, widest_px: f64) -> f64 {
        if self.upright {
            (2.2 * self.font_px).max(self.length_px / 9.0)
        } else {
            (widest_px * 1.12 + 0.9 * self.font_px).max(3.4 * self.font_px)
        }
    }

    /// The same where otherwise a single label would be left.
    fn closest_px(&self, widest_px: f64) -> f64 {
        if self.upright { 1.3 * self.font_px } else { widest_px * 1.12 + 0.6 * self.font_px }
    }
}

/// Ticks of an axis.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Ticks {
    /// With labels.
    pub major: Vec<Tick>,
    /// Between them.
    pub minor: Vec<f64>,
    /// Power of ten that the labels were divided by.
    pub exponent: i32,
}

/// Width of the widest label.
pub(crate) fn widest_px(ticks: &[Tick], font_px: f64) -> f64 {
    ticks.iter().map(|tick| run_width_px(&tick.text, font_px)).fold(0.0, f64::max)
}

/// A power of ten, correctly rounded.
pub(crate) fn ten_to(exponent: i32) -> f64 {
    record::decimal::ten_to(exponent)
}

/// A tick with plain writing.
fn tick(at: f64, text: Vec<Run>) -> Tick {
    Tick { at, text }
}
