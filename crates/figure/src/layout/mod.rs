//! From axes and data to places on a sheet.
//!
//! A figure is laid out in three moves: axes get ticks for the room they have
//! ([`axes`]), panels get their frames ([`stack`], [`grid`]), and writing gets
//! its place ([`sheet`], [`key`], [`ends`]).  Nothing here sees samples.

pub(crate) mod axes;
pub(crate) mod ends;
pub(crate) mod key;
pub(crate) mod range;
pub(crate) mod sheet;
pub(crate) mod stack;
