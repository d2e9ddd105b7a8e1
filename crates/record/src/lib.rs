//! The nouns every stage shares: instants, units, channels, marks, records, stations.
//!
//! Nothing here reads, repairs, fits or draws.  A [`Record`] is one time axis
//! with named channels beside it and a set of marks for each sample; marked
//! samples are left out of computations and never deleted.  Missing values
//! are NaN.  Times are whole nanoseconds of UTC, so that nothing drifts.
//!
//! This crate depends on nothing but the macro of its own words.

extern crate self as record;

mod channel;
pub mod decimal;
mod fault;
pub mod gaps;
mod instant;
pub mod letters;
mod mark;
pub mod print;
mod quantity;
mod series;
pub use sort;
mod station;
mod unit;
pub mod vector;
pub mod words;

pub use channel::{Channel, Role};
pub use fault::{Fault, Warning};
pub use instant::{Civil, Instant, NANOS_PER_SECOND};
pub use mark::{Marks, Reason};
pub use quantity::Quantity;
pub use say::say;
pub use series::{Record, RecordError};
pub use station::{Station, StationError};
pub use unit::Unit;
