//! Calibration, elements, heading, and models of the Earth's field.
//!
//! Slices of samples and small options in; fits, elements, indices and their uncertainties out.
//! Nothing here reads files, keeps time, smooths or fills: gaps come in as NaN, marked samples
//! are passed over by the caller's `keep`, and both are counted.
//!
//! # Conventions
//!
//! * Local frame: X north, Y east, Z down; sensor frame: x forward, y right, z down.
//! * Field in nanotesla; angles in degrees; declination east positive, inclination down positive.
//! * Headings count clockwise from magnetic north, 0 to 360.
//! * Elementary functions come from `libm`, so that every number is the same natively and in a
//!   browser.

pub mod alignment;
pub mod calibration;
pub mod circular;
pub mod compare;
pub mod days;
pub mod deviation;
pub mod elements;
pub mod follow;
mod gram;
pub mod harmonic;
pub mod heading;
pub mod k_index;
mod linear;
pub mod match_reference;
pub mod mean;
pub mod model;
pub mod orientation;
pub mod quiet_day;
pub mod serial;
pub mod storms;
pub mod temperature;
#[cfg(test)]
mod testing;
