//! The procedure that is proposed for the opened files.

use crate::inputs::{Inputs, Use};
use crate::param::Value;
use crate::procedure::{Choice, Procedure};
use crate::steps;
use record::{NANOS_PER_SECOND, Record, Station};

/// What is known about the station beside its files.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hints {
    /// Where it stands.
    pub station: Option<Station>,
    /// How the sensor stands.
    pub stand: Option<Stand>,
}

/// How a sensor stands: known from true north, and level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stand {
    /// Azimuth of the sensor's x axis from true north, degrees.
    pub azimuth_deg: f64,
    /// Its standard uncertainty, degrees.
    pub azimuth_sigma_deg: f64,
    /// Standard uncertainty of the levelling, degrees.
    pub tilt_sigma_deg: f64,
}

/// A procedure with the steps that the files allow and sizes that suit them.
pub fn propose(inputs: &Inputs, hints: &Hints) -> Procedure {
    let Some(log) = inputs.used(Use::Log) else { return Procedure::default() };
    let Some(record) = &inputs.record(Use::Log) else { return Procedure::default() };
    let known = hints.station.as_ref().or(log.reading.station.as_ref());
    let mut ids = vec!["read", "station", "order", "gate", "spikes"];
    let field = record.vector().is_some();
    let turning = inputs.used(Use::Turning).is_some();
    let turns = field && crate::inputs::turns(record);
    if field && !turns {
        ids.push("shifts");
    }
    let cadence_s = record.cadence().step_ns as f64 / NANOS_PER_SECOND as f64;
    let span_s = span_s(record);
    if !turns && cadence_s > 0.0 && cadence_s < 120.0 && span_s > 86_400.0 {
        ids.push("average");
    }
    if field && (turning || turns) {
        ids.push("calibrate");
    }
    if field && !turns {
        ids.push("orient");
    }
    if field {
        ids.push("elements");
    }
    if !turns {
        ids.extend(["fill", "detrend", "spectrum"]);
    }
    if field && !turns && known.is_some() && span_s > 6.0 * 86_400.0 {
        ids.extend(["quiet-day", "k-index"]);
    }
    if field && !turns && inputs.used(Use::Reference).is_some() {
        // Storms are looked for where a second record can tell them from a van.
        if ids.contains(&"quiet-day") {
            ids.push("storms");
        }
        ids.push("compare");
    }
    let mut steps: Vec<Choice> =
        ids.iter().filter_map(|id| steps::find(id)).map(Choice::of).collect();
    for choice in &mut steps {
        let id = choice.step.id;
        let fresh = choice.clone();
        *choice = match id {
            "station" => place(fresh, known),
            "orient" => orient(fresh, hints.stand),
            "average" => fresh.with("block_s", Value::Number(block_s(cadence_s))),
            "calibrate" => calibrate(fresh, turning, known.is_some(), log_is_count(record)),
            "k-index" => fresh.with("k9", Value::Number(k9_nt(known, record))),
            "fill" => fresh.with("longest_min", Value::Number(fill_min(cadence_s, span_s))),
            "spectrum" => fresh.with("segment_h", Value::Number(segment_h(span_s))),
            _ => fresh,
        };
    }
    Procedure { steps, readings: Vec::new() }
}

fn span_s(record: &Record) -> f64 {
    match (record.times_ns().iter().min(), record.times_ns().iter().max()) {
        (Some(a), Some(b)) => (b - a) as f64 / NANOS_PER_SECOND as f64,
        _ => 0.0,
    }
}

fn log_is_count(record: &Record) -> bool {
    record.vector().is_some_and(|axes| axes[0].unit.nanotesla().is_none())
}

fn place(choice: Choice, known: Option<&Station>) -> Choice {
    match known {
        Some(s) => choice
            .with("name", Value::Text(s.name.clone()))
            .with("latitude", Value::Number(s.latitude_deg))
            .with("longitude", Value::Number(s.longitude_deg))
            .with("height", Value::Number(s.height_m)),
        None => choice.off(),
    }
}

fn calibrate(choice: Choice, turning: bool, place_known: bool, counts: bool) -> Choice {
    let source = if turning { "turning" } else { "log" };
    let scale = match (place_known, counts) {
        (true, _) => "model",
        (false, true) => "typed",
        (false, false) => "sensor",
    };
    choice
        .with("source", Value::Choice(source.to_owned()))
        .with("scale", Value::Choice(scale.to_owned()))
}

fn orient(choice: Choice, stand: Option<Stand>) -> Choice {
    match stand {
        Some(stand) => choice
            .with("north", Value::Choice("azimuth".to_owned()))
            .with("azimuth", Value::Number(stand.azimuth_deg))
            .with("azimuth_sigma", Value::Number(stand.azimuth_sigma_deg))
            .with("tilt_sigma", Value::Number(stand.tilt_sigma_deg)),
        None => choice,
    }
}

// A guess by dipole latitude, to be changed.
fn k9_nt(known: Option<&Station>, record: &Record) -> f64 {
    known.and_then(|station| steps::usual_k9(station, record)).map_or(500.0, |(_, k9)| k9)
}

// Five minutes suit the daily variation, and a minute is kept for short logs.
fn block_s(cadence_s: f64) -> f64 {
    if cadence_s <= 6.0 { 60.0 } else { 300.0 }
}

// A hole of a few samples does no harm to periods of hours.
fn fill_min(cadence_s: f64, span_s: f64) -> f64 {
    let minutes = if span_s > 86_400.0 { 30.0 } else { 5.0 * cadence_s / 60.0 };
    minutes.clamp(0.001, 1440.0)
}

// A quarter of the record gives seven half-overlapping segments; whole days
// keep the daily line in the middle of a bin.
fn segment_h(span_s: f64) -> f64 {
    let quarter = span_s / 4.0 / 3600.0;
    if quarter >= 24.0 {
        (quarter / 24.0).floor().min(10.0) * 24.0
    } else {
        let text = format!("{:.2e}", quarter.max(1e-4));
        record::decimal::parse(&text).unwrap_or(quarter)
    }
}
