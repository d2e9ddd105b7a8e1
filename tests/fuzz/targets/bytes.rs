//! Any bytes: no panic, no hang, and what is read is consistent.
#![no_main]

use intake::{Choices, read};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    if let Ok(reading) = read("log", bytes, &Choices::default()) {
        let n = reading.record.len();
        assert_eq!(reading.report.rows_read, n);
        for channel in reading.record.channels() {
            assert_eq!(channel.values.len(), n);
            assert!(channel.values.iter().all(|v| !v.is_infinite()), "{}", channel.name);
        }
    }
});
