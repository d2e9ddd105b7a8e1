//! Whatever numbers come in, every entry of the crate returns.

use field::calibration::{self, Model, Options};
use field::days::Days;
use field::follow::Response;
use field::{alignment, circular, compare, elements, k_index, match_reference, mean, orientation};
use field::{deviation, quiet_day, storms, temperature};
use proptest::prelude::*;
use record::Fault;

/// Numbers of every size and kind, with runs that repeat.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -1e5..1e5f64,
        2 => Just(0.0),
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(-f64::MAX),
        1 => Just(1e-310),
        1 => any::<f64>(),
    ]
}

fn list() -> impl Strategy<Value = Vec<f64>> {
    prop_oneof![
        prop::collection::vec(number(), 0..160),
        prop::collection::vec(-100.0..100.0f64, 100..160),
        (0usize..160, number()).prop_map(|(n, v)| vec![v; n]),
    ]
}

fn lists() -> impl Strategy<Value = [Vec<f64>; 3]> {
    [list(), list(), list()]
}

fn three(lists: &[Vec<f64>; 3]) -> [&[f64]; 3] {
    [&lists[0], &lists[1], &lists[2]]
}

/// A fault must have words.
fn told<T, E: Into<Fault>>(result: Result<T, E>) {
    if let Err(error) = result {
        let fault: Fault = error.into();
        assert!(!fault.message.is_empty() && !fault.remedy.is_empty(), "{}", fault.code);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn calibrations_of_anything_return(raw in lists(), robust: bool, reject in 0.0..6.0f64,
                                       tied_to_x: bool, field in prop::option::of((number(), number()))) {
        for model in [Model::Ellipsoid, Model::Sphere, Model::Circle, Model::Ellipse, Model::Given] {
            let options = Options { model, field, robust, reject_beyond: reject, tied_to_x };
            told(calibration::fit(three(&raw), |k| k % 7 != 3, &options));
            told(calibration::fit_or_fall_back(three(&raw), |_| true, &options));
        }
    }

    #[test]
    fn elements_and_means_of_anything_return(v in lists(), angle in number()) {
        let [x, y, z] = three(&v);
        let e = elements::of(x, y, z);
        let heading = elements::headings_deg(&e.d);
        prop_assert_eq!(heading.len(), x.len().min(y.len()).min(z.len()));
        prop_assert!(heading.iter().all(|h| h.is_nan() || (0.0..360.0).contains(h)));
        let u = mean::Uncertainty { tilt_deg: angle, ..Default::default() };
        mean::mean(x, y, z, |k| k != 2, &u);
        circular::median_deg(x.iter().copied());
        circular::resultant(y.iter().copied()).sd_deg();
        let turned = circular::positive_deg(angle);
        prop_assert!(turned.is_nan() || (0.0..360.0).contains(&turned));
        orientation::level([angle, 1.0, 0.0]);
        compare::agreement(x, y, |_| true);
        deviation::fit(x, y);
    }

    #[test]
    fn regressions_and_matches_of_anything_return(a in lists(), b in lists(), t in list(), degc in list()) {
        told(alignment::fit(three(&a), three(&b), |_| true));
        let options = match_reference::Options::default();
        told(match_reference::fit(three(&a), three(&b), None, |_| true, 60.0, &options));
        told(match_reference::fit(three(&a), three(&b), None, |_| true, 0.0, &options));
        let mut times = t;
        times.sort_by(f64::total_cmp);
        for (drift, response) in [(false, Response::Delay), (true, Response::FirstOrder)] {
            let mean_day = drift;
            let options =
                temperature::Options { drift, response, mean_day, ..Default::default() };
            let beside: &[&[f64]] = if drift { &[&b[0]] } else { &[] };
            told(temperature::fit(&times, three(&a), &degc, |_| true, &options, beside));
        }
    }

    #[test]
    fn days_of_anything_return(times in prop::collection::vec(any::<i64>(), 0..60), near: bool,
                               v in lists(), cadence in number(), longitude in number(), k9 in number()) {
        let times: Vec<i64> =
            times.iter().map(|t| if near { t.rem_euclid(300_000_000_000_000) } else { *t }).collect();
        let [x, y, z] = three(&v);
        match Days::new(&times, &[x, y, z], |_| true, cadence, 600.0, 0.1) {
            Err(error) => told::<(), _>(Err(error)),
            Ok(days) => {
                let k = k_index::indices(&days, &k_index::Options::new(k9, longitude));
                prop_assert_eq!(k.len(), 8 * days.len());
                let order = quiet_day::quietest(&k);
                let options = quiet_day::Options { fewest: 0.0, ..quiet_day::Options::new(longitude) };
                let quiet = quiet_day::curve(&days, &order, &options);
                let even = storms::Even::new(&times, [x, y, z], |_| true, cadence);
                if let (Ok(quiet), Some(even)) = (&quiet, &even) {
                    let longitude_deg = longitude;
                    let sight = storms::Sight { days: &days, quiet, even, longitude_deg };
                    let options = storms::Options { depth_nt: k9, jump_nt: 0.0, jump_sigmas: 1.0 };
                    storms::search(&sight, Some(&sight), &options);
                }
                told(quiet);
                storms::change_nt_per_min(&days);
            }
        }
    }
}
