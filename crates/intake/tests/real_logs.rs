//! Reads every file of the shared real data, when it is there, and holds the
//! reading against the facts of its manifest: rows, first and last time,
//! cadence, roles.  Times are those of the files, brought to UTC where the file
//! names an offset.

// A test may stop at what should not be.
#![allow(clippy::expect_used, clippy::panic, clippy::print_stdout)]

use intake::{Choices, Reading, read};
use std::path::{Path, PathBuf};

struct Fact {
    file: &'static str,
    format: &'static str,
    rows: usize,
    rejected: usize,
    kind: &'static str,
    start: &'static str,
    end: &'static str,
    cadence_s: f64,
    /// Channel name, role and unit symbol.
    channels: &'static [(&'static str, &'static str, &'static str)],
}

const XYZF: &[(&str, &str, &str)] =
    &[("X", "x", "nT"), ("Y", "y", "nT"), ("Z", "z", "nT"), ("F", "f", "nT")];
const NAMED: &[(&str, &str, &str)] = &[
    ("Gyroscope X", "gyro_x", "°/s"),
    ("Accelerometer Z", "accel_z", "m/s²"),
    ("Magnetometer X", "x", "nT"),
    ("Magnetometer Z", "z", "nT"),
];

const fn minute_day(
    file: &'static str,
    start: &'static str,
    end: &'static str,
    rows: usize,
) -> Fact {
    Fact {
        file,
        format: "iaga-2002",
        rows,
        rejected: 0,
        kind: "iso8601",
        start,
        end,
        cadence_s: 60.0,
        channels: XYZF,
    }
}

const FACTS: [Fact; 31] = [
    minute_day("iaga/ykc20210405vmin.min", "2021-04-05T00:00:00Z", "2021-04-05T23:59:00Z", 1440),
    minute_day(
        "iaga/ykc20210405vmin_gap.min",
        "2021-04-05T00:00:00Z",
        "2021-04-05T23:59:00Z",
        1433,
    ),
    minute_day("iaga/esk20031028dmin.min", "2003-10-28T00:00:00Z", "2003-10-28T23:59:00Z", 1440),
    minute_day("iaga/esk20031029dmin.min", "2003-10-29T00:00:00Z", "2003-10-29T23:59:00Z", 1440),
    minute_day("iaga/esk20031030dmin.min", "2003-10-30T00:00:00Z", "2003-10-30T23:59:00Z", 1440),
    minute_day(
        "more/observatory/mcq20220115qmin.min",
        "2022-01-15T00:00:00Z",
        "2022-01-15T23:59:00Z",
        1440,
    ),
    minute_day(
        "more/observatory/kak20220115qmin.min",
        "2022-01-15T00:00:00Z",
        "2022-01-15T23:59:00Z",
        1440,
    ),
    minute_day(
        "more/observatory/nur20220115pmin.min.txt",
        "2022-01-15T00:00:00Z",
        "2022-01-15T23:59:00Z",
        1440,
    ),
    Fact {
        cadence_s: 1.0,
        ..minute_day(
            "iaga/ott20181201vsec_02-06.sec",
            "2018-12-01T02:00:00Z",
            "2018-12-01T05:59:59Z",
            14_400,
        )
    },
    Fact {
        file: "iaga/gfz_kp_2018-12-01_2021-04-05.csv",
        format: "csv",
        rows: 17,
        rejected: 0,
        kind: "date+time",
        start: "2018-12-01T00:00:00Z",
        end: "2021-04-06T00:00:00Z",
        cadence_s: 10_800.0,
        channels: &[("kp", "other", "")],
    },
    Fact {
        file: "more/observatory/kp_2022-01-13_16.csv",
        format: "csv",
        rows: 32,
        rejected: 0,
        kind: "date+time",
        start: "2022-01-13T00:00:00Z",
        end: "2022-01-16T21:00:00Z",
        cadence_s: 10_800.0,
        channels: &[("kp", "other", "")],
    },
    Fact {
        file: "iaga/esk_K_20031028-29.txt",
        format: "space",
        rows: 2,
        rejected: 0,
        kind: "date+time",
        start: "2003-10-28T00:00:00Z",
        end: "2003-10-29T00:00:00Z",
        cadence_s: 86_400.0,
        channels: &[("column 5", "other", "")],
    },
    Fact {
        file: "mag/rocket_jackpot_launch_1.csv",
        format: "csv",
        rows: 6616,
        rejected: 0,
        kind: "epoch",
        start: "2026-02-21T16:52:57.698352608Z",
        end: "2026-02-21T17:11:58.912085487Z",
        cadence_s: 0.011_004_468,
        channels: &[
            ("magnetic_field_x", "x", "nT"),
            ("magnetic_field_y", "y", "nT"),
            ("magnetic_field_z", "z", "nT"),
            ("temperature", "temperature", "°C"),
            ("pressure", "pressure", "hPa"),
            ("raw_acceleration_x", "accel_x", "m/s²"),
            ("raw_angular_rate_z", "gyro_z", "°/s"),
            ("est_acceleration_x", "other", "m/s²"),
        ],
    },
    Fact {
        file: "mag/broad_03_slow_rotation.csv",
        format: "csv",
        rows: 7302,
        rejected: 0,
        kind: "uptime",
        start: "1970-01-01T00:00:00Z",
        end: "1970-01-01T00:03:24.428Z",
        cadence_s: 0.028,
        channels: &[
            ("mx", "x", "nT"),
            ("mz", "z", "nT"),
            ("gx", "gyro_x", "°/s"),
            ("ay", "accel_y", "m/s²"),
            ("movement", "other", ""),
        ],
    },
    Fact {
        file: "mag/fusion_sensor_data.csv",
        format: "csv",
        rows: 13_514,
        rejected: 0,
        kind: "uptime",
        start: "1970-01-01T00:00:00Z",
        end: "1970-01-01T00:02:15.326642Z",
        cadence_s: 0.010_079_38,
        channels: NAMED,
    },
    Fact {
        file: "mag/polulu_raw.txt",
        format: "space",
        rows: 3653,
        rejected: 0,
        kind: "uptime",
        start: "1970-01-01T00:00:00.002Z",
        end: "1970-01-01T00:00:24.410Z",
        cadence_s: 0.007,
        channels: &[
            ("column 1", "accel_x", "count"),
            ("column 7", "x", "count"),
            ("column 8", "y", "count"),
            ("column 9", "z", "count"),
        ],
    },
    Fact {
        file: "mag/xsens_50hz.txt",
        format: "tsv",
        rows: 953,
        rejected: 0,
        kind: "none",
        start: "1970-01-01T00:00:00Z",
        end: "1970-01-01T00:00:19.040Z",
        cadence_s: 0.02,
        channels: &[
            ("Mag_X", "x", "count"),
            ("Mag_Z", "z", "count"),
            ("Acc_X", "accel_x", "m/s²"),
            ("Gyr_X", "gyro_x", ""),
            ("Counter", "other", ""),
            ("Quat_x", "other", ""),
        ],
    },
    Fact {
        file: "mag/phone_sensorlogger_Magnetometer.csv",
        format: "csv",
        rows: 1038,
        rejected: 0,
        kind: "epoch",
        start: "2025-10-15T22:05:06.248623Z",
        end: "2025-10-15T22:05:16.648687900Z",
        cadence_s: 0.010_029,
        channels: &[("x", "x", "count"), ("y", "y", "count"), ("z", "z", "count")],
    },
    Fact {
        file: "mag/apdm_pendulum_imuData01.csv",
        format: "csv",
        rows: 1024,
        rejected: 0,
        kind: "uptime",
        start: "1970-01-01T00:00:00.007457625Z",
        end: "1970-01-01T00:00:07.999645125Z",
        cadence_s: 0.007_812_5,
        channels: &[
            ("Static/Magnetic Field/X", "x", "nT"),
            ("Static/Magnetic Field/Z", "z", "nT"),
            ("Upper/Magnetic Field/X", "other", "nT"),
            ("Static/Acceleration/X", "accel_x", "m/s²"),
            ("Static/Temperature/Scalar", "temperature", "°C"),
            ("Static/Pressure/Scalar", "pressure", "hPa"),
        ],
    },
    Fact {
        file: "mag/ngimu_sensors.csv",
        format: "csv",
        rows: 499,
        rejected: 0,
        kind: "uptime",
        start: "1970-01-01T00:00:00Z",
        end: "1970-01-01T00:00:09.977550983Z",
        cadence_s: 0.020_248_89,
        channels: &[("Magnetometer X", "x", "nT"), ("Barometer", "pressure", "hPa")],
    },
    Fact {
        file: "mag/lemi424_202010010000.TXT",
        format: "space",
        rows: 120,
        rejected: 0,
        kind: "date+time",
        start: "2020-10-01T00:00:00Z",
        end: "2020-10-01T00:01:59Z",
        cadence_s: 1.0,
        channels: &[
            ("column 7", "x", "nT"),
            ("column 8", "y", "nT"),
            ("column 9", "z", "nT"),
            ("column 10", "other", ""),
        ],
    },
    Fact {
        file: "env/AirQualityUCI.csv",
        format: "semicolon",
        rows: 9357,
        rejected: 0,
        kind: "date+time",
        start: "2004-03-10T18:00:00Z",
        end: "2005-04-04T14:00:00Z",
        cadence_s: 3600.0,
        channels: &[("T", "temperature", "°C"), ("RH", "humidity", "%"), ("CO(GT)", "other", "")],
    },
    Fact {
        file: "env/occupancy_datatraining.txt",
        format: "csv",
        rows: 8143,
        rejected: 0,
        kind: "iso8601",
        start: "2015-02-04T17:51:00Z",
        end: "2015-02-10T09:33:00Z",
        cadence_s: 60.0,
        channels: &[
            ("Temperature", "temperature", "°C"),
            ("Humidity", "humidity", "%"),
            ("HumidityRatio", "other", ""),
        ],
    },
    Fact {
        file: "env/hobo_Charlies_AW_20170726_20170926.csv",
        format: "csv",
        rows: 2976,
        rejected: 0,
        kind: "date+time",
        start: "2017-07-26T21:00:00Z",
        end: "2017-09-26T20:30:00Z",
        cadence_s: 1800.0,
        channels: &[
            ("Abs Pres", "pressure", "hPa"),
            ("Water Temp", "temperature", "°C"),
            ("Air Temp", "temperature", "°C"),
            ("Sensor Depth", "other", "m"),
        ],
    },
    Fact {
        file: "env/safecast_bgeigienano_204-0920.LOG",
        format: "sentences",
        rows: 8512,
        rejected: 1,
        kind: "iso8601",
        start: "2012-09-20T15:13:40Z",
        end: "2012-09-21T03:03:43Z",
        cadence_s: 5.0,
        channels: &[("counts", "counts", "1/min"), ("latitude", "other", "")],
    },
    Fact {
        file: "env/ground_motion_tspair.ascii",
        format: "space",
        rows: 635,
        rejected: 0,
        kind: "iso8601",
        start: "2008-01-15T00:00:00.025Z",
        end: "2008-01-15T00:00:15.875Z",
        cadence_s: 0.025,
        channels: &[("ground motion XX_TEST__BHZ_R", "motion", "count")],
    },
    Fact {
        file: "more/lowcost/hmc5883l_tilt-sphere.csv",
        format: "csv",
        rows: 4322,
        rejected: 0,
        kind: "uptime",
        start: "1970-01-01T00:00:00.012804381Z",
        end: "1970-01-01T00:00:56.037386575Z",
        cadence_s: 0.002_545_516,
        channels: &[("compass_x", "x", "nT"), ("compass_y", "y", "nT"), ("compass_z", "z", "nT")],
    },
    Fact {
        file: "more/lowcost/repoimu_tstick_test02.csv",
        format: "semicolon",
        rows: 1500,
        rejected: 0,
        kind: "uptime",
        start: "1970-01-01T00:00:00.080Z",
        end: "1970-01-01T00:00:15.070Z",
        cadence_s: 0.01,
        channels: &[
            ("IMU Magnetometer X", "x", "count"),
            ("IMU Acceleration Z", "accel_z", "m/s²"),
            ("IMU Gyroscope Y", "gyro_y", ""),
        ],
    },
    Fact {
        file: "more/lowcost/quadcopter_mag_endian_bug.csv",
        format: "csv",
        rows: 1871,
        rejected: 0,
        kind: "none",
        start: "1970-01-01T00:00:00Z",
        end: "1970-01-01T00:31:10Z",
        cadence_s: 1.0,
        channels: &[("column 1", "x", "count"), ("column 3", "z", "count")],
    },
    Fact {
        file: "more/environment/luftdaten_13447_cut.json",
        format: "json",
        rows: 1069,
        rejected: 0,
        kind: "epoch",
        start: "2019-05-04T09:24:00Z",
        end: "2019-05-08T20:42:00Z",
        cadence_s: 360.0,
        channels: &[
            ("temperature", "temperature", "°C"),
            ("humidity", "humidity", "%"),
            ("P1", "other", ""),
        ],
    },
    Fact {
        file: "more/environment/Compass_GWI_W_411_ClimaVue50_15min.dat",
        format: "csv",
        rows: 360,
        rejected: 0,
        kind: "iso8601",
        start: "2022-11-09T00:00:00Z",
        end: "2022-11-23T23:00:00Z",
        cadence_s: 3600.0,
        channels: &[
            ("AirT_C_Avg", "temperature", "°C"),
            ("BP_mbar", "pressure", "hPa"),
            ("RH", "humidity", "%"),
        ],
    },
];

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

fn faults(fact: &Fact, reading: &Reading) -> Vec<String> {
    let report = &reading.report;
    let iso = |instant: Option<record::Instant>| instant.map_or(String::new(), |i| i.iso());
    let pairs = [
        ("format", report.format.to_owned(), fact.format.to_owned()),
        ("rows", report.rows_read.to_string(), fact.rows.to_string()),
        ("rejected", report.rows_rejected.to_string(), fact.rejected.to_string()),
        ("kind", report.time.kind.to_owned(), fact.kind.to_owned()),
        ("start", iso(report.time.start), fact.start.to_owned()),
        ("end", iso(report.time.end), fact.end.to_owned()),
        ("cadence", report.time.cadence_s.to_string(), fact.cadence_s.to_string()),
    ];
    let mut out: Vec<String> = pairs
        .into_iter()
        .filter(|(_, found, wanted)| found != wanted)
        .map(|(what, found, wanted)| format!("{}: {what} is {found}, not {wanted}", fact.file))
        .collect();
    for (name, role, unit) in fact.channels {
        let channel = reading.record.named(name);
        let found = channel
            .map_or("missing".to_owned(), |c| format!("{} {}", c.role.id(), c.unit.symbol()));
        if found != format!("{role} {unit}") {
            out.push(format!("{}: {name} is {found}, not {role} {unit}", fact.file));
        }
    }
    out
}

#[test]
fn every_real_log_reads_as_its_manifest_says() {
    let Some(folder) = shared() else { return };
    let mut wrong = Vec::new();
    for fact in &FACTS {
        match open(&folder, fact.file) {
            Some(reading) => wrong.extend(faults(fact, &reading)),
            None => println!("{} is not here", fact.file),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
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
