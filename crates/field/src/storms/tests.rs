//! Storms, bays, vans and nudges made for the purpose.

use super::*;
use crate::quiet_day;
use crate::testing::Random;
use record::Instant;

const STEP_NS: i64 = 30_000_000_000;

/// Twelve days of three components, a sample every 30 s: noise and what is added to it.
struct Made {
    days: Days,
    quiet: QuietDay,
    even: Even,
}

use crate::quiet_day::QuietDay;

impl Made {
    fn of(seed: u64, noise: f64, field: impl Fn(f64) -> [f64; 3]) -> Self {
        let start = Instant::from_date(2026, 5, 1).unwrap();
        let mut random = Random::new(seed);
        let n = 12 * 2_880;
        let times: Vec<i64> = (0..n).map(|k| start.0 + k * STEP_NS).collect();
        let mut lists = [vec![], vec![], vec![]];
        for k in 0..n {
            let value = field(k as f64 / 120.0);
            for c in 0..3 {
                lists[c].push([17_000.0, 0.0, 48_000.0][c] + value[c] + noise * random.normal());
            }
        }
        let days = Days::new(&times, &[&lists[0]], |_| true, 30.0, 60.0, 0.5).unwrap();
        let options = quiet_day::Options { days: 3, harmonics: 2, ..quiet_day::Options::new(0.0) };
        let quiet = quiet_day::curve(&days, &[0, 1, 2], &options).unwrap();
        let even = Even::new(&times, [&lists[0], &lists[1], &lists[2]], |_| true, 30.0).unwrap();
        Self { days, quiet, even }
    }

    fn sight(&self) -> Sight<'_> {
        Sight { days: &self.days, quiet: &self.quiet, even: &self.even, longitude_deg: 0.0 }
    }

    fn alone(&self) -> Found {
        search(&self.sight(), None, &Options::default())
    }

    fn beside(&self, other: &Self) -> Found {
        search(&self.sight(), Some(&other.sight()), &Options::default())
    }

    fn hour(&self, instant: Instant) -> f64 {
        (instant.0 - self.days.first.0) as f64 / 3.6e12
    }
}

/// A commencement at hour 124, a main phase from 127 to 133, an exponential recovery.
fn storm(hour: f64) -> f64 {
    match hour - 124.0 {
        h if h < 0.0 => 0.0,
        h if h < 0.06 => 30.0 * h / 0.06,
        h if h < 3.0 => 30.0,
        h if h < 9.0 => 30.0 - 150.0 * (h - 3.0) / 6.0,
        h => -120.0 * libm::exp(-(h - 9.0) / 12.0),
    }
}

/// Something between two hours, and nothing before and after.
fn between(hour: f64, from: f64, to: f64, size: [f64; 3]) -> [f64; 3] {
    if (from..to).contains(&hour) { size } else { [0.0; 3] }
}

/// A bay of 90 nT that is over in three hours.
fn bay(hour: f64) -> f64 {
    let u = (hour - 146.0) / 3.0;
    if (0.0..1.0).contains(&u) { -90.0 * libm::sin(u * std::f64::consts::PI) } else { 0.0 }
}

#[test]
fn a_storm_is_found_with_its_onset_depth_and_end() {
    for seed in 0..12 {
        let made = Made::of(seed, 8.0, |h| [storm(h), 0.0, 0.2 * storm(h)]);
        let found = made.alone();
        assert_eq!(found.candidates.len(), 1, "{:?}", found.candidates);
        let one = &found.candidates[0];
        assert_eq!(one.verdict, Verdict::Storm, "{:?}", one.reasons);
        let late_s = (made.hour(one.onset) - 124.0) * 3600.0;
        assert!(late_s.abs() < 3.0 * one.onset_sigma_s && one.onset_sigma_s < 120.0, "{late_s}");
        assert!((one.jump.unwrap().size_nt[0] - 30.0).abs() < 8.0);
        assert!((made.hour(one.deepest) - 133.0).abs() < 1.01);
        // The mean of the hour after the deepest moment: 120 (1 - e^(-1/12)) 12 nT.
        assert!((one.depth_nt + 115.1).abs() < 3.0 * one.depth_sigma_nt.max(1.0), "{one:?}");
        assert_eq!(class(one.depth_nt), Some(Class::Strong));
        // 120 exp(-t/12) is 12.5 nT after 27.1 hours.
        assert!((made.hour(one.end.unwrap()) - 160.0).abs() <= 3.0);
    }
}

#[test]
fn quiet_days_have_no_candidate_and_no_jump() {
    let found = Made::of(1, 8.0, |h| [10.0 * libm::sin(h * 0.2618), 0.0, 0.0]).alone();
    assert!(found.candidates.is_empty() && found.jumps.is_empty(), "{:?}", found.jumps);
    assert!((found.usual_nt - 8.0 * (2.0f64 / 20.0).sqrt()).abs() < 0.5, "{}", found.usual_nt);
}

#[test]
fn a_bay_is_no_storm() {
    let found = Made::of(2, 5.0, |h| [bay(h), 0.3 * bay(h), 0.5 * bay(h)]).alone();
    assert_eq!(found.candidates.len(), 1);
    assert_eq!(found.candidates[0].verdict, Verdict::Bay, "{:?}", found.candidates[0].reasons);
}

#[test]
fn a_van_that_lowers_the_field_for_a_day_is_no_storm() {
    // So long that it looks like a slow recovery, but for its edges.
    let van = |h: f64| between(h, 128.6, 141.9, [-80.0, 30.0, 60.0]);
    let made = Made::of(3, 8.0, van);
    let found = made.alone();
    assert_eq!(found.storms().count(), 0);
    assert_eq!(found.candidates[0].verdict, Verdict::Local, "{:?}", found.candidates[0].reasons);
    let calm = Made::of(4, 0.5, |_| [0.0; 3]);
    let found = made.beside(&calm);
    assert_eq!(found.candidates[0].verdict, Verdict::Local, "{:?}", found.candidates[0].reasons);
    assert!(found.candidates[0].reasons.iter().any(|r| r.text.contains("reference falls to no")));
}

#[test]
fn a_nudge_is_a_break_of_the_level_and_no_storm() {
    let nudge = |h: f64| between(h, 130.3, 1e9, [-90.0, 120.0, 10.0]);
    let found = Made::of(5, 8.0, nudge).alone();
    assert_eq!(found.candidates.len(), 0, "{:?}", found.candidates);
    assert_eq!(found.jumps.len(), 1);
    assert_eq!(found.jumps[0].verdict, Verdict::Local);
    assert!(found.jumps[0].reasons.iter().any(|r| r.text.contains("a day later")));
}

#[test]
fn a_reference_that_shares_a_storm_speaks_for_it() {
    let here = Made::of(6, 8.0, |h| [storm(h), 0.0, 0.0]);
    let there = Made::of(7, 0.2, |h| [0.95 * storm(h), 0.0, 0.0]);
    let found = here.beside(&there);
    let one = &found.candidates[0];
    assert_eq!(one.verdict, Verdict::Storm);
    assert!(one.reasons.iter().filter(|r| r.weight > 0).count() == 3, "{:?}", one.reasons);
}

#[test]
fn a_record_that_ends_in_a_storm_leaves_it_undecided() {
    let cut = |h: f64| if h < 136.0 { [storm(h), 0.0, 0.0] } else { [f64::NAN; 3] };
    let found = Made::of(8, 5.0, cut).alone();
    assert_eq!((found.candidates.len(), found.candidates[0].end), (1, None));
    assert_eq!(found.candidates[0].verdict, Verdict::Undecided);
}

#[test]
fn the_change_of_a_ramp_is_its_slope() {
    let start = Instant::from_date(2026, 5, 1).unwrap();
    let times: Vec<i64> = (0..100).map(|k| start.0 + k * 60_000_000_000).collect();
    let x: Vec<f64> = (0..100).map(|k| 3.0 * f64::from(k)).collect();
    let y: Vec<f64> = (0..100).map(|k| 4.0 * f64::from(k)).collect();
    let days = Days::new(&times, &[&x, &y], |_| true, 60.0, 60.0, 0.9).unwrap();
    let change = change_nt_per_min(&days);
    assert!(change[0].is_nan() && (change[50] - 5.0).abs() < 1e-12 && change[200].is_nan());
}
