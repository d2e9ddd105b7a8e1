//! What stands under the cursor, for pointer and keyboard alike.
//!
//! The stops of a panel are the places along x at which something is drawn in
//! it or in a panel with the same axis.  A pointer takes the nearest stop, the
//! keyboard goes from one to the next; both read the same words there.

use crate::model::{Axis, Colour, Layer, Outline, Panel, Plan, Scale};
use crate::table::middle;
use crate::ticks::angle::brought;
use crate::ticks::time::month;
use crate::writing::{number, with_symbol};
use record::{Instant, print, say};

/// How far a line's nearest point may lie from a stop to be read there.
const NEAR_PX: f64 = 2.5;

/// What is read at one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Readout {
    /// All of it in one line: `3 May 14:20 UTC, X 17,482 nT`.
    pub text: String,
    /// The panel.
    pub panel: usize,
    /// Which of the panel's stops it is.
    pub stop: usize,
    /// Where along x: seconds since 1970 on a time axis.
    pub x_data: f64,
    /// Where along x on the sheet.
    pub x_px: f64,
    /// What is read there.
    pub values: Vec<Value>,
}

/// One value read.
#[derive(Clone, Debug, PartialEq)]
pub struct Value {
    /// What it is of.
    pub name: String,
    /// With its unit.
    pub text: String,
    /// The panel it stands in.
    pub panel: usize,
    /// The number.
    pub y_data: f64,
    /// Where it stands on the sheet.
    pub x_px: f64,
    /// Where it stands on the sheet.
    pub y_px: f64,
}

/// What is read nearest to a place on the sheet; `None` where nothing is drawn.
pub fn at(plan: &Plan, x_px: f64, y_px: f64) -> Option<Readout> {
    let panel = nearest_panel(plan, x_px, y_px)?;
    if scattered(&plan.panels[panel]) {
        return nearest_point(plan, panel, x_px, y_px);
    }
    let stops = stops(plan, panel);
    let place = |x: f64| plan.panels[panel].x_px(x);
    let after = stops.partition_point(|x| place(*x) < x_px);
    let far = |k: usize| stops.get(k).map_or(f64::INFINITY, |x| (place(*x) - x_px).abs());
    let stop = if after > 0 && far(after - 1) <= far(after) { after - 1 } else { after };
    read(plan, panel, &stops, stop)
}

/// What is read at a panel's stop, counted from 0; a number beyond the last
/// is the last.
pub fn at_stop(plan: &Plan, panel: usize, stop: usize) -> Option<Readout> {
    let shown = plan.panels.get(panel)?;
    if scattered(shown) {
        let all = points(shown);
        let stop = stop.min(all.len().checked_sub(1)?);
        return Some(single(plan, panel, stop, &all[stop]));
    }
    let stops = stops(plan, panel);
    let stop = stop.min(stops.len().checked_sub(1)?);
    read(plan, panel, &stops, stop)
}

/// How many stops a panel has.
pub fn count(plan: &Plan, panel: usize) -> usize {
    match plan.panels.get(panel) {
        Some(shown) if scattered(shown) => points(shown).len(),
        Some(_) => stops(plan, panel).len(),
        None => 0,
    }
}

/// The stop nearest to an x as it leaves a plan (seconds since 1970 on a time
/// axis), to keep the cursor when a view changes.
pub fn stop_near(plan: &Plan, panel: usize, x_data: f64) -> usize {
    let Some(shown) = plan.panels.get(panel) else { return 0 };
    let x = shown.x.relative(x_data);
    let stops = stops(plan, panel);
    let far = |k: &usize| (stops[*k] - x).abs();
    (0..stops.len()).min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0)
}

/// The span of x between two places on the sheet, in the numbers of
/// [`crate::View`], cut at the frame; of the panel the first lies in.
pub fn data_span(plan: &Plan, px0: f64, px1: f64) -> (f64, f64) {
    let inside = |p: &&Panel| (p.rect.x..=p.rect.right()).contains(&px0);
    let found = plan.panels.iter().filter(|p| p.outline == Outline::Frame).find(inside);
    let Some(panel) = found.or(plan.panels.first()) else { return (f64::NAN, f64::NAN) };
    let at = |px: f64| {
        let px = px.clamp(panel.rect.x, panel.rect.right());
        panel.x.absolute(panel.x_at(px))
    };
    let (a, b) = (at(px0), at(px1));
    (a.min(b), a.max(b))
}

/// A number of an axis with the digits that a pixel of its length can show;
/// an instant of UTC on a time axis, without "UTC".
pub(crate) fn written(axis: &Axis, value: f64, length_px: f64) -> String {
    match axis.scale {
        Scale::Time { .. } => {
            let per_pixel = (axis.hi - axis.lo) / length_px.max(1.0);
            axis.instant(value).map_or(String::new(), |at| moment(at, per_pixel))
        }
        Scale::Log10 => print::significant(value, 4),
        Scale::Linear => {
            let value = brought(value, axis.wraps_from);
            number(value, (axis.hi - axis.lo) / length_px.max(1.0))
        }
    }
}

/// A day and time of day; seconds where there are some, decimals of a second
/// where a pixel is shorter than one.
fn moment(at: Instant, per_pixel_s: f64) -> String {
    let c = at.civil();
    let day = format!("{} {} {:02}:{:02}", c.day, month(c.month), c.hour, c.minute);
    if per_pixel_s < 1.0 && c.nanos != 0 {
        let digits = (-libm::floor(libm::log10(per_pixel_s.max(1e-9)))).clamp(1.0, 9.0) as usize;
        return format!("{day}:{:02}.{}", c.second, &format!("{:09}", c.nanos)[..digits]);
    }
    if c.second != 0 { format!("{day}:{:02}", c.second) } else { day }
}

fn nearest_panel(plan: &Plan, x_px: f64, y_px: f64) -> Option<usize> {
    let off = |v: f64, lo: f64, hi: f64| (lo - v).max(v - hi).max(0.0);
    let far = |p: &Panel| {
        let r = p.rect;
        libm::hypot(off(x_px, r.x, r.right()), off(y_px, r.y, r.bottom()))
    };
    (0..plan.panels.len()).min_by(|a, b| far(&plan.panels[*a]).total_cmp(&far(&plan.panels[*b])))
}

/// Whether x does not order what a panel shows.
fn scattered(panel: &Panel) -> bool {
    panel.outline != Outline::Frame
        || panel.layers.iter().any(|layer| match layer {
            Layer::Points(p) => p.data && p.x.windows(2).any(|w| w[1] < w[0]),
            Layer::Cells(cells) => cells.data,
            Layer::Line(line) => line.lift != 0.0,
            _ => false,
        })
}

/// Whether lines stand one above the other in a panel, each about its own level.
fn lifted(panel: &Panel) -> bool {
    panel.layers.iter().any(|layer| matches!(layer, Layer::Line(line) if line.lift != 0.0))
}

/// A point of a scattered panel.
#[derive(Clone, Copy, Debug)]
struct Single<'a> {
    name: &'a str,
    x: f64,
    y: f64,
    /// By how much `y` was lifted.
    lift: f64,
    /// The level of a patch, with its unit.
    level: Option<(f64, &'a str)>,
}

/// Every point of a scattered panel that lies in the frame.
fn points(panel: &Panel) -> Vec<Single<'_>> {
    let mut out = Vec::new();
    let stack = lifted(panel);
    for layer in &panel.layers {
        let mut add = |name, xs: &[f64], ys: &[f64], lift| {
            let pairs = xs.iter().zip(ys).filter(|(x, y)| !(*x + *y).is_nan());
            out.extend(pairs.map(|(x, y)| Single { name, x: *x, y: *y, lift, level: None }));
        };
        match layer {
            Layer::Points(p) if p.data => add(&p.name, &p.x, &p.y, 0.0),
            Layer::Line(l) if l.data && stack => add(&l.name, &l.x, &l.y, l.lift),
            Layer::Cells(cells) if cells.data => {
                let one = |(corners, level): (&Vec<(f64, f64)>, &f64)| {
                    let (x, y) = middle(panel, corners);
                    let level = Some((*level, cells.unit.as_str()));
                    Single { name: &cells.name, x, y, lift: 0.0, level }
                };
                out.extend(cells.outlines.iter().zip(&cells.values).map(one));
            }
            _ => {}
        }
    }
    out.retain(|p| panel.rect.holds(panel.x_px(p.x), panel.y_px(p.y)));
    out
}

fn nearest_point(plan: &Plan, panel: usize, x_px: f64, y_px: f64) -> Option<Readout> {
    let shown = &plan.panels[panel];
    let all = points(shown);
    let far = |k: &usize| {
        let p = all[*k];
        libm::hypot(shown.x_px(p.x) - x_px, shown.y_px(p.y) - y_px)
    };
    let stop = (0..all.len()).min_by(|a, b| far(a).total_cmp(&far(b)))?;
    Some(single(plan, panel, stop, &all[stop]))
}

fn single(plan: &Plan, panel: usize, stop: usize, point: &Single<'_>) -> Readout {
    let shown = &plan.panels[panel];
    let mut value = value(shown, panel, point.name, point.x, point.y);
    if point.lift != 0.0 {
        value.y_data -= point.lift;
        let text = written(&shown.y, value.y_data, shown.rect.height);
        value.text = with_symbol(&text, &shown.y.unit);
    }
    let place = match shown.x.scale {
        Scale::Time { .. } => format!("{}, {}", along(shown, point.x), value.text),
        _ if shown.outline == Outline::Circle => shown.name.clone(),
        _ => {
            let x = with_symbol(&written(&shown.x, point.x, shown.rect.width), &shown.x.unit);
            format!("{} {x}, {} {}", shown.x.quantity, shown.y.quantity, value.text)
        }
    };
    let text = match point.level {
        Some((level, unit)) => {
            value.text = with_symbol(&print::trimmed(level, 4), unit);
            value.y_data = level;
            format!("{place}: {} {}", value.text, if unit.is_empty() { point.name } else { "" })
                .trim_end()
                .to_owned()
        }
        None => format!("{}: {place}", point.name),
    };
    let (x_data, x_px) = (shown.x.absolute(point.x), shown.x_px(point.x));
    Readout { text, panel, stop, x_data, x_px, values: vec![value] }
}

/// Panels whose x axis is the same as that of `panel`.
fn linked(plan: &Plan, panel: usize) -> impl Iterator<Item = (usize, &Panel)> {
    let axis = &plan.panels[panel].x;
    plan.panels.iter().enumerate().filter(move |(_, other)| {
        other.x.scale == axis.scale && other.x.lo == axis.lo && other.x.hi == axis.hi
    })
}

/// Every x at which something is drawn, in rising order.
fn stops(plan: &Plan, panel: usize) -> Vec<f64> {
    let Some(axis) = plan.panels.get(panel).map(|p| &p.x) else { return Vec::new() };
    let mut out: Vec<f64> = linked(plan, panel)
        .flat_map(|(_, p)| &p.layers)
        .flat_map(drawn)
        .map(|(x, _)| x)
        .filter(|x| (axis.lo..=axis.hi).contains(x))
        .collect();
    record::sort::ascending(&mut out);
    out.dedup();
    out
}

/// The points of a layer that can be read.
fn drawn(layer: &Layer) -> Vec<(f64, f64)> {
    let pairs = |x: &[f64], y: &[f64]| {
        x.iter()
            .copied()
            .zip(y.iter().copied())
            .filter(|(x, y)| !x.is_nan() && !y.is_nan())
            .collect()
    };
    match layer {
        Layer::Line(line) if line.data => pairs(&line.x, &line.y),
        Layer::Points(points) if points.data => pairs(&points.x, &points.y),
        Layer::Bars(bars) => {
            let middle = |(a, b): (&f64, &f64)| (a + b) / 2.0;
            pairs(&bars.x0.iter().zip(&bars.x1).map(middle).collect::<Vec<_>>(), &bars.y)
        }
        _ => Vec::new(),
    }
}

fn layer_name(layer: &Layer) -> &str {
    match layer {
        Layer::Line(line) => &line.name,
        Layer::Points(points) => &points.name,
        Layer::Bars(bars) => &bars.name,
        _ => "",
    }
}

fn read(plan: &Plan, panel: usize, stops: &[f64], stop: usize) -> Option<Readout> {
    let x = *stops.get(stop)?;
    let shown = &plan.panels[panel];
    let mut values = Vec::new();
    for (place, other) in linked(plan, panel) {
        // What stands in the background is read last.
        let behind = |layer: &&Layer| matches!(layer, Layer::Line(l) if l.colour == Colour::Faint);
        let before = other.layers.iter().filter(|layer| !behind(layer));
        for layer in before.chain(other.layers.iter().filter(behind)) {
            let all = drawn(layer);
            let far = |p: &(f64, f64)| (other.x_px(p.0) - other.x_px(x)).abs();
            let nearest = all.iter().min_by(|a, b| far(a).total_cmp(&far(b)));
            if let Some((x, y)) = nearest.filter(|p| far(p) <= NEAR_PX) {
                values.push(value(other, place, layer_name(layer), *x, *y));
            }
        }
    }
    let mut text = along(shown, x);
    for value in &values {
        text.push_str(&format!(", {} {}", value.name, value.text));
    }
    let (x_data, x_px) = (shown.x.absolute(x), shown.x_px(x));
    Some(Readout { text, panel, stop, x_data, x_px, values })
}

/// The place along x in words.
fn along(panel: &Panel, x: f64) -> String {
    let text = written(&panel.x, x, panel.rect.width);
    let unit = &panel.x.unit;
    match panel.x.scale {
        Scale::Time { .. } => format!("{text} UTC"),
        _ if panel.top.is_some() && unit == "Hz" => {
            say!("{}, period {}", with_symbol(&text, unit), print::duration(1.0 / x))
        }
        _ => with_symbol(&text, unit),
    }
}

fn value(panel: &Panel, place: usize, name: &str, x: f64, y: f64) -> Value {
    let text = with_symbol(&written(&panel.y, y, panel.rect.height), &panel.y.unit);
    let (x_px, y_px) = (panel.x_px(x), panel.y_px(y));
    Value { name: name.to_owned(), text, panel: place, y_data: y, x_px, y_px }
}
