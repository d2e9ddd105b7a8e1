//! Named periods against the tide tables.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::rows;
use signal::harmonics::{PERIODS, record_to_part_s};

#[test]
fn periods_are_those_of_the_tables() {
    for row in rows(include_str!("figures/harmonics.csv")).values() {
        match row.id.strip_prefix("tide-") {
            Some(name) => {
                let found = PERIODS.iter().find(|named| named.name == name).unwrap();
                row.check(found.period_s() / 3600.0);
            }
            None => row.check(record_to_part_s(24.0, 23.934_469_6) / 24.0),
        }
    }
}
