//! Seasons without a storm: how often is one seen that is not there?

use crate::common::{add, report, session, step, words};
use specimen::Scenario;

/// Seeds of the seasons, each of sixty days with bays, a van, a nudge, drift and gaps.
const SEEDS: std::ops::Range<u64> = 100..112;

#[test]
fn twelve_seasons_without_a_storm_show_none() {
    let (mut days, mut false_storms, mut undecided) = (0, 0, 0);
    for seed in SEEDS {
        let mut scenario = Scenario::with_seed(seed);
        scenario.storms.clear();
        for reference in [false, true] {
            let mut session = session(&scenario, reference);
            add(&mut session, "storms");
            let (report, _) = report(&mut session, false);
            let values = &step(&report, "storms")["values"];
            days += specimen::DAYS;
            false_storms += words(&values["onset"]).len();
            let others = words(&values["not_storms"]);
            undecided += others.iter().filter(|w| w.ends_with("undecided")).count();
        }
    }
    // The bar is less than one in sixty days; the step says none in 720, and means it twice.
    assert_eq!(days, 2 * 720);
    assert_eq!(false_storms, 0);
    assert!(undecided as f64 <= 0.2 * f64::from(days) / 60.0, "{undecided}");
}
