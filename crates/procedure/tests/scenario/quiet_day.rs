//! The daily variation of the scenario, and how the sensor follows its thermometer.

use crate::common::{add, numbers, report, session, set, step};
use serde_json::Value;
use specimen::{DEFAULT_SEED, Scenario};

/// A harmonic as a pointer.
fn pointer(amplitude: f64, hour: f64, period_h: f64) -> [f64; 2] {
    let (sin, cos) = (std::f64::consts::TAU * hour / period_h).sin_cos();
    [amplitude * cos, amplitude * sin]
}

/// The temperature is taken off by the night hours alone, as the step's Why advises: by day it
/// and the daily variation cannot be told apart.  Nothing is mended.
#[test]
fn the_demo_s_daily_harmonics_are_those_of_the_truth() {
    let scenario = Scenario::with_seed(DEFAULT_SEED);
    let truth: Value = serde_json::from_str(&specimen::sixty_days(DEFAULT_SEED).truth).unwrap();
    let mut session = session(&scenario, false);
    add(&mut session, "temperature");
    set(&mut session, "temperature", "hours", "night");
    let (report, _) = report(&mut session, false);
    follows_the_thermometer(&step(&report, "temperature")["values"], &truth);
    let values = &step(&report, "quiet-day")["values"];
    for (c, key) in ["x", "y", "z"].into_iter().enumerate() {
        for n in 0..4 {
            let wanted = &truth["daily_variation"][key][n];
            let get = |name: &str, part: &str| values[name][part][c][n].as_f64().unwrap();
            let period_h = 24.0 / (n + 1) as f64;
            let got = pointer(get("amplitude_nt", "value"), get("phase_h", "value"), period_h);
            let wanted = pointer(
                wanted["amplitude_nt"].as_f64().unwrap(),
                wanted["maximum_local_h"].as_f64().unwrap(),
                period_h,
            );
            // Along the pointer by the amplitude's uncertainty, across by the hour's.
            let size = got[0].hypot(got[1]);
            let off = [wanted[0] - got[0], wanted[1] - got[1]];
            let along = (off[0] * got[0] + off[1] * got[1]) / size;
            let across = (off[1] * got[0] - off[0] * got[1]) / size;
            let across_sigma = get("phase_h", "sigma") / period_h * std::f64::consts::TAU * size;
            let sigma = get("amplitude_nt", "sigma");
            assert!(along.abs() < 3.0 * sigma, "{key} {n}: {along} ± {sigma}");
            assert!(across.abs() < 3.0 * across_sigma, "{key} {n}: {across} ± {across_sigma}");
        }
    }
}

/// Beside the reference and about the mean day the daily variation is not taken for temperature,
/// with all hours used; the safe way is the first of the two where a reference is open.
#[test]
fn a_reference_or_the_mean_day_keeps_the_daily_variation_out_of_the_temperature() {
    let scenario = Scenario::with_seed(DEFAULT_SEED);
    let truth: Value = serde_json::from_str(&specimen::sixty_days(DEFAULT_SEED).truth).unwrap();
    let mut session = session(&scenario, true);
    add(&mut session, "temperature");
    let (safe, _) = report(&mut session, false);
    let safe = step(&safe, "temperature");
    assert!(safe["remark"].as_str().unwrap().starts_with("Beside what Kelda Head"), "{safe}");
    for basis in ["reference", "mean-day", "plain"] {
        set(&mut session, "temperature", "basis", basis);
        let (told, _) = report(&mut session, false);
        let told = step(&told, "temperature");
        println!("{basis}: {}", told["remark"]);
        if basis == "reference" {
            assert_eq!(told["values"], safe["values"]);
        }
        if basis != "plain" {
            follows_the_thermometer(&told["values"], &truth);
        }
    }
}

/// The truth's coefficients are of the reading; the step sees them through the matrix that
/// calibrates.
fn follows_the_thermometer(values: &Value, truth: &Value) {
    let reading = numbers(&truth["temperature"]["coefficient_nt_per_degc"]);
    let got = numbers(&values["coefficient_nt_per_degc"]["value"]);
    let sigma = numbers(&values["coefficient_nt_per_degc"]["sigma"]);
    for axis in 0..3 {
        let row = numbers(&truth["sensor"]["matrix_symmetric"][axis]);
        let wanted: f64 = row.iter().zip(&reading).map(|(m, r)| m * r).sum();
        let off = (got[axis] - wanted).abs();
        assert!(off < 3.0 * sigma[axis], "{} ± {}, in truth {wanted}", got[axis], sigma[axis]);
    }
}
