//! Periods that daily records hold: the Sun's day and its parts, and the
//! chief lunar and sidereal tides.
//!
//! # Source
//!
//! Speeds in degrees an hour as tide tables list them (National Oceanography
//! Centre's list of constituents); period = 360 / speed.

/// A named period.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Named {
    /// Name in the tables.
    pub name: &'static str,
    /// Speed, degrees an hour.
    pub degrees_per_hour: f64,
}

impl Named {
    /// Period, seconds.
    pub fn period_s(&self) -> f64 {
        360.0 / self.degrees_per_hour * 3600.0
    }
}

const fn named(name: &'static str, degrees_per_hour: f64) -> Named {
    Named { name, degrees_per_hour }
}

/// The solar day and its halves, thirds and quarters; then the chief tides.
pub const PERIODS: [Named; 9] = [
    named("S1", 15.0),
    named("S2", 30.0),
    named("S3", 45.0),
    named("S4", 60.0),
    named("M2", 28.984_104_2),
    named("N2", 28.439_729_5),
    named("K1", 15.041_068_6),
    named("O1", 13.943_035_6),
    named("P1", 14.958_931_4),
];

/// The record that two periods need to be told apart, seconds:
/// 1 / |1/P - 1/Q| (Lord Rayleigh's criterion); infinite for equal ones.
pub fn record_to_part_s(period_s: f64, other_s: f64) -> f64 {
    1.0 / (1.0 / period_s - 1.0 / other_s).abs()
}
