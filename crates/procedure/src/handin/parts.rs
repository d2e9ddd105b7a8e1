//! The parts of the hand-in, each written from the session.

use super::Written;
use crate::VERSION;
use crate::engine::Done;
use crate::export;
use crate::outcome::Outcome;
use crate::replay::{self, FIGURE_MM};
use crate::session::Session;
use figure::{Frame, Palette, View, svg};
use record::{
    Reason, print, say,
    words::{self, word},
};
use std::fmt::Write;

/// What a hand-in must not be used for.
pub(super) const CAUTION: &str = "Not for navigation or safety decisions. Declination and heading from a classroom sensor defer to official charts and to licensed practice.";

const STYLE: &str = include_str!("handin.css");

/// HTML on its way.
pub(super) struct Page(String);

impl Page {
    pub(super) fn begin(title: &str) -> Self {
        let mut page = Self(String::with_capacity(1 << 18));
        page.raw(&format!(
            "<!doctype html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n",
            words::language()
        ));
        page.raw("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
        page.raw(&format!("<meta name=\"generator\" content=\"Lodelog {VERSION}\">\n<title>"));
        page.text(title);
        page.raw(&format!("</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n"));
        page
    }

    pub(super) fn end(mut self) -> String {
        self.raw("</body>\n</html>\n");
        self.0
    }

    pub(super) fn raw(&mut self, html: &str) {
        self.0.push_str(html);
    }

    pub(super) fn text(&mut self, text: &str) {
        self.0.push_str(&escaped(text));
    }

    pub(super) fn element(&mut self, tag: &str, text: &str) {
        let _ = writeln!(self.0, "<{tag}>{}</{tag}>", escaped(text));
    }

    fn row(&mut self, first: &str, others: &[&str]) {
        let _ = write!(self.0, "<tr><th scope=\"row\">{}</th>", escaped(first));
        for other in others {
            let _ = write!(self.0, "<td>{}</td>", escaped(other));
        }
        self.0.push_str("</tr>\n");
    }

    /// A paragraph in small print.
    pub(super) fn small(&mut self, text: &str) {
        let _ = writeln!(self.0, "<p class=\"small\">{}</p>", escaped(text));
    }

    fn table(&mut self, heads: &[&str]) {
        self.0.push_str("<table>\n<thead><tr>");
        for head in heads {
            let _ = write!(self.0, "<th scope=\"col\">{}</th>", escaped(word(head)));
        }
        self.0.push_str("</tr></thead>\n<tbody>\n");
    }

    fn table_end(&mut self) {
        self.0.push_str("</tbody>\n</table>\n");
    }
}

/// Text as HTML shows it.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            _ => out.push(c),
        }
    }
    out
}

/// The text that [`escaped`] was given.
pub(super) fn unescaped(html: &str) -> String {
    let plain = html.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"");
    plain.replace("&amp;", "&")
}

pub(super) fn head(out: &mut Page, session: &Session, written: &Written, title: &str) {
    out.element("h1", title);
    if !written.names.trim().is_empty() {
        out.element("p", &written.names);
    }
    for input in &session.inputs().files {
        let report = &input.reading.report;
        let line = format!("{}: SHA-256 {}", report.name, report.sha256);
        out.raw(&format!("<p class=\"hash\">{}</p>\n", escaped(&line)));
    }
    let mark = export::fingerprint(session.procedure());
    let line = say!("Procedure {mark}, Lodelog {VERSION}");
    out.raw(&format!("<p class=\"hash\">{}</p>\n", escaped(&line)));
}

pub(super) fn logs(out: &mut Page, session: &Session) {
    out.element("h2", word("The logs"));
    for input in &session.inputs().files {
        let report = &input.reading.report;
        out.element("h3", &report.name);
        for sentence in export::reading_prose(report) {
            out.element("p", &sentence);
        }
        out.raw("<ul>\n");
        for decision in &report.decisions {
            let why = match decision.evidence.as_str() {
                "" => String::new(),
                evidence => format!(" ({evidence})"),
            };
            out.element("li", &format!("{}{why}", decision.sentence));
        }
        out.raw("</ul>\n");
        out.table(&["Column", word("Read as"), "Unit", "Values", "Missing", "Range"]);
        for column in &report.columns {
            let (values, missing) = (print::count(column.values), print::count(column.missing));
            let time = column.role_id == "time";
            let range = if time { String::new() } else { export::range_text(column) };
            let cells = [word(&column.role_id), column.unit.symbol(), &*values, &*missing, &*range];
            out.row(&column.name, &cells);
        }
        out.table_end();
    }
}

pub(super) fn methods(out: &mut Page, session: &Session) {
    out.element("h2", word("Methods"));
    for paragraph in session.methods().split("\n\n") {
        out.element("p", paragraph);
    }
}

pub(super) fn figures(out: &mut Page, session: &mut Session) {
    let wanted = replay::figures_of(session);
    if wanted.is_empty() {
        return;
    }
    out.element("h2", word("Figures"));
    let mut number = 0_usize;
    for (place, _, name) in wanted {
        let frame = Frame::print(FIGURE_MM.0, FIGURE_MM.1);
        let Ok(mut plan) = session.plan(place, name, &frame, &View::default()) else { continue };
        number += 1;
        // Names of parts are said once in a document.
        plan.name = format!("figure-{number}-{}", plan.name);
        out.raw("<figure>\n");
        out.raw(&svg::svg(&plan, &Palette::print(), FIGURE_MM.0, FIGURE_MM.1));
        let caption = say!("Figure {number}. {} {}", plan.caption, plan.summary);
        out.element("figcaption", caption.trim());
        out.raw("</figure>\n");
    }
}

fn outcomes(session: &Session) -> impl Iterator<Item = (&'static str, &Outcome)> {
    let steps = session.procedure().steps.iter().enumerate();
    steps.filter_map(|(place, choice)| match session.done(place) {
        Some(Done::Ran(outcome)) => Some((word(choice.step.title), &**outcome)),
        _ => None,
    })
}

pub(super) fn results(out: &mut Page, session: &Session) {
    out.element("h2", word("Results"));
    out.table(&["What", "Result", "Step"]);
    for (title, outcome) in outcomes(session) {
        for line in &outcome.lines {
            out.row(&line.label, &[&line.text, title]);
        }
    }
    out.table_end();
    out.small(word("± is one standard uncertainty unless it says otherwise."));
}

pub(super) fn rejected(out: &mut Page, session: &Session) {
    out.element("h2", word("Rows that were rejected"));
    let mut any = false;
    for input in &session.inputs().files {
        let report = &input.reading.report;
        if report.rows_rejected == 0 {
            continue;
        }
        any = true;
        let n = print::counted(report.rows_rejected, "row", "rows");
        out.element("p", &say!("{}: {n} rejected.", report.name));
        out.table(&["Line", "Why", word("What stood there")]);
        for row in report.rejected.iter().take(50) {
            out.row(&row.line.to_string(), &[&row.reason, &row.text]);
        }
        out.table_end();
    }
    if !any {
        out.element("p", word("None."));
    }
}

pub(super) fn marks(out: &mut Page, session: &Session) {
    out.element("h2", word("Samples that were marked"));
    let counts = replay::marks(session);
    let held = Reason::ALL.into_iter().filter_map(|r| Some((r, counts[r.id()].as_u64()?)));
    let held: Vec<(Reason, u64)> = held.collect();
    if held.is_empty() {
        out.element("p", word("None."));
        return;
    }
    out.element("p", word("A marked sample is kept in the record and left out of computations, except one that was filled."));
    out.table(&["Reason", "Samples"]);
    for (reason, n) in held {
        out.row(reason.label(), &[&print::count(usize::try_from(n).unwrap_or(usize::MAX))]);
    }
    out.table_end();
}

pub(super) fn answers(out: &mut Page, written: &Written) {
    let given: Vec<_> = written.answers.iter().filter(|(_, a)| !a.trim().is_empty()).collect();
    if given.is_empty() {
        return;
    }
    out.element("h2", word("Answers"));
    for (question, answer) in given {
        out.element("h3", question);
        out.raw(&format!("<p class=\"answer\">{}</p>\n", escaped(answer)));
    }
}

pub(super) fn warnings(out: &mut Page, session: &Session) {
    let read = session
        .inputs()
        .files
        .iter()
        .flat_map(|input| input.reading.report.warnings.iter().map(|w| (input.name(), w)));
    let found = outcomes(session).flat_map(|(title, o)| o.warnings.iter().map(move |w| (title, w)));
    let all: Vec<_> = read.chain(found).collect();
    out.element("h2", word("Warnings"));
    if all.is_empty() {
        out.element("p", word("None."));
        return;
    }
    out.raw("<ul>\n");
    for (title, warning) in all {
        let place =
            if warning.place.is_empty() { String::new() } else { format!(" ({})", warning.place) };
        out.element("li", &format!("{title}: {}{place} {}", warning.message, warning.remedy));
    }
    out.raw("</ul>\n");
}
