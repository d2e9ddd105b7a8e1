//! Robust statistics and quantiles against their published figures.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::{numbers, rows};
use signal::chi2::student_quantile;
use signal::robust::{MAD_TO_SIGMA, hampel, mad};

#[test]
fn robust_figures_are_the_published_ones() {
    for row in rows(include_str!("figures/robust.csv")).values() {
        let values = numbers(&row.inputs);
        match row.id.as_str() {
            "mad-const" => row.check(MAD_TO_SIGMA),
            "mad-ex" => row.check(mad(&values).unwrap()),
            "hampel-ex" => {
                let found = hampel(&values, 3, 3.0, 0.0);
                assert!(found.spike[3]);
                row.check(found.median[3]);
            }
            "quant" => row.check(0.1 / 12.0_f64.sqrt()),
            "blockmean" => row.check(15.0 / 60.0_f64.sqrt()),
            id => {
                let (p, nu) = id.strip_prefix("t-").unwrap().split_once('-').unwrap();
                row.check(student_quantile(p.parse().unwrap(), nu.parse().unwrap()));
            }
        }
    }
}
