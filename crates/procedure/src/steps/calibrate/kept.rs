//! The small file in which a calibration is kept, and what is read from it.
//!
//! ```text
//! {"calibration": 1, "model", "convention": "symmetric" or "tied",
//!  "raw_unit": "nT" or "count", "unit": "nT", "from": {"name", "sha256", "date"},
//!  "offset": [3], "offset_sigma": [3], "matrix": [3 of 3], "matrix_sigma": [3 of 3],
//!  "scale_sigma", "covariance": [45], "radius", "residual_rms", "heading_error_deg",
//!  "coverage", "condition", "used", "rejected", "held_out_rms", "tool_version"}
//! ```
//!
//! `covariance` is the upper half, row by row, of that of offset x y z and the
//! six entries of the matrix; `scale_sigma` is relative.  Names are only ever
//! added.

use crate::VERSION;
use crate::inputs::{Input, Inputs, Use};
use crate::param::Value;
use crate::procedure::{Choice, Procedure};
use field::calibration::Calibration;
use record::vector::Mat3;
use record::{Fault, Unit, say, words::word};
use serde_json::{Value as Json, json};

/// The version of the file's form.
const FORM: u64 = 1;

/// A kept calibration is small; a larger file is a log.
const MOST_BYTES: usize = 65_536;

/// The file of a calibration that brought readings to nanotesla.
pub(crate) fn to_json(fitted: &Calibration, raw_unit: Unit, inputs: &Inputs) -> Json {
    let turned = inputs.used(Use::Turning).or_else(|| inputs.used(Use::Log));
    json!({
        "calibration": FORM,
        "tool_version": VERSION,
        "model": fitted.model.id(),
        "convention": if fitted.tied_to_x { "tied" } else { "symmetric" },
        "raw_unit": raw_unit.symbol(),
        "unit": Unit::Nanotesla.symbol(),
        "from": turned.map(origin),
        "offset": fitted.offset,
        "offset_sigma": fitted.offset_sigma,
        "matrix": fitted.matrix,
        "matrix_sigma": fitted.matrix_sigma,
        "scale_sigma": fitted.radius_sigma,
        "covariance": half(&fitted.covariance),
        "radius": fitted.radius,
        "residual_rms": fitted.residual_rms,
        "heading_error_deg": fitted.heading_error_deg,
        "coverage": fitted.coverage,
        "condition": fitted.condition,
        "used": fitted.used,
        "rejected": fitted.rejected.len(),
        "held_out_rms": fitted.held_out_rms,
    })
}

fn origin(input: &Input) -> Json {
    let report = &input.reading.report;
    let date = input.reading.record.start().filter(|_| report.time.kind != "none");
    json!({ "name": report.name, "sha256": report.sha256, "date": date.map(|d| d.iso()) })
}

/// Whether a parsed file says that it is a calibration.
pub(crate) fn is_one(json: &Json) -> bool {
    json.get("calibration").is_some()
}

/// The calibration that a file holds, when that is what it is.
pub(crate) fn of_bytes(name: &str, bytes: &[u8]) -> Option<Json> {
    let small = name.to_ascii_lowercase().ends_with(".json") && bytes.len() <= MOST_BYTES;
    let json: Json = serde_json::from_slice(bytes).ok().filter(|_| small)?;
    is_one(&json).then_some(json)
}

/// A procedure that uses the calibration of a file: its step Calibrate is set
/// to it, and put in where there is none.
///
/// # Errors
///
/// A fault when the file is of a newer form or lacks offset or matrix.
pub(crate) fn put_to_use(procedure: &Procedure, json: &Json) -> Result<Procedure, Fault> {
    let mut next = procedure.clone();
    let step = &super::STEP;
    let place = next.steps.iter().position(|c| c.step.id == step.id).unwrap_or_else(|| {
        let place = first_of_stage(&next);
        next.steps.insert(place, Choice::of(step));
        place
    });
    let old = Choice { on: true, ..next.steps[place].clone() };
    next.steps[place] = chosen(old, json)?;
    Ok(next)
}

// Before the first step of the stage or a later one.
fn first_of_stage(procedure: &Procedure) -> usize {
    let stage = super::STEP.stage;
    let found = procedure.steps.iter().position(|c| c.step.stage >= stage);
    found.unwrap_or(procedure.steps.len())
}

fn chosen(choice: Choice, json: &Json) -> Result<Choice, Fault> {
    if json.get("calibration").and_then(Json::as_u64) != Some(FORM) {
        return Err(unusable(word("It has a form that this version does not know.")));
    }
    let offset = list(json, "offset", 3)?;
    let matrix = list(json, "matrix", 9)?;
    let spread = list(json, "covariance", 45).unwrap_or_default();
    let held = |key: &str, usual: &str| {
        Value::Choice(json.get(key).and_then(Json::as_str).unwrap_or(usual).to_owned())
    };
    let from = json.get("from");
    let of = |key: &str| from.and_then(|f| f.get(key)).and_then(Json::as_str).unwrap_or("");
    let day = of("date").split('T').next().unwrap_or("");
    let origin = [of("name"), day].join(" ");
    let origin = if origin.trim().is_empty() { word("a calibration file") } else { origin.trim() };
    let percent = 100.0 * json.get("scale_sigma").and_then(Json::as_f64).unwrap_or(0.0);
    let made = choice
        .with("model", Value::Choice("given".to_owned()))
        .with("origin", Value::Text(origin.chars().take(80).collect()))
        .with("offset", Value::Text(offset))
        .with("matrix", Value::Text(matrix))
        .with("spread", Value::Text(spread))
        .with("raw_unit", held("raw_unit", "nT"))
        .with("convention", held("convention", "symmetric"))
        .with("scale_sigma", Value::Number(percent.clamp(0.0, 100.0)));
    for (param, value) in made.step.params.iter().zip(&made.values) {
        param.check(value).map_err(|why| unusable(&format!("{}: {why}", param.label)))?;
    }
    Ok(made)
}

/// So many finite numbers under a name, nested or not, as a parameter's text.
fn list(json: &Json, key: &str, count: usize) -> Result<String, Fault> {
    let mut flat = Vec::new();
    if let Some(value) = json.get(key) {
        flatten(value, &mut flat);
    }
    if flat.len() != count {
        return Err(unusable(&say!("Its {key} is not {count} numbers.")));
    }
    Ok(flat.iter().map(f64::to_string).collect::<Vec<_>>().join(" "))
}

fn flatten(value: &Json, into: &mut Vec<f64>) {
    match value {
        Json::Array(items) => items.iter().for_each(|item| flatten(item, into)),
        other => into.extend(other.as_f64().filter(|n| n.is_finite())),
    }
}

fn unusable(why: &str) -> Fault {
    Fault::new(
        "calibrate/file",
        say!("This calibration file cannot be used. {why}"),
        "Save the calibration again where it was made, and open that file whole and unchanged.",
    )
}

/// The upper half of a 9 × 9 matrix, row by row; unknown entries are nought.
fn half(full: &[Vec<f64>]) -> Vec<f64> {
    let known = |v: &f64| if v.is_finite() { *v } else { 0.0 };
    full.iter().enumerate().flat_map(|(a, row)| row[a..].iter().map(known)).collect()
}

/// The 9 × 9 matrix of an upper half of 45 numbers.
pub(super) fn square(half: &[f64]) -> Vec<Vec<f64>> {
    let mut full = vec![vec![0.0; 9]; 9];
    let places = (0..9).flat_map(|a| (a..9).map(move |b| (a, b)));
    for ((a, b), v) in places.zip(half) {
        full[a][b] = *v;
        full[b][a] = *v;
    }
    full
}

/// Standard uncertainty of each entry of a matrix, by the covariance beside it.
pub(super) fn matrix_sigma(known: &Calibration) -> Mat3 {
    const ENTRIES: [(usize, usize); 6] = [(0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2)];
    let mut out = [[0.0; 3]; 3];
    for (k, (a, b)) in ENTRIES.into_iter().enumerate() {
        let sigma = known.covariance[3 + k][3 + k].max(0.0).sqrt();
        out[b][a] = sigma;
        if !known.tied_to_x {
            out[a][b] = sigma;
        }
    }
    out
}

/// Whether a choice is the step Calibrate, for those who look for its outcome.
pub(crate) fn is_step(choice: &Choice) -> bool {
    choice.step.id == super::STEP.id
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file() -> Json {
        json!({
            "calibration": 1, "raw_unit": "nT", "convention": "tied", "scale_sigma": 0.003,
            "from": {"name": "turning.csv", "date": "2026-05-01T09:00:00Z"},
            "offset": [1.5, -2.0, 3.0],
            "matrix": [[1.1, 0.0, 0.0], [0.02, 0.9, 0.0], [0.0, 0.01, 1.0]],
        })
    }

    #[test]
    fn a_file_sets_the_step_or_puts_one_in() {
        let next = put_to_use(&Procedure::default(), &file()).unwrap();
        let prose = next.steps[0].prose(&Inputs::default());
        assert!(prose.contains("from turning.csv 2026-05-01"), "{prose}");
        assert!(prose.contains("(1.5, −2, 3) nT") && prose.contains("0.3 %"), "{prose}");
        let again = put_to_use(&next, &file()).unwrap();
        assert!(again == next);
    }

    #[test]
    fn a_file_without_its_numbers_is_refused_with_their_name() {
        for (key, value) in
            [("offset", json!([1, 2])), ("matrix", json!("x")), ("raw_unit", json!("inch"))]
        {
            let mut broken = file();
            broken[key] = value;
            let fault = put_to_use(&Procedure::default(), &broken).err().unwrap();
            assert_eq!(fault.code, "calibrate/file", "{key}");
        }
        let mut newer = file();
        newer["calibration"] = json!(2);
        assert!(put_to_use(&Procedure::default(), &newer).is_err());
    }

    #[test]
    fn half_a_covariance_gives_it_back_whole() {
        let full: Vec<Vec<f64>> =
            (0..9).map(|a| (0..9).map(|b| f64::from(a * b + a + b)).collect()).collect();
        assert_eq!(square(&half(&full)), full);
    }
}
