//! What the page reads from the bytes of a plan: words, tables, places.
//!
//! Bytes of a plan go in; JSON text, SVG, CSV or bytes come out.  Lengths are
//! in CSS pixels of the plan; places along a time axis are seconds since 1970.

use crate::fault::{Answer, thrown};
use figure::readout::Readout;
use figure::{Outline, Palette, Panel, Plan, Scale};
use procedure::json;
use record::{Instant, NANOS_PER_SECOND, print, say};
use serde_json::json;
use wasm_bindgen::prelude::wasm_bindgen;

pub(crate) fn open(bytes: &[u8]) -> Answer<Plan> {
    figure::from_bytes(bytes).map_err(thrown)
}

/// The figure as an SVG of this size, in millimetres, for paper.
///
/// # Errors
///
/// `figure/plan` for bytes that hold no plan.
#[wasm_bindgen]
pub fn plan_svg(plan: &[u8], width_mm: f64, height_mm: f64) -> Answer<String> {
    Ok(figure::svg::svg(&open(plan)?, &Palette::print(), width_mm, height_mm))
}

/// What the figure draws, as CSV.
///
/// # Errors
///
/// `figure/plan` for bytes that hold no plan.
#[wasm_bindgen]
pub fn plan_csv(plan: &[u8]) -> Answer<String> {
    Ok(figure::table::csv(&open(plan)?))
}

/// A CSV file for a spreadsheet, with a decimal comma or point.
#[wasm_bindgen]
pub fn csv_for_spreadsheet(csv: &str, comma: bool) -> String {
    figure::table::spreadsheet(csv, comma)
}

/// What the figure draws, as a table of at most `max_rows`: JSON
/// `{caption, columns, rows}`.
///
/// # Errors
///
/// `figure/plan` for bytes that hold no plan.
#[wasm_bindgen]
pub fn plan_table(plan: &[u8], max_rows: u32) -> Answer<String> {
    let table = figure::table::rows(&open(plan)?, max_rows as usize);
    Ok(json::text(
        &json!({ "caption": table.caption, "columns": table.columns, "rows": table.rows }),
    ))
}

/// The words beside the figure: JSON `{name, caption, summary, provenance}`.
///
/// # Errors
///
/// `figure/plan` for bytes that hold no plan.
#[wasm_bindgen]
pub fn plan_words(plan: &[u8]) -> Answer<String> {
    let Plan { name, caption, summary, provenance, .. } = open(plan)?;
    Ok(json::text(&json!({
        "name": name, "caption": caption, "summary": summary, "provenance": provenance,
    })))
}

/// Where the axes stand: JSON `{left, right, top, bottom, scale, zooms}`, with
/// the scale of the horizontal axis and whether all panels share it.
///
/// # Errors
///
/// `figure/plan` for bytes that hold no plan.
#[wasm_bindgen]
pub fn plan_frame(plan: &[u8]) -> Answer<String> {
    Ok(frame(&open(plan)?))
}

fn frame(plan: &Plan) -> String {
    let framed: Vec<&Panel> = framed(plan).collect();
    let Some(first) = framed.first() else {
        return json::text(&json!({
            "left": 0.0, "right": plan.width_px, "top": 0.0, "bottom": plan.height_px,
            "scale": "linear", "zooms": false,
        }));
    };
    let scale = match first.x.scale {
        Scale::Time { .. } => "time",
        Scale::Log10 => "log",
        Scale::Linear => "linear",
    };
    json::text(&json!({
        "left": framed.iter().map(|p| p.rect.x).fold(f64::INFINITY, f64::min),
        "right": framed.iter().map(|p| p.rect.right()).fold(0.0, f64::max),
        "top": framed.iter().map(|p| p.rect.y).fold(f64::INFINITY, f64::min),
        "bottom": framed.iter().map(|p| p.rect.bottom()).fold(0.0, f64::max),
        "scale": scale,
        "zooms": framed.iter().all(|panel| together(panel, first)),
    }))
}

fn framed(plan: &Plan) -> impl Iterator<Item = &Panel> {
    plan.panels.iter().filter(|panel| panel.outline == Outline::Frame)
}

// Whether two panels stand one above the other with the same axis along x.
fn together(a: &Panel, b: &Panel) -> bool {
    (a.rect.x, a.rect.width, a.x.scale, a.x.lo, a.x.hi)
        == (b.rect.x, b.rect.width, b.x.scale, b.x.lo, b.x.hi)
}

/// What stands under a place on the sheet: JSON
/// `{text, panel, stop, x_data, x_px, top_px, bottom_px}`, or nothing.
///
/// # Errors
///
/// `figure/plan` for bytes that hold no plan.
#[wasm_bindgen]
pub fn readout(plan: &[u8], x_px: f64, y_px: f64) -> Answer<Option<String>> {
    let plan = open(plan)?;
    Ok(figure::readout::at(&plan, x_px, y_px).map(|found| told(&plan, &found)))
}

/// What stands at a panel's stop, counted from 0; as [`readout`].
///
/// # Errors
///
/// `figure/plan` for bytes that hold no plan.
#[wasm_bindgen]
pub fn readout_at_stop(plan: &[u8], panel: u32, stop: u32) -> Answer<Option<String>> {
    let plan = open(plan)?;
    let found = figure::readout::at_stop(&plan, panel as usize, stop as usize);
    Ok(found.map(|found| told(&plan, &found)))
}

/// How many stops a panel has.
///
/// # Errors
///
/// `figure/plan` for bytes that hold no plan.
#[wasm_bindgen]
pub fn stops(plan: &[u8], panel: u32) -> Answer<u32> {
    let count = figure::readout::count(&open(plan)?, panel as usize);
    Ok(u32::try_from(count).unwrap_or(u32::MAX))
}

/// The stop nearest to a place along x, in the axis' numbers.
///
/// # Errors
///
/// `figure/plan` for bytes that hold no plan.
#[wasm_bindgen]
pub fn stop_near(plan: &[u8], panel: u32, x_data: f64) -> Answer<u32> {
    let stop = figure::readout::stop_near(&open(plan)?, panel as usize, x_data);
    Ok(u32::try_from(stop).unwrap_or(u32::MAX))
}

// The line of the cursor runs through every panel that shares the axis.
fn told(plan: &Plan, found: &Readout) -> String {
    let own = &plan.panels[found.panel];
    let crossed = || plan.panels.iter().filter(|panel| together(panel, own));
    json::text(&json!({
        "text": found.text, "panel": found.panel, "stop": found.stop,
        "x_data": found.x_data, "x_px": found.x_px,
        "top_px": crossed().map(|p| p.rect.y).fold(f64::INFINITY, f64::min),
        "bottom_px": crossed().map(|p| p.rect.bottom()).fold(0.0, f64::max),
    }))
}

/// The numbers of the horizontal axis at two places across, beyond the frame
/// too; empty for a figure without axes.
///
/// # Errors
///
/// `figure/plan` for bytes that hold no plan.
#[wasm_bindgen]
pub fn data_span(plan: &[u8], x0_px: f64, x1_px: f64) -> Answer<Vec<f64>> {
    let plan = open(plan)?;
    let Some(panel) = framed(&plan).next() else { return Ok(Vec::new()) };
    Ok(vec![number_at(panel, x0_px), number_at(panel, x1_px)])
}

fn number_at(panel: &Panel, x_px: f64) -> f64 {
    panel.x.absolute(panel.x.value((x_px - panel.rect.x) / panel.rect.width))
}

/// The span of time between two places across: JSON `{text, value}`, as it is
/// read and as it is typed into a slot; nothing on any other axis.
///
/// # Errors
///
/// `figure/plan` for bytes that hold no plan.
#[wasm_bindgen]
pub fn span_words(plan: &[u8], x0_px: f64, x1_px: f64) -> Answer<Option<String>> {
    let plan = open(plan)?;
    let instant = |x_px: f64| {
        let panel = framed(&plan).next()?;
        let x_px = x_px.clamp(panel.rect.x, panel.rect.right());
        let at = panel.x.value((x_px - panel.rect.x) / panel.rect.width);
        // A span is marked by eye: whole seconds are finer than a hand.
        panel.x.instant(at.round())
    };
    let (Some(start), Some(end)) = (instant(x0_px), instant(x1_px)) else { return Ok(None) };
    if start >= end {
        return Ok(None);
    }
    let value = format!("{}/{}", start.iso(), end.iso());
    Ok(Some(json::text(&json!({ "text": print::span(start, end), "value": value }))))
}

/// An instant by a clock that stands so far ahead of UTC: ` (15:20 here)`;
/// nothing where the clock shows UTC.  The browser knows the zone's offset,
/// which differs from instant to instant; the engine knows no zones.
#[wasm_bindgen]
pub fn local_words(seconds: f64, ahead_min: i32) -> String {
    if ahead_min == 0 || !seconds.is_finite() {
        return String::new();
    }
    let nanos = (seconds * 1e9).round() as i64;
    let ahead = i64::from(ahead_min).saturating_mul(60 * NANOS_PER_SECOND);
    let here = Instant(nanos.saturating_add(ahead)).civil();
    say!(" ({:02}:{:02} here)", here.hour, here.minute)
}

/// The QR code of a text as `{"side", "path"}`; nothing when the text is longer
/// than a projector can show.
#[wasm_bindgen]
pub fn qr_code(text: &str) -> Option<String> {
    figure::qr::code(text).map(|code| json::text(&json!({ "side": code.side, "path": code.path })))
}

/// A PNG with its pixel density written into it.
///
/// # Errors
///
/// `figure/png` for bytes that are no PNG.
#[wasm_bindgen]
pub fn png_with_density(png: &[u8], dpi: f64) -> Answer<Vec<u8>> {
    figure::png::with_density(png, dpi).map_err(thrown)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_time_here_is_told_beside_utc_and_only_where_it_differs() {
        // 2026-05-03T14:20:00Z.
        let seconds = 1_777_818_000.0;
        assert_eq!(local_words(seconds, 60), " (15:20 here)");
        assert_eq!(local_words(seconds, -210), " (10:50 here)");
        assert_eq!(local_words(seconds, 0), "");
        assert_eq!(local_words(f64::NAN, 60), "");
    }
}
