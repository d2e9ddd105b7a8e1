//! Powers, false alarm chances and levels at uneven times against closed forms
//! and astropy.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::{numbers, rows};
use signal::lomb_scargle::{
    Grid, Mean, Normalisation, Periodogram, baluev, direct, independent_frequencies, lomb_scargle,
};
use std::f64::consts::PI;

/// A periodogram whose highest frequency is `highest_hz`.
fn up_to(times: &[f64], values: &[f64], highest_hz: f64) -> Periodogram {
    let count = 40;
    let step_hz = highest_hz / count as f64;
    lomb_scargle(times, values, None, Grid { first_hz: step_hz, step_hz, count }).unwrap()
}

fn counted(n: usize) -> (Vec<f64>, Vec<f64>) {
    ((0..n).map(|i| i as f64).collect(), (0..n).map(|i| (i * i % 17) as f64).collect())
}

fn two_sines() -> Periodogram {
    let t: Vec<f64> = (0..16).map(f64::from).collect();
    let value =
        |t: &f64| (2.0 * PI * t / 16.0).sin() + 0.5 * (2.0 * PI * 3.0 * t / 16.0 + 1.0).cos();
    let y: Vec<f64> = t.iter().map(value).collect();
    lomb_scargle(&t, &y, None, Grid { first_hz: 1.0 / 16.0, step_hz: 0.01, count: 1 }).unwrap()
}

#[test]
fn powers_and_chances_are_the_published_ones() {
    let table = rows(include_str!("figures/lomb-scargle.csv"));
    for row in table.values() {
        let id = row.id.as_str();
        if id == "ls-hb" {
            row.check(independent_frequencies(100));
        } else if id.starts_with("ls-baluev") {
            let (t, y) = counted(100);
            let found = up_to(&t, &y, 2.0);
            let spread = found.bandwidth_times_spread;
            row.check(if id.ends_with('w') { spread } else { found.false_alarm(0.19) });
            assert_eq!(found.false_alarm(0.19), baluev(0.19, spread, 100));
        } else if let Some(rest) = id.strip_prefix("ls-fal-") {
            let (n, chance) = rest.split_once('-').unwrap();
            let (t, y) = counted(n.parse().unwrap());
            row.check(up_to(&t, &y, 0.5).false_alarm_level(chance.parse().unwrap()));
        } else if id == "ls-two-sine-1" {
            row.check(two_sines().power[0]);
        } else if id == "ls-two-sine-model" {
            row.check(two_sines().normalised(Normalisation::Model)[0]);
        } else {
            uneven(row);
        }
    }
}

/// `ls-uneven-F` and `ls-uneven-classic-F`.
fn uneven(row: &common::Row) {
    let mut parts = row.inputs.split(';').map(|part| numbers(part.split_once('=').unwrap().1));
    let (t, y, f) = (parts.next().unwrap(), parts.next().unwrap(), parts.next().unwrap());
    let mean = if row.id.contains("classic") { Mean::Subtracted } else { Mean::Floating };
    row.check_all(&direct(&t, &y, None, &f, mean).unwrap());
}
