//! Bytes of a log become a record, with a report of every decision taken.
//!
//! No settings are needed: encoding, dialect, time stamps, what each column is
//! and its unit are told from the file, and every decision comes with its
//! evidence and its alternatives in the [`Report`].  A student's own answers
//! come back in as [`Choices`].  Reading is streaming: chunks may be cut
//! anywhere, and nothing but the columns of numbers is kept.
//!
//! Conventions: the record holds numbers alone, in inside units (field in nT,
//! temperature in degrees Celsius, pressure in hPa); cells without a value are
//! NaN; rows keep the order of the file, except that a newest-first file is
//! turned round; backward jumps and repeated times stay for a later step to
//! mark.  Rows that cannot be read are counted and listed with their reason.
//! Nothing here repairs, fits or fills.

mod assemble;
mod axis;
mod calendar;
mod careful;
mod clockwork;
mod columns;
mod counts;
mod dates;
mod decide;
mod decode;
mod dialect;
mod draft;
mod error;
mod header;
mod iaga;
mod joined;
mod json;
mod json_lines;
mod json_table;
mod kinds;
mod labels;
mod lines;
mod midnight;
mod missing;
mod moment;
mod names;
mod number;
pub mod parsers;
mod parts;
mod pivot;
mod plan;
mod profile;
mod quantity;
mod quick;
mod reader;
mod report;
mod roles;
mod rows;
mod scales;
mod sentences;
mod sniff;
mod sphere;
mod spread;
mod stamp;
mod stats;
mod tally;
mod units;
mod unpack;
mod uptime;
mod warn;
mod wrap;
mod zone;

pub use error::{Kind, ReadError};
pub use reader::{Reader, read};
pub use report::{Choices, ColumnReport, Decision, Reading, RejectedRow, Report, TimeReport};
