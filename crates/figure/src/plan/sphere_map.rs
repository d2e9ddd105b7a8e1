//! Which directions a turning has seen: both halves of the sphere, flattened
//! so that equal areas stay equal, with the number of readings in each cell.
//!
//! The map is Lambert's azimuthal equal-area projection (J. P. Snyder, "Map
//! Projections: A Working Manual", 1987, p. 182) about +z and about −z, each
//! seen from outside.

use crate::layout::range;
use crate::layout::sheet::Sheet;
use crate::layout::stack::crisp;
use crate::metrics::{CAP, text_width_px};
use crate::model::{
    Anchor, Axis, Cells, Colour, Duty, Label, Layer, Outline, Panel, Plan, Rect, Scale,
};
use crate::request::{Frame, View, Words};
use crate::writing::{line, plain, quantity};
use record::print;

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

/// A figure of the directions seen.  `view` is not heeded.
pub fn sphere_map(cells: &[SphereCell], frame: Frame, _view: View, words: &Words) -> Plan {
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
        disc(&mut sheet, cells, upper, rect);
    }
    sheet.finish(words)
}

fn disc(sheet: &mut Sheet, cells: &[SphereCell], upper: bool, rect: Rect) {
    let most = cells.iter().map(|c| c.count).max().unwrap_or(0);
    let half = |c: &SphereCell| {
        let [lo, hi] = if upper { [c.z[0].max(0.0), c.z[1]] } else { [c.z[0], c.z[1].min(0.0)] };
        (hi - lo > 1e-9).then_some(SphereCell { z: [lo, hi], ..*c })
    };
    let shown: Vec<SphereCell> = cells.iter().filter_map(half).collect();
    let name = if upper { "upper half, z > 0" } else { "lower half, z < 0" };
    let layer = Layer::Cells(Cells {
        name: "readings".to_owned(),
        unit: String::new(),
        unit_ascii: String::new(),
        edged: true,
        data: true,
        outlines: shown.iter().map(|c| outline(c, upper)).collect(),
        values: shown.iter().map(|c| c.count as f64).collect(),
        colours: shown.iter().map(|c| shade(c.count, most)).collect(),
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
    for cell in &shown {
        write_count(sheet, &panel, cell, upper, most);
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
        quantity: format!("map {name}"),
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

fn shade(count: usize, most: usize) -> Colour {
    if count == 0 {
        return Colour::Paper;
    }
    let share = (count as f64 / most.max(1) as f64).sqrt();
    Colour::Ramp((40.0 + 215.0 * share) as u8)
}

/// The number of readings in the middle of a cell large enough for it.
fn write_count(sheet: &mut Sheet, panel: &Panel, cell: &SphereCell, upper: bool, most: usize) {
    let em = sheet.em();
    let azimuth = (cell.azimuth_deg[0] + cell.azimuth_deg[1]) / 2.0;
    let text = print::count(cell.count);
    let corners = outline(cell, upper);
    let x = range::of(corners.iter().map(|c| panel.x_px(c.0)));
    let y = range::of(corners.iter().map(|c| panel.y_px(c.1)));
    let (Some(x), Some(y)) = (x, y) else { return };
    if x.1 - x.0 < text_width_px(&text, em) + 0.3 * em || y.1 - y.0 < 1.1 * em {
        return;
    }
    let (a, b) = place((cell.z[0] + cell.z[1]) / 2.0, azimuth, upper);
    let dark = matches!(shade(cell.count, most), Colour::Ramp(k) if k > 120);
    let label = Label {
        runs: line(text),
        x_px: panel.x_px(a),
        y_px: panel.y_px(b) + CAP / 2.0 * em,
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
