//! Sound rows before any bytes: no panic, and nothing is listed that is not counted.
#![no_main]

use intake::{Choices, read};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let mut log = b"time,bx_nt,by_nt,bz_nt,note\n".to_vec();
    for k in 0..6 {
        log.extend(format!("2026-05-03T14:2{k}:00Z,16632.2,-1003.1,47743.5,\n").bytes());
    }
    log.extend_from_slice(bytes);
    if let Ok(reading) = read("log", &log, &Choices::default()) {
        assert!(reading.report.rejected.len() <= reading.report.rows_rejected);
        assert_eq!(reading.record.len(), reading.report.rows_read);
    }
});
