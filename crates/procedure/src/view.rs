//! Everything the page shows, as JSON: words, slots, remarks, results.
//!
//! The page places what stands here and computes nothing.  Samples and plans
//! are not in it; they go as arrays of their own.

use crate::engine::Done;
use crate::inputs::{Input, Inputs};
use crate::outcome::{Figure, Outcome};
use crate::param::{Kind, Param, Value};
use crate::procedure::{Choice, Part};
use crate::session::Session;
use crate::{VERSION, steps, tries};
use record::{Fault, Instant, Warning, words::word};
use serde_json::{Value as Json, json};

pub(crate) fn of(session: &mut Session) -> String {
    let n = session.procedure().steps.len();
    let steps: Vec<Json> = (0..n).map(|place| step_json(session, place)).collect();
    let all = session.inputs();
    let inputs = all.files.iter().enumerate();
    let view = json!({
        "version": VERSION,
        "inputs": inputs.map(|(k, input)| input_json(k, input, all)).collect::<Vec<_>>(),
        "steps": steps,
        "addable": addable(session),
        "methods": session.methods(),
        "undo": session.undo_name(),
        "redo": session.redo_name(),
        "changed_after": changed_after(session),
        "summary": summary(session),
        "procedure": session.whole_procedure().to_json(),
        "rereads": session.rereads().iter().map(reread_json).collect::<Vec<_>>(),
        "calibration": session.calibration_json().is_some(),
        "tries": tries::of(all, session.procedure()),
    });
    crate::json::text(&view)
}

fn changed_after(session: &Session) -> usize {
    let n = session.procedure().steps.len();
    session.changed_from().map_or(0, |from| n.saturating_sub(from + 1))
}

fn step_json(session: &mut Session, place: usize) -> Json {
    let choice = session.procedure().steps[place].clone();
    let slots: Vec<Json> = choice
        .step
        .params
        .iter()
        .zip(&choice.values)
        .map(|(param, value)| slot_json(session, place, param, value))
        .collect();
    let procedure = session.procedure();
    let sentence: Vec<Json> = choice.parts(session.inputs()).iter().map(part_json).collect();
    let mut out = json!({
        "index": place,
        "id": choice.step.id,
        "stage": choice.step.stage.id(),
        "title": word(choice.step.title),
        "on": choice.on,
        "removable": choice.step.removable,
        "up": procedure.may_move(place, -1),
        "down": procedure.may_move(place, 1),
        "sentence": sentence,
        "prose": choice.prose(session.inputs()),
        "slots": slots,
        "why": {
            "what": word(choice.step.why.what),
            "why": word(choice.step.why.why),
            "wrong": word(choice.step.why.wrong),
            "picture": word(choice.step.why.picture),
        },
    });
    fill_in_what_became(&mut out, session.done(place), &choice);
    out
}

fn part_json(part: &Part) -> Json {
    match part {
        Part::Text(text) => json!({ "text": text }),
        Part::Slot(key) => json!({ "slot": key }),
    }
}

fn slot_json(session: &mut Session, place: usize, param: &Param, value: &Value) -> Json {
    let options: Vec<Json> = session
        .options(place, param.kind)
        .iter()
        .map(|(id, label)| json!({ "id": id, "label": label }))
        .collect();
    let spot = (place, param.key.to_owned());
    let refused = session.refused.get(&spot);
    let kind = match param.kind {
        Kind::Number { .. } => "number",
        Kind::Whole { .. } => "integer",
        Kind::Choice(_) | Kind::Channel(_) => "choice",
        Kind::Span => "span",
        Kind::Text | Kind::Numbers(_) => "text",
    };
    json!({
        "key": param.key,
        "kind": kind,
        "label": word(param.label),
        "value": refused.map_or_else(|| param.edit_text(value), |r| r.text.clone()),
        "said": param.said(value),
        "unit": param.unit.symbol(),
        "hint": param.hint(),
        "options": options,
        "error": refused.map(|r| r.why.clone()),
        "note": session.notes.get(&spot),
    })
}

fn fill_in_what_became(out: &mut Json, done: Option<&Done>, choice: &Choice) {
    let (status, outcome, fault) = match done {
        Some(Done::Ran(outcome)) => ("ok", Some(outcome), None),
        Some(Done::Refused(fault, _)) => ("refused", None, Some(fault)),
        _ if !choice.on => ("off", None, None),
        _ => ("waiting", None, None),
    };
    out["status"] = json!(status);
    out["fault"] = fault.map_or(Json::Null, fault_json);
    out["remark"] = json!(outcome.map_or("", |o| o.remark.as_str()));
    out["warnings"] = outcome.map_or_else(|| json!([]), |o| warnings_json(&o.warnings));
    out["figures"] = done.map_or_else(|| json!([]), |done| figures_json(done.figures()));
    out["results"] = outcome.map_or_else(|| json!([]), |o| results_json(o));
}

pub(crate) fn fault_json(fault: &Fault) -> Json {
    json!({
        "code": fault.code,
        "message": fault.message,
        "place": fault.place,
        "remedy": fault.remedy,
    })
}

fn warnings_json(warnings: &[Warning]) -> Json {
    let each = warnings.iter().map(
        |w| json!({ "code": w.code, "message": w.message, "place": w.place, "remedy": w.remedy }),
    );
    Json::Array(each.collect())
}

fn figures_json(figures: &[Figure]) -> Json {
    let each = figures.iter().map(|f| json!({ "name": f.name, "title": word(f.title) }));
    Json::Array(each.collect())
}

fn results_json(outcome: &Outcome) -> Json {
    let each =
        outcome.lines.iter().map(|l| json!({ "name": l.name, "label": l.label, "text": l.text }));
    Json::Array(each.collect())
}

fn addable(session: &Session) -> Json {
    let held = |id: &str| session.procedure().steps.iter().any(|c| c.step.id == id);
    let each = steps::ALL.iter().filter(|step| step.repeatable || !held(step.id));
    Json::Array(
        each.map(|s| json!({ "id": s.id, "title": word(s.title), "stage": s.stage.id() }))
            .collect(),
    )
}

// The last remark of the elements step says best what came out; without it,
// the last remark there is.
fn summary(session: &Session) -> String {
    let n = session.procedure().steps.len();
    let remark = |place: usize| match session.done(place) {
        Some(Done::Ran(outcome)) => Some(outcome.remark.clone()),
        _ => None,
    };
    let elements = (0..n).find(|k| session.procedure().steps[*k].step.id == "elements");
    elements.and_then(remark).or_else(|| (0..n).rev().find_map(remark)).unwrap_or_default()
}

fn reread_json((place, choices): &(usize, intake::Choices)) -> Json {
    json!({ "input": place, "set": choices.set })
}

fn input_json(place: usize, input: &Input, all: &Inputs) -> Json {
    let report = &input.reading.report;
    let columns: Vec<Json> = report.columns.iter().map(column_json).collect();
    let used = all.decision(place);
    let decisions: Vec<Json> = used
        .iter()
        .chain(&report.decisions)
        .map(|d| {
            let others: Vec<Json> = d
                .alternatives
                .iter()
                .map(|(id, label)| json!({ "id": id, "label": label }))
                .collect();
            json!({
                "id": d.id, "sentence": d.sentence, "evidence": d.evidence,
                "chosen": d.chosen, "alternatives": others, "ambiguous": d.ambiguous,
                "typed": d.typed(),
            })
        })
        .collect();
    let rejected: Vec<Json> = report
        .rejected
        .iter()
        .map(|r| json!({ "line": r.line, "text": r.text, "reason": r.reason }))
        .collect();
    json!({
        "index": place,
        "name": report.name,
        "use": input.used.id(),
        "facts": input.facts(),
        "date": first_day(input),
        "span": [report.time.start.map(Instant::iso), report.time.end.map(Instant::iso)],
        "report": {
            "sha256": report.sha256,
            "format": report.format,
            "encoding": report.encoding,
            "prose": crate::export::reading_prose(report),
            "decisions": decisions,
            "columns": columns,
            "rejected": rejected,
            "rejected_total": report.rows_rejected,
            "warnings": warnings_json(&report.warnings),
        },
    })
}

// The first day of a log that has times, for the names of saved files.
fn first_day(input: &Input) -> Option<String> {
    let start =
        input.reading.record.start().filter(|_| input.reading.report.time.kind != "none")?;
    start.iso().split_once('T').map(|(day, _)| day.to_owned())
}

fn column_json(column: &intake::ColumnReport) -> Json {
    let count = record::print::count;
    let measured = column.role.is_some();
    let only = |text: String| if measured { text } else { String::new() };
    json!({
        "name": column.name,
        "role": word(&column.role_id),
        "unit": column.unit.symbol(),
        "unit_written": column.unit_written,
        "evidence": column.evidence,
        "values": count(column.values),
        "missing": count(column.missing),
        "range": only(crate::export::range_text(column)),
        "step": only(crate::export::step_text(column)),
        "saturated": only(count(column.saturated)),
        "repeated": only(count(column.stuck_longest)),
    })
}
