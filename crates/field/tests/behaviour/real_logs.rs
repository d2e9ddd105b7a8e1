//! Real turning logs, where the shared data stand beside the workspace: no worse than scipy, and
//! refused or warned of where they should be.
//!
//! The reference figures are those of `tests/reference/ellipsoid_reference.json` (scipy
//! least_squares; the script that made them stands beside it).

use field::calibration::{Calibration, CalibrationError, Model, Options, fit, fit_or_fall_back};
use std::path::PathBuf;

/// The shared data, or a printed word that they are not here.
fn data(name: &str) -> Option<String> {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data");
    let text = std::fs::read(root.join(name)).ok();
    if text.is_none() {
        println!("{name} is not here; nothing compared");
    }
    text.map(|bytes| String::from_utf8_lossy(&bytes).into_owned())
}

/// Three columns; rows that are not numbers are passed over, as the reference script does.
fn columns(text: &str, separator: Option<char>, places: [usize; 3], skip: usize) -> [Vec<f64>; 3] {
    let mut out = [vec![], vec![], vec![]];
    for line in text.lines().skip(skip) {
        let cells: Vec<&str> = match separator {
            Some(c) => line.split(c).collect(),
            None => line.split_whitespace().collect(),
        };
        let row: Option<Vec<f64>> =
            places.iter().map(|k| cells.get(*k)?.trim().parse().ok()).collect();
        for (list, v) in out.iter_mut().zip(row.unwrap_or_default()) {
            list.push(v);
        }
    }
    out
}

fn run(raw: &[Vec<f64>; 3], options: &Options) -> Result<Calibration, CalibrationError> {
    fit([&raw[0], &raw[1], &raw[2]], |_| true, options)
}

fn plain(model: Model) -> Options {
    Options { model, robust: false, reject_beyond: 0.0, ..Options::default() }
}

#[test]
fn real_turning_logs_fit_as_well_as_scipy_fits_them() {
    let text = include_str!("../../../../tests/reference/ellipsoid_reference.json");
    let reference: serde_json::Value = serde_json::from_str(text).unwrap();
    for entry in reference["fits"].as_array().unwrap() {
        let number = |v: &serde_json::Value| v.as_f64().unwrap();
        let Some(text) = data(entry["file"].as_str().unwrap()) else { continue };
        let places: Vec<usize> = entry["columns"]
            .as_array()
            .unwrap()
            .iter()
            .map(|v| v.as_u64().unwrap() as usize)
            .collect();
        let separator = entry["separator"].as_str().map(|s| s.chars().next().unwrap());
        let skip = entry["skip"].as_u64().unwrap() as usize;
        let raw = columns(&text, separator, places.try_into().unwrap(), skip);
        let ellipsoid = entry["model"] == "ellipsoid";
        let model = if ellipsoid { Model::Ellipsoid } else { Model::Sphere };
        let found = run(&raw, &plain(model)).unwrap();
        assert_eq!(found.used as u64, entry["rows"].as_u64().unwrap(), "{entry}");
        let want = number(&entry["rms_relative"]);
        println!(
            "{} {}: rms {:.6} (scipy {want:.6}), held out {:?}, condition {:.2}, seen {:.0} %",
            entry["file"],
            entry["model"],
            found.residual_relative,
            found.held_out_rms.map(|rms| rms / found.radius),
            found.condition,
            100.0 * found.coverage
        );
        assert!(
            found.residual_relative <= want * (1.0 + 1e-9),
            "{} {want}",
            found.residual_relative
        );
        for (axis, offset) in entry["offset"].as_array().unwrap().iter().enumerate() {
            let off = (found.offset[axis] - number(offset)).abs();
            assert!(off < 1e-6 * found.radius_raw, "{off} {entry}");
            for (b, m) in entry["matrix_to_unit"][axis].as_array().unwrap().iter().enumerate() {
                let got = found.matrix[axis][b] / found.radius * found.radius_raw;
                assert!((got - number(m) * found.radius_raw).abs() < 1e-6, "{entry}");
            }
        }
    }
}

#[test]
fn a_flat_ellipse_is_the_one_that_scipy_finds() {
    let text = include_str!("../../../../tests/reference/ellipsoid_reference.json");
    let reference: serde_json::Value = serde_json::from_str(text).unwrap();
    let wanted = &reference["flat_ellipse"];
    let number = |v: &serde_json::Value| v.as_f64().unwrap();
    // The turn that the reference script makes.
    let mut raw = [vec![], vec![], vec![40_000.0; 150]];
    for k in (0..150).map(f64::from) {
        let (sin, cos) = libm::sincos(0.041 * k);
        let (east, north) = (18_000.0 * cos, -18_000.0 * sin);
        raw[0].push(1.06 * east + 0.03 * north + 900.0 + 90.0 * libm::sin(1.7 * k));
        raw[1].push(0.03 * east + 0.95 * north - 2_500.0 + 90.0 * libm::cos(2.9 * k));
    }
    let found = run(&raw, &plain(Model::Ellipse)).unwrap();
    let want = number(&wanted["rms_relative"]);
    println!("rms {:.9} (scipy {want:.9})", found.residual_relative);
    assert!(found.residual_relative <= want * (1.0 + 1e-9));
    for a in 0..2 {
        assert!((found.offset[a] - number(&wanted["offset"][a])).abs() < 1e-6 * found.radius_raw);
        for b in 0..2 {
            let got = found.matrix[a][b] / found.radius * found.radius_raw;
            let off = got - number(&wanted["matrix_to_unit"][a][b]) * found.radius_raw;
            assert!(off.abs() < 1e-6, "{off}");
        }
    }
}

#[test]
fn logs_of_few_directions_are_refused_an_ellipsoid() {
    let cases: [(&str, Option<char>, [usize; 3], usize); 4] = [
        ("mag/polulu_raw.txt", None, [6, 7, 8], 0),
        ("mag/phone_sensorlogger_Magnetometer.csv", Some(','), [4, 3, 2], 1),
        ("mag/apdm_pendulum_imuData01.csv", Some(','), [22, 23, 24], 4),
        ("more/lowcost/repoimu_tstick_test02.csv", Some(';'), [11, 12, 13], 2),
    ];
    for (name, separator, places, skip) in cases {
        let Some(text) = data(name) else { continue };
        let raw = columns(&text, separator, places, skip);
        assert!(raw[0].len() > 900, "{name}");
        let error = run(&raw, &Options::default()).unwrap_err();
        println!("{name}: {error}");
        let fault = record::Fault::from(error);
        assert!(fault.code == "calibrate/coverage" || fault.code == "calibrate/flat", "{fault}");
    }
}

#[test]
fn columns_that_are_no_field_are_refused_both_ways() {
    let Some(text) = data("more/lowcost/quadcopter_mag_endian_bug.csv") else { return };
    let raw = columns(&text, Some(','), [0, 1, 2], 0);
    for model in [Model::Ellipsoid, Model::Sphere] {
        let error = run(&raw, &Options { model, ..Options::default() }).unwrap_err();
        println!("{model:?}: {error}");
    }
}

#[test]
fn a_log_with_a_changing_field_is_refused_or_warned_of() {
    let Some(text) = data("mag/xsens_50hz.txt") else { return };
    let raw = columns(&text, None, [7, 8, 9], 5);
    let lists: [&[f64]; 3] = [&raw[0], &raw[1], &raw[2]];
    match fit_or_fall_back(lists, |_| true, &Options::default()) {
        Err(error) => println!("{error}"),
        Ok((found, reasons)) => {
            for reason in reasons {
                println!("{reason}");
            }
            println!("{:?} {:?}", found.model, found.residual_relative);
            let codes: Vec<&str> = found.warnings().iter().map(|w| w.code).collect();
            println!("{codes:?}");
            assert!(codes.contains(&"calibrate/residual"));
        }
    }
}
