//! Replay: run a procedure over files and say everything in one JSON object.
//!
//! The object's form is fixed by its `schema` and stays:
//!
//! ```text
//! {"schema": 1, "tool_version",
//!  "inputs":  [{"name", "use", "sha256", "bytes", "format", "encoding", "rows_read", "rows_rejected",
//!               "time": {"kind", "start", "end", "cadence_s", "gaps", "duplicates", "reversed", …},
//!               "columns": [{"name", "role", "unit", …}], "decisions", "rejected", "warnings"}],
//!              (several files of one logger are joined: one has the use "log", the others "joined")
//!  "procedure": {…the procedure that ran, complete…},
//!  "steps":   [{"step", "on", "status", "remark", "values": {name: {"value", "unit", "sigma"?}}, "fault"?}],
//!  "marks":   {reason: count},
//!  "tables":  [{"name", "columns", "file"}],
//!  "figures": [{"name", "file", "caption", "alt"}],
//!  "warnings": [{"code", "message", "where", "remedy"}],
//!  "methods": "…"}
//! ```
//!
//! Names are only ever added.  A fault is `{"error": {"code", "message",
//! "where", "remedy"}}`.

use crate::VERSION;
use crate::auto::{self, Hints};
use crate::engine::Done;
use crate::export;
use crate::inputs::{Input, Use};
use crate::outcome::{Named, Outcome as StepOutcome, Value};
use crate::procedure::{LogReading, Procedure};
use crate::session::Session;
use crate::steps::kept;
use figure::{Frame, Palette, View, svg, table};
use intake::{Choices, Report};
use record::{Fault, Instant, Station, Warning};
use serde_json::{Map, Value as Json, json};

/// Size of the figures that replay writes, millimetres: the width of A4 text, as
/// the page proposes.
pub(crate) const FIGURE_MM: (f64, f64) = (170.0, 100.0);

/// What to run.
#[derive(Default)]
pub struct Request {
    /// Name and bytes of each file: logs, and a calibration that was kept.
    pub files: Vec<(String, Vec<u8>)>,
    /// A reference's name and bytes.
    pub reference: Option<(String, Vec<u8>)>,
    /// Text of the procedure file; none to use the one that would be proposed.
    pub procedure: Option<String>,
    /// Where the station is, for a proposed procedure.
    pub station: Option<Station>,
    /// Whether to write tables and figures.
    pub write: bool,
}

/// What came of it.
pub struct Outcome {
    /// One JSON object.
    pub json: String,
    /// Files to write, when asked for: name and content.
    pub files: Vec<(String, Vec<u8>)>,
}

/// Runs a procedure over files.
///
/// # Errors
///
/// A fault when a file cannot be read or the procedure cannot be used.  A step
/// that is refused is not an error: it is reported with its fault.
pub fn run(request: &Request) -> Result<Outcome, Fault> {
    let mut session = Session::default();
    let given = match &request.procedure {
        Some(text) => Some(Procedure::from_text(text)?),
        None => None,
    };
    session.set_readings(given.as_ref().map_or_else(Vec::new, |p| readings(p, request)));
    let mut calibration = None;
    for (name, bytes) in &request.files {
        match kept::of_bytes(name, bytes) {
            Some(found) => calibration = Some(found),
            None => open(&mut session, name, bytes)?,
        }
    }
    if let Some((name, bytes)) = &request.reference {
        open(&mut session, name, bytes)?;
        let last = session.inputs().files.len() - 1;
        session.set_use(last, Use::Reference);
    }
    let procedure = match given {
        Some(procedure) => procedure,
        None => {
            let hints = Hints { station: request.station.clone(), stand: None };
            auto::propose(session.inputs(), &hints)
        }
    };
    let procedure = match calibration {
        Some(json) => kept::put_to_use(&procedure, &json)?,
        None => procedure,
    };
    session.set_procedure(procedure);
    session.finish();
    Ok(report(&mut session, request.write))
}

fn open(session: &mut Session, name: &str, bytes: &[u8]) -> Result<(), Fault> {
    let choices = session.choices_for(name, &Choices::default());
    session.open(name, bytes, &choices).map_err(|fault| {
        let place = match fault.place.as_str() {
            "" => name.to_owned(),
            place => format!("{name}, {place}"),
        };
        fault.at(place)
    })
}

// How the files are to be read.  Files whose names the procedure does not know
// are read as its own were, by their order: a class has one logger's settings.
fn readings(procedure: &Procedure, request: &Request) -> Vec<LogReading> {
    let mut readings = procedure.readings.clone();
    let names: Vec<&String> = request.files.iter().map(|(name, _)| name).collect();
    let known = readings.iter().any(|reading| names.contains(&&reading.log));
    if !known && readings.len() <= names.len() {
        for (reading, name) in readings.iter_mut().zip(names) {
            reading.log.clone_from(name);
        }
    }
    readings
}

/// The fault as the JSON object of the contract.
pub fn error_json(fault: &Fault) -> String {
    json!({ "error": {
        "code": fault.code, "message": fault.message,
        "where": fault.place, "remedy": fault.remedy,
    }})
    .to_string()
}

/// Everything that a finished session has to say.
pub fn report(session: &mut Session, write: bool) -> Outcome {
    session.finish();
    let mut files = Vec::new();
    let figures = if write { figures(session, &mut files) } else { Vec::new() };
    let tables = if write { tables(session, &mut files) } else { Vec::new() };
    let n = session.procedure().steps.len();
    let steps: Vec<Json> = (0..n).map(|place| step_json(session, place)).collect();
    let inputs: Vec<Json> = session.inputs().files.iter().map(input_json).collect();
    let json = json!({
        "schema": 1,
        "tool_version": VERSION,
        "inputs": inputs,
        "procedure": session.whole_procedure().to_json(),
        "steps": steps,
        "marks": marks(session),
        "tables": tables,
        "figures": figures,
        "warnings": warnings(session),
        "methods": session.methods(),
    });
    Outcome { json: crate::json::text(&json), files }
}

fn outcome_of(session: &Session, place: usize) -> Option<&StepOutcome> {
    match session.done(place) {
        Some(Done::Ran(outcome)) => Some(outcome),
        _ => None,
    }
}

fn step_json(session: &Session, place: usize) -> Json {
    let choice = &session.procedure().steps[place];
    let mut out = json!({ "step": choice.step.id, "on": choice.on, "remark": "", "values": {} });
    match session.done(place) {
        Some(Done::Ran(outcome)) => {
            out["status"] = json!("ok");
            out["remark"] = json!(outcome.remark);
            let values: Map<String, Json> =
                outcome.values.iter().map(|n| (n.name.to_owned(), named_json(n))).collect();
            out["values"] = Json::Object(values);
        }
        Some(Done::Refused(fault, _)) => {
            out["status"] = json!("refused");
            out["fault"] = crate::view::fault_json(fault);
        }
        _ => out["status"] = json!("off"),
    }
    out
}

fn named_json(named: &Named) -> Json {
    let mut out = json!({ "value": shape(&named.value), "unit": named.unit.symbol() });
    if let Some(sigma) = &named.sigma {
        out["sigma"] = shape(sigma);
    }
    out
}

fn shape(value: &Value) -> Json {
    match value {
        Value::Number(n) => json!(n),
        Value::List(list) => json!(list),
        Value::Rows(rows) => json!(rows),
        Value::Text(text) => json!(text),
    }
}

fn input_json(input: &Input) -> Json {
    let report = &input.reading.report;
    let columns: Vec<Json> = report
        .columns
        .iter()
        .map(|c| {
            json!({
                "name": c.name, "header": c.header, "role": c.role_id, "unit": c.unit.symbol(),
                "unit_written": c.unit_written, "evidence": c.evidence,
                "values": c.values, "missing": c.missing,
                "minimum": c.minimum, "maximum": c.maximum, "quantum": c.quantum,
                "saturated": c.saturated, "stuck_longest": c.stuck_longest,
            })
        })
        .collect();
    let decisions = report.decisions.iter().map(|d| {
        let others: Vec<Json> =
            d.alternatives.iter().map(|(id, label)| json!({ "id": id, "label": label })).collect();
        json!({
            "id": d.id, "sentence": d.sentence, "evidence": d.evidence, "chosen": d.chosen,
            "alternatives": others, "ambiguous": d.ambiguous,
        })
    });
    let rejected = report
        .rejected
        .iter()
        .map(|r| json!({ "line": r.line, "text": r.text, "reason": r.reason }));
    json!({
        "name": report.name, "use": input.used.id(), "sha256": report.sha256,
        "bytes": report.bytes, "format": report.format, "encoding": report.encoding,
        "rows_read": report.rows_read, "rows_rejected": report.rows_rejected,
        "time": time_json(report),
        "columns": columns,
        "decisions": decisions.collect::<Vec<_>>(),
        "rejected": rejected.collect::<Vec<_>>(),
        "warnings": report.warnings.iter().map(warning_json).collect::<Vec<_>>(),
    })
}

fn time_json(report: &Report) -> Json {
    let time = &report.time;
    json!({
        "kind": time.kind,
        "start": time.start.map(Instant::iso),
        "end": time.end.map(Instant::iso),
        "cadence_s": time.cadence_s,
        "jitter_s": time.jitter_s,
        "gaps": time.gaps,
        "longest_gap_s": time.longest_gap_s,
        "duplicates": time.duplicates,
        "backward": time.backward,
        "reversed": time.reversed,
        "restarts": time.restarts,
    })
}

fn warning_json(warning: &Warning) -> Json {
    json!({
        "code": warning.code, "message": warning.message,
        "where": warning.place, "remedy": warning.remedy,
    })
}

// The marks of the last step of each stage that works on samples as they were
// logged: averaging starts a new grid, so its marks are counted on top.
pub(crate) fn marks(session: &Session) -> Json {
    let n = session.procedure().steps.len();
    let mut counts: Map<String, Json> = Map::new();
    let mut length = None;
    for place in (0..n).rev() {
        let Some(outcome) = outcome_of(session, place) else { continue };
        let record = &outcome.state.record;
        if length == Some(record.len()) {
            continue;
        }
        length = Some(record.len());
        for (reason, count) in record.marks().tally() {
            counts.entry(reason.id().to_owned()).or_insert(json!(count));
        }
    }
    Json::Object(counts)
}

fn warnings(session: &Session) -> Json {
    let n = session.procedure().steps.len();
    let mut out = Vec::new();
    for place in 0..n {
        let id = session.procedure().steps[place].step.id;
        if let Some(outcome) = outcome_of(session, place) {
            for warning in &outcome.warnings {
                let mut json = warning_json(warning);
                json["step"] = json!(id);
                out.push(json);
            }
        }
    }
    Json::Array(out)
}

fn tables(session: &mut Session, files: &mut Vec<(String, Vec<u8>)>) -> Vec<Json> {
    let mut out = Vec::new();
    let csv = session.processed_csv();
    let columns: Vec<String> = csv
        .lines()
        .find(|line| !line.starts_with('#'))
        .map(|line| line.split(',').map(str::to_owned).collect())
        .unwrap_or_default();
    out.push(json!({ "name": "processed", "columns": columns, "file": "processed.csv" }));
    files.push(("processed.csv".to_owned(), csv.into_bytes()));
    let n = session.procedure().steps.len();
    for place in 0..n {
        let Some(outcome) = outcome_of(session, place) else { continue };
        for table in &outcome.tables {
            let file = unique(files, &table.name, "csv");
            let text = export::table_csv(table, session.inputs(), session.procedure());
            out.push(json!({ "name": table.name, "columns": table.columns, "file": file }));
            files.push((file, text.into_bytes()));
        }
    }
    out
}

/// Every figure there is: place of its step, the step's id, the figure's name.
pub(crate) fn figures_of(session: &Session) -> Vec<(usize, &'static str, &'static str)> {
    let n = session.procedure().steps.len();
    let mut found = Vec::new();
    for place in 0..n {
        let id = session.procedure().steps[place].step.id;
        if let Some(done) = session.done(place) {
            found.extend(done.figures().iter().map(|f| (place, id, f.name)));
        }
    }
    found
}

fn figures(session: &mut Session, files: &mut Vec<(String, Vec<u8>)>) -> Vec<Json> {
    let mut out = Vec::new();
    for (place, id, name) in figures_of(session) {
        let Ok(plan) =
            session.plan(place, name, &Frame::print(FIGURE_MM.0, FIGURE_MM.1), &View::default())
        else {
            continue;
        };
        let text = svg::svg(&plan, &Palette::print(), FIGURE_MM.0, FIGURE_MM.1);
        let base = format!("{id}-{name}");
        let file = unique(files, &base, "svg");
        files.push((file.clone(), text.into_bytes()));
        let data = unique(files, &base, "csv");
        files.push((data.clone(), table::csv(&plan).into_bytes()));
        out.push(json!({
            "name": base, "step": place, "file": file, "data": data,
            "caption": plan.caption, "alt": plan.summary,
        }));
    }
    out
}

fn unique(files: &[(String, Vec<u8>)], base: &str, ending: &str) -> String {
    let mut name = format!("{base}.{ending}");
    let mut k = 2;
    while files.iter().any(|(taken, _)| *taken == name) {
        name = format!("{base}-{k}.{ending}");
        k += 1;
    }
    name
}
