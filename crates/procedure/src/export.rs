//! What leaves the tool as text: the processed record, tables, the methods
//! paragraph, provenance.

use crate::VERSION;
use crate::engine::Done;
use crate::inputs::{Inputs, Use};
use crate::outcome::Table;
use crate::procedure::Procedure;
use crate::session::Session;
use intake::{ColumnReport, Report};
use record::{
    Instant, Record, print, say,
    words::{word, worded},
};
use std::fmt::Write;

/// One line that says what a figure or file was made from: log, hash of the
/// log, hash of the procedure, version.
pub(crate) fn provenance(inputs: &Inputs, procedure: &Procedure) -> String {
    let log = inputs.used(Use::Log);
    let name = log.map_or(word("no log"), |input| input.name());
    let hash = log.map_or("", |input| input.reading.report.sha256.as_str());
    let short: String = hash.chars().take(8).collect();
    say!("{name}, SHA-256 {short}…, procedure {}, Lodelog {VERSION}", fingerprint(procedure))
}

/// The first eight hexadecimal digits of a 64-bit FNV-1a hash of the
/// procedure's file: enough to tell two procedures apart.
pub(crate) fn fingerprint(procedure: &Procedure) -> String {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    for byte in crate::json::text(&procedure.to_json()).bytes() {
        hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
    }
    format!("{:08x}", hash >> 32)
}

/// A record as CSV: a `#` block of provenance, one header row with units,
/// ISO 8601 times, values to full precision, marks as words.
pub(crate) fn record_csv(record: &Record, inputs: &Inputs, procedure: &Procedure) -> String {
    let mut out = String::with_capacity(record.len() * 64);
    let _ = write!(out, "# {}\r\n# times are UTC\r\ntime", provenance(inputs, procedure));
    for channel in record.channels() {
        let _ = write!(out, ",{}", header(&channel.name, channel.unit.ascii()));
    }
    out.push_str(",marks\r\n");
    for (k, time) in record.times_ns().iter().enumerate() {
        out.push_str(&Instant(*time).iso());
        for channel in record.channels() {
            number(&mut out, channel.values[k]);
        }
        out.push(',');
        let bits = record.marks().bits()[k];
        let reasons = record::Reason::ALL.into_iter().filter(|r| bits & r.bit() != 0);
        out.push_str(&reasons.map(record::Reason::id).collect::<Vec<_>>().join(" "));
        out.push_str("\r\n");
    }
    out
}

/// A table as CSV, in the same form.
pub(crate) fn table_csv(table: &Table, inputs: &Inputs, procedure: &Procedure) -> String {
    let mut out = format!("# {}\r\n", provenance(inputs, procedure));
    let columns: Vec<String> = table.columns.iter().map(|c| quoted(c)).collect();
    out.push_str(&columns.join(","));
    out.push_str("\r\n");
    let rows =
        table.times_ns.as_ref().map_or_else(|| table.data.first().map_or(0, Vec::len), Vec::len);
    for k in 0..rows {
        if let Some(times) = &table.times_ns {
            out.push_str(&Instant(times[k]).iso());
        }
        for (place, column) in table.data.iter().enumerate() {
            if place == 0 && table.times_ns.is_none() {
                plain_number(&mut out, column[k]);
            } else {
                number(&mut out, column[k]);
            }
        }
        out.push_str("\r\n");
    }
    out
}

fn number(out: &mut String, value: f64) {
    out.push(',');
    plain_number(out, value);
}

// A missing value is an empty cell.
fn plain_number(out: &mut String, value: f64) {
    if value.is_finite() {
        let _ = write!(out, "{value}");
    }
}

fn header(name: &str, unit: &str) -> String {
    let text = if unit.is_empty() { name.to_owned() } else { format!("{name} ({unit})") };
    quoted(&text)
}

// Cells that a spreadsheet would take for a formula get an apostrophe.
fn quoted(text: &str) -> String {
    let text = text.replace(['\r', '\n'], " ");
    let safe = if text.starts_with(['=', '+', '-', '@']) { format!("'{text}") } else { text };
    if safe.contains([',', '"', ';']) { format!("\"{}\"", safe.replace('"', "\"\"")) } else { safe }
}

/// The methods as prose, one paragraph a stage: each sentence that acts,
/// followed by what came of it.
pub(crate) fn methods(session: &Session) -> String {
    let mut paragraphs: Vec<String> = Vec::new();
    let mut stage = None;
    for (place, choice) in session.procedure().steps.iter().enumerate().filter(|(_, c)| c.on) {
        let mut text = choice.prose(session.inputs());
        match session.done(place) {
            Some(Done::Ran(outcome)) if !outcome.remark.is_empty() => {
                let _ = write!(text, " ({})", outcome.remark.trim_end_matches('.'));
            }
            Some(Done::Refused(fault, _)) => {
                let _ =
                    text.write_str(&say!(" (Not done: {})", fault.message.trim_end_matches('.')));
            }
            _ => {}
        }
        if stage == Some(choice.step.stage)
            && let Some(last) = paragraphs.last_mut()
        {
            last.push(' ');
            last.push_str(&text);
        } else {
            stage = Some(choice.step.stage);
            paragraphs.push(text);
        }
    }
    paragraphs.join("\n\n")
}

/// What was read, as sentences.
pub(crate) fn reading_prose(report: &Report) -> Vec<String> {
    let mut out = vec![say!(
        "{} was read as {} in {}: {}, {} rejected.",
        report.name,
        form_said(report.format),
        encoding_said(report.encoding),
        print::counted(report.rows_read, "row", "rows"),
        print::count(report.rows_rejected),
    )];
    let time = &report.time;
    if let (Some(start), Some(end)) = (time.start, time.end) {
        out.push(say!(
            "From {}, one sample every {}{} (read as {}).",
            print::span(start, end),
            print::duration(time.cadence_s),
            jitter(time.jitter_s),
            time_kind(time.kind),
        ));
        out.push(time_faults(report));
    }
    out
}

fn form_said(format: &str) -> &str {
    match format {
        "csv" => word("values between commas (CSV)"),
        "tsv" => word("values between tabs"),
        "semicolon" => word("values between semicolons"),
        "space" => word("values between blanks"),
        "pipe" => word("values between bars"),
        "labelled" => word("values behind their labels"),
        "sentences" => word("checked sentences, as receivers write them"),
        "json" => "JSON",
        "jsonl" => word("JSON, a row on each line"),
        "iaga-2002" => word("an observatory's file (IAGA-2002)"),
        other => other,
    }
}

fn encoding_said(encoding: &str) -> &str {
    match encoding {
        "utf-8" | "utf-8 with mark" => "UTF-8",
        "utf-16le" | "utf-16be" => "UTF-16",
        "latin-1" => "Latin-1",
        other => other,
    }
}

fn jitter(seconds: f64) -> String {
    if seconds > 0.0 { say!(", give or take {}", print::duration(seconds)) } else { String::new() }
}

fn time_kind(kind: &str) -> &str {
    match kind {
        "iso8601" => word("ISO 8601 dates and times"),
        "epoch" => word("seconds since 1970"),
        "uptime" => word("time since the logger started"),
        "date+time" => word("date and time in columns of their own"),
        "serial" => word("a spreadsheet's day numbers"),
        "none" => word("a steady cadence, since the file holds no times"),
        other => other,
    }
}

fn time_faults(report: &Report) -> String {
    let time = &report.time;
    let mut found = Vec::new();
    if time.gaps > 0 {
        let gaps = print::counted(time.gaps, "gap", "gaps");
        found.push(say!("{gaps}, the longest {}", print::duration(time.longest_gap_s)));
    }
    if time.duplicates > 0 {
        found.push(print::counted(time.duplicates, word("repeated time"), word("repeated times")));
    }
    if time.backward > 0 {
        found.push(print::counted(
            time.backward,
            word("step back in time"),
            word("steps back in time"),
        ));
    }
    if time.restarts > 0 {
        found.push(print::counted(time.restarts, "restart", "restarts"));
    }
    if time.reversed {
        found.push(worded("the newest row stood first, so the order was turned round"));
    }
    if found.is_empty() {
        worded("No gaps, no repeated times, no steps back.")
    } else {
        say!("Found: {}.", found.join("; "))
    }
}

/// The step between neighbouring values of a column, when they stand on levels.
pub(crate) fn step_text(column: &ColumnReport) -> String {
    column.quantum.map_or_else(
        || worded("none seen"),
        |step| print::with_unit(&print::trimmed(step, 3), column.unit),
    )
}

/// Smallest to largest value of a column, with unit.
pub(crate) fn range_text(column: &ColumnReport) -> String {
    if !(column.minimum.is_finite() && column.maximum.is_finite()) {
        return worded("no numbers");
    }
    let shown = |v| print::to_place(v, column.quantum.unwrap_or(0.0));
    let (low, high) = (shown(column.minimum), shown(column.maximum));
    print::with_unit(&say!("{low} to {high}"), column.unit)
}
