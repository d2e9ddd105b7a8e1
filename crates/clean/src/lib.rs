//! Repairs of a record, one a file: join, order, gate, spikes, shifts, exclude,
//! clock, average, fill.
//!
//! A [`record::Record`] or slices go in; marks, counts and, where values must
//! change, a new record come out.  Nothing is ever deleted: a sample that
//! should not count gets a mark with its reason and stays where it is.
//! Nothing here reads files, fits a calibration or draws.

pub mod average;
pub mod clock;
pub mod exclude;
pub mod fill;
pub mod gate;
pub mod join;
pub mod order;
pub mod shifts;
pub mod spikes;
