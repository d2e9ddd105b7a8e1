//! The steps of the stage Spectrum on a log whose waves are known.
#![allow(clippy::unwrap_used, reason = "a test may stop where it finds nothing")]

use procedure::session::{Edit, Session};
use serde_json::{Value, json};

const CADENCE_S: usize = 60;

// Deterministic scatter of about one: the sum of twelve uniform numbers less six.
fn scatter(state: &mut u64) -> f64 {
    let mut sum = -6.0;
    for _ in 0..12 {
        *state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        sum += (*state >> 11) as f64 / (1u64 << 53) as f64;
    }
    sum
}

/// A day of 20 nT, waves of 20 minutes and 5 nT, noise of 1 nT; temperature
/// that follows x an hour later.
fn log(days: usize, gap: Option<&std::ops::Range<usize>>) -> String {
    let (mut seed, tau) = (5, std::f64::consts::TAU);
    let mut text = String::from("time,bx_nT,by_nT,bz_nT,temperature_C\n");
    for k in 0..days * 1440 {
        let t = (k * CADENCE_S) as f64;
        let day = |t: f64| 20.0 * (tau * t / 86_400.0).sin();
        let fast = 5.0 * (tau * t / 1200.0).sin();
        let mut noise = || scatter(&mut seed);
        let row = [
            18_000.0 + day(t) + fast + noise(),
            -500.0 + fast + noise(),
            45_000.0 + noise(),
            15.0 + 0.1 * day(t - 3600.0) + 0.05 * noise(),
        ];
        if gap.is_some_and(|gap| gap.contains(&k)) {
            continue;
        }
        let (d, h, m) = (1 + k / 1440, k / 60 % 24, k % 60);
        text.push_str(&format!(
            "2026-05-{d:02}T{h:02}:{m:02}:00Z,{:.2},{:.2},{:.2},{:.3}\n",
            row[0], row[1], row[2], row[3]
        ));
    }
    text
}

/// A log read and put in order, and no more than the given steps after it.
fn with_steps(log: &str, steps: &[(&str, &[(&str, &str)])]) -> (Session, Value) {
    let mut session = Session::default();
    session.open("log.csv", log.as_bytes(), &Default::default()).unwrap();
    let first: Value = serde_json::from_str(&session.view()).unwrap();
    let mut at = first["steps"].as_array().unwrap().len();
    for (place, step) in first["steps"].as_array().unwrap().iter().enumerate() {
        if step["removable"] == true {
            edit(&mut session, json!({"kind": "switch", "step": place, "on": false}));
        }
    }
    for (id, values) in steps {
        edit(&mut session, json!({"kind": "add", "id": id}));
        let view: Value = serde_json::from_str(&session.view()).unwrap();
        let list = view["steps"].as_array().unwrap();
        assert_eq!(list.len(), at + 1);
        at += 1;
        let place = list.iter().rposition(|s| s["id"] == *id).unwrap();
        for (param, value) in *values {
            let set = json!({"kind": "set", "step": place, "param": param, "value": value});
            edit(&mut session, set);
        }
    }
    let report = procedure::replay::report(&mut session, false);
    (session, serde_json::from_str(&report.json).unwrap())
}

fn edit(session: &mut Session, edit: impl Into<Value>) {
    session.edit(Edit::from_json(&edit.into()).unwrap()).unwrap();
}

fn last<'a>(report: &'a Value, id: &str) -> &'a Value {
    report["steps"].as_array().unwrap().iter().rfind(|s| s["step"] == id).unwrap()
}

fn value(report: &Value, id: &str, name: &str) -> f64 {
    last(report, id)["values"][name]["value"].as_f64().unwrap_or(f64::NAN)
}

fn remark<'a>(report: &'a Value, id: &str) -> &'a str {
    last(report, id)["remark"].as_str().unwrap_or("")
}

/// Amplitude of the 20-minute wave in a channel, by one harmonic fit.
fn peak(report: &Value, channel: &str, period_s: f64) -> Option<f64> {
    let values = &last(report, "spectrum")["values"];
    let names: Vec<&str> = values["peak_channels"]["value"].as_str()?.split(' ').collect();
    let rows = values["peaks"]["value"].as_array()?;
    let near = |row: &&Value| (row[1].as_f64().unwrap() / period_s - 1.0).abs() < 0.02;
    let rows = rows.iter().zip(names).filter(|(_, name)| *name == channel).map(|(row, _)| row);
    rows.into_iter().find(near).map(|row| row[2].as_f64().unwrap())
}

#[test]
fn every_filter_tells_its_gain_and_draws_itself() {
    let log = log(4, None);
    let cases: [(&[(&str, &str)], f64); 5] = [
        (&[], -3.0103),
        (&[("passes", "forward")], -3.0103),
        (&[("kind", "stop"), ("longest_min", "240")], -3.0103),
        (&[("method", "kaiser"), ("period_min", "60")], -6.02),
        (&[("method", "mean")], f64::NAN),
    ];
    for (values, gain) in cases {
        let (mut session, report) = with_steps(&log, &[("filter", values)]);
        let found = value(&report, "filter", "gain_at_cutoff_db");
        let close = (found - gain).abs() < 0.05 || (found.is_nan() && gain.is_nan());
        assert!(close, "{values:?}: {found}, {}", last(&report, "filter"));
        let place = session.procedure().steps.iter().rposition(|c| c.step.id == "filter").unwrap();
        let frame = figure::Frame { width_px: 640.0, height_px: 420.0, font_px: 13.0 };
        for (name, panels) in [("before-after", 2), ("response", 1)] {
            let plan = session.plan(place, name, &frame, &figure::View::ALL).unwrap();
            assert_eq!(plan.panels.len(), panels, "{name}");
        }
    }
}

#[test]
fn a_filter_whose_edges_cover_the_record_is_warned_of() {
    let (_, report) = with_steps(&log(4, None), &[("filter", &[("kind", "stop")])]);
    let warned = report["warnings"].as_array().unwrap();
    assert!(warned.iter().any(|w| w["code"] == "filter/mostly-edge"), "{warned:?}");
}

#[test]
fn a_running_mean_lets_half_the_power_through_at_443_thousandths() {
    let (_, report) = with_steps(&log(2, None), &[("filter", &[("method", "mean")])]);
    // 61 samples of a minute; sin(x) / x is 1/√2 at 0.443 lengths.
    let expected = 61.0 / 0.442_946;
    assert!((value(&report, "filter", "half_power_min") / expected - 1.0).abs() < 1e-3);
    let told = remark(&report, "filter");
    assert!(told.contains("upside down") && told.contains("−13.2"), "{told}");
}

#[test]
fn a_median_has_no_response_and_says_so() {
    let (mut session, report) = with_steps(&log(2, None), &[("filter", &[("method", "median")])]);
    assert!(remark(&report, "filter").contains("no frequency response"));
    let place = session.procedure().steps.iter().rposition(|c| c.step.id == "filter").unwrap();
    let frame = figure::Frame { width_px: 640.0, height_px: 420.0, font_px: 13.0 };
    assert!(session.plan(place, "response", &frame, &figure::View::ALL).is_err());
}

#[test]
fn a_causal_filter_says_how_late_it_comes_out() {
    let (_, report) = with_steps(
        &log(2, None),
        &[("filter", &[("passes", "forward"), ("order", "2"), ("period_min", "100")])],
    );
    // Order 2 delays slow waves by √2 / (2π f).
    let expected = 2.0_f64.sqrt() * 100.0 * 60.0 / std::f64::consts::TAU;
    assert!((value(&report, "filter", "delay_s") / expected - 1.0).abs() < 0.03);
}

#[test]
fn what_a_low_pass_takes_away_is_gone_from_the_spectrum() {
    let spectrum: (&str, &[(&str, &str)]) = ("spectrum", &[("segment_h", "24")]);
    let (_, before) = with_steps(&log(6, None), &[spectrum]);
    assert!((peak(&before, "by", 1200.0).unwrap() - 5.0).abs() < 0.5);
    let (_, after) = with_steps(&log(6, None), &[("filter", &[]), spectrum]);
    assert!(peak(&after, "by", 1200.0).is_none_or(|a| a < 0.01));
}

#[test]
fn each_method_finds_the_wave_with_its_amplitude() {
    let log = log(6, Some(&(4000..4200)));
    for method in ["welch", "periodogram", "multitaper", "lomb-scargle"] {
        let (_, report) =
            with_steps(&log, &[("spectrum", &[("method", method), ("segment_h", "24")])]);
        let found = peak(&report, "by", 1200.0);
        assert!(found.is_some_and(|a| (a - 5.0).abs() < 0.5), "{method}: {found:?}");
        assert!(value(&report, "spectrum", "degrees_of_freedom") >= 2.0);
    }
}

#[test]
fn sine_tapers_find_the_wave_too_and_a_slope_is_fitted_where_it_is_asked_for() {
    let log = log(6, None);
    let with = |values: &[(&str, &str)]| with_steps(&log, &[("spectrum", values)]).1;
    let sine = with(&[("method", "multitaper"), ("tapers", "sine")]);
    let found = peak(&sine, "by", 1200.0);
    assert!(found.is_some_and(|a| (a - 5.0).abs() < 0.5), "{found:?}");
    // Below the waves there is white noise alone: no slope.
    let range = [("slope", "between"), ("segment_h", "12"), ("slope_to_h", "0.25")];
    let flat = with(&[&range[..], &[("slope_from_h", "0.03")]].concat());
    assert!(value(&flat, "spectrum", "slope").abs() < 0.2);
    let none = with(&[&range[..], &[("slope_from_h", "0.249")]].concat());
    assert!(value(&none, "spectrum", "slope").is_nan());
    let warned = none["warnings"].as_array().unwrap().iter();
    assert!(warned.filter(|w| w["code"] == "spectrum/slope").count() == 1);
}

#[test]
fn a_curve_takes_a_slow_wave_off_and_a_steep_filter_runs() {
    let log = log(2, None);
    let rest = |steps: &[(&str, &[(&str, &str)])]| {
        let all = [steps, &[("spectrum", &[("method", "periodogram")])]].concat();
        peak(&with_steps(&log, &all).1, "bx", 86_400.0).unwrap_or(0.0)
    };
    let curve: &[(&str, &str)] = &[("what", "curve"), ("degree", "9")];
    assert!(rest(&[]) > 15.0);
    assert!(rest(&[("detrend", curve)]) < 2.0);
    let (_, steep) = with_steps(&log, &[("filter", &[("order", "40"), ("period_min", "60")])]);
    assert!((value(&steep, "filter", "gain_at_cutoff_db") + 3.0103).abs() < 0.05);
}

#[test]
fn a_gappy_record_is_announced_and_lomb_scargle_uses_all_of_it() {
    let log = log(6, Some(&(2000..4000)));
    let warned = |report: &Value, code: &str| {
        report["warnings"].as_array().unwrap().iter().any(|w| w["code"] == code)
    };
    let (_, by_transform) = with_steps(&log, &[("spectrum", &[("method", "periodogram")])]);
    assert!(warned(&by_transform, "spectrum/gaps"));
    let (_, uneven) = with_steps(&log, &[("spectrum", &[("method", "lomb-scargle")])]);
    assert!(!warned(&uneven, "spectrum/gaps"));
    assert!((peak(&uneven, "bx", 86_400.0).unwrap() - 20.0).abs() < 1.0);
    let names = &last(&uneven, "spectrum")["values"]["peak_names"]["value"];
    assert!(names.as_str().unwrap().contains("the day, 24 h"), "{names}");
}

#[test]
fn amplitudes_are_drawn_in_the_unit_of_the_field() {
    let (mut session, report) = with_steps(
        &log(4, None),
        &[("spectrum", &[("scale", "amplitude"), ("segment_h", "24"), ("channel", "by")])],
    );
    assert_eq!(last(&report, "spectrum")["values"]["slope"]["unit"], "");
    let place = session.procedure().steps.iter().rposition(|c| c.step.id == "spectrum").unwrap();
    let frame = figure::Frame { width_px: 640.0, height_px: 420.0, font_px: 13.0 };
    let plan = session.plan(place, "spectrum", &frame, &figure::View::ALL).unwrap();
    assert_eq!(plan.panels[0].y.unit, "nT");
    let figure::Layer::Line(line) = &plan.panels[0].layers[0] else { panic!("a line") };
    let top = line.y.iter().copied().filter(|v| v.is_finite()).fold(0.0, f64::max);
    assert!((top - 5.0).abs() < 0.3, "{top}");
}

#[test]
fn the_rate_of_a_wave_is_its_amplitude_times_its_angular_frequency() {
    let (_, report) = with_steps(&log(2, None), &[("rate", &[("over_min", "4")])]);
    // 5 nT of 20 min: 1.571 nT/min; over 4 min 95.5 % of it is seen; noise
    // adds √2 / 4 nT/min a sample, of which the largest of 8,000 is near 4 σ.
    let found = value(&report, "rate", "largest").abs();
    assert!((1.5..3.3).contains(&found), "{found}");
    assert_eq!(last(&report, "rate")["values"]["largest"]["unit"], "nT/min");
}

#[test]
fn the_thermometer_that_follows_an_hour_late_is_found_out() {
    let steps: [(&str, &[(&str, &str)]); 1] =
        [("coherence", &[("channel", "bx"), ("other", "temperature"), ("segment_h", "48")])];
    let (_, report) = with_steps(&log(12, None), &steps);
    let strongest = &last(&report, "coherence")["values"]["strongest"]["value"][0];
    assert!((1.0 / strongest[0].as_f64().unwrap() / 86_400.0 - 1.0).abs() < 0.1, "{strongest}");
    assert!(strongest[1].as_f64().unwrap() > 0.98);
    assert!((strongest[3].as_f64().unwrap() / 3600.0 - 1.0).abs() < 0.1, "{strongest}");
}

#[test]
fn coherence_with_no_observatory_open_is_refused_with_the_remedy() {
    let (mut session, _) = with_steps(&log(2, None), &[("coherence", &[])]);
    let view: Value = serde_json::from_str(&session.view()).unwrap();
    let step = view["steps"].as_array().unwrap().iter().rfind(|s| s["id"] == "coherence").unwrap();
    assert_eq!(step["fault"]["code"], "coherence/no-reference");
}

#[test]
fn a_histogram_shows_the_step_of_the_digitiser() {
    let mut text = String::from("time,count\n");
    let mut seed = 9;
    for k in 0..3000 {
        let v = 2000.0 + (scatter(&mut seed) * 3.0).round() * 4.0;
        text.push_str(&format!("2026-05-01T{:02}:{:02}:00Z,{v}\n", k / 60 % 24, k % 60));
    }
    let (_, report) = with_steps(&text, &[("histogram", &[("channel", "count")])]);
    assert_eq!(value(&report, "histogram", "quantum"), 4.0, "{}", remark(&report, "histogram"));
}

#[test]
fn white_noise_is_worth_all_its_samples_and_a_day_wave_hardly_any() {
    let (_, report) = with_steps(&log(8, None), &[("autocorrelation", &[])]);
    let counts = &last(&report, "autocorrelation")["values"]["effective_count"]["value"];
    assert!(counts[0].as_f64().unwrap() < 200.0, "{counts}");
    assert!(counts[2].as_f64().unwrap() > 8_000.0, "{counts}");
}

#[test]
fn thinning_keeps_the_day_and_drops_the_fast_wave() {
    let spectrum: (&str, &[(&str, &str)]) = ("spectrum", &[("segment_h", "48")]);
    let (_, report) = with_steps(&log(8, None), &[("decimate", &[("factor", "20")]), spectrum]);
    assert_eq!(value(&report, "decimate", "samples"), 576.0);
    // Twenty minutes would have come back as a constant or a slow wave.
    let values = &last(&report, "spectrum")["values"]["peaks"]["value"];
    let tall = values.as_array().unwrap().iter().filter(|row| row[2].as_f64().unwrap() > 2.0);
    assert_eq!(tall.count(), 1, "{values}");
}

#[test]
fn minutes_of_a_slower_log_are_refused_with_what_exists() {
    let (mut session, _) = with_steps(&log(1, None), &[("decimate", &[("how", "minute")])]);
    let view: Value = serde_json::from_str(&session.view()).unwrap();
    let step = view["steps"].as_array().unwrap().iter().rfind(|s| s["id"] == "decimate").unwrap();
    assert_eq!(step["fault"]["code"], "signal/minute");
}

#[test]
fn the_steadiest_average_is_no_longer_than_a_quarter_of_the_record() {
    let (_, report) = with_steps(&log(12, None), &[("detrend", &[]), ("allan", &[])]);
    // Means of white noise grow steadier for ever; so few of them show nothing.
    let tau_s = value(&report, "allan", "tau_s");
    assert!((86_400.0..=3.01 * 86_400.0).contains(&tau_s), "{}", remark(&report, "allan"));
}

#[test]
fn a_mean_of_values_that_resemble_their_neighbours_is_known_less_well() {
    let sigma = |channel| {
        let (_, report) = with_steps(&log(12, None), &[("histogram", &[("channel", channel)])]);
        let text = remark(&report, "histogram").to_owned();
        let after = text.split(" ± ").nth(1).and_then(|rest| rest.split(' ').next());
        after.and_then(|number| number.parse::<f64>().ok()).expect(&text)
    };
    // 17,280 values: noise of 1 nT; a day's wave of 20 nT, of which each day is worth few.
    assert!((sigma("bz") - 0.0076).abs() < 0.002);
    assert!(sigma("bx") > 0.5);
}

#[test]
fn what_a_bare_sensor_and_a_tall_line_are_worth_is_said_with_them() {
    let spectrum: (&str, &[(&str, &str)]) = ("spectrum", &[("segment_h", "48")]);
    let (_, report) = with_steps(&log(4, None), &[("elements", &[]), spectrum]);
    let elements = remark(&report, "elements");
    assert!(elements.ends_with(" Not calibrated: the sensor's own offsets are in all of these."));
    let spectrum = remark(&report, "spectrum");
    assert!(spectrum.contains("(by chance: "), "{spectrum}");
}

#[test]
fn a_peak_that_noise_alone_shows_as_often_is_not_told_as_a_line() {
    let mut text = String::from("time,pressure_hPa\n");
    let mut seed = 11;
    for k in 0..2880 {
        let (d, h, m) = (1 + k / 288, k / 12 % 24, 5 * (k % 12));
        let value = 1013.0 + 0.1 * scatter(&mut seed);
        text.push_str(&format!("2026-05-{d:02}T{h:02}:{m:02}:00Z,{value:.2}\n"));
    }
    let (_, report) = with_steps(&text, &[("spectrum", &[("segment_h", "48")])]);
    let spectrum = remark(&report, "spectrum");
    assert!(spectrum.ends_with("; no line stands out."), "{spectrum}");
}
