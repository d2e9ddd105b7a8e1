//! Replay from the outside: the program, the committed logs, and the truth beside them.
//!
//! Every expected figure is read from the truth that the generator wrote, or
//! is counted from the files; tolerances are the results' own uncertainties.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops where it fails")]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const LOG: &str = "demo-data/tern-skerry-10-days.csv";
const TURNING: &str = "demo-data/tern-skerry-turning.csv";
const STATION: &str = "57.4,-9.9,24";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn replay(words: &[&str]) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_xtask"));
    program.arg("replay").args(words).current_dir(root()).output().expect("the program starts")
}

/// The one object that a call prints.
fn object(output: &Output) -> Value {
    let text = String::from_utf8(output.stdout.clone()).expect("text");
    assert_eq!(text.trim_end().lines().count(), 1, "one object on one line");
    serde_json::from_str(&text).expect("an object")
}

fn replayed(words: &[&str]) -> Value {
    let output = replay(words);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stdout));
    object(&output)
}

/// The fault of a call that must be refused: code 2, an object with the four fields.
fn refused(words: &[&str]) -> Value {
    let output = replay(words);
    assert_eq!(output.status.code(), Some(2), "{words:?}");
    let fault = object(&output)["error"].clone();
    for field in ["code", "message", "where", "remedy"] {
        assert!(fault[field].is_string(), "{words:?}: {field}");
    }
    assert_ne!(fault["message"], "", "{words:?}");
    assert_ne!(fault["remedy"], "", "{words:?}");
    fault
}

fn turned_and_worked_through() -> Value {
    replayed(&["--auto", LOG, TURNING, "--station", STATION])
}

fn truth(name: &str) -> Value {
    let path = root().join("demo-data").join(format!("{name}.truth.json"));
    serde_json::from_str(&std::fs::read_to_string(path).expect("read")).expect("an object")
}

fn step<'a>(found: &'a Value, id: &str) -> &'a Value {
    let steps = found["steps"].as_array().expect("steps");
    steps.iter().find(|step| step["step"] == id).unwrap_or_else(|| panic!("no step {id}"))
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list").iter().map(number).collect()
}

/// A folder for one test's files.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("lodelog-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).expect("made");
        Self(path)
    }

    fn file(&self, name: &str, content: impl AsRef<[u8]>) -> String {
        let path = self.0.join(name);
        std::fs::write(&path, content).expect("written");
        path.to_string_lossy().into_owned()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // A folder left behind in the system's temporary place does no harm.
        let _left = std::fs::remove_dir_all(&self.0);
    }
}

#[test]
fn one_object_holds_every_name_of_the_contract() {
    let found = turned_and_worked_through();
    assert_eq!(found["schema"], 1);
    assert_eq!(found["tool_version"], env!("CARGO_PKG_VERSION"));
    let wanted = ["inputs", "procedure", "steps", "marks", "tables", "figures", "warnings"];
    for name in wanted {
        assert!(!found[name].is_null(), "{name}");
    }
    let input = &found["inputs"][0];
    for name in ["name", "sha256", "bytes", "format", "encoding", "rows_read", "rows_rejected"] {
        assert!(!input[name].is_null(), "{name}");
    }
    for name in ["kind", "start", "end", "cadence_s", "gaps", "duplicates", "reversed"] {
        assert!(!input["time"][name].is_null(), "time.{name}");
    }
    for column in input["columns"].as_array().expect("columns") {
        for name in ["name", "role", "unit"] {
            assert!(column[name].is_string(), "column {name}");
        }
    }
    for step in found["steps"].as_array().expect("steps") {
        assert!(step["on"].is_boolean() && step["remark"].is_string(), "{step}");
        assert!(step["values"].is_object(), "{step}");
    }
    for warning in found["warnings"].as_array().expect("warnings") {
        for name in ["code", "message", "where", "remedy"] {
            assert!(warning[name].is_string(), "warning {name}");
        }
    }
}

#[test]
fn the_log_is_read_whole_and_named_without_its_folders() {
    let found = turned_and_worked_through();
    let truth = truth("tern-skerry-10-days");
    let input = &found["inputs"][0];
    assert_eq!(input["name"], "tern-skerry-10-days.csv");
    let bytes = std::fs::metadata(root().join(LOG)).expect("there").len();
    assert_eq!(input["bytes"], bytes);
    assert_eq!(input["rows_read"], truth["log"]["rows"]);
    assert_eq!(input["rows_rejected"], 0);
    assert_eq!(input["time"]["cadence_s"], 30.0);
    assert_eq!(input["time"]["kind"], "iso8601");
    let roles: Vec<&str> = input["columns"]
        .as_array()
        .expect("columns")
        .iter()
        .filter_map(|c| c["role"].as_str())
        .collect();
    assert_eq!(roles, ["time", "x", "y", "z", "temperature"]);
}

#[test]
fn the_faults_put_in_on_purpose_are_found_and_counted() {
    let found = turned_and_worked_through();
    let faults = &truth("tern-skerry-10-days")["faults"];
    assert_eq!(found["marks"]["repeat"], faults["repeats"]["count"]);
    // A spike no larger than the noise is no spike to anyone: one in twenty may hide.
    let marked = number(&found["marks"]["spike"]);
    let put_in = number(&faults["spikes"]["count"]);
    assert!((marked - put_in).abs() <= put_in / 20.0, "{marked} of {put_in}");
    assert_eq!(number(&step(&found, "order")["values"]["gaps"]["value"]), 1.0);
}

#[test]
fn calibration_finds_offset_and_matrix_within_three_of_their_uncertainties() {
    let found = turned_and_worked_through();
    let values = &step(&found, "calibrate")["values"];
    let truth = truth("tern-skerry-turning");
    let true_nt: Vec<f64> =
        numbers(&truth["sensor"]["offset_during_turning_ut"]).iter().map(|ut| ut * 1e3).collect();
    let (offset, sigma) =
        (numbers(&values["offset"]["value"]), numbers(&values["offset"]["sigma"]));
    for axis in 0..3 {
        let off = (offset[axis] - true_nt[axis]).abs();
        assert!(off < 3.0 * sigma[axis], "axis {axis}: off by {off} nT, sigma {}", sigma[axis]);
    }
    // The matrix scales with the total field assumed: compare after dividing that out.
    let scale =
        number(&truth["field"]["during_turning"]["total_nt"]) / number(&values["radius"]["value"]);
    for row in 0..3 {
        let found = numbers(&values["matrix"]["value"][row]);
        let sigma = numbers(&values["matrix"]["sigma"][row]);
        let wanted = numbers(&truth["sensor"]["matrix_symmetric"][row]);
        for column in 0..3 {
            let off = (found[column] * scale - wanted[column]).abs();
            assert!(off < 3.0 * sigma[column], "{row},{column}: off by {off}");
        }
    }
}

#[test]
fn field_and_heading_agree_with_the_truth_within_three_of_their_uncertainties() {
    let found = turned_and_worked_through();
    let values = &step(&found, "elements")["values"];
    let field = &truth("tern-skerry-10-days")["field"];
    for (name, wanted) in [
        ("total_nt", number(&field["mean"]["total_nt"])),
        ("horizontal_nt", number(&field["mean"]["horizontal_nt"])),
        ("inclination_deg", number(&field["mean"]["inclination_deg"])),
        ("heading_deg", number(&field["first_stand"]["heading_deg"])),
    ] {
        let (value, sigma) = (number(&values[name]["value"]), number(&values[name]["sigma"]));
        assert!(
            sigma > 0.0 && (value - wanted).abs() < 3.0 * sigma,
            "{name}: {value} ± {sigma}, {wanted}"
        );
    }
}

#[test]
fn the_same_call_gives_the_same_bytes() {
    let words = ["--auto", LOG, TURNING, "--station", STATION];
    assert_eq!(replay(&words).stdout, replay(&words).stdout);
}

#[test]
fn the_procedure_that_ran_runs_again_to_the_same_steps_and_marks() {
    let folder = Folder::new("again");
    let first = turned_and_worked_through();
    let file = folder.file("procedure.json", first["procedure"].to_string());
    let second = replayed(&[&file, LOG, TURNING]);
    for name in ["procedure", "steps", "marks", "warnings", "methods"] {
        assert_eq!(first[name], second[name], "{name}");
    }
}

#[test]
fn tables_and_figures_are_written_where_asked_and_as_named() {
    let folder = Folder::new("out");
    let out = folder.0.join("new folder").to_string_lossy().into_owned();
    let found = replayed(&["--auto", LOG, "--station", STATION, "--out", &out]);
    let read = |file: &Value| {
        let path = Path::new(&out).join(file.as_str().expect("a name"));
        std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
    };
    let figures = found["figures"].as_array().expect("figures");
    assert!(!figures.is_empty());
    for figure in figures {
        let svg = read(&figure["file"]);
        assert!(svg.contains("<svg") && svg.trim_end().ends_with("</svg>"), "{}", figure["file"]);
        assert_ne!(figure["caption"], "");
        assert_ne!(figure["alt"], "");
    }
    let tables = found["tables"].as_array().expect("tables");
    assert!(tables.iter().any(|table| table["name"] == "processed"));
    for table in tables {
        let csv = read(&table["file"]);
        let header = csv.lines().find(|line| !line.starts_with('#')).expect("a header");
        let columns = table["columns"].as_array().expect("columns").len();
        assert_eq!(header.split(',').count(), columns, "{}", table["file"]);
    }
}

#[test]
fn nothing_is_written_unless_asked() {
    let found = replayed(&["--auto", LOG]);
    assert_eq!(found["figures"], Value::Array(vec![]));
    assert_eq!(found["tables"], Value::Array(vec![]));
}

#[test]
fn what_cannot_be_used_is_refused_with_a_reason_and_a_next_step() {
    let folder = Folder::new("refused");
    let empty = folder.file("empty.csv", "");
    let picture = folder.file("picture.csv", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR");
    let words = folder.file("words.csv", "dear diary\ntoday it rained\n");
    for log in [&empty, &picture, &words] {
        let fault = refused(&["--auto", log]);
        let code = fault["code"].as_str().expect("a code");
        assert!(code.starts_with("intake/"), "{log}: {code}");
    }
    assert_eq!(refused(&["--auto", "no-such-log.csv"])["code"], "replay/file");
    assert_eq!(refused(&[])["code"], "replay/no-log");
    assert_eq!(refused(&["--auto", LOG, "--station", "here"])["code"], "replay/station");
    assert_eq!(refused(&["--auto", LOG, "--fast"])["code"], "replay/arguments");
}

#[test]
fn a_procedure_that_is_none_or_is_newer_is_refused() {
    let folder = Folder::new("procedures");
    for (name, text) in [
        ("words.json", "dear diary"),
        ("list.json", "[1, 2]"),
        ("cut.json", "{\"schema\": 1, \"steps\": [{\"step\": \"re"),
        ("newer.json", "{\"schema\": 999, \"steps\": []}"),
    ] {
        let file = folder.file(name, text);
        let fault = refused(&[&file, LOG]);
        assert!(
            fault["code"].as_str().is_some_and(|c| c.starts_with("procedure/")),
            "{name}: {fault}"
        );
    }
    let binary = folder.file("binary.json", b"\xff\xfe\0");
    assert_eq!(refused(&[&binary, LOG])["code"], "replay/procedure-not-text");
}

#[test]
fn an_unknown_parameter_is_refused_with_the_nearest_known_name() {
    let folder = Folder::new("unknown");
    let procedure = "{\"schema\": 1, \"steps\": [{\"step\": \"read\", \"on\": true, \"set\": {}}, \
                     {\"step\": \"spikes\", \"on\": true, \"set\": {\"treshold\": 5}}]}";
    let file = folder.file("typo.json", procedure);
    let fault = refused(&[&file, LOG]);
    let said = format!("{} {}", fault["message"], fault["remedy"]);
    assert!(said.contains("treshold") && said.contains("threshold"), "{said}");
}
