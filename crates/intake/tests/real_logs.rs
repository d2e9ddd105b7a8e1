//! Facts of single files of the shared real data, when it is there: places,
//! levels, jumps and faults.  What each of all files must read as stands in
//! `procedure`'s `tests/real_logs.rs`, which runs the replay.

// A test may stop at what should not be.
#![allow(clippy::expect_used, clippy::panic, clippy::print_stdout)]

use intake::{Choices, Reading, read};
use std::path::{Path, PathBuf};

fn shared() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data");
    if folder.is_dir() {
        return Some(folder);
    }
    println!("the shared data is not here: nothing was read");
    None
}

fn open(folder: &Path, file: &str) -> Option<Reading> {
    let bytes = std::fs::read(folder.join(file)).ok()?;
    let name = file.rsplit('/').next().unwrap_or(file);
    Some(read(name, &bytes, &Choices::default()).unwrap_or_else(|error| panic!("{file}: {error}")))
}

#[test]
fn an_observatory_file_tells_its_place_and_its_missing_values() {
    let Some(reading) = shared().and_then(|f| open(&f, "iaga/ott20181201vsec_02-06.sec")) else {
        return;
    };
    let station = reading.station.expect("a station");
    assert_eq!((station.name.as_str(), station.latitude_deg), ("Ottawa", 45.403));
    assert!((station.longitude_deg + 75.552).abs() < 1e-9);
    // Its scalar instrument writes every fifth second, and one of those is missing.
    let f = reading.report.columns.iter().find(|c| c.name == "F").expect("F");
    assert_eq!((f.values, f.missing), (14_400 - 11_520 - 1, 11_521));
    // F is measured apart from X, Y and Z, but is near the length of the vector.
    let [x, y, z] = reading.record.vector().expect("a vector");
    let length = record::vector::norm([x.values[0], y.values[0], z.values[0]]);
    assert!((length - 54_140.0).abs() < 10.0);
}

#[test]
fn a_sensor_on_levels_shows_its_step() {
    let Some(reading) = shared().and_then(|f| open(&f, "more/lowcost/hmc5883l_tilt-sphere.csv"))
    else {
        return;
    };
    // 1090 counts a gauss: the sensor's range of 1.3 G (data sheet, from memory).
    for column in reading.report.columns.iter().filter(|c| c.role_id != "time") {
        let step = column.quantum.expect("levels");
        assert!((step - 1e5 / 1090.0).abs() < 1e-6, "{}: {step}", column.name);
    }
}

#[test]
fn the_jump_of_the_rocket_is_one_gap() {
    let Some(reading) = shared().and_then(|f| open(&f, "mag/rocket_jackpot_launch_1.csv")) else {
        return;
    };
    let time = &reading.report.time;
    assert_eq!((time.gaps, time.longest_gap_s.round()), (1, 1068.0));
    let answered = std::fs::read(shared().expect("data").join("mag/rocket_jackpot_launch_1.csv"))
        .expect("log");
    let choices = Choices::default().with("time", "timestamp");
    let other = read("rocket", &answered, &choices).expect("reads");
    assert_eq!(other.report.time.kind, "uptime");
    assert_eq!(other.report.time.start.map(|i| i.0), Some(129_012_131_940));
}

#[test]
fn byte_swapped_axes_come_with_a_warning() {
    let Some(reading) =
        shared().and_then(|f| open(&f, "more/lowcost/quadcopter_mag_endian_bug.csv"))
    else {
        return;
    };
    assert!(reading.report.warnings.iter().any(|w| w.code == "intake/not-a-field"));
}
