//! Levels of coherence and aliases against closed forms.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::rows;
use signal::coherence::zero_level;
use signal::spectrum::alias_hz;

#[test]
fn levels_and_aliases_are_the_closed_ones() {
    for row in rows(include_str!("figures/coherence.csv")).values() {
        if let Some(segments) = row.id.strip_prefix("coh-") {
            row.check(zero_level(segments.parse().unwrap(), 0.95));
        } else {
            let (f, rate) = row.inputs.split_once(" fs=").unwrap();
            let f: f64 = f.strip_prefix("f=").unwrap().parse().unwrap();
            row.check(alias_hz(f, rate.parse().unwrap()));
        }
    }
}
