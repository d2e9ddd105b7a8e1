//! Stability of two published test suites, and closed forms.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::{Row, Seeded, rows};
use signal::allan::{Kind, curve, deviation, minimum, total_deviation};
use signal::detrend::{Detrend, fit};
use signal::robust::median;
use signal::stats::{mean, sd};

const NINE: [f64; 9] = [892.0, 809.0, 823.0, 798.0, 671.0, 644.0, 883.0, 903.0, 677.0];

/// The integers of the published generator (S. K. Park and K. W. Miller's).
fn integers() -> Vec<u64> {
    std::iter::successors(Some(1_234_567_890), |n| Some(16807 * n % 2_147_483_647))
        .take(1000)
        .collect()
}

fn thousand() -> Vec<f64> {
    integers().iter().map(|n| *n as f64 / 2_147_483_647.0).collect()
}

fn of_suite(row: &Row, y: &[f64], figure: &str, m: usize) {
    let kind = match figure {
        "adev" => Kind::Allan,
        "oadev" => Kind::Overlapping,
        "mdev" => Kind::Modified,
        "tdev" => Kind::Time,
        "hdev" => Kind::Hadamard,
        "ohdev" => Kind::OverlappingHadamard,
        "totdev" => return row.check(total_deviation(y, 1.0, m).unwrap().deviation),
        other => panic!("no deviation is called {other}"),
    };
    row.check(deviation(y, 1.0, m, kind).unwrap().deviation);
}

fn statistic(row: &Row, figure: &str, m: usize) {
    let y: Vec<f64> = thousand().chunks_exact(m).map(|block| mean(block).unwrap()).collect();
    let line = fit(&y, Detrend::Line);
    row.check(match figure {
        "maximum" => y.iter().copied().fold(f64::MIN, f64::max),
        "minimum" => y.iter().copied().fold(f64::MAX, f64::min),
        "average" => mean(&y).unwrap(),
        "median" => median(&y).unwrap(),
        "linear" => line.slope_per_sample,
        // The suite numbers its points from 1.
        "intercept" => line.level - line.slope_per_sample,
        "sample" => sd(&y).unwrap(),
        other => panic!("no statistic is called {other}"),
    });
}

#[test]
fn both_published_suites_are_reproduced() {
    let table = rows(include_str!("figures/allan.csv"));
    for row in table.values() {
        let parts: Vec<&str> = row.id.split('-').collect();
        match parts[..] {
            ["allan", "lcg", n] => row.check(integers()[n.parse::<usize>().unwrap()] as f64),
            ["allan", "9", figure, m] => of_suite(row, &NINE, figure, m.parse().unwrap()),
            ["allan", "1000", figure, m] => of_suite(row, &thousand(), figure, m.parse().unwrap()),
            ["stat", "1000", figure, m] => statistic(row, figure, m.parse().unwrap()),
            ["adev", "drift"] => {
                let y: Vec<f64> = (0..60).map(|hour| 2.0 * f64::from(hour)).collect();
                row.check(deviation(&y, 1.0, 3, Kind::Overlapping).unwrap().deviation);
            }
            ["adev", "white"] => white(row),
            ["slope", noise] => slope(row, noise),
            _ => panic!("no check is called {}", row.id),
        }
    }
}

fn white(row: &Row) {
    let mut seeded = Seeded(11);
    let y: Vec<f64> = (0..200_000).map(|_| 15.0 * seeded.normal()).collect();
    let point = deviation(&y, 1.0, 60, Kind::Overlapping).unwrap();
    // The expected value lies within three standard deviations of the one drawn.
    let (low, high) = point.interval(0.997);
    let expected = row.numbers()[0];
    assert!(low < expected && expected < high, "{low} {high}");
    assert!(high / low < 1.2);
}

fn slope(row: &Row, noise: &str) {
    let mut seeded = Seeded(13);
    let (mut walk, mut last) = (0.0, 0.0);
    let y: Vec<f64> = (0..100_000)
        .map(|_| {
            let new = seeded.normal();
            walk += new;
            let step = new - last;
            last = new;
            match noise {
                "white" => new,
                "random" => walk,
                _ => step,
            }
        })
        .collect();
    let points = curve(&y, 1.0, Kind::Overlapping, 1).unwrap();
    let (a, b) = (points[4], points[8]);
    let found = (b.deviation / a.deviation).ln() / (b.tau_s / a.tau_s).ln();
    assert!((found - row.numbers()[0]).abs() < 0.06, "{noise}: {found}");
}

#[test]
fn the_minimum_of_white_noise_and_a_walk_lies_where_they_cross() {
    let mut seeded = Seeded(17);
    let mut walk = 0.0;
    let y: Vec<f64> = (0..100_000)
        .map(|_| {
            walk += 0.02 * seeded.normal();
            walk + seeded.normal()
        })
        .collect();
    let found = minimum(&curve(&y, 1.0, Kind::Overlapping, 2).unwrap()).unwrap();
    // 1 / tau = (0.02)^2 tau / 3: tau = 87 s.
    assert!((40.0..190.0).contains(&found.tau_s), "{}", found.tau_s);
}
