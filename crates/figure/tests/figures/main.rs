//! Figures from end to end: invented results to plans, and plans to drawings,
//! tables, readouts and bytes.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop where it finds nothing")]

mod blessed;
mod hardy;
mod outputs;
mod scenes;
