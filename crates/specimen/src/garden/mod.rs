//! The garden log: what the sensor wrote, row by row, with its mishaps.
//!
//! The scenario and a number of days go in; the bytes of the log and what a
//! truth file needs to know come out.  A log of fewer days is the beginning of
//! a longer one, byte for byte.

mod truth;

pub(crate) use truth::{moment, place, turning_field, turning_truth};

use crate::Log;
use crate::outside::Outside;
use crate::prng::Prng;
use crate::scenario::{Repeat, STEP_S, Scenario};
use crate::sensor::{Reader, printed_nt, rotation};
use crate::text::{Clock, push_hundredths, push_thousandths};
use crate::weather::{self, Weather};
use record::vector::{Mat3, Vec3, apply};

/// The header row of the garden's logs.
pub const HEADER: &str = "time,bx_uT,by_uT,bz_uT,temp_degC";

const YEAR_S: f64 = 365.0 * 86_400.0;

/// The log of the first `days` days.
pub fn log(scenario: &Scenario, days: u32, name: &str) -> Log {
    let outside = Outside::of(scenario, &scenario.garden, days);
    let weather = Weather::of(scenario, days);
    let written = write(scenario, &outside, &weather, days);
    let truth = truth::text(scenario, &outside, &written, days, name);
    Log { name: name.to_owned(), bytes: written.bytes, truth }
}

/// Main field, rocks and outside field at a moment, nT.
pub(crate) fn field_at(scenario: &Scenario, outside: &Outside, t_s: f64) -> Vec3 {
    let place = &scenario.garden;
    let varying = outside.at(t_s);
    let each = |k: usize| {
        place.main_nt[k] + place.rate_nt_per_year[k] * t_s / YEAR_S + place.rocks_nt[k] + varying[k]
    };
    [each(0), each(1), each(2)]
}

/// A spike put in on purpose.
#[derive(Clone, Copy, Debug)]
struct Spike {
    /// Its data row, from 1.
    row: usize,
    /// What was added, nT.
    added_nt: Vec3,
}

/// The sum of a vector over rows.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    rows: usize,
    field_nt: Vec3,
    box_degc: f64,
    core_degc: f64,
}

impl Sum {
    fn add(&mut self, field_nt: Vec3, box_degc: f64, core_degc: f64) {
        self.rows += 1;
        self.box_degc += box_degc;
        self.core_degc += core_degc;
        self.field_nt.iter_mut().zip(field_nt).for_each(|(sum, v)| *sum += v);
    }
}

/// A log with what was done to it.
struct Written {
    bytes: Vec<u8>,
    /// Data rows, second writings with them.
    rows: usize,
    /// Rows lost in the two power losses.
    lost: usize,
    notes: usize,
    spikes: Vec<Spike>,
    /// Data rows, from 1, that repeat an earlier time.
    repeated_rows: Vec<usize>,
    before_nudge: Sum,
    after_nudge: Sum,
}

fn write(scenario: &Scenario, outside: &Outside, weather: &Weather, days: u32) -> Written {
    let mut writer = Writer::new(scenario, days);
    for number in 0..i64::from(days) * 86_400 / STEP_S {
        let logged_s = number * STEP_S;
        let moment = writer.moment(outside, weather, logged_s);
        writer.put(number as usize, logged_s, &moment);
    }
    writer.written
}

/// All that belongs to one nominal sample.
struct Moment {
    field_nt: Vec3,
    reading_nt: Vec3,
    spike_nt: Option<Vec3>,
    box_degc: f64,
    core_degc: f64,
    shown_hundredths: i64,
    nudged: bool,
}

struct Writer<'a> {
    scenario: &'a Scenario,
    reader: Reader<'a>,
    stands: [Mat3; 2],
    thermometer: Prng,
    spikes: Prng,
    again: Prng,
    clock: Clock,
    block_start: usize,
    written: Written,
}

impl<'a> Writer<'a> {
    fn new(scenario: &'a Scenario, days: u32) -> Self {
        let seed = scenario.seed;
        let mut bytes = Vec::with_capacity(days as usize * 2_880 * 52 + 100);
        bytes.extend_from_slice(HEADER.as_bytes());
        bytes.push(b'\n');
        Self {
            scenario,
            reader: Reader::new(&scenario.sensor, seed, "garden sensor", days),
            stands: [rotation(&scenario.stand), rotation(&scenario.nudged)],
            thermometer: Prng::new(seed, "thermometer"),
            spikes: Prng::new(seed, "spikes"),
            again: Prng::new(seed, "second reading"),
            clock: Clock::from(scenario.start),
            block_start: 0,
            written: Written {
                bytes,
                rows: 0,
                lost: 0,
                notes: 0,
                spikes: Vec::new(),
                repeated_rows: Vec::new(),
                before_nudge: Sum::default(),
                after_nudge: Sum::default(),
            },
        }
    }

    /// Everything random is drawn here, for every nominal sample, lost or not.
    fn moment(&mut self, outside: &Outside, weather: &Weather, logged_s: i64) -> Moment {
        let mishaps = &self.scenario.mishaps;
        // The logger's clock runs fast: its 30 s are a little less.
        let t_s = logged_s as f64 / (1.0 + mishaps.clock_ppm * 1e-6);
        let field_nt = field_at(self.scenario, outside, t_s);
        let mut felt = field_nt;
        if (mishaps.van_s.0..mishaps.van_s.1).contains(&t_s) {
            felt.iter_mut().zip(mishaps.van_nt).for_each(|(v, van)| *v += van);
        }
        let nudged = t_s >= mishaps.nudge_s;
        let along = apply(&self.stands[usize::from(nudged)], felt);
        let box_degc = weather::at(&weather.box_degc, t_s);
        let core_degc = weather::at(&weather.core_degc, t_s);
        let reading_nt = self.reader.read(t_s, along, core_degc);
        let shown = box_degc + 0.03 * self.thermometer.normal();
        Moment {
            field_nt,
            reading_nt,
            spike_nt: spike(&mut self.spikes, mishaps.spike_share),
            box_degc,
            core_degc,
            shown_hundredths: (shown * 100.0).round() as i64,
            nudged,
        }
    }

    fn put(&mut self, number: usize, logged_s: i64, moment: &Moment) {
        let mishaps = &self.scenario.mishaps;
        let lost = |span: (i64, i64)| (span.0..span.1).contains(&logged_s);
        if lost(mishaps.gap_s) || lost(mishaps.restart_s) {
            self.written.lost += 1;
            return;
        }
        if logged_s == mishaps.restart_s.1 {
            self.note(logged_s);
        }
        let mut reading = moment.reading_nt;
        if let Some(added_nt) = moment.spike_nt {
            reading.iter_mut().zip(added_nt).for_each(|(v, added)| *v += added);
            self.written.spikes.push(Spike { row: self.written.rows + 1, added_nt });
        }
        let repeat = mishaps
            .repeats
            .iter()
            .copied()
            .find(|repeat| (repeat.first..repeat.first + repeat.rows).contains(&number));
        if repeat.is_some_and(|repeat| repeat.first == number) {
            self.block_start = self.written.bytes.len();
        }
        self.row(logged_s, reading, moment.shown_hundredths);
        let sum = if moment.nudged {
            &mut self.written.after_nudge
        } else {
            &mut self.written.before_nudge
        };
        sum.add(moment.field_nt, moment.box_degc, moment.core_degc);
        if let Some(repeat) = repeat.filter(|repeat| repeat.first + repeat.rows == number + 1) {
            self.repeat(repeat, logged_s, moment);
        }
    }

    fn row(&mut self, logged_s: i64, reading_nt: Vec3, hundredths: i64) {
        let out = &mut self.written.bytes;
        self.clock.push(out, logged_s);
        out.push(b'Z');
        for value in reading_nt {
            out.push(b',');
            push_thousandths(out, printed_nt(&self.scenario.sensor, value));
        }
        out.push(b',');
        push_hundredths(out, hundredths);
        out.push(b'\n');
        self.written.rows += 1;
    }

    fn repeat(&mut self, repeat: Repeat, logged_s: i64, moment: &Moment) {
        let first = self.written.rows + 1;
        if repeat.other {
            let noise = self.scenario.sensor.noise_nt;
            let reading = moment.reading_nt.map(|v| v + noise * (1.0 + self.again.normal()));
            self.row(logged_s, reading, moment.shown_hundredths + 2);
        } else {
            self.written.bytes.extend_from_within(self.block_start..);
            self.written.rows += repeat.rows;
        }
        self.written.repeated_rows.extend(first..=self.written.rows);
    }

    fn note(&mut self, logged_s: i64) {
        let out = &mut self.written.bytes;
        out.extend_from_slice(b"# restarted ");
        self.clock.push(out, logged_s - 19);
        out.extend_from_slice(b"Z after a loss of power\n");
        self.written.notes += 1;
    }
}

// Mostly one component, sometimes two or three; sizes from 0.13 to 5 µT, each
// tenfold as often as the next.
fn spike(prng: &mut Prng, share: f64) -> Option<Vec3> {
    if prng.uniform() >= share {
        return None;
    }
    let first = (prng.uniform() * 3.0) as usize % 3;
    let components = [1, 1, 1, 1, 2, 2, 3][(prng.uniform() * 7.0) as usize % 7];
    let mut added = [0.0; 3];
    for k in 0..components {
        let size = 130.0 * libm::exp(prng.uniform() * libm::log(5_000.0 / 130.0));
        added[(first + k) % 3] = if prng.uniform() < 0.5 { -size } else { size };
    }
    Some(added)
}
