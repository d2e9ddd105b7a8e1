//! The scenario: every number the invented logs are made from.
//!
//! Place, instrument, field, storms and mishaps, as plain fields.  Nothing is
//! generated here.  Times are true UTC, in seconds after the start of the log.
//! The place, the school, the observatory and all that happens are invented.

mod default;

use crate::prng::Prng;
pub use default::default_scenario;
use record::Instant;
use record::vector::{Mat3, Vec3};

/// The seed of the logs that are kept with the project.
pub const DEFAULT_SEED: u64 = 20_260_501;

/// Days of the long log.
pub const DAYS: u32 = 60;

/// Days of the cut that is kept with the project.
pub const CUT_DAYS: u32 = 10;

/// Seconds between two samples of the log, by the logger's clock.
pub const STEP_S: i64 = 30;

/// A place of the scenario and its own share of the field.
#[derive(Clone, Debug)]
pub struct Place {
    /// Name, invented.
    pub name: &'static str,
    /// Geodetic latitude, degrees north.
    pub latitude_deg: f64,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
    /// Height above the ellipsoid, metres.
    pub height_m: f64,
    /// Main field X, Y, Z at the start, nT: WMM2025 (doi 10.25921/aqfd-sd83)
    /// for this place at 2026-05-01, rounded to 0.01 nT.
    pub main_nt: Vec3,
    /// Its rate, nT a year, from the same model.
    pub rate_nt_per_year: Vec3,
    /// Field of the rocks below, nT; the model does not know it.
    pub rocks_nt: Vec3,
    /// Factors on the daily variation, on the storms' ring current, on the
    /// night-time bays, and on induced Z.
    pub shares: Shares,
}

/// How strongly a place feels the parts of the outside field.
#[derive(Clone, Copy, Debug)]
pub struct Shares {
    /// On the daily variation.
    pub daily: f64,
    /// On the ring current of the storms.
    pub ring: f64,
    /// On bays and pulsations.
    pub bays: f64,
    /// On Z of everything that varies.
    pub induced_z: f64,
}

/// One magnetic storm.
#[derive(Clone, Copy, Debug)]
pub struct Storm {
    /// Sudden commencement, seconds.
    pub onset_s: f64,
    /// Its height along the magnetic meridian, nT.
    pub commencement_nt: f64,
    /// Its rise, seconds.
    pub rise_s: f64,
    /// From commencement to the beginning of the main phase, seconds.
    pub initial_s: f64,
    /// Length of the main phase, seconds.
    pub main_s: f64,
    /// Depth of the ring current's field along the meridian, nT.
    pub depth_nt: f64,
}

/// The sensor and its box.
#[derive(Clone, Debug)]
pub struct Sensor {
    /// Hard iron and zero error at the reference temperature, nT.
    pub offset_nt: Vec3,
    /// Symmetric part of what turns field into reading: scale and soft iron.
    pub stretch: Mat3,
    /// Rotation of the sensor's axes against the arrows on its box, degrees
    /// about x, y and z; below 0.2 in all.
    pub twist_deg: Vec3,
    /// Change of the reading with temperature, nT/°C.
    pub temperature_nt_per_degc: Vec3,
    /// Temperature at which `offset_nt` holds, °C.
    pub reference_degc: f64,
    /// First-order lag of the sensor behind the thermometer, seconds.
    pub lag_s: f64,
    /// White noise of a reading, nT rms a component.
    pub noise_nt: f64,
    /// Slow noise of the sensor: standard deviation of each of its parts, nT.
    pub slow_noise_nt: f64,
    /// Counts per microtesla.
    pub counts_per_ut: f64,
}

/// How the box stood in the garden.
#[derive(Clone, Copy, Debug)]
pub struct Stand {
    /// True azimuth of the x arrow, degrees.
    pub azimuth_deg: f64,
    /// Roll: right side down, degrees.
    pub roll_deg: f64,
    /// Pitch: arrow up, degrees.
    pub pitch_deg: f64,
}

/// A row or a few rows that the logger wrote twice.
#[derive(Clone, Copy, Debug)]
pub struct Repeat {
    /// First of the rows, as its number in the regular grid from 0.
    pub first: usize,
    /// How many rows.
    pub rows: usize,
    /// Whether the second writing has other values.
    pub other: bool,
}

/// What went wrong.
#[derive(Clone, Debug)]
pub struct Mishaps {
    /// Power loss: no row from the first of these moments until before the
    /// second, seconds by the logger's clock.
    pub gap_s: (i64, i64),
    /// The second power loss, after which the logger wrote a note.
    pub restart_s: (i64, i64),
    /// A van parked in the lane beside the garden: from and to.
    pub van_s: (f64, f64),
    /// The van's field, X, Y, Z, nT.
    pub van_nt: Vec3,
    /// When somebody nudged the box.
    pub nudge_s: f64,
    /// Share of samples that are spikes.
    pub spike_share: f64,
    /// Rows written twice.
    pub repeats: Vec<Repeat>,
    /// How much the logger's clock runs fast, ppm.
    pub clock_ppm: f64,
}

/// The whole scenario.
#[derive(Clone, Debug)]
pub struct Scenario {
    /// Seed of everything random.
    pub seed: u64,
    /// Start of the log.
    pub start: Instant,
    /// The school's garden.
    pub garden: Place,
    /// The observatory.
    pub observatory: Place,
    /// The sensor.
    pub sensor: Sensor,
    /// How it stood at first.
    pub stand: Stand,
    /// How it stood after the nudge.
    pub nudged: Stand,
    /// What the notebook says about the x arrow's true azimuth, degrees, and
    /// how well it was measured.
    pub notebook_azimuth_deg: (f64, f64),
    /// The two storms.
    pub storms: Vec<Storm>,
    /// What went wrong.
    pub mishaps: Mishaps,
    /// Days at the beginning without bays and pulsations.
    pub quiet_days: u32,
    /// When the turning log was taken, seconds; negative, before the start.
    pub turning_s: f64,
    /// Temperature during the turning, °C.
    pub turning_degc: f64,
}

/// Seconds after the start of a day (from 0) and time.
pub const fn at(day: i64, hour: i64, minute: i64, second: i64) -> i64 {
    ((day * 24 + hour) * 60 + minute) * 60 + second
}

impl Scenario {
    /// The default scenario under another seed.  The default seed gives the
    /// default scenario; any other also moves the hidden numbers, so that no
    /// two students need have the same answers.
    pub fn with_seed(seed: u64) -> Self {
        let mut scenario = default_scenario();
        scenario.seed = seed;
        if seed != DEFAULT_SEED {
            scenario.vary();
        }
        scenario
    }

    fn vary(&mut self) {
        let mut prng = Prng::new(self.seed, "variant");
        for k in 0..3 {
            self.sensor.offset_nt[k] += prng.between(-3_000.0, 3_000.0).round();
            self.sensor.temperature_nt_per_degc[k] *= prng.between(0.6, 1.4);
            self.mishaps.van_nt[k] *= prng.between(0.8, 1.3);
            self.sensor.stretch[k][k] += prng.between(-0.02, 0.02);
        }
        let turn = (prng.between(-60.0, 60.0) * 10.0).round() / 10.0;
        let nudge = prng.between(0.45, 0.9);
        self.stand.azimuth_deg += turn;
        self.nudged.azimuth_deg = self.stand.azimuth_deg + nudge;
        self.notebook_azimuth_deg.0 += turn;
        self.mishaps.clock_ppm = prng.between(8.0, 25.0);
        let late = (prng.between(-60.0, 60.0) * 60.0).round();
        self.mishaps.nudge_s += late;
        self.mishaps.van_s.0 += late;
        self.mishaps.van_s.1 += late;
        for storm in &mut self.storms {
            storm.onset_s += (prng.between(-180.0, 180.0) * 60.0).round();
            storm.depth_nt *= prng.between(0.8, 1.2);
            storm.commencement_nt *= prng.between(0.8, 1.2);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::Station;

    #[test]
    fn the_log_starts_on_the_first_of_may_2026() {
        assert_eq!(default_scenario().start.iso(), "2026-05-01T00:00:00Z");
    }

    #[test]
    fn the_main_field_of_both_places_is_the_model_s() {
        use field::model::{Which, field};
        let scenario = default_scenario();
        for place in [&scenario.garden, &scenario.observatory] {
            let Place { name, latitude_deg, longitude_deg, height_m, .. } = *place;
            let station = Station::new(name, latitude_deg, longitude_deg, height_m).unwrap();
            let model = field(Which::Wmm2025, &station, scenario.start.decimal_year()).unwrap();
            let found = [model.x_nt, model.y_nt, model.z_nt];
            let rates = [model.rates.x_nt, model.rates.y_nt, model.rates.z_nt];
            for k in 0..3 {
                assert!((found[k] - place.main_nt[k]).abs() <= 0.006, "{name} {found:?}");
                assert!((rates[k] - place.rate_nt_per_year[k]).abs() <= 0.006, "{name} {rates:?}");
                // Rocks within one standard deviation of the model.
                let sigma = [model.sigma.x_nt, model.sigma.y_nt, model.sigma.z_nt][k];
                assert!(place.rocks_nt[k].abs() < sigma);
            }
        }
    }

    #[test]
    fn the_observatory_is_140_km_east() {
        let scenario = default_scenario();
        let apart = scenario.observatory.longitude_deg - scenario.garden.longitude_deg;
        // 111.32 km a degree at the equator, times the cosine of the latitude.
        let km = apart * 111.32 * 57.40f64.to_radians().cos();
        assert!((km - 140.0).abs() < 1.0, "{km}");
    }

    #[test]
    fn another_seed_moves_the_hidden_numbers_and_the_default_does_not() {
        let plain = default_scenario();
        let same = Scenario::with_seed(DEFAULT_SEED);
        let other = Scenario::with_seed(1);
        assert_eq!(same.sensor.offset_nt, plain.sensor.offset_nt);
        assert_ne!(other.sensor.offset_nt, plain.sensor.offset_nt);
        assert_ne!(other.stand.azimuth_deg, plain.stand.azimuth_deg);
    }

    #[test]
    fn the_axes_are_twisted_by_less_than_a_fifth_of_a_degree() {
        let twist = default_scenario().sensor.twist_deg;
        assert!(record::vector::norm(twist) < 0.2);
    }
}
