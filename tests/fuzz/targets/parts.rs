//! Every parser of cells and lines on its own.
#![no_main]

#[path = "../laws.rs"]
#[allow(dead_code, reason = "each target takes one law")]
mod laws;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| laws::parts(bytes));
