//! The default scenario: Tern Skerry, May and June 2026, number by number.
//!
//! All invented but for the main field, whose source stands beside it.

use super::DEFAULT_SEED;
use super::{Mishaps, Place, Repeat, STEP_S, Scenario, Sensor, Shares, Stand, Storm, at};
use record::Instant;

/// The scenario of the logs that are kept with the project.
pub fn default_scenario() -> Scenario {
    Scenario {
        seed: DEFAULT_SEED,
        // 2026-05-01T00:00:00Z.
        start: Instant(1_777_593_600_000_000_000),
        garden: garden(),
        observatory: observatory(),
        sensor: sensor(),
        stand: Stand { azimuth_deg: 12.40, roll_deg: 0.35, pitch_deg: -0.25 },
        nudged: Stand { azimuth_deg: 13.05, roll_deg: 0.41, pitch_deg: -0.33 },
        notebook_azimuth_deg: (12.5, 0.3),
        storms: storms(),
        mishaps: mishaps(),
        quiet_days: 5,
        turning_s: at(-1, 14, 10, 0) as f64,
        turning_degc: 13.1,
    }
}

fn garden() -> Place {
    Place {
        name: "Tern Skerry Field School",
        latitude_deg: 57.40,
        longitude_deg: -9.90,
        height_m: 24.0,
        main_nt: [16_638.38, -1_002.94, 47_753.49],
        rate_nt_per_year: [12.76, 65.28, 22.61],
        rocks_nt: [64.0, -38.0, 71.0],
        shares: Shares { daily: 1.0, ring: 1.0, bays: 1.0, induced_z: 1.0 },
    }
}

fn observatory() -> Place {
    Place {
        name: "Kelda Head",
        latitude_deg: 57.40,
        longitude_deg: -7.57,
        height_m: 61.0,
        main_nt: [16_627.96, -708.34, 47_749.51],
        rate_nt_per_year: [10.07, 63.82, 25.96],
        rocks_nt: [-112.0, 57.0, -83.0],
        shares: Shares { daily: 1.02, ring: 1.0, bays: 0.94, induced_z: 0.85 },
    }
}

// A magneto-inductive sensor of the better class at cycle count 200: 75 counts
// per microtesla, so 13.3 nT a count, and 12 nT rms a reading (data-sheet
// class, common practice, no source).
fn sensor() -> Sensor {
    Sensor {
        offset_nt: [3_850.0, -6_200.0, 2_150.0],
        stretch: [[1.034, 0.011, -0.007], [0.011, 0.968, 0.009], [-0.007, 0.009, 1.006]],
        twist_deg: [0.05, -0.04, 0.09],
        temperature_nt_per_degc: [-3.1, 2.2, -4.8],
        reference_degc: 12.0,
        lag_s: 1_500.0,
        noise_nt: 12.0,
        slow_noise_nt: 1.0,
        counts_per_ut: 75.0,
    }
}

fn storms() -> Vec<Storm> {
    vec![
        Storm {
            onset_s: at(5, 7, 42, 0) as f64,
            commencement_nt: 31.0,
            rise_s: 230.0,
            initial_s: 7_800.0,
            main_s: 19_800.0,
            depth_nt: 96.0,
        },
        Storm {
            onset_s: at(39, 19, 13, 0) as f64,
            commencement_nt: 44.0,
            rise_s: 170.0,
            initial_s: 5_400.0,
            main_s: 22_500.0,
            depth_nt: 172.0,
        },
    ]
}

fn mishaps() -> Mishaps {
    let row = |day, hour, minute, second| (at(day, hour, minute, second) / STEP_S) as usize;
    Mishaps {
        gap_s: (at(2, 19, 40, 0), at(3, 2, 31, 0)),
        restart_s: (at(41, 7, 42, 30), at(41, 7, 49, 0)),
        van_s: (at(4, 8, 41, 10) as f64, at(4, 15, 27, 20) as f64),
        van_nt: [58.0, -34.0, 46.0],
        nudge_s: at(26, 12, 18, 10) as f64,
        spike_share: 0.0012,
        repeats: vec![
            Repeat { first: row(1, 11, 4, 30), rows: 1, other: false },
            Repeat { first: row(8, 13, 10, 0), rows: 4, other: false },
            Repeat { first: row(9, 6, 52, 0), rows: 1, other: true },
            Repeat { first: row(48, 3, 17, 30), rows: 1, other: false },
        ],
        clock_ppm: 14.0,
    }
}
