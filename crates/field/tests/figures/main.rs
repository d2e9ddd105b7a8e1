//! Figures from elsewhere, each with its source: published tables, other programs, closed forms.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod common;
mod indices;
mod models;
mod single;
mod time_and_angles;
