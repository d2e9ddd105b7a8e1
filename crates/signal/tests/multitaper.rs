//! Concentrations of Slepian's tapers against published and computed values.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::{numbers, rows};
use signal::multitaper::dpss;

#[test]
fn concentrations_are_the_published_ones() {
    let table = rows(include_str!("figures/multitaper.csv"));
    assert_eq!(table.len(), 18);
    for row in table.values() {
        let order: usize = row.id.rsplit('-').next().unwrap().parse().unwrap();
        let figures =
            numbers(&row.inputs.replace("N=", " ").replace("NW=", " ").replace("/pi", " "));
        // The continuous functions' rows give c = pi NW.
        let c_over_pi = row.inputs.contains("/pi");
        let nw = if c_over_pi { figures[1] / std::f64::consts::PI } else { figures[1] };
        let found = dpss(figures[0] as usize, nw, order + 1).unwrap();
        row.check(found.concentration[order]);
    }
}
