//! Any answers to the decisions of a sound log: refused or followed, no panic.
#![no_main]

use intake::{Choices, read};
use libfuzzer_sys::fuzz_target;

const LOG: &[u8] = b"time,bx,by,bz,temp\n03/05/2026 14:20:00,16632,-1003,47743,12\n\
03/05/2026 14:20:30,16633,-1004,47744,-999.9\n03/05/2026 14:21:00,16634,-1005,47745,-999.9\n";
const IDS: [&str; 12] = [
    "delimiter", "decimal", "time", "time-order", "time-unit", "zone", "start", "date", "cadence",
    "unit:bx", "role:temp", "missing:temp",
];

fuzz_target!(|answers: &str| {
    let mut choices = Choices::default();
    for (k, answer) in answers.split('\n').enumerate() {
        choices = choices.with(IDS[k % IDS.len()], answer);
    }
    let _ = read("log", LOG, &choices);
});
