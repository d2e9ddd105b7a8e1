//! Butterworth filters against handbook tables and closed forms.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::rows;
use signal::butterworth::{Band, Section, design, response};

fn table(id: &str) -> common::Row {
    rows(include_str!("figures/butterworth.csv"))[id].clone()
}

fn decibels(gain: f64) -> f64 {
    20.0 * gain.log10()
}

/// Poles and polynomial of the analogue prototype, got back from a digital
/// design at a quarter of the rate, where s = (1 - 1/z) / (1 + 1/z).
fn analogue(order: usize) -> Vec<[f64; 3]> {
    let back = |s: &Section| {
        let [a0, a1, a2] = s.a;
        // Substituting 1/z = (1 - s) / (1 + s): descending powers of s.
        let c = [a0 - a1 + a2, 2.0 * (a0 - a2), a0 + a1 + a2];
        if s.b[2] == 0.0 { [0.0, a0 - a1, a0 + a1] } else { c }
    };
    design(order, Band::Low(0.25), 1.0).unwrap().iter().map(back).collect()
}

fn monic(factor: &[f64; 3]) -> Vec<f64> {
    let start = factor.iter().position(|c| c.abs() > 1e-12).unwrap();
    factor[start..].iter().map(|c| c / factor[start]).collect()
}

fn multiply(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; a.len() + b.len() - 1];
    for (i, u) in a.iter().enumerate() {
        for (j, v) in b.iter().enumerate() {
            out[i + j] += u * v;
        }
    }
    out
}

#[test]
fn prototypes_have_the_polynomials_and_poles_of_the_handbook() {
    for order in 2..=4 {
        let whole = analogue(order).iter().fold(vec![1.0], |p, f| multiply(&p, &monic(f)));
        table(&format!("butter-poly-{order}")).check_all(&whole);
    }
    for (factor, sharp) in analogue(4).iter().zip([false, true]) {
        let c = monic(factor);
        let (re, im) = (-c[1] / 2.0, (c[2] - c[1] * c[1] / 4.0).sqrt());
        let row = table(if sharp { "butter-pole-4a" } else { "butter-pole-4b" });
        let text = row.expected.replace("+-", " ").replace('i', "");
        let expected = common::numbers(&text);
        assert!(
            (expected[0] - re).abs() < 1e-6 && (expected[1] - im).abs() < 1e-6,
            "{}",
            row.source
        );
    }
}

#[test]
fn digital_coefficients_are_the_published_ones() {
    for (order, cut) in [(1, 0.5), (2, 0.5), (2, 0.2)] {
        let section = design(order, Band::Low(cut), 2.0).unwrap()[0];
        let kept = order + 1;
        let found = [&section.b[..kept], &section.a[..kept]].concat();
        table(&format!("butter-dig-{order}-{cut}")).check_all(&found);
    }
}

#[test]
fn attenuation_is_the_closed_one() {
    for order in 1..=10 {
        for band in [Band::Low(0.1), Band::High(0.1)] {
            let gain = response(&design(order, band, 1.0).unwrap(), 0.1, 1.0).0;
            table("butter-3db").check(decibels(gain));
            table("butter-6db").check(decibels(gain * gain));
        }
    }
    // An octave of the analogue prototype is a factor 2 of the warped frequency.
    let octave = (2.0 * (std::f64::consts::PI * 0.1).tan()).atan() / std::f64::consts::PI;
    for order in [2, 4] {
        let gain = response(&design(order, Band::Low(0.1), 1.0).unwrap(), octave, 1.0).0;
        table(&format!("butter-oct-{order}")).check(-decibels(gain));
    }
}
