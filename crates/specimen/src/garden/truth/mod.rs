//! The truth of a garden log: every number a student's result is held against.
//!
//! The scenario and the written log go in, JSON text comes out.  Moments are
//! true UTC unless their key ends in `_logged`.

mod faults;
mod outside;

use super::{Sum, Written, field_at};
use crate::json::Object;
use crate::outside::{Outside, daily};
use crate::scenario::{Place, STEP_S, Scenario, Stand};
use crate::sensor::{offset_at, response, rotation};
use record::Instant;
use record::vector::{IDENTITY, Vec3, apply, inverse, norm};

/// The truth file of a log of `days` days.
pub(super) fn text(
    scenario: &Scenario,
    outside: &Outside,
    written: &Written,
    days: u32,
    name: &str,
) -> String {
    let end_s = f64::from(days) * 86_400.0;
    Object::new()
        .count("schema", 1)
        .flag("invented", true)
        .text("about", "Invented: no such school, sensor, observatory or storm exists.")
        .text("seed", &scenario.seed.to_string())
        .object("log", log(scenario, written, days, name))
        .object("station", place(&scenario.garden))
        .object("sensor", sensor(scenario))
        .object("stand", stands(scenario, end_s))
        .object("field", field(scenario, outside, written))
        .object("daily_variation", outside::daily_variation(scenario, days))
        .objects("storms", outside::storms(scenario, outside, end_s))
        .object("unrest", outside::unrest(scenario, end_s))
        .object("temperature", temperature(scenario, written))
        .object("faults", faults::object(scenario, written, end_s))
        .finish_in_lines()
}

/// The truth file of a turning log.
pub(crate) fn turning_truth(
    scenario: &Scenario,
    name: &str,
    rows: usize,
    rests: &[(usize, usize)],
    bad: &[usize],
) -> String {
    let log = Object::new()
        .text("name", name)
        .count("rows", rows)
        .text("start_logged", &moment(scenario, scenario.turning_s))
        .number("cadence_s", 1.0 / crate::turning::RATE_HZ)
        .text("columns", super::HEADER);
    let rests = rests
        .iter()
        .map(|(first, count)| Object::new().count("first_row", *first).count("rows", *count));
    Object::new()
        .count("schema", 1)
        .flag("invented", true)
        .text("about", "Invented: no such school or sensor exists.")
        .text("seed", &scenario.seed.to_string())
        .object("log", log)
        .object("station", place(&scenario.garden))
        .object("sensor", sensor(scenario))
        .object("field", Object::new().object("during_turning", elements(turning_field(scenario))))
        .number("temperature_degc", scenario.turning_degc)
        .objects("rests", rests)
        .counts("bad_rows", bad)
        .finish_in_lines()
}

fn log(scenario: &Scenario, written: &Written, days: u32, name: &str) -> Object {
    Object::new()
        .text("name", name)
        .count("rows", written.rows)
        .count("notes", written.notes)
        .count("rows_lost", written.lost)
        .text("start_logged", &moment(scenario, 0.0))
        .text("end_logged", &moment(scenario, (i64::from(days) * 86_400 - STEP_S) as f64))
        .number("cadence_s", STEP_S as f64)
        .text("columns", super::HEADER)
}

pub(crate) fn place(place: &Place) -> Object {
    Object::new()
        .text("name", place.name)
        .number("latitude_deg", place.latitude_deg)
        .number("longitude_deg", place.longitude_deg)
        .number("height_m", place.height_m)
}

/// What a calibration should find.
pub(crate) fn sensor(scenario: &Scenario) -> Object {
    let sensor = &scenario.sensor;
    let full = response(sensor);
    let micro = |v: Vec3| v.map(|part| part / 1_000.0);
    Object::new()
        .text("model", "reading = response · field + offset + temperature + noise")
        .vector("offset_ut", micro(sensor.offset_nt))
        .vector("offset_nt", sensor.offset_nt)
        .number("offset_at_degc", sensor.reference_degc)
        .vector("offset_during_turning_ut", micro(offset_at(sensor, scenario.turning_degc)))
        .matrix("response", &full)
        .matrix("matrix", &inverse(&full).unwrap_or(IDENTITY))
        .matrix("matrix_symmetric", &inverse(&sensor.stretch).unwrap_or(IDENTITY))
        .number("axes_twisted_deg", norm(sensor.twist_deg))
        .text(
            "matrix_note",
            "matrix maps reading - offset to the field along the box's arrows. It is symmetric \
             but for a rotation by axes_twisted_deg, which no turning can show: a calibration \
             by the symmetric root should find matrix_symmetric.",
        )
        .number("noise_nt", sensor.noise_nt)
        .number("step_nt", 1_000.0 / sensor.counts_per_ut)
}

fn stand(stand: &Stand) -> Object {
    Object::new()
        .number("azimuth_deg", stand.azimuth_deg)
        .number("roll_deg", stand.roll_deg)
        .number("pitch_deg", stand.pitch_deg)
}

fn stands(scenario: &Scenario, end_s: f64) -> Object {
    let (azimuth, sigma) = scenario.notebook_azimuth_deg;
    let all = Object::new()
        .text("azimuth_note", "true azimuth of the x arrow; y points right of it, z down")
        .number("notebook_azimuth_deg", azimuth)
        .number("notebook_azimuth_sigma_deg", sigma)
        .number("levelled_within_deg", 0.5)
        .object("first", stand(&scenario.stand));
    let nudge_s = scenario.mishaps.nudge_s;
    if nudge_s >= end_s {
        return all;
    }
    all.object("after_nudge", stand(&scenario.nudged))
}

fn elements(field: Vec3) -> Object {
    let [x, y, z] = field;
    let h = libm::hypot(x, y);
    Object::new()
        .number("x_nt", x)
        .number("y_nt", y)
        .number("z_nt", z)
        .number("horizontal_nt", h)
        .number("total_nt", norm(field))
        .number("declination_deg", libm::atan2(y, x).to_degrees())
        .number("inclination_deg", libm::atan2(z, h).to_degrees())
}

/// Magnetic heading of the x arrow: its azimuth less the declination.
fn heading_deg(stand: &Stand, field: Vec3) -> f64 {
    (stand.azimuth_deg - libm::atan2(field[1], field[0]).to_degrees()).rem_euclid(360.0)
}

fn mean(sum: &Sum) -> Vec3 {
    sum.field_nt.map(|v| v / sum.rows as f64)
}

fn both(a: &Sum, b: &Sum) -> Sum {
    let mut all = *a;
    all.rows += b.rows;
    all.box_degc += b.box_degc;
    all.core_degc += b.core_degc;
    all.field_nt.iter_mut().zip(b.field_nt).for_each(|(sum, v)| *sum += v);
    all
}

fn field(scenario: &Scenario, outside: &Outside, written: &Written) -> Object {
    let whole = mean(&both(&written.before_nudge, &written.after_nudge));
    let turning = turning_field(scenario);
    let mut object = Object::new()
        .text("main_source", "WMM2025, doi 10.25921/aqfd-sd83, at the start")
        .vector("main_nt", scenario.garden.main_nt)
        .vector("main_rate_nt_per_year", scenario.garden.rate_nt_per_year)
        .vector("rocks_nt", scenario.garden.rocks_nt)
        .object("mean", elements(whole))
        .object("at_start", elements(field_at(scenario, outside, 0.0)))
        .object("during_turning", elements(turning));
    for (key, sum, stand) in [
        ("first_stand", &written.before_nudge, &scenario.stand),
        ("after_nudge", &written.after_nudge, &scenario.nudged),
    ] {
        if sum.rows > 0 {
            let field = mean(sum);
            let along = apply(&rotation(stand), field);
            let part = elements(field)
                .count("rows", sum.rows)
                .number("heading_deg", heading_deg(stand, field))
                .vector("along_arrows_nt", along);
            object = object.object(key, part);
        }
    }
    object
}

/// The field in the garden while the sensor was turned.
pub(crate) fn turning_field(scenario: &Scenario) -> Vec3 {
    let daily = daily::Daily::of(scenario, &scenario.garden, 1);
    let varying = daily.at(scenario.turning_s);
    let place = &scenario.garden;
    let each = |k: usize| place.main_nt[k] + place.rocks_nt[k] + varying[k];
    [each(0), each(1), each(2)]
}

fn temperature(scenario: &Scenario, written: &Written) -> Object {
    let all = both(&written.before_nudge, &written.after_nudge);
    Object::new()
        .vector("coefficient_nt_per_degc", scenario.sensor.temperature_nt_per_degc)
        .text(
            "coefficient_note",
            "change of the reading; multiply by matrix for the change of the calibrated field",
        )
        .number("lag_s", scenario.sensor.lag_s)
        .text("lag_note", "first-order lag of the sensor behind the temperature column")
        .number("mean_degc", all.box_degc / all.rows as f64)
        .number("mean_core_degc", all.core_degc / all.rows as f64)
}

/// A moment of the scenario as ISO 8601, to the second.
pub(crate) fn moment(scenario: &Scenario, t_s: f64) -> String {
    Instant(scenario.start.0 + t_s.round() as i64 * 1_000_000_000).iso()
}
