//! NIST's reference data sets with certified statistics.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::{Row, numbers, rows};
use signal::detrend::polynomial;
use signal::harmonics::fit as fit_times;
use signal::lsq::{Fit, solve};
use signal::stats::{autocorrelation, mean, sd};
use std::collections::BTreeMap;

fn table() -> BTreeMap<String, Row> {
    rows(include_str!("figures/strd.csv"))
}

/// The numbers of a data set, in rows of `wide`.
fn data(set: &str, wide: usize) -> Vec<Vec<f64>> {
    let all = rows(include_str!("figures/strd-data.csv"));
    let flat = numbers(&all[set].expected);
    let flat = if flat.len() > 1 { flat } else { numbers(&all[set].inputs) };
    flat.chunks(wide).map(<[f64]>::to_vec).collect()
}

fn column(rows: &[Vec<f64>], place: usize) -> Vec<f64> {
    rows.iter().map(|row| row[place]).collect()
}

fn repeated(first: f64, pair: [f64; 2]) -> Vec<f64> {
    std::iter::once(first).chain((0..500).flat_map(|_| pair)).collect()
}

#[test]
fn univariate_statistics_are_the_certified_ones() {
    let sets = [
        ("michelso", data("strd-michelso", 1).concat()),
        ("numacc1", vec![10_000_001.0, 10_000_003.0, 10_000_002.0]),
        ("numacc2", repeated(1.2, [1.1, 1.3])),
        ("numacc3", repeated(1_000_000.2, [1_000_000.1, 1_000_000.3])),
    ];
    for (name, x) in sets {
        let row = |figure: &str| table()[&format!("strd-{name}-{figure}")].clone();
        row("mean").check(mean(&x).unwrap());
        row("sd").check(sd(&x).unwrap());
        row("lag1").check(autocorrelation(&x, 1)[1]);
    }
}

fn check_line(name: &str, fit: &Fit, n_figures: usize) {
    let mut seen = 0;
    let last = fit.coefficients.len() - 1;
    for (id, row) in table() {
        let Some(figure) = id.strip_prefix(&format!("strd-{name}-")) else { continue };
        let place =
            |prefix: &str| figure.strip_prefix(prefix).and_then(|k| k.parse::<usize>().ok());
        // A fit through the origin calls its only coefficient B1.
        let at = |k: usize| if last == 0 { 0 } else { k };
        seen += 1;
        if figure == "rsd" {
            row.check(fit.residual_sd());
        } else if figure == "ssr" {
            row.check(fit.residual_squares);
        } else if let Some(k) = place("sb").or(place("se")) {
            row.check(fit.sigma[at(k)]);
        } else if let Some(k) = place("b") {
            row.check(fit.coefficients[at(k)]);
        } else {
            seen -= 1;
        }
    }
    assert_eq!(seen, n_figures, "{name}");
}

#[test]
fn straight_lines_are_the_certified_ones() {
    let norris = data("strd-norris", 2);
    let (y, x) = (column(&norris, 0), column(&norris, 1));
    let fit = solve(&[vec![1.0; x.len()], x], &y).unwrap();
    check_line("norris", &fit, 6);
    let middle = mean(&y).unwrap();
    let total: f64 = y.iter().map(|v| (v - middle) * (v - middle)).sum();
    let explained = total - fit.residual_squares;
    table()["strd-norris-r2"].check(explained / total);
    table()["strd-norris-f"].check(explained / (fit.residual_squares / 34.0));
    check_line("noint2", &solve(&[vec![4.0, 5.0, 6.0]], &[3.0, 4.0, 4.0]).unwrap(), 3);
}

#[test]
fn the_nearly_dependent_longley_set_keeps_its_digits() {
    let longley = data("strd-longley", 7);
    let mut columns = vec![vec![1.0; longley.len()]];
    columns.extend((1..7).map(|k| column(&longley, k)));
    check_line("longley", &solve(&columns, &column(&longley, 0)).unwrap(), 11);
}

#[test]
fn three_periods_of_the_pressure_set_are_the_certified_ones() {
    let y = data("strd-enso", 1).concat();
    let mut columns = vec![vec![1.0; y.len()]];
    for period in [12.0, 44.311_088_700, 26.887_614_440] {
        let phase = |month: usize| 2.0 * std::f64::consts::PI * month as f64 / period;
        columns.push((1..=y.len()).map(|month| phase(month).cos()).collect());
        columns.push((1..=y.len()).map(|month| phase(month).sin()).collect());
    }
    let fit = solve(&columns, &y).unwrap();
    // NIST numbers the two free periods b4 and b7.
    let places = [(1, 0), (2, 1), (3, 2), (5, 3), (6, 4), (8, 5), (9, 6)];
    for (name, place) in places {
        table()[&format!("strd-enso-b{name}")].check(fit.coefficients[place]);
    }
    let times: Vec<f64> = (1..=y.len()).map(|month| month as f64).collect();
    let waves = fit_times(&times, &y, &[12.0, 44.311_088_700, 26.887_614_440]).unwrap();
    let found: Vec<f64> = std::iter::once(waves.level)
        .chain(waves.terms.iter().flat_map(|term| [term.cos, term.sin]))
        .collect();
    for (name, place) in places {
        table()[&format!("strd-enso-b{name}")].check(found[place]);
    }
    table()["strd-enso-rss"].check(waves.residual_sd * waves.residual_sd * (168.0 - 7.0));
    table()["strd-enso-rss"].check(fit.residual_squares);
    table()["strd-enso-rsd"].check((fit.residual_squares / (168.0 - 9.0)).sqrt());
}

#[test]
fn a_degree_five_polynomial_with_unit_coefficients_is_recovered() {
    let power = |x: usize, k: i32| (x as f64).powi(k);
    let y: Vec<f64> = (0..=20).map(|x| (0..=5).map(|k| power(x, k)).sum()).collect();
    let columns: Vec<Vec<f64>> = (0..=5).map(|k| (0..=20).map(|x| power(x, k)).collect()).collect();
    table()["strd-wampler1"].check_all(&solve(&columns, &y).unwrap().coefficients);
    let (rest, _) = polynomial(&y, 5).unwrap();
    assert!(rest.iter().all(|v| v.abs() < 1e-8));
}
