//! Nothing that a student reads passes the catalogue of words by.
//!
//! The catalogue is filled with its own English in letters of another row of
//! Unicode (fullwidth forms).  Whatever then still stands in plain letters
//! came to the page without being looked up: names, units and identifiers
//! may, words may not.

use crate::common::{add, session};
use procedure::session::Edit;
use record::words;
use serde_json::{Value, json};
use specimen::{DEFAULT_SEED, Scenario};
use std::collections::BTreeMap;

const GERMAN: &str = include_str!("../../../../www/words/de.json");

/// What is the same in every language: names of the scenario, units, trade abbreviations, formats.
const SAME: &[&str] = &[
    "Allan",
    "in",
    "bx",
    "by",
    "bz",
    "dB",
    "dF",
    "dH",
    "dX",
    "dY",
    "dZ",
    "dt",
    "gt",
    "lt",
    "ms",
    "re",
    "uT",
    "heading",
    "none",
    "time",
    "minute",
    "Celsius",
    "Fahrenheit",
    "Filtered",
    "KLHF",
    "KLHX",
    "KLHY",
    "KLHZ",
    "XYZF",
    "Variation",
    "UTF",
    "dtemp",
    "temp",
    "CSV",
    "DATE",
    "Butterworth",
    "FIR",
    "GFZ",
    "Gauss",
    "Hampel",
    "Hann",
    "Hamming",
    "Hz",
    "IAGA",
    "IGRF",
    "ISO",
    "JSON",
    "Kelda",
    "Head",
    "Lodelog",
    "Lomb",
    "Scargle",
    "MAD",
    "SHA",
    "SSC",
    "SVG",
    "School",
    "Field",
    "Skerry",
    "Tern",
    "UTC",
    "WMM",
    "Welch",
    "csv",
    "iaga",
    "head",
    "kelda",
    "reference",
    "days",
    "skerry",
    "tern",
    "turning",
    "degC",
    "h",
    "hPa",
    "min",
    "nT",
    "ppm",
    "psd",
    "utc",
    "Whittaker",
];

/// Letters of the English text, but for its places, in their fullwidth forms.
fn wide(text: &str) -> String {
    let mut inside = false;
    text.chars()
        .map(|c| {
            inside = (inside || c == '{') && c != '}';
            match c {
                'A'..='Z' | 'a'..='z' if !inside => char::from_u32(c as u32 + 0xfee0).unwrap_or(c),
                other => other,
            }
        })
        .collect()
}

/// The runs of two plain letters or more, without those that are the same everywhere.
fn plain(text: &str) -> Vec<String> {
    let is_hash = |run: &&str| run.len() == 8 && run.bytes().all(|b| b.is_ascii_hexdigit());
    text.split(|c: char| !c.is_ascii_alphanumeric())
        .filter(|run| !is_hash(run))
        .flat_map(|run| run.split(|c: char| !c.is_ascii_alphabetic()))
        .filter(|run| run.len() >= 2 && !SAME.contains(run))
        .map(str::to_owned)
        .collect()
}

/// Some of the text about a word.
fn around(text: &str, word: &str) -> String {
    let (before, after) = text.split_once(word).unwrap_or(("", ""));
    let before: Vec<char> = before.chars().rev().take(30).collect();
    let before: String = before.iter().rev().collect();
    let after: String = after.chars().take(30).collect();
    format!("{before}[{word}]{after}").replace('\n', " ")
}

/// Every text of a JSON value, by its path, but for identifiers.
fn texts(value: &Value, path: &str, out: &mut Vec<(String, String)>) {
    const LEFT: &[&str] = &[
        "id",
        "key",
        "kind",
        "name",
        "procedure",
        "code",
        "sha256",
        "format",
        "encoding",
        "use",
        "status",
        "stage",
        "step",
        "part",
        "chosen",
        "typed",
        "value",
        "role",
        "unit_written",
        "span",
        "date",
        "version",
        "slot",
        "set",
    ];
    match value {
        Value::String(text) => out.push((path.to_owned(), text.clone())),
        Value::Array(list) => list.iter().for_each(|one| texts(one, path, out)),
        Value::Object(map) => {
            for (key, one) in map.iter().filter(|(key, _)| !LEFT.contains(&key.as_str())) {
                texts(one, &format!("{path}/{key}"), out);
            }
        }
        _ => {}
    }
}

#[test]
fn every_text_of_the_demo_comes_out_of_the_catalogue() {
    let catalogue: BTreeMap<String, String> = serde_json::from_str(GERMAN).unwrap();
    let pairs = catalogue.keys().map(|english| (english.clone(), wide(english))).collect();
    words::speak("x-wide", pairs);
    let mut session = session(&Scenario::with_seed(DEFAULT_SEED), true);
    let first: Value = serde_json::from_str(&session.view()).unwrap();
    for step in first["addable"].as_array().unwrap() {
        add(&mut session, step["id"].as_str().unwrap());
    }
    session.edit(Edit::from_json(&json!({"kind": "undo"})).unwrap()).unwrap();
    let view: Value = serde_json::from_str(&session.view()).unwrap();
    let mut found = Vec::new();
    texts(&view, "", &mut found);
    for (name, figure) in session_figures(&mut session) {
        found.push((format!("figure {name}"), figure));
    }
    words::speak("en", Vec::new());
    let mut missed: BTreeMap<String, String> = BTreeMap::new();
    for (path, text) in &found {
        for run in plain(text) {
            missed.entry(run.clone()).or_insert_with(|| format!("{path}: {}", around(text, &run)));
        }
    }
    let told: Vec<String> = missed.iter().map(|(run, text)| format!("{run} @ {text}")).collect();
    assert!(told.is_empty(), "{} words pass the catalogue by:\n{}", told.len(), told.join("\n"));
}

/// The words of every figure: caption, summary, and the texts that are drawn.
fn session_figures(session: &mut procedure::session::Session) -> Vec<(String, String)> {
    let outcome = procedure::replay::report(session, true);
    let is_svg = |(name, _): &&(String, Vec<u8>)| name.ends_with(".svg");
    let text = |(name, bytes): &(String, Vec<u8>)| {
        let svg = String::from_utf8_lossy(bytes).into_owned();
        (name.clone(), between_tags(&svg))
    };
    outcome.files.iter().filter(is_svg).map(text).collect()
}

fn between_tags(svg: &str) -> String {
    let svg = svg.split("</style>").last().unwrap_or(svg);
    let pieces = svg.split('<').filter_map(|piece| Some(piece.split_once('>')?.1));
    pieces.collect::<Vec<_>>().join(" ")
}
