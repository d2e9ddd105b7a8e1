//! Magnetic storms in one station's record: commencement, main phase, recovery, and what else it
//! may have been.
//!
//! The horizontal field in days and in fine steps in; candidates out, each with its verdict and
//! the reasons for it.  What one station shows is its own disturbance, not Dst, which is made of
//! four stations near the equator: north of 50° substorms add to it.
//!
//! # The rule
//!
//! A stretch in which the hourly local disturbance (see [`level`]) falls to the depth asked for is
//! a candidate.  It is a storm when it recovers slowly: the middle one of the twelve hours after
//! its deepest hour is still down by a quarter of that depth.  A dip that is over sooner is a bay.
//! Before its main phase a commencement is looked for: a rise of the horizontal field within
//! minutes that stays (see [`jump`]), by 4 of the usual differences and by the least size asked
//! for; alone, without a storm after it, a jump must stand out by 8.  Against it speak edges of a
//! minute, a level that is undone by the opposite jump or that stays for days, and a reference
//! that shows nothing.  The thresholds are common practice, no source, but for those of the trade
//! named there.
//!
//! # Accuracy
//!
//! `crates/procedure/tests/scenario/` holds the rule against simulated records whose truth is
//! known.

mod class;
mod even;
mod find;
pub mod jump;
pub mod level;
mod reasons;
mod weigh;

pub use class::{Class, class};
pub use even::Even;
pub use find::{Found, Noted, Sight, Storm, search};
pub use jump::Jump;
pub use level::Local;
pub use reasons::{Reason, Verdict};

use crate::days::Days;

/// How to look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Depth of the hourly disturbance that makes a candidate, nT, positive.
    pub depth_nt: f64,
    /// Smallest jump within minutes that may be a sudden commencement, nT.
    pub jump_nt: f64,
    /// How far a jump that stands alone must stand out of the usual differences.
    pub jump_sigmas: f64,
}

impl Default for Options {
    /// 50 nT deep; jumps of 5 nT and 8 robust standard deviations (common practice, no source).
    fn default() -> Self {
        Self { depth_nt: 50.0, jump_nt: 5.0, jump_sigmas: 8.0 }
    }
}

/// Size of the horizontal field's change from bin to bin, nT a minute: √(ΔX² + ΔY²); the first
/// value is NaN.
pub fn change_nt_per_min(days: &Days) -> Vec<f64> {
    let [Some(x), Some(y)] = [days.values.first(), days.values.get(1)] else { return Vec::new() };
    let minutes = days.bin_ns() as f64 / (60.0 * 1e9);
    (0..x.len())
        .map(|k| match k {
            0 => f64::NAN,
            k => libm::hypot(x[k] - x[k - 1], y[k] - y[k - 1]) / minutes,
        })
        .collect()
}

#[cfg(test)]
mod tests;
