//! One figure a file: results go in, a [`crate::Plan`] comes out.
//!
//! Every function here is total: data that cannot be drawn leave an empty
//! frame that says so.  Missing values and left-out samples are never drawn as
//! if they were there, and what lies outside a frame is pointed at.

pub mod angles;
pub mod calibration;
mod common;
pub mod curves;
pub mod histogram;
mod joined;
pub mod k_index;
pub mod overlay;
pub mod series;
pub mod sight;
pub mod spectrogram;
pub mod spectrum;
pub mod sphere_map;
pub mod stack;
pub mod vector;

pub use joined::{joined, parted};
pub use series::{Prepared, Trace, series, series_prepared};
