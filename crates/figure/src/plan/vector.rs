//! The field at the station as a drawing: an arrow in plan, seen from above,
//! and in section along it, with the cone of its uncertainty.
//!
//! Directions are true to angle; lengths are not, since a steep field has
//! hardly a level part to draw.

use super::common::data_line;
use crate::layout::sheet::Sheet;
use crate::layout::stack::crisp;
use crate::metrics::CAP;
use crate::model::{
    Anchor, Axis, Cells, Colour, Dash, Duty, Layer, Line, Outline, Panel, Plan, Rect, Scale,
};
use crate::request::{Frame, View, Words};
use crate::writing::line;
use record::words::{word, worded};

/// A field vector, as angles with their standard uncertainties, degrees.
#[derive(Clone, Copy, Debug)]
pub struct FieldVector<'a> {
    /// What points up in the plan: true north, or the sensor's forward axis.
    pub up: &'a str,
    /// The level part from there, clockwise; NaN where it has no direction.
    pub level_deg: (f64, f64),
    /// The sensor's forward axis from there, clockwise, where it is not up.
    pub forward_deg: Option<f64>,
    /// Below the horizon, positive down.
    pub inclination_deg: (f64, f64),
    /// Written beneath the plan.
    pub plan_words: &'a str,
    /// Written beneath the section.
    pub section_words: &'a str,
}

/// Length of the arrows; the rim has radius 1.
const ARROW: f64 = 0.92;
/// Half the cone's angle in standard uncertainties.
const CONE: f64 = 2.0;
/// What the axes of a panel span, either way.
const REACH: f64 = 1.04;

/// A figure of a field vector.  `view` is not heeded.
pub fn vector(field: &FieldVector<'_>, frame: Frame, _view: View, words: &Words) -> Plan {
    let mut sheet = Sheet::new(frame);
    let em = sheet.em();
    let (width, height) = (sheet.frame.width_px, sheet.frame.height_px);
    let (above, below, beside) = (2.6 * em, 4.2 * em, 2.2 * em);
    let fit = |columns: f64, rows: f64| {
        let across = width / columns - 2.0 * beside;
        across.min(height / rows - above - below).max(2.0 * em).floor()
    };
    let (abreast, stacked) = (fit(2.0, 1.0), fit(1.0, 2.0));
    let one = |side: f64, middle_x: f64, middle_y: f64| {
        let (x, y) = (crisp(middle_x - side / 2.0), crisp(middle_y + (above - below - side) / 2.0));
        Rect { x, y, width: side, height: side }
    };
    let [left, right] = if abreast >= stacked {
        [0.25, 0.75].map(|share| one(abreast, share * width, height / 2.0))
    } else {
        [0.25, 0.75].map(|share| one(stacked, width / 2.0, share * height))
    };
    seen_from_above(&mut sheet, field, left);
    in_section(&mut sheet, field, right);
    sheet.finish(words)
}

fn seen_from_above(sheet: &mut Sheet, field: &FieldVector<'_>, rect: Rect) {
    let em = sheet.em();
    let mut layers = vec![drawn(hand("rim", Colour::Soft, rim()), Dash::Solid)];
    layers.push(drawn(hand("axes", Colour::Hairline, cross()), Dash::Solid));
    if let Some(forward) = field.forward_deg.filter(|f| f.is_finite()) {
        let (x, y) = on_rim(forward, 1.0);
        let path = (vec![0.0, x], vec![0.0, y]);
        layers.push(drawn(hand(word("forward axis"), Colour::Channel(1), path), Dash::Dashed));
    }
    let (angle, sigma) = field.level_deg;
    if angle.is_finite() {
        layers.extend(cone(|a| on_rim(a, ARROW), field.level_deg));
        layers.push(Layer::Line(arrow(word("level field"), on_rim(angle, ARROW))));
    }
    let panel = panel("plan", rect, layers);
    for (deg, text) in ways(field.up) {
        let (x, y) = on_rim(deg, 1.0);
        let (px, py) = (panel.x_px(x), panel.y_px(y));
        let at = (px + 0.9 * em * x, py + CAP / 2.0 * em - 0.9 * em * y);
        let anchor = anchor(x);
        sheet.write(line(text), at, anchor, Duty::Tick);
    }
    if let Some(forward) = field.forward_deg.filter(|f| f.is_finite()) {
        let (x, y) = on_rim(forward, 0.62);
        let at = (panel.x_px(x) + 0.5 * em, panel.y_px(y));
        sheet.write(line(word("x arrow")), at, Anchor::Start, Duty::Direct);
    }
    let unsure = !(angle.is_finite() && sigma < 90.0);
    let words =
        if unsure { word("no sure direction\nof the level part") } else { field.plan_words };
    title_and_words(sheet, rect, word("seen from above"), words);
    sheet.panels.push(panel);
}

fn in_section(sheet: &mut Sheet, field: &FieldVector<'_>, rect: Rect) {
    let em = sheet.em();
    let place = |dip: f64| {
        let (sin, cos) = libm::sincos(dip.to_radians());
        (ARROW * cos, -ARROW * sin)
    };
    let dip = field.inclination_deg.0;
    let (x, y) = place(dip);
    let mut layers = vec![
        drawn(hand("ground", Colour::Hairline, hatching()), Dash::Solid),
        drawn(hand("horizon", Colour::Soft, (vec![-1.0, 1.0], vec![0.0, 0.0])), Dash::Solid),
        drawn(
            hand(word("plumb line"), Colour::Hairline, (vec![0.0, 0.0], vec![-1.0, 1.0])),
            Dash::Solid,
        ),
    ];
    if dip.is_finite() {
        let parts = (vec![x, x], vec![0.0, y]);
        layers.push(drawn(
            hand(word("level and upright parts"), Colour::Channel(0), parts),
            Dash::Dashed,
        ));
        layers.extend(cone(place, field.inclination_deg));
        layers.push(Layer::Line(arrow("field", (x, y))));
    }
    let panel = panel("section", rect, layers);
    let level = panel.y_px(0.0);
    sheet.write(
        line(word("magnetic north")),
        (panel.x_px(1.0), level - 0.4 * em),
        Anchor::End,
        Duty::Tick,
    );
    sheet.write(
        line(word("down")),
        (panel.x_px(0.0), rect.bottom() + em),
        Anchor::Middle,
        Duty::Tick,
    );
    title_and_words(sheet, rect, word("in section"), field.section_words);
    sheet.panels.push(panel);
}

fn title_and_words(sheet: &mut Sheet, rect: Rect, title: &str, words: &str) {
    let em = sheet.em();
    let middle = rect.x + rect.width / 2.0;
    sheet.write(line(title), (middle, rect.y - 1.6 * em), Anchor::Middle, Duty::Title);
    for (row, text) in words.split('\n').enumerate() {
        let y = rect.bottom() + (2.4 + 1.25 * row as f64) * em;
        sheet.write(line(text), (middle, y), Anchor::Middle, Duty::Direct);
    }
}

/// The four ways round the rim: compass points, or those of the sensor.
fn ways(up: &str) -> [(f64, &str); 4] {
    let said = |(angle_deg, way)| (angle_deg, word(way));
    if up == "forward" {
        [(0.0, "forward"), (90.0, "right"), (180.0, "back"), (270.0, "left")].map(said)
    } else {
        [(0.0, "N"), (90.0, "E"), (180.0, "S"), (270.0, "W")].map(said)
    }
}

fn anchor(x: f64) -> Anchor {
    match x {
        x if x > 0.5 => Anchor::Start,
        x if x < -0.5 => Anchor::End,
        _ => Anchor::Middle,
    }
}

/// A place at an angle from up, clockwise.
fn on_rim(deg: f64, radius: f64) -> (f64, f64) {
    let (sin, cos) = libm::sincos(deg.to_radians());
    (radius * sin, radius * cos)
}

/// The rim with a tick every 30 degrees.
fn rim() -> (Vec<f64>, Vec<f64>) {
    let (mut x, mut y): (Vec<f64>, Vec<f64>) =
        (0..=120).map(|k| on_rim(f64::from(k) * 3.0, 1.0)).unzip();
    for k in 0..12 {
        let deg = f64::from(k) * 30.0;
        for (a, b) in [(f64::NAN, f64::NAN), on_rim(deg, 1.0), on_rim(deg, 0.955)] {
            x.push(a);
            y.push(b);
        }
    }
    (x, y)
}

fn cross() -> (Vec<f64>, Vec<f64>) {
    (vec![-0.95, 0.95, f64::NAN, 0.0, 0.0], vec![0.0, 0.0, f64::NAN, -0.95, 0.95])
}

/// Short slanted strokes under the horizon, as surveyors draw the ground.
fn hatching() -> (Vec<f64>, Vec<f64>) {
    let strokes = (0..20).flat_map(|k| {
        let x = -0.95 + 0.1 * f64::from(k);
        [(x, 0.0), (x - 0.05, -0.05), (f64::NAN, f64::NAN)]
    });
    strokes.unzip()
}

/// The fan of directions within two standard uncertainties.
fn cone(place: impl Fn(f64) -> (f64, f64), (angle, sigma): (f64, f64)) -> Option<Layer> {
    let half = (CONE * sigma).min(180.0);
    if half.is_nan() || half <= 0.0 {
        return None;
    }
    let edge = (0..=24).map(|k| place(angle - half + half * f64::from(k) / 12.0));
    let outline: Vec<(f64, f64)> = std::iter::once((0.0, 0.0)).chain(edge).collect();
    Some(Layer::Cells(Cells {
        name: worded("two standard uncertainties"),
        unit: String::new(),
        unit_ascii: String::new(),
        edged: false,
        data: false,
        outlines: vec![outline],
        values: vec![half],
        colours: vec![Colour::Wash],
    }))
}

/// An arrow from the middle, with its head.
fn arrow(name: &str, (x, y): (f64, f64)) -> Line {
    let barb = |turn: f64| {
        let (sin, cos) = libm::sincos(f64::to_radians(turn));
        (x - 0.11 * (x * cos - y * sin), y - 0.11 * (x * sin + y * cos))
    };
    let (a, b) = (barb(24.0), barb(-24.0));
    let gap = f64::NAN;
    let path = (vec![0.0, x, gap, a.0, x, b.0], vec![0.0, y, gap, a.1, y, b.1]);
    Line { width_px: 2.2, data: true, ..hand(name, Colour::Channel(0), path) }
}

fn hand(name: &str, colour: Colour, (x, y): (Vec<f64>, Vec<f64>)) -> Line {
    Line { width_px: 1.0, data: false, ..data_line(name, colour, x, y) }
}

fn drawn(line: Line, dash: Dash) -> Layer {
    Layer::Line(Line { dash, ..line })
}

fn panel(name: &str, rect: Rect, layers: Vec<Layer>) -> Panel {
    let axis = |quantity: &str| Axis {
        scale: Scale::Linear,
        lo: -REACH,
        hi: REACH,
        ticks: vec![],
        minor: vec![],
        title: vec![],
        quantity: quantity.to_owned(),
        unit: String::new(),
        unit_ascii: String::new(),
        wraps_from: None,
    };
    let (x, y) = (axis(word("right of the drawing")), axis(word("up the drawing")));
    Panel { name: name.to_owned(), rect, outline: Outline::Open, x, y, top: None, layers }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn field(level_deg: (f64, f64), inclination_deg: (f64, f64)) -> FieldVector<'static> {
        FieldVector {
            up: "N",
            level_deg,
            forward_deg: Some(12.0),
            inclination_deg,
            plan_words: "D",
            section_words: "I",
        }
    }

    fn tip(plan: &Plan, panel: usize, name: &str) -> (f64, f64) {
        let found = plan.panels[panel].layers.iter().find_map(|layer| match layer {
            Layer::Line(line) if line.name == name => Some((line.x[1], line.y[1])),
            _ => None,
        });
        found.unwrap()
    }

    #[test]
    fn the_arrow_points_east_for_a_field_to_the_east_and_down_for_a_dip() {
        let frame = Frame { width_px: 700.0, height_px: 360.0, font_px: 13.0 };
        let of = |field| vector(&field, frame, View::ALL, &Words::default());
        let plan = of(field((90.0, 3.0), (60.0, 1.0)));
        let (x, y) = tip(&plan, 0, "level field");
        assert!((x - ARROW).abs() < 1e-12 && y.abs() < 1e-12);
        let (x, y) = tip(&plan, 1, "field");
        assert!((x - 0.5 * ARROW).abs() < 1e-12 && y < 0.0);
        let (_, y) = tip(&of(field((0.0, 1.0), (-60.0, 1.0))), 1, "field");
        assert!(y > 0.0, "in the south the field points up");
    }

    #[test]
    fn without_a_direction_the_plan_says_so_and_has_no_arrow() {
        let frame = Frame { width_px: 390.0, height_px: 700.0, font_px: 13.0 };
        let plan =
            vector(&field((f64::NAN, f64::NAN), (89.9, 0.5)), frame, View::ALL, &Words::default());
        let written =
            |text: &str| plan.labels.iter().any(|l| l.runs.iter().any(|r| r.text == text));
        assert!(written("no sure direction"));
        let lines = &plan.panels[0].layers;
        assert!(!lines.iter().any(|l| matches!(l, Layer::Line(l) if l.name == "level field")));
    }
}
