//! The hand-in: one HTML file without scripts that says everything, and from
//! which the work can be taken up again.
//!
//! The order of its parts is fixed, so that a teacher with many of them finds
//! each thing at its place.  All text is escaped: a column's name or a student's
//! answer is never markup.  The last part is the work itself as JSON text,
//! which [`read`] takes out again.

mod parts;

use crate::export;
use crate::inputs::Use;
use crate::link;
use crate::session::Session;
use crate::{Procedure, VERSION};
use record::{Fault, say, words::word};
use serde_json::{Value as Json, json};

/// What the student wrote, apart from the procedure.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Written {
    /// The title; empty for one made from the log's name.
    pub title: String,
    /// Who hands it in; empty when not said.
    pub names: String,
    /// Questions and their answers, in order.
    pub answers: Vec<(String, String)>,
}

/// Where the work begins and ends in the file.
const BEGIN: &str = "<pre id=\"work\">";
const END: &str = "</pre>";

/// The most bytes of a hand-in that is read back.
const MOST_BYTES: usize = 32 << 20;

impl Written {
    /// From JSON: `{"title", "names", "answers": [[question, answer], …]}`.  What
    /// is missing is empty.
    pub fn from_json(json: &Json) -> Self {
        let text = |json: &Json| json.as_str().unwrap_or("").to_owned();
        let answers = json["answers"].as_array().into_iter().flatten();
        Self {
            title: text(&json["title"]),
            names: text(&json["names"]),
            answers: answers.map(|pair| (text(&pair[0]), text(&pair[1]))).collect(),
        }
    }

    /// The same form as [`Written::from_json`] reads.
    pub fn to_json(&self) -> Json {
        json!({ "title": self.title, "names": self.names, "answers": self.answers })
    }
}

/// The hand-in of a finished session.
pub fn html(session: &mut Session, written: &Written) -> String {
    session.finish();
    let log =
        session.inputs().used(Use::Log).map_or(word("the log"), |input| input.name()).to_owned();
    let title = if written.title.trim().is_empty() {
        say!("Report on {log}")
    } else {
        written.title.clone()
    };
    let mut out = parts::Page::begin(&title);
    parts::head(&mut out, session, written, &title);
    parts::logs(&mut out, session);
    parts::methods(&mut out, session);
    parts::figures(&mut out, session);
    parts::results(&mut out, session);
    parts::rejected(&mut out, session);
    parts::marks(&mut out, session);
    parts::answers(&mut out, written);
    parts::warnings(&mut out, session);
    out.element("h2", word("The procedure"));
    out.small(word(
        "Dropping this file on Lodelog’s page brings the work back; it then asks for the log named above.",
    ));
    out.raw(BEGIN);
    out.text(&crate::json::text(&work(session, written)));
    out.raw(END);
    out.raw(&format!("\n<footer><p>{}</p>\n", parts::escaped(word(parts::CAUTION))));
    let line = export::provenance(session.inputs(), session.procedure());
    out.raw(&format!("<p>{}</p></footer>\n", parts::escaped(&line)));
    out.end()
}

// Everything it takes to go on: the procedure, which logs, how they were
// read, what was written.
fn work(session: &Session, written: &Written) -> Json {
    let mut work = session.procedure().to_json();
    work["version"] = json!(VERSION);
    work["logs"] = logs(session);
    work["written"] = written.to_json();
    work
}

/// Name, use, SHA-256 and changed decisions of each log, for work that is
/// taken up again.
pub fn logs(session: &Session) -> Json {
    let each = session.inputs().files.iter().map(|input| {
        let choices: serde_json::Map<String, Json> =
            input.choices.set.iter().map(|(id, chosen)| (id.clone(), json!(chosen))).collect();
        json!({
            "name": input.name(), "use": input.used.id(),
            "sha256": input.reading.report.sha256, "choices": choices,
        })
    });
    Json::Array(each.collect())
}

/// The link's content for a session: its brief procedure and how its logs were
/// read.  Names of logs stay out, as they may name people; their hashes' first
/// letters tell whether the right log is opened.
pub fn link_content(session: &Session, view: &Json) -> Json {
    let mut content = link::brief(session.procedure());
    let each = session.inputs().files.iter().map(|input| {
        let sha: String = input.reading.report.sha256.chars().take(12).collect();
        let choices: serde_json::Map<String, Json> =
            input.choices.set.iter().map(|(id, chosen)| (id.clone(), json!(chosen))).collect();
        if choices.is_empty() { json!(sha) } else { json!([sha, choices]) }
    });
    let logs: Vec<Json> = each.collect();
    // The invented logs are known by their names, unless they were read in
    // another way than proposed.
    if view.get("demo").is_none() || logs.iter().any(Json::is_array) {
        content["logs"] = Json::Array(logs);
    }
    if let Some(view) = view.as_object() {
        for (key, value) in view {
            content[key.as_str()] = value.clone();
        }
    }
    content
}

/// The work inside a hand-in: a procedure file that also holds `logs` and
/// `written`.
///
/// # Errors
///
/// `handin/none` when the text holds none, and the procedure's own faults.
pub fn read(html: &str) -> Result<Json, Fault> {
    let none = || {
        Fault::new(
            "handin/none",
            "This HTML file holds no work of Lodelog.",
            "Drop a hand-in that was saved here, a procedure file, or a log.",
        )
    };
    if html.len() > MOST_BYTES {
        return Err(none());
    }
    let (_, after) = html.split_once(BEGIN).ok_or_else(none)?;
    let (inner, _) = after.split_once(END).ok_or_else(none)?;
    let plain = parts::unescaped(inner);
    let work: Json = serde_json::from_str(&plain).map_err(|_| none())?;
    Procedure::from_json(&work)?;
    Ok(work)
}
