//! Which directions a turning has seen: both halves of the sphere, flattened
//! so that equal areas stay equal, with the number of readings in each cell.
//!
//! The map is Lambert's azimuthal equal-area projection (J. P. Snyder, "Map
//! Projections: A Working Manual", 1987, p. 182) about +z and about −z, each
//! seen from outside.

use crate::layout::sheet::Sheet;
use crate::layout::stack::crisp;
use crate::metrics::{CAP, text_width_px};
use crate::model::{
    Anchor, Axis, Cells, Colour, Duty, Label, Layer, Outline, Panel, Plan, Rect, Scale,
};
use crate::request::{Frame, View, Words};
use crate::writing::{line, plain, quantity};
use record::{Unit, print, say, words::word};

/// A cell of the sphere and the readings in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SphereCell {
    /// Lowest and highest z of its unit vectors.
    pub z: [f64; 2],
    /// From and to, degrees about z, from x towards y.
    pub azimuth_deg: [f64; 2],
    /// Readings in it.
    pub count: usize,
}

/// Radius of the rim, the circle z = 0, on the map of a unit sphere.
const RIM: f64 = std::f64::consts::SQRT_2;

/// What is written and shaded in the cells.
struct Filling<'a> {
    name: &'a str,
    unit: Unit,
    values: Vec<f64>,
    texts: Vec<String>,
    shades: Vec<Colour>,
}

/// A figure of the directions seen.  `view` is not heeded.
pub fn sphere_map(cells: &[SphereCell], frame: Frame, _view: View, words: &Words) -> Plan {
    let most = cells.iter().map(|c| c.count).max().unwrap_or(0);
    let filling = Filling {
        name: "readings",
        unit: Unit::None,
        values: cells.iter().map(|c| c.count as f64).collect(),
        texts: cells.iter().map(|c| print::count(c.count)).collect(),
        shades: cells.iter().map(|c| shade(c.count as f64, most as f64)).collect(),
    };
    map(cells, &filling, frame, words)
}

/// A figure of what is left over in each direction: one value a cell, NaN where
/// nothing was seen.  `view` is not heeded.
pub fn residual_map(
    cells: &[SphereCell],
    (left, unit): (&[f64], Unit),
    frame: Frame,
    words: &Words,
) -> Plan {
    let size = |v: &f64| if v.is_finite() { v.abs() } else { 0.0 };
    let most = left.iter().map(size).fold(0.0, f64::max);
    // As many decimals everywhere as give the largest two figures.
    let tens = if most > 0.0 { libm::floor(libm::log10(most)) } else { 0.0 };
    let decimals = (1.0 - tens).clamp(0.0, 6.0) as usize;
    let text = |v: &f64| match v {
        v if !v.is_finite() => String::new(),
        v if *v > 0.0 => format!("+{}", print::fixed(*v, decimals)),
        v => print::fixed(*v, decimals),
    };
    let filling = Filling {
        name: word("residual"),
        unit,
        values: left.to_vec(),
        texts: left.iter().map(text).collect(),
        shades: left.iter().map(|v| shade(size(v), most)).collect(),
    };
    map(cells, &filling, frame, words)
}

fn map(cells: &[SphereCell], filling: &Filling<'_>, frame: Frame, words: &Words) -> Plan {
    let mut sheet = Sheet::new(frame);
    let em = sheet.em();
    let (width, height) = (sheet.frame.width_px, sheet.frame.height_px);
    // What stands round a disc: its name and axes above, an axis below, and one
    // on either side.
    let (above, below, beside) = (2.4 * em, 2.2 * em, 1.75 * em);
    let fit = |columns: f64, rows: f64| {
        let across = width / columns - 2.0 * beside;
        across.min(height / rows - above - below).max(2.0 * em).floor()
    };
    let (abreast, stacked) = (fit(2.0, 1.0), fit(1.0, 2.0));
    let one = |side: f64, middle_x: f64, middle_y: f64| {
        let (x, y) = (crisp(middle_x - side / 2.0), crisp(middle_y + (above - below - side) / 2.0));
        Rect { x, y, width: side, height: side }
    };
    let rects = if abreast >= stacked {
        [0.25, 0.75].map(|share| one(abreast, share * width, height / 2.0))
    } else {
        [0.25, 0.75].map(|share| one(stacked, width / 2.0, share * height))
    };
    for (upper, rect) in [true, false].into_iter().zip(rects) {
        disc(&mut sheet, cells, filling, upper, rect);
    }
    sheet.finish(words)
}

fn disc(sheet: &mut Sheet, cells: &[SphereCell], filling: &Filling<'_>, upper: bool, rect: Rect) {
    let half = |(place, c): (usize, &SphereCell)| {
        let [lo, hi] = if upper { [c.z[0].max(0.0), c.z[1]] } else { [c.z[0], c.z[1].min(0.0)] };
        (hi - lo > 1e-9).then_some((place, SphereCell { z: [lo, hi], ..*c }))
    };
    let shown: Vec<(usize, SphereCell)> = cells.iter().enumerate().filter_map(half).collect();
    let name = if upper { word("upper half, z > 0") } else { word("lower half, z < 0") };
    let symbol = filling.unit.symbol();
    let layer = Layer::Cells(Cells {
        name: filling.name.to_owned(),
        unit: symbol.to_owned(),
        unit_ascii: filling.unit.ascii().to_owned(),
        edged: true,
        data: true,
        outlines: shown.iter().map(|(_, c)| outline(c, upper)).collect(),
        values: shown.iter().map(|(k, _)| filling.values[*k]).collect(),
        colours: shown.iter().map(|(k, _)| filling.shades[*k]).collect(),
    });
    let panel = Panel {
        name: name.to_owned(),
        rect,
        outline: Outline::Circle,
        x: axis("x"),
        y: axis("y"),
        top: None,
        layers: vec![layer],
    };
    for (k, cell) in &shown {
        write_in(sheet, &panel, cell, upper, (&filling.texts[*k], filling.shades[*k]));
    }
    write_axes(sheet, rect, upper);
    sheet.panels.push(panel);
}

fn axis(name: &str) -> Axis {
    Axis {
        scale: Scale::Linear,
        lo: -RIM,
        hi: RIM,
        ticks: vec![],
        minor: vec![],
        title: vec![],
        quantity: say!("map {name}"),
        unit: String::new(),
        unit_ascii: String::new(),
        wraps_from: None,
    }
}

/// A direction's place; the lower half is seen from below, so that x stays at
/// the right and y points down.
fn place(z: f64, azimuth_deg: f64, upper: bool) -> (f64, f64) {
    let r = (2.0 * (1.0 - z.abs())).max(0.0).sqrt();
    let (sin, cos) = libm::sincos(azimuth_deg.to_radians());
    (r * cos, if upper { r * sin } else { -r * sin })
}

fn outline(cell: &SphereCell, upper: bool) -> Vec<(f64, f64)> {
    let [from, to] = cell.azimuth_deg;
    let steps = ((to - from).abs() / 4.0).ceil().clamp(1.0, 90.0) as u32;
    let along = |k: u32| from + (to - from) * f64::from(k) / f64::from(steps);
    let arc = |z: f64| (0..=steps).map(move |k| place(z, along(k), upper));
    let mut corners: Vec<(f64, f64)> = arc(cell.z[0]).collect();
    corners.extend(arc(cell.z[1]).rev());
    corners
}

fn shade(size: f64, most: f64) -> Colour {
    if size <= 0.0 || most <= 0.0 {
        return Colour::Paper;
    }
    Colour::Ramp((40.0 + 215.0 * (size / most).sqrt()) as u8)
}

/// The number in the middle of a cell large enough for it.
fn write_in(
    sheet: &mut Sheet,
    panel: &Panel,
    cell: &SphereCell,
    upper: bool,
    (text, colour): (&str, Colour),
) {
    let em = sheet.em();
    let azimuth = (cell.azimuth_deg[0] + cell.azimuth_deg[1]) / 2.0;
    let (a, b) = place((cell.z[0] + cell.z[1]) / 2.0, azimuth, upper);
    let middle = (panel.x_px(a), panel.y_px(b));
    let half = (text_width_px(text, em) / 2.0, CAP / 2.0 * em);
    if !holds(panel, &outline(cell, upper), middle, half) {
        return;
    }
    let dark = matches!(colour, Colour::Ramp(k) if k > 120);
    let label = Label {
        runs: line(text),
        x_px: middle.0,
        y_px: middle.1 + CAP / 2.0 * em,
        anchor: Anchor::Middle,
        size_px: em,
        colour: if dark { Colour::Paper } else { Colour::Ink },
        clear: false,
        duty: Duty::Note,
    };
    if !sheet.labels.iter().any(|other| other.area().meets(&label.area())) {
        sheet.labels.push(label);
    }
}

/// Whether no edge of a cell crosses the text about a middle.
fn holds(
    panel: &Panel,
    corners: &[(f64, f64)],
    (x, y): (f64, f64),
    (half_x, half_y): (f64, f64),
) -> bool {
    let outside = |(a, b): &(f64, f64)| {
        (panel.x_px(*a) - x).abs() >= half_x || (panel.y_px(*b) - y).abs() >= half_y
    };
    let ends = corners.iter().zip(corners.iter().cycle().skip(1));
    // Edges are short beside a text, but for those that run towards the middle.
    ends.flat_map(|(p, q)| (0..16).map(move |k| between(*p, *q, f64::from(k) / 16.0)))
        .all(|corner| outside(&corner))
}

fn between(p: (f64, f64), q: (f64, f64), share: f64) -> (f64, f64) {
    (p.0 + share * (q.0 - p.0), p.1 + share * (q.1 - p.1))
}

/// The sensor's axes round the rim, and the half's name above.
fn write_axes(sheet: &mut Sheet, rect: Rect, upper: bool) {
    let em = sheet.em();
    let (x, y) = (rect.x + rect.width / 2.0, rect.y + rect.height / 2.0);
    let axis = |sign: &str, name: &str| vec![plain(sign), quantity(name)];
    let level = y + CAP / 2.0 * em;
    let (up, down) = if upper { ("+", "−") } else { ("−", "+") };
    let beside = 0.4 * em;
    sheet.write(axis("+", "x"), (rect.right() + beside, level), Anchor::Start, Duty::Tick);
    sheet.write(axis("−", "x"), (rect.x - beside, level), Anchor::End, Duty::Tick);
    sheet.write(axis(up, "y"), (x, rect.y - 0.35 * em), Anchor::Middle, Duty::Tick);
    let foot = rect.bottom() + (0.4 + CAP) * em;
    sheet.write(axis(down, "y"), (x, foot), Anchor::Middle, Duty::Tick);
    let name = if upper { " > 0" } else { " < 0" };
    let title = vec![quantity("z"), plain(name)];
    sheet.write(title, (rect.x - 0.5 * em, rect.y - 0.9 * em), Anchor::Start, Duty::Title);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(corners: &[(f64, f64)]) -> f64 {
        let next = corners.iter().cycle().skip(1);
        corners.iter().zip(next).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum::<f64>().abs() / 2.0
    }

    #[test]
    fn cells_of_equal_area_on_the_sphere_have_equal_area_on_the_map() {
        let cell = |z, azimuth_deg| SphereCell { z, azimuth_deg, count: 0 };
        // Area on a unit sphere: height in z times angle about z.
        let a = area(&outline(&cell([0.8, 1.0], [0.0, 60.0]), true));
        let b = area(&outline(&cell([0.0, 0.1], [200.0, 320.0]), true));
        let c = area(&outline(&cell([-0.3, -0.2], [10.0, 130.0]), false));
        let truth = 0.2 * 60f64.to_radians();
        for found in [a, b, c] {
            assert!((found / truth - 1.0).abs() < 2e-3, "{found} {truth}");
        }
    }

    #[test]
    fn a_cell_across_the_rim_is_shown_in_both_halves() {
        let cell = SphereCell { z: [-0.2, 0.2], azimuth_deg: [0.0, 45.0], count: 3 };
        let frame = Frame { width_px: 500.0, height_px: 240.0, font_px: 12.0 };
        let plan = sphere_map(&[cell], frame, View::ALL, &Words::default());
        for panel in &plan.panels {
            let Layer::Cells(cells) = &panel.layers[0] else { panic!() };
            assert_eq!(cells.values, [3.0]);
        }
    }
}
