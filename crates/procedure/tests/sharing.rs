//! What leaves the page and comes back: link, hand-in and zip of one session.
#![allow(clippy::unwrap_used, reason = "a test may stop where it finds nothing")]

use procedure::handin::{self, Written};
use procedure::session::{Edit, Session};
use procedure::{Choices, Procedure, archive, link};
use serde_json::{Value, json};

fn session() -> Session {
    let mut session = Session::default();
    for log in
        [specimen::ten_days(specimen::DEFAULT_SEED), specimen::turning(specimen::DEFAULT_SEED)]
    {
        session.open(&log.name, &log.bytes, &Choices::default()).unwrap();
    }
    session
}

fn written() -> Written {
    Written {
        title: "Storm or <car>?".to_owned(),
        names: "Group & Co".to_owned(),
        answers: vec![
            ("What did you find?".to_owned(), "A \"dip\" at noon.\n</pre><script>".to_owned()),
            ("What is not certain?".to_owned(), String::new()),
        ],
    }
}

#[test]
fn a_link_carries_the_procedure_and_little_else() {
    let mut session = session();
    session
        .edit(Edit::Set { step: 3, param: "threshold".into(), value: "4".into(), live: false })
        .unwrap_or_default();
    let view = json!({ "demo": ["ten-days", "turning"], "step": "spectrum" });
    let text = link::write(&handin::link_content(&session, &view));
    assert!(text.len() <= 400, "{} characters: {text}", text.len());
    let content = link::read(&text).unwrap();
    assert_eq!(content["demo"], view["demo"]);
    assert_eq!(content["step"], "spectrum");
    let back = Procedure::from_json(&content).unwrap();
    assert!(back == *session.procedure());
    // Names of logs may name people.
    assert!(!content.to_string().contains("tern-skerry"));
}

#[test]
fn a_link_of_every_step_stays_short() {
    let mut session = session();
    for step in procedure::ALL {
        let _ = session.edit(Edit::Add { id: step.id.to_owned() });
    }
    let text = link::write(&handin::link_content(&session, &json!({})));
    assert!(text.len() <= 2_000, "{} characters", text.len());
}

#[test]
fn a_hand_in_says_everything_and_is_taken_up_again() {
    let mut session = session();
    let html = handin::html(&mut session, &written());
    assert!(html.len() <= 5_000_000, "{} bytes", html.len());
    for unwanted in ["<script", "<link", "<img", "src=", "href=", "@import", "url("] {
        assert!(!html.contains(unwanted), "{unwanted}");
    }
    let parts = [
        "The logs",
        "Methods",
        "Figures",
        "Results",
        "Rows that were rejected",
        "Samples that were marked",
        "Answers",
        "Warnings",
        "The procedure",
    ];
    let places: Vec<usize> =
        parts.iter().map(|part| html.find(&format!("<h2>{part}</h2>")).unwrap()).collect();
    assert!(places.is_sorted(), "{places:?}");
    assert!(html.contains("Storm or &lt;car&gt;?"));
    let plain = html
        .replace("&quot;", "\"")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&amp;", "&");
    for paragraph in session.methods().split("\n\n") {
        assert!(plain.contains(paragraph), "{paragraph}");
    }
    for input in &session.inputs().files {
        assert!(html.contains(&input.reading.report.sha256));
    }
    let work = handin::read(&html).unwrap();
    assert!(Procedure::from_json(&work).unwrap() == *session.procedure());
    assert_eq!(Written::from_json(&work["written"]), written());
    assert_eq!(work["logs"][0]["name"], session.inputs().files[0].name());
}

#[test]
fn the_ranges_of_columns_say_no_more_than_their_steps() {
    let html = handin::html(&mut session(), &written());
    assert!(html.contains("<td>16,160 to 24,307 nT</td>"), "steps of 13 nT");
    assert!(!html.contains("no numbers"), "times have no range");
}

#[test]
fn another_html_file_is_refused_in_words() {
    for text in ["", "<p>hello</p>", "<pre id=\"work\">{</pre>", "<pre id=\"work\">{}"] {
        assert_eq!(handin::read(text).unwrap_err().code, "handin/none", "{text}");
    }
    let newer = "<pre id=\"work\">{&quot;schema&quot;:99,&quot;steps&quot;:[]}</pre>";
    assert_eq!(handin::read(newer).unwrap_err().code, "procedure/newer");
}

#[test]
fn the_archive_holds_what_replay_writes_and_the_hand_in() {
    let mut session = session();
    let files = archive::files(&mut session, &written());
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    for wanted in ["hand-in.html", "methods.txt", "procedure.json", "report.json", "processed.csv"]
    {
        assert!(names.contains(&wanted), "{wanted} in {names:?}");
    }
    assert!(names.iter().any(|name| name.ends_with(".svg")));
    let procedure = &files.iter().find(|(name, _)| name == "procedure.json").unwrap().1;
    let json: Value = serde_json::from_slice(procedure).unwrap();
    assert!(Procedure::from_json(&json).unwrap() == *session.procedure());
}

const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/kept");

/// The rows of the table of results, as HTML.
fn rows_of(html: &str) -> Vec<&str> {
    let (_, after) = html.split_once("<h2>Results</h2>").unwrap();
    let (table, _) = after.split_once("</table>").unwrap();
    table.lines().filter(|line| line.starts_with("<tr><th")).collect()
}

#[test]
fn a_hand_in_and_a_link_of_an_earlier_version_open_to_the_same_numbers() {
    let version = "0.1.0";
    let html = std::fs::read_to_string(format!("{KEPT}/hand-in-{version}.html")).unwrap();
    let link = std::fs::read_to_string(format!("{KEPT}/link-{version}.txt")).unwrap();
    let work = handin::read(&html).unwrap();
    let procedure = Procedure::from_json(&work).unwrap();
    let linked = Procedure::from_json(&link::read(link.trim()).unwrap()).unwrap();
    assert!(linked == procedure, "the link holds the procedure of the hand-in");
    let mut session = session();
    session.set_procedure(procedure);
    let again = handin::html(&mut session, &Written::from_json(&work["written"]));
    assert_eq!(rows_of(&again), rows_of(&html));
    assert!(rows_of(&html).len() > 20);
}
