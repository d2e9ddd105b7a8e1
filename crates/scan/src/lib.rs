//! The loops over every byte of a log, in a crate of their own so that they are built for
//! speed while the rest of the reading is built small.
//!
//! Nothing here decides anything: [`row::read`] reads rows as a plan has them, and leaves every
//! row that is not plain to its caller.

pub mod blocks;
pub mod lines;
pub mod number;
pub mod row;
pub mod stamp;
