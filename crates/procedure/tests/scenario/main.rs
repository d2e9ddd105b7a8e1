//! The invented scenario worked through by the proposed procedure and held against its truth.
#![allow(clippy::unwrap_used, reason = "a test may stop where it finds nothing")]

mod all_steps;
mod common;
mod compare;
mod days;
mod false_storms;
mod quiet_day;
mod spoken;
mod storms;
