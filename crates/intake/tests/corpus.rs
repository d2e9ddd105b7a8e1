//! Reads every small nasty log of the corpus and holds the reading against the
//! report written down for it.
//!
//! `NAME.log` is the log, `NAME.expect` one expectation a line: `rows 10`,
//! `column bx = x nT`, `value bx 0 = 16632.2`, `decision zone = UTC`, `ask zone`
//! (left open), `sure zone` (not), `warning CODE`, `error CODE`, `choice ID =
//! ANSWER` and so on; see `found`.

// A test may stop at what should not be.
#![allow(clippy::expect_used)]

use intake::{Choices, Reading, read};
use std::path::{Path, PathBuf};

fn corpus() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/corpus")
}

fn logs() -> Vec<PathBuf> {
    let entries = std::fs::read_dir(corpus()).expect("the corpus lies in tests/corpus");
    let mut logs: Vec<PathBuf> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "log"))
        .collect();
    logs.sort();
    logs
}

fn choices(expected: &str) -> Choices {
    let answers =
        expected.lines().filter_map(|line| line.strip_prefix("choice ")?.split_once(" = "));
    answers.fold(Choices::default(), |choices, (id, answer)| choices.with(id, answer))
}

// What is wrong with a reading, one line a fault.
fn check(reading: &Reading, expected: &str) -> Vec<String> {
    let mut faults = Vec::new();
    for line in expected.lines().filter(|line| !line.starts_with("choice ")) {
        let (what, rest) = line.split_once(' ').unwrap_or((line, ""));
        let parts = rest.split_once(" =");
        let (left, wanted) = parts.map_or((rest, rest), |(left, right)| (left, right.trim()));
        let found = found(reading, what, left.trim(), wanted);
        if !agrees(&found, wanted.trim()) {
            faults.push(format!("wanted “{line}”, found “{found}”"));
        }
    }
    faults
}

fn agrees(found: &str, wanted: &str) -> bool {
    match (found.parse::<f64>(), wanted.parse::<f64>()) {
        // Conversions of units round once or twice.
        (Ok(a), Ok(b)) => a == b || (a.is_nan() && b.is_nan()) || (a - b).abs() <= 1e-12 * b.abs(),
        _ => found == wanted,
    }
}

fn found(reading: &Reading, what: &str, left: &str, right: &str) -> String {
    let report = &reading.report;
    let time = &report.time;
    let iso = |instant: Option<record::Instant>| instant.map_or("none".to_owned(), |i| i.iso());
    let column = |name: &str| report.columns.iter().find(|c| c.name == name);
    let decision = |id: &str| report.decisions.iter().find(|d| d.id == id);
    match what {
        "format" => report.format.to_owned(),
        "encoding" => report.encoding.to_owned(),
        "rows" => report.rows_read.to_string(),
        "rejected" => report.rows_rejected.to_string(),
        "columns" => reading.record.channels().len().to_string(),
        "comments" => reading.comments.len().to_string(),
        "time" => time.kind.to_owned(),
        "start" => iso(time.start),
        "end" => iso(time.end),
        "cadence" => time.cadence_s.to_string(),
        "gaps" => time.gaps.to_string(),
        "duplicates" => time.duplicates.to_string(),
        "backward" => time.backward.to_string(),
        "reversed" => time.reversed.to_string(),
        "restarts" => time.restarts.to_string(),
        "column" => column(left).map_or("no such column".to_owned(), |c| {
            format!("{} {}", c.role_id, c.unit.symbol()).trim().to_owned()
        }),
        "missing" => {
            let (name, _) = left.rsplit_once(' ').unwrap_or((left, ""));
            column(name).map_or("no such column".to_owned(), |c| format!("{name} {}", c.missing))
        }
        "value" => {
            let (name, row) = left.rsplit_once(' ').expect("a channel and a row");
            let row: usize = row.parse().expect("a row");
            let channel = reading.record.named(name);
            let value = channel.and_then(|c| c.values.get(row));
            value.map_or("no such value".to_owned(), f64::to_string)
        }
        "decision" => decision(left).map_or("not taken".to_owned(), |d| d.chosen.clone()),
        "ask" | "sure" => match decision(left) {
            None => "not taken".to_owned(),
            Some(d) if d.ambiguous == (what == "ask") => left.to_owned(),
            Some(d) => format!("the opposite: {d:?}"),
        },
        "warning" => {
            let codes: Vec<&str> = report.warnings.iter().map(|w| w.code).collect();
            if codes.contains(&left) { left.to_owned() } else { codes.join(", ") }
        }
        "reject" => {
            let lines: Vec<String> = report.rejected.iter().map(|r| r.line.to_string()).collect();
            lines.join(" ")
        }
        "event" => {
            let hit = reading.events.iter().find(|(at, text)| at.iso() == left && text == right);
            hit.map_or(format!("{:?}", reading.events), |(_, text)| text.clone())
        }
        "station" => reading.station.as_ref().map_or("none".to_owned(), |s| {
            format!("{} {} {:.2} {}", s.name, s.latitude_deg, s.longitude_deg, s.height_m)
        }),
        other => format!("an unknown expectation, {other}"),
    }
}

#[test]
fn every_log_of_the_corpus_reads_as_written_down() {
    let logs = logs();
    assert!(logs.len() >= 60, "the corpus has only {} logs", logs.len());
    let mut faults = Vec::new();
    for path in &logs {
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let bytes = std::fs::read(path).expect("a log");
        let expected =
            std::fs::read_to_string(path.with_extension("expect")).expect("an expectation");
        let error = expected.lines().find_map(|line| line.strip_prefix("error "));
        match (read("log", &bytes, &choices(&expected)), error) {
            (Ok(reading), None) => {
                faults
                    .extend(check(&reading, &expected).into_iter().map(|f| format!("{name}: {f}")));
            }
            (Ok(_), Some(code)) => faults.push(format!("{name}: opened, but {code} was wanted")),
            (Err(error), wanted) => {
                let fault = record::Fault::from(error);
                if Some(fault.code) != wanted {
                    faults.push(format!("{name}: refused, {} ({fault})", fault.code));
                }
                assert!(!fault.message.is_empty() && !fault.remedy.is_empty(), "{name}");
            }
        }
    }
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn chunks_cut_anywhere_give_the_same_reading() {
    for path in logs() {
        let bytes = std::fs::read(&path).expect("a log");
        let whole = outcome(&bytes, bytes.len().max(1));
        for step in [1, 2, 3, 7, 64, 4095, 4097] {
            assert_eq!(outcome(&bytes, step), whole, "{} in chunks of {step}", path.display());
        }
    }
}

// NaN differs from itself: readings are compared as they print.
fn outcome(bytes: &[u8], step: usize) -> String {
    let mut reader = intake::Reader::new("log", &Choices::default());
    for chunk in bytes.chunks(step) {
        if let Err(error) = reader.push(chunk) {
            return format!("{error:?}");
        }
    }
    match reader.finish() {
        Ok(reading) => format!("{reading:?}"),
        Err(error) => format!("{error:?}"),
    }
}

#[test]
fn every_decision_is_told_with_evidence_and_its_answer_is_an_alternative() {
    for path in logs() {
        let bytes = std::fs::read(&path).expect("a log");
        let Ok(reading) = read("log", &bytes, &Choices::default()) else { continue };
        for decision in &reading.report.decisions {
            let shown = format!("{}: {decision:?}", path.display());
            assert!(decision.sentence.ends_with('.') && !decision.evidence.is_empty(), "{shown}");
            if decision.ambiguous {
                assert!(decision.alternatives.len() >= 2, "{shown}");
                assert!(
                    decision.alternatives.iter().any(|(id, _)| *id == decision.chosen),
                    "{shown}"
                );
            }
        }
    }
}
