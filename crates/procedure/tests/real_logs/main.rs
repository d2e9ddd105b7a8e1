//! Replays every file of the shared real data with no setting touched, when it is
//! there, and holds what comes out against the facts of its manifest: rows, first
//! and last time, cadence, roles, units.  Times are those of the files, brought to
//! UTC where the file names an offset.

// A test may stop at what should not be.
#![allow(clippy::expect_used, clippy::panic, clippy::print_stdout)]

mod facts;

use facts::{FACTS, Fact};
use procedure::replay::{Request, run};
use serde_json::Value;
use std::path::{Path, PathBuf};

fn shared() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data");
    if folder.is_dir() {
        return Some(folder);
    }
    println!("the shared data is not here: nothing was replayed");
    None
}

/// What `replay --auto` says of the file.
fn replayed(folder: &Path, file: &str) -> Value {
    let bytes = std::fs::read(folder.join(file)).unwrap_or_else(|e| panic!("{file}: {e}"));
    let name = file.rsplit('/').next().unwrap_or(file);
    let request = Request { files: vec![(name.to_owned(), bytes)], ..Request::default() };
    let outcome = run(&request).unwrap_or_else(|fault| panic!("{file}: {fault}"));
    serde_json::from_str(&outcome.json).expect("one object")
}

fn text(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}

fn faults(fact: &Fact, input: &Value) -> Vec<String> {
    let time = &input["time"];
    let columns = input["columns"].as_array().expect("columns");
    let number = |value: &Value| value.as_f64().unwrap_or(f64::NAN).to_string();
    let pairs = [
        ("format", text(&input["format"]), fact.format.to_owned()),
        ("rows", text(&input["rows_read"]), fact.rows.to_string()),
        ("rejected", text(&input["rows_rejected"]), fact.rejected.to_string()),
        ("columns", columns.len().to_string(), fact.columns.to_string()),
        ("kind", text(&time["kind"]), fact.kind.to_owned()),
        ("start", text(&time["start"]), fact.start.to_owned()),
        ("end", text(&time["end"]), fact.end.to_owned()),
        ("cadence", number(&time["cadence_s"]), fact.cadence_s.to_string()),
    ];
    let mut out: Vec<String> = pairs
        .into_iter()
        .filter(|(_, found, wanted)| found != wanted)
        .map(|(what, found, wanted)| format!("{}: {what} is {found}, not {wanted}", fact.file))
        .collect();
    for (name, role, unit) in fact.channels {
        let found = columns.iter().find(|column| column["name"] == *name);
        let found = found
            .map_or("missing".to_owned(), |c| format!("{} {}", text(&c["role"]), text(&c["unit"])));
        if found != format!("{role} {unit}") {
            out.push(format!("{}: {name} is {found}, not {role} {unit}", fact.file));
        }
    }
    out
}

/// One line of a table: what was read from the file.
fn line(fact: &Fact, input: &Value) -> String {
    let time = &input["time"];
    let columns = input["columns"].as_array().expect("columns");
    let roles: Vec<String> = columns
        .iter()
        .map(|column| (text(&column["role"]), text(&column["unit"])))
        .filter(|(role, _)| !matches!(role.as_str(), "time" | "text" | "other"))
        .map(|(role, unit)| if unit.is_empty() { role } else { format!("{role} {unit}") })
        .collect();
    let cells = [
        fact.file.to_owned(),
        text(&input["format"]),
        format!("{} + {}", text(&input["rows_read"]), text(&input["rows_rejected"])),
        format!("{} to {}", text(&time["start"]), text(&time["end"])),
        text(&time["cadence_s"]),
        columns.len().to_string(),
        roles.join(", "),
    ];
    format!("| {} |", cells.join(" | "))
}

#[test]
fn every_real_log_replays_with_no_setting_touched_as_its_manifest_says() {
    let Some(folder) = shared() else { return };
    let mut wrong = Vec::new();
    for fact in &FACTS {
        let found = replayed(&folder, fact.file);
        let input = &found["inputs"][0];
        println!("{}", line(fact, input));
        wrong.extend(faults(fact, input));
        let read = &found["steps"][0];
        if read["status"] != "ok" {
            wrong.push(format!("{}: the step “read” says {read}", fact.file));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_real_log_has_its_facts_written_down() {
    let Some(folder) = shared() else { return };
    let mut folders = vec![folder.clone()];
    while let Some(next) = folders.pop() {
        for entry in std::fs::read_dir(&next).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let file = path.strip_prefix(&folder).expect("within").to_string_lossy().into_owned();
            let told = FACTS.iter().any(|fact| fact.file == file);
            assert!(told || file.ends_with(".md"), "{file} has no facts");
        }
    }
}
