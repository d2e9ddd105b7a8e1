//! Brings what the commands need: compiler target, node packages, browser, Python.
//!
//! Each part looks first and installs only what is missing; where it may not
//! install, it says by what name the missing thing is known.

pub mod browsers;
pub mod debian;
pub mod node;
pub mod python;
pub mod wasm_target;
