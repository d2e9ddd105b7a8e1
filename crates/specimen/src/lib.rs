//! The invented scenario: seeded logs whose truth is known.
//!
//! *Tern Skerry Field School*, its sensor in the walled garden, and *Kelda
//! Head*, an observatory 140 km east, do not exist.  A seed goes in; the bytes
//! of logs, as a cheap logger would have written them, and the truth behind
//! them come out.  Everything is deterministic: one seed gives the same bytes
//! natively and in the page.  No clock, no files; nothing is read.
//!
//! ```
//! let log = specimen::turning(specimen::DEFAULT_SEED);
//! assert!(log.bytes.starts_with(b"time,bx_uT,by_uT,bz_uT,temp_degC\n"));
//! assert!(log.truth.contains("\"invented\":true"));
//! ```

mod garden;
mod json;
pub mod outside;
pub mod prng;
mod reference;
pub mod scenario;
pub mod sensor;
mod surroundings;
mod text;
mod turning;
pub mod weather;

pub use scenario::{CUT_DAYS, DAYS, DEFAULT_SEED, Scenario, default_scenario};
pub use turning::Poor;

/// File name of the long log.
pub const SIXTY_DAYS_NAME: &str = "tern-skerry-60-days.csv";

/// File name of the cut.
pub const TEN_DAYS_NAME: &str = "tern-skerry-10-days.csv";

/// A log and the truth behind it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Log {
    /// File name.
    pub name: String,
    /// The file's bytes.
    pub bytes: Vec<u8>,
    /// The truth, as the JSON text of its own file.
    pub truth: String,
}

impl Log {
    /// Name of the truth file beside the log: `x.csv` has `x.truth.json`.
    pub fn truth_name(&self) -> String {
        let stem = self.name.rsplit_once('.').map_or(self.name.as_str(), |(stem, _)| stem);
        format!("{stem}.truth.json")
    }
}

/// The garden's log of sixty days, a row every 30 s.
pub fn sixty_days(seed: u64) -> Log {
    garden::log(&Scenario::with_seed(seed), DAYS, SIXTY_DAYS_NAME)
}

/// The garden's log of sixty days of a scenario made by hand: one without storms, for example.
pub fn sixty_days_of(scenario: &Scenario) -> Log {
    garden::log(scenario, DAYS, SIXTY_DAYS_NAME)
}

/// The sensor turned through all directions in a scenario made by hand.
pub fn turning_of(scenario: &Scenario) -> Log {
    turning::log(scenario)
}

/// The observatory's one-minute values of sixty days of a scenario made by hand.
pub fn kelda_head_reference_of(scenario: &Scenario) -> Log {
    reference::log(scenario, DAYS)
}

/// The first ten days of the same log, byte for byte.
pub fn ten_days(seed: u64) -> Log {
    garden::log(&Scenario::with_seed(seed), CUT_DAYS, TEN_DAYS_NAME)
}

/// The sensor turned by hand through all directions, ten readings a second.
pub fn turning(seed: u64) -> Log {
    turning::log(&Scenario::with_seed(seed))
}

/// The sensor turned too little to calibrate it.
pub fn poor_turning(seed: u64, poor: Poor) -> Log {
    turning::poor_log(&Scenario::with_seed(seed), poor)
}

/// The observatory's one-minute values of the first `days` days, at most 60.
pub fn kelda_head_reference(seed: u64, days: u32) -> Log {
    reference::log(&Scenario::with_seed(seed), days.min(DAYS))
}

/// Pressure, temperature and humidity in the garden, ten days.
pub fn garden_weather(seed: u64) -> Log {
    surroundings::weather_log(&Scenario::with_seed(seed), CUT_DAYS)
}

/// Counts a minute of a tube in the loft, ten days.
pub fn loft_counter(seed: u64) -> Log {
    surroundings::counter_log(&Scenario::with_seed(seed), CUT_DAYS)
}

/// All files that are kept with the project: name and bytes.  Of the sixty
/// days only the truth is kept, since their noise does not compress.
pub fn files() -> Vec<(String, Vec<u8>)> {
    let mut files = Vec::new();
    for log in [
        ten_days(DEFAULT_SEED),
        turning(DEFAULT_SEED),
        kelda_head_reference(DEFAULT_SEED, CUT_DAYS),
        garden_weather(DEFAULT_SEED),
        loft_counter(DEFAULT_SEED),
    ] {
        let truth_name = log.truth_name();
        files.push((log.name, log.bytes));
        files.push((truth_name, log.truth.into_bytes()));
    }
    let long = sixty_days(DEFAULT_SEED);
    files.push((long.truth_name(), long.truth.into_bytes()));
    files
}
