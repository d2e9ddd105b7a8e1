//! What the crate does as a whole: laws, rates, real and invented logs, whatever numbers there are.
// Axes of several lists are walked together; helpers of tests may fail as tests do.
#![allow(clippy::needless_range_loop, clippy::unwrap_used, clippy::print_stdout)]

mod demo_turning;
mod laws;
mod never_panics;
mod rates;
mod real_logs;
