//! Texts that begin as JSON does.
#![no_main]

use intake::{Choices, read};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    for start in [b"[{\"time\":\"2026-05-03T14:20:00Z\",".as_slice(), b"{\"1777818000\":{"] {
        let _ = read("log", &[start, bytes].concat(), &Choices::default());
    }
});
