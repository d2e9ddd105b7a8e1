//! Minute filters, means and windows of filters against published figures.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::{Row, numbers, rows};
use signal::fir::{kaiser_beta, kaiser_taps, response};
use signal::minute::{weights, width_s};
use signal::robust::running_median;
use signal::smooth::mean_response;

/// `im91-t45`, `im19-c7`, `im11-t20`, `im91-gain-600`...
fn minute(row: &Row) {
    let (family, figure) = row.id.split_once('-').unwrap();
    let interval_s = match family {
        "im91" => 1,
        "im19" => 5,
        _ => 10,
    };
    let all = weights(interval_s).unwrap();
    let half = all.len() / 2;
    if figure == "sum" {
        row.check(all.iter().sum());
    } else if figure == "sigma" {
        row.check(width_s());
    } else if let Some(period_s) = figure.strip_prefix("gain-") {
        row.check(response(&all, 1.0 / period_s.parse::<f64>().unwrap(), 1.0));
    } else if let Some(place) = figure.strip_prefix('c') {
        let place: usize = place.parse().unwrap();
        row.check(all[place]);
        row.check(all[2 * half - place]);
    } else {
        let t: usize = figure.strip_prefix('t').unwrap().parse().unwrap();
        row.check(all[half + t / interval_s as usize]);
        row.check(all[half - t / interval_s as usize]);
    }
}

#[test]
fn filters_have_their_published_weights_and_responses() {
    let table = rows(include_str!("figures/filters.csv"));
    for row in table.values() {
        match row.id.as_str() {
            id if id.starts_with("im") => minute(row),
            "kaiser-beta" => row.check(kaiser_beta(60.0)),
            // At the null's frequency, 1 / N, the response is rounding.
            "ma-null" => {
                let period = row.numbers()[0];
                assert!(mean_response(60, 1.0 / period).abs() < 1e-15, "{}", row.source);
                assert!(mean_response(60, 0.99 / period) > 0.005);
            }
            "median-edge" => {
                let x = numbers(&row.inputs);
                let mut found = running_median(&x, 1);
                // This row copies the ends; ours are medians of what is there.
                assert_eq!((found[0], found[6]), (5.0, 4.5));
                (found[0], found[6]) = (x[0], x[6]);
                row.check_all(&found);
            }
            id => {
                let mut figures = id.strip_prefix("ma-").unwrap().split('-');
                let n = figures.next().unwrap().parse().unwrap();
                let period: f64 = figures.next().unwrap().parse().unwrap();
                row.check(mean_response(n, 1.0 / period));
            }
        }
    }
    // The same source's worked order for 60 dB over 0.1 pi: 72.4.
    assert!((kaiser_taps(60.0, 0.1 * std::f64::consts::PI) - 72.4).abs() < 0.05);
}
