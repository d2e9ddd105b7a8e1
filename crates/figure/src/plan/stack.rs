//! Traces one above the other over a common axis: days with their noons in line, or rows of 27
//! days of the Sun's turning.
//!
//! Rows go down, and on into a second column where one is full.  Each is named at its left;
//! weight and dashes tell what kind of row it is, and its name repeats it.

use super::common::{LINE_PX, data_line, say};
use super::curves::{Curve, Look, thinned};
use crate::layout::axes::{Kind, Ready, Spec};
use crate::layout::key::{self, Entry};
use crate::layout::range;
use crate::layout::sheet::{ABOVE, BELOW, GAP, Sheet, TITLE_RISE};
use crate::layout::stack::crisp;
use crate::metrics::{run_width_px, text_width_px};
use crate::model::{Anchor, Colour, Dash, Duty, Layer, Line, Plan, Rect, Rule, Run, Scale, Tick};
use crate::request::{Frame, View, Words};
use crate::ticks::Room;
use crate::writing::{line, plain, quantity};
use record::{Unit, say, words::word};

/// What kind of row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// One of many: thin.
    Usual,
    /// Quiet: heavy.
    Quiet,
    /// Disturbed: dashed, in the accent's colour.
    Disturbed,
}

/// A row.
#[derive(Clone, Copy, Debug)]
pub struct Row<'a> {
    /// Its name, such as the date.
    pub name: &'a str,
    /// Along x, rising.
    pub x: &'a [f64],
    /// About the row's own level; NaN is a gap.
    pub y: &'a [f64],
    /// What kind of row.
    pub weight: Weight,
}

/// What a stack shows.
#[derive(Clone, Copy, Debug)]
pub struct Stack<'a> {
    /// What the traces are of.
    pub quantity: &'a str,
    /// Their unit.
    pub unit: Unit,
    /// How far the levels of neighbouring rows are apart, in that unit.
    pub apart: f64,
    /// The rows, downward.
    pub rows: &'a [Row<'a>],
    /// What is along x.
    pub along: (&'a str, Unit),
    /// Whether x is hours of the day.
    pub hours: bool,
    /// From and to along x.
    pub span: (f64, f64),
    /// What heavy and dashed rows are, for the key.
    pub key: &'a [(&'a str, Weight)],
}

/// A figure of rows.
pub fn stack(data: &Stack<'_>, frame: Frame, view: View, words: &Words) -> Plan {
    let mut sheet = Sheet::new(frame);
    let data = &sound(data);
    let layout = Layout::of(data, &sheet);
    let kind = if data.hours { Kind::Hours } else { Kind::Even };
    let span = view.x_span().unwrap_or(data.span);
    let along = Room { length_px: layout.width_px, font_px: sheet.em(), upright: false };
    let x = Spec::new(kind, span, data.along.0, data.along.1).ready(along);
    let columns = data.rows.len().div_ceil(layout.rows).max(1);
    for column in 0..columns {
        let from = column * layout.rows;
        let rows = &data.rows[from..data.rows.len().min(from + layout.rows)];
        one_column(&mut sheet, data, rows, &layout, column, &x, column + 1 == columns);
    }
    head(&mut sheet, data);
    sheet.finish(words)
}

/// The same with a distance and a span that can be laid out.
fn sound<'a>(data: &Stack<'a>) -> Stack<'a> {
    let apart = if data.apart > 0.0 { data.apart.clamp(1e-9, 1e9) } else { 1.0 };
    let whole = data.span.0 < data.span.1 && (data.span.1 - data.span.0).is_finite();
    Stack { apart, span: if whole { data.span } else { (0.0, 24.0) }, ..*data }
}

/// How the rows share the sheet.
struct Layout {
    /// Rows in a column.
    rows: usize,
    /// Named rows are at least so many apart.
    every: usize,
    /// From the first row's level to the upper edge and from the last one's to the lower, in
    /// the unit of the traces.
    air: (f64, f64),
    /// Room for the names.
    names_px: f64,
    width_px: f64,
    height_px: f64,
}

impl Layout {
    fn of(data: &Stack<'_>, sheet: &Sheet) -> Self {
        let em = sheet.em();
        let height_px = (sheet.frame.height_px - (ABOVE + BELOW) * em).max(2.0 * em);
        let widest = data.rows.iter().map(|row| text_width_px(row.name, em)).fold(0.0, f64::max);
        let names_px = (widest * 1.1 + (GAP + 0.5) * em).min(sheet.frame.width_px * 0.3);
        let whole = sheet.frame.width_px - 0.8 * em;
        let most = ((whole / (names_px + 4.0 * em)) as usize).max(1);
        let fit = ((height_px / (1.15 * em)) as usize).max(1);
        let columns = data.rows.len().div_ceil(fit).clamp(1, most);
        let rows = data.rows.len().div_ceil(columns).max(1);
        let every = (1.15 * em * rows as f64 / height_px).ceil().max(1.0) as usize;
        let width_px = (whole / columns as f64 - names_px).max(2.0 * em).floor();
        let air = air(data, rows);
        Self { rows, every, air, names_px, width_px, height_px: height_px.floor() }
    }

    /// Rows to be named: what is quiet or disturbed first, then as many as keep apart.
    fn named(&self, rows: &[Row<'_>]) -> Vec<usize> {
        let mut named: Vec<usize> = Vec::new();
        for usual in [false, true] {
            for row in (0..rows.len()).filter(|k| (rows[*k].weight == Weight::Usual) == usual) {
                if named.iter().all(|other| other.abs_diff(row) >= self.every) {
                    named.push(row);
                }
            }
        }
        named
    }
}

/// Room above the first and below the last row of a column, so that no trace leaves its frame.
fn air(data: &Stack<'_>, rows: usize) -> (f64, f64) {
    let (mut above, mut below) = (0.75 * data.apart, 0.75 * data.apart);
    for (k, row) in data.rows.iter().enumerate() {
        let (up, down) = ((k % rows) as f64, (rows - 1 - k % rows) as f64);
        let Some((lo, hi)) = range::of(row.y.iter().copied()) else { continue };
        above = above.max(1.05 * hi - up * data.apart);
        below = below.max(-1.05 * lo - down * data.apart);
    }
    let most = 8.0 * data.apart;
    (above.min(most), below.min(most))
}

fn one_column(
    sheet: &mut Sheet,
    data: &Stack<'_>,
    rows: &[Row<'_>],
    layout: &Layout,
    column: usize,
    x: &Ready,
    last: bool,
) {
    let left = column as f64 * (layout.names_px + layout.width_px) + layout.names_px;
    let (width, height) = (layout.width_px, layout.height_px);
    let rect = Rect { x: crisp(left), y: crisp(ABOVE * sheet.em()), width, height };
    let lift = |row: usize| (layout.rows - 1 - row) as f64 * data.apart;
    let span = (-layout.air.1, lift(0) + layout.air.0);
    let mut y = Spec::new(Kind::Even, span, data.quantity, data.unit)
        .ready(Room { length_px: rect.height, font_px: sheet.em(), upright: true })
        .axis;
    y.scale = Scale::Linear;
    y.minor.clear();
    y.title.clear();
    let named = layout.named(rows).into_iter();
    y.ticks = named.map(|row| Tick { at: lift(row), text: line(rows[row].name) }).collect();
    sheet.left(rect, &y, 0.0);
    let mut below = x.clone();
    if !last {
        below.axis.title.clear();
    }
    sheet.bottom(rect, &below);
    let lines = rows.iter().enumerate().map(|(k, row)| traced(data, row, lift(k), x, rect));
    let mut layers: Vec<Layer> = Vec::new();
    if layout.rows <= 12 {
        layers.extend((0..rows.len()).map(|row| level(lift(row))));
    }
    layers.extend(lines.map(Layer::Line));
    sheet.panel(data.quantity, rect, x.axis.clone(), y, layers);
    if rows.is_empty() {
        say(sheet, rect, word("Nothing to draw"));
    }
}

fn level(at: f64) -> Layer {
    let (colour, dash) = (Colour::Hairline, Dash::Solid);
    Layer::Rule(Rule { name: String::new(), at, upright: false, colour, dash })
}

fn traced(data: &Stack<'_>, row: &Row<'_>, lift: f64, x: &Ready, rect: Rect) -> Line {
    let curve = Curve { name: row.name, x: row.x, y: row.y, interval: None, look: Look::Line };
    let span = (x.axis.lo.max(data.span.0), x.axis.hi.min(data.span.1));
    let (xs, mut ys) = thinned(&curve, span, rect.width.ceil() as usize);
    ys.iter_mut().for_each(|y| *y += lift);
    let (colour, width_px, dash) = pen(row.weight);
    Line { width_px, dash, lift, ..data_line(row.name, colour, xs, ys) }
}

fn pen(weight: Weight) -> (Colour, f64, Dash) {
    match weight {
        Weight::Usual => (Colour::Soft, 0.8 * LINE_PX, Dash::Solid),
        Weight::Quiet => (Colour::Channel(0), 1.9 * LINE_PX, Dash::Solid),
        Weight::Disturbed => (Colour::Accent, LINE_PX, Dash::Dashed),
    }
}

/// Over all columns: what the rows are of and how far apart, and the key.
fn head(sheet: &mut Sheet, data: &Stack<'_>) {
    sheet.labels.retain(|label| !label.runs.is_empty());
    let (Some(first), Some(last)) = (sheet.panels.first(), sheet.panels.last()) else { return };
    let wide = Rect { width: last.rect.right() - first.rect.x, ..first.rect };
    let em = sheet.em();
    let apart = record::print::trimmed(data.apart, 3);
    let rest = plain(say!(", rows {apart} {} apart", data.unit.symbol()));
    let mut title = vec![quantity(data.quantity), rest];
    let room = sheet.frame.width_px - 0.4 * em;
    let width = |title: &[Run]| 1.1 * run_width_px(title, em);
    // A long one begins over the names of the rows.
    let key = data.key.iter().map(|(name, _)| 4.0 * em + 1.06 * text_width_px(name, em));
    let left = wide.x.min(room - width(&title) - key.sum::<f64>()).max(0.4 * em);
    if left + width(&title) > room {
        title.truncate(1);
    }
    let title_px = run_width_px(&title, em) + left - wide.x;
    let at = (left, wide.y - TITLE_RISE * em);
    sheet.write(title, at, Anchor::Start, Duty::Title);
    let entry = |(name, weight): &(&str, Weight)| {
        let (colour, width_px, dash) = pen(*weight);
        Entry { runs: line(*name), colour, dash, width_px, marker: None, line: true }
    };
    let entries: Vec<Entry> = data.key.iter().map(entry).collect();
    key::write(sheet, wide, title_px, &entries);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{readout, table};

    #[test]
    fn rows_are_drawn_apart_and_read_about_their_own_level() {
        let hours: Vec<f64> = (0..48).map(|k| 0.25 + 0.5 * f64::from(k)).collect();
        let (a, b) = (vec![3.0; 48], vec![-5.0; 48]);
        let row = |name, y, weight| Row { name, x: &hours[..], y, weight };
        let rows = [row("1 May", &a[..], Weight::Quiet), row("2 May", &b, Weight::Usual)];
        let data = Stack {
            quantity: "H",
            unit: Unit::Nanotesla,
            apart: 40.0,
            rows: &rows,
            along: ("local mean time", Unit::Hour),
            hours: true,
            span: (0.0, 24.0),
            key: &[("quiet day", Weight::Quiet)],
        };
        let frame = Frame { width_px: 400.0, height_px: 300.0, font_px: 12.0 };
        let plan = stack(&data, frame, View::ALL, &Words::default());
        let panel = &plan.panels[0];
        assert_eq!((panel.y.ticks[0].at, panel.y.ticks[1].at), (40.0, 0.0));
        let csv = table::csv(&plan);
        let body: Vec<&str> = csv.lines().filter(|l| !l.starts_with('#')).collect();
        assert_eq!(body[0], "local mean time (h),1 May (nT),2 May (nT)");
        assert_eq!(body[1], "0.25,3,-5");
        let place = (panel.x_px(12.25), panel.y_px(43.0));
        let read = readout::at(&plan, place.0, place.1).unwrap();
        assert!(read.text.starts_with("1 May") && read.text.contains("3.0 nT"), "{}", read.text);
        assert_eq!(read.values[0].y_data, 3.0);
    }
}
