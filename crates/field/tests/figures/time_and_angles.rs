//! Instants against POSIX and almanac figures, and circular statistics
//! against published examples.

use crate::common::{Table, holds, numbers};
use field::circular::{mean_deg, resultant};
use record::Instant;

const DAY_S: f64 = 86_400.0;

fn days_between(a: Instant, b: Instant) -> f64 {
    (b.0 - a.0) as f64 * 1e-9 / DAY_S
}

/// Julian date (J. Meeus, Astronomical Algorithms, chapter 7: 2440587.5 at the
/// Unix epoch; the other row ties the calendar between them).
fn julian(instant: Instant) -> f64 {
    2_440_587.5 + days_between(Instant(0), instant)
}

fn figure(id: &str, inputs: &str) -> f64 {
    let angles = || numbers(inputs);
    let date = |y, m, d| Instant::from_date(y, m, d).unwrap();
    match id {
        "circ-mj-mean" | "circ-wrap" => mean_deg(angles()),
        "circ-mj-r" | "circ-zar-r" => resultant(angles()).length,
        "circ-zar-s" => resultant(angles()).angular_deviation_deg(),
        "circ-zar-z" => resultant(angles()).rayleigh_z(),
        "micros" => 4_294_967_296.0 * 1e-6,
        "jd-2000" => julian(Instant(date(2000, 1, 1).0 + 43_200_000_000_000)),
        "jd-unix" => julian(Instant(0)),
        // The 1900 system counts from 30 December 1899 for dates after February 1900.
        "excel" => days_between(date(1899, 12, 30), Instant(0)),
        "doy" => days_between(date(2001, 1, 1), date(2001, 3, 13)) + 1.0,
        "ppm-0" => 2e-6 * DAY_S,
        "ppm-1" => 20e-6 * DAY_S,
        other => panic!("no figure is called {other}"),
    }
}

#[test]
fn times_and_angles_are_the_published_ones() {
    let table = Table::read(include_str!("time-and-angles.csv"));
    assert_eq!(table.rows.len(), 18);
    for row in &table.rows {
        let [id, inputs, expected] = ["id", "inputs", "expected"].map(|n| table.text(row, n));
        if let Some(place) = id.strip_prefix("unix-") {
            let seconds: f64 = inputs.parse().unwrap();
            assert_eq!(Instant::from_seconds(seconds).iso(), expected, "unix-{place}");
        } else if id == "millis" {
            // 49 days and the rest of the day after the epoch.
            let wrap = Instant::from_seconds(4_294_967.296);
            assert_eq!(wrap.iso(), "1970-02-19T17:02:47.296Z", "{expected}");
        } else {
            let want: f64 = expected.parse().unwrap();
            let got = figure(id, inputs);
            assert!(holds(got, want, table.text(row, "tolerance")), "{id}: {got}, but {want}");
        }
    }
}
