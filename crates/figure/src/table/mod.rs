//! What a figure draws, as numbers: a file for other programs, a table for
//! readers.

mod columns;
mod spreadsheet;

use crate::model::{Axis, Layer, Plan, Scale};
use crate::writing;
pub(crate) use columns::middle;
use columns::{Column, Point, Row};
use record::{print, say};
pub use spreadsheet::spreadsheet;

/// A table for the page.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// What it holds, and how much of it is shown.
    pub caption: String,
    /// Heads of the columns, with units.
    pub columns: Vec<String>,
    /// Cells, as they are printed; empty where there is no value.
    pub rows: Vec<Vec<String>>,
}

/// What a figure draws, as CSV.
///
/// A block of `#` lines says where it comes from; one header row names each
/// column with its unit in ASCII; numbers have all the digits needed to read
/// them back exactly; times are ISO 8601 in UTC; lines end in CRLF.  A figure
/// whose panels share a rising x axis has a column for each line, empty where
/// that line has no point; any other has a row for each point.  Only what lies
/// inside the frame along x is written.
pub fn csv(plan: &Plan) -> String {
    let mut out = provenance(plan);
    let columns = columns::of(plan);
    if columns::side_by_side(plan, &columns) {
        wide(plan, &columns, &mut out);
    } else {
        long(plan, &columns, &mut out);
    }
    out
}

/// What a figure draws, as a table of at most `max` rows spread evenly over it.
pub fn rows(plan: &Plan, max: usize) -> Table {
    let columns = columns::of(plan);
    if columns::side_by_side(plan, &columns) {
        wide_rows(plan, &columns, max)
    } else {
        long_rows(plan, &columns, max)
    }
}

fn provenance(plan: &Plan) -> String {
    let mut out = String::new();
    let mut say = |text: &str| {
        for line in text.lines().filter(|line| !line.trim().is_empty()) {
            out.push_str(&format!("# {line}\r\n"));
        }
    };
    say(&format!("figure: {}", plan.name));
    say(&plan.caption);
    say(&plan.provenance);
    for panel in &plan.panels {
        for layer in &panel.layers {
            if let Some(text) = remark(&panel.x, &panel.y, layer) {
                say(&format!("{}: {text}", panel.name));
            }
        }
    }
    out
}

/// What is drawn besides data.
fn remark(x: &Axis, y: &Axis, layer: &Layer) -> Option<String> {
    match layer {
        Layer::Span(span) => {
            Some(say!("{} from {} to {}", span.name, exact(x, span.x0), exact(x, span.x1)))
        }
        Layer::Rule(rule) if !rule.name.is_empty() => {
            let axis = if rule.upright { x } else { y };
            Some(format!("{} at {} {}", rule.name, exact(axis, rule.at), axis.unit_ascii))
        }
        Layer::Whiskers(whiskers) if !whiskers.data => {
            let (lo, hi) = (whiskers.lo.first()?, whiskers.hi.first()?);
            let (lo, hi) = (exact(y, *lo), exact(y, *hi));
            Some(say!("{} from {lo} to {hi} {}", whiskers.name, y.unit_ascii))
        }
        _ => None,
    }
}

fn wide(plan: &Plan, columns: &[Column<'_>], out: &mut String) {
    let Some(x) = plan.panels.first().map(|panel| &panel.x) else { return };
    let mut head = vec![headed(&x.quantity, &x.unit_ascii)];
    head.extend(columns.iter().map(|c| headed(&c.name, &c.y.unit_ascii)));
    line(out, head);
    for row in columns::merged(columns) {
        let mut cells = vec![exact(x, row.x)];
        let value = |v: &Option<f64>| v.map_or(String::new(), number);
        cells.extend(row.values.iter().map(value));
        line(out, cells);
    }
}

fn long(plan: &Plan, columns: &[Column<'_>], out: &mut String) {
    let levels = columns.iter().any(|c| c.level.is_some());
    let head = ["panel", "series", "x", "x_unit", "y", "y_unit", "value", "value_unit"];
    line(out, head[..if levels { 8 } else { 6 }].iter().map(|s| (*s).to_owned()));
    for column in columns {
        for point in column.points() {
            let mut cells = vec![
                plan.panels[column.panel].name.clone(),
                column.name.clone(),
                exact(column.x, point.x),
                column.x.unit_ascii.clone(),
                exact(column.y, point.y),
                column.y.unit_ascii.clone(),
            ];
            if levels {
                cells.push(point.level.map_or(String::new(), number));
                cells.push(column.level.map_or(String::new(), |unit| unit.1.to_owned()));
            }
            line(out, cells);
        }
    }
}

fn wide_rows(plan: &Plan, columns: &[Column<'_>], max: usize) -> Table {
    let Some(x) = plan.panels.first().map(|panel| &panel.x) else { return Table::default() };
    let all = columns::merged(columns);
    let mut head = vec![written_head(&x.quantity, &x.unit)];
    head.extend(columns.iter().map(|c| written_head(&c.name, &c.y.unit)));
    let shown = |row: &Row| {
        let mut cells = vec![read(plan, x, row.x, true)];
        let value = |(v, c): (&Option<f64>, &Column<'_>)| {
            v.map_or(String::new(), |v| read(plan, c.y, v, false))
        };
        cells.extend(row.values.iter().zip(columns).map(value));
        cells
    };
    let rows: Vec<Vec<String>> = spread(all.len(), max).map(|k| shown(&all[k])).collect();
    Table { caption: caption(plan, rows.len(), all.len()), columns: head, rows }
}

fn long_rows(plan: &Plan, columns: &[Column<'_>], max: usize) -> Table {
    let levels = columns.iter().any(|c| c.level.is_some());
    let all: Vec<(&Column<'_>, Point)> =
        columns.iter().flat_map(|c| c.points().map(move |point| (c, point))).collect();
    let cells = |(c, point): &(&Column<'_>, Point)| {
        let with = |axis: &Axis, text: String| writing::with_symbol(&text, &axis.unit);
        let mut cells = vec![
            plan.panels[c.panel].name.clone(),
            c.name.clone(),
            with(c.x, read(plan, c.x, point.x, true)),
            with(c.y, read(plan, c.y, point.y, false)),
        ];
        if levels {
            let unit = c.level.map_or("", |unit| unit.0);
            let text = |v| writing::with_symbol(&print::trimmed(v, 5), unit);
            cells.push(point.level.map_or(String::new(), text));
        }
        cells
    };
    let rows: Vec<Vec<String>> = spread(all.len(), max).map(|k| cells(&all[k])).collect();
    let head = ["panel", "series", "x", "y", "value"];
    let columns = head[..if levels { 5 } else { 4 }].iter().map(|s| (*s).to_owned()).collect();
    Table { caption: caption(plan, rows.len(), all.len()), columns, rows }
}

fn caption(plan: &Plan, shown: usize, all: usize) -> String {
    if shown == all {
        return format!("{}: {}.", plan.name, print::counted(all, "row", "rows"));
    }
    let all = print::count(all);
    say!("{}: {shown} of {all} rows, evenly spread; the CSV has all {all}.", plan.name)
}

/// At most `max` places of `len`, evenly spread, first and last among them.
fn spread(len: usize, max: usize) -> impl Iterator<Item = usize> {
    let n = len.min(max);
    let last = (len as u64).saturating_sub(1);
    (0..n as u64).map(move |k| if n < 2 { 0 } else { (k * last / (n as u64 - 1)) as usize })
}

/// A number of an axis with the digits a pixel can show.
fn read(plan: &Plan, axis: &Axis, value: f64, along: bool) -> String {
    let rect = plan.panels.first().map(|panel| panel.rect);
    let length = rect.map_or(1.0, |r| if along { r.width } else { r.height });
    crate::readout::written(axis, value, length)
}

/// A number of an axis, exactly: an ISO time on a time axis.
fn exact(axis: &Axis, value: f64) -> String {
    match axis.scale {
        Scale::Time { .. } => axis.instant(value).map_or(String::new(), |at| at.iso()),
        Scale::Linear | Scale::Log10 => number(value),
    }
}

/// The shortest digits that read back as the same number.
fn number(value: f64) -> String {
    let text = format!("{value:?}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

fn headed(name: &str, unit: &str) -> String {
    if unit.is_empty() { name.to_owned() } else { format!("{name} ({unit})") }
}

fn written_head(name: &str, unit: &str) -> String {
    if unit.is_empty() { name.to_owned() } else { format!("{name} / {unit}") }
}

fn line(out: &mut String, cells: impl IntoIterator<Item = String>) {
    for (place, cell) in cells.into_iter().enumerate() {
        if place > 0 {
            out.push(',');
        }
        if cell.contains([',', '"', '\n', '\r']) {
            out.push_str(&format!("\"{}\"", cell.replace('"', "\"\"")));
        } else {
            out.push_str(&cell);
        }
    }
    out.push_str("\r\n");
}
