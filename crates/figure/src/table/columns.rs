//! The data of a plan as columns, and those columns side by side.

use crate::model::{Axis, Cells, Layer, Panel, Plan};

use std::borrow::Cow;

/// One line, set of points, edge of a band or set of patches.
#[derive(Clone, Debug)]
pub(super) struct Column<'a> {
    pub panel: usize,
    pub name: String,
    pub x: &'a Axis,
    pub y: &'a Axis,
    /// Unit of the level of patches, as printed and in ASCII.
    pub level: Option<(&'a str, &'a str)>,
    xs: Cow<'a, [f64]>,
    ys: Cow<'a, [f64]>,
    levels: &'a [f64],
}

/// One point of a column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point {
    pub x: f64,
    pub y: f64,
    pub level: Option<f64>,
}

/// One x with a value for each column that has one there.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    pub x: f64,
    pub values: Vec<Option<f64>>,
}

impl Column<'_> {
    /// The points inside the frame along x.
    pub(super) fn points(&self) -> impl Iterator<Item = Point> {
        let (lo, hi) = (self.x.lo, self.x.hi);
        let pairs = self.xs.iter().copied().zip(self.ys.iter().copied()).enumerate();
        pairs
            .map(|(k, (x, y))| Point { x, y, level: self.levels.get(k).copied() })
            .filter(move |p| (lo..=hi).contains(&p.x) && !p.y.is_nan())
    }

    fn rises(&self) -> bool {
        let mut last = f64::NEG_INFINITY;
        self.level.is_none() && self.points().all(|p| std::mem::replace(&mut last, p.x) < p.x)
    }
}

/// Every column of a plan, panel by panel.
pub(super) fn of(plan: &Plan) -> Vec<Column<'_>> {
    let mut out = Vec::new();
    for (place, panel) in plan.panels.iter().enumerate() {
        for layer in &panel.layers {
            gather(&mut out, place, panel, layer);
        }
    }
    out
}

fn gather<'a>(out: &mut Vec<Column<'a>>, place: usize, panel: &'a Panel, layer: &'a Layer) {
    let mut push = |name: String, xs: &'a [f64], ys: &'a [f64]| {
        let (xs, ys) = (Cow::Borrowed(xs), Cow::Borrowed(ys));
        let (x, y) = (&panel.x, &panel.y);
        out.push(Column { panel: place, name, x, y, level: None, xs, ys, levels: &[] });
    };
    match layer {
        Layer::Line(line) if line.data => {
            push(line.name.clone(), &line.x, &line.y);
            if let Some(column) = out.last_mut().filter(|_| line.lift != 0.0) {
                column.ys = line.y.iter().map(|y| y - line.lift).collect();
            }
        }
        Layer::Points(points) if points.data => push(points.name.clone(), &points.x, &points.y),
        Layer::Band(band) if band.data => {
            push(format!("{} lower", band.name), &band.x, &band.lo);
            push(format!("{} upper", band.name), &band.x, &band.hi);
        }
        Layer::Whiskers(whiskers) if whiskers.data => {
            push(format!("{} lower", whiskers.name), &whiskers.x, &whiskers.lo);
            push(format!("{} upper", whiskers.name), &whiskers.x, &whiskers.hi);
        }
        Layer::Bars(bars) => push(bars.name.clone(), &bars.x0, &bars.y),
        Layer::Cells(cells) if cells.data => out.push(patches(place, panel, cells)),
        _ => {}
    }
}

/// Patches by their middles.
fn patches<'a>(place: usize, panel: &'a Panel, cells: &'a Cells) -> Column<'a> {
    let middles: Vec<(f64, f64)> =
        cells.outlines.iter().map(|corners| middle(panel, corners)).collect();
    Column {
        panel: place,
        name: cells.name.clone(),
        x: &panel.x,
        y: &panel.y,
        level: Some((&cells.unit, &cells.unit_ascii)),
        xs: middles.iter().map(|m| m.0).collect(),
        ys: middles.iter().map(|m| m.1).collect(),
        levels: &cells.values,
    }
}

/// The middle of a patch as it is drawn.
pub(crate) fn middle(panel: &Panel, corners: &[(f64, f64)]) -> (f64, f64) {
    let n = corners.len().max(1) as f64;
    let along = |axis: &Axis, of: fn(&(f64, f64)) -> f64| {
        axis.value(corners.iter().map(|c| axis.fraction(of(c))).sum::<f64>() / n)
    };
    (along(&panel.x, |c| c.0), along(&panel.y, |c| c.1))
}

/// Whether all panels share one x axis along which every column rises.
pub(super) fn side_by_side(plan: &Plan, columns: &[Column<'_>]) -> bool {
    let same = |a: &Axis, b: &Axis| a.scale == b.scale && a.quantity == b.quantity;
    let first = plan.panels.first();
    first.is_some_and(|first| plan.panels.iter().all(|panel| same(&panel.x, &first.x)))
        && columns.iter().all(Column::rises)
}

/// Rows for every x that occurs, in rising order.
pub(super) fn merged(columns: &[Column<'_>]) -> Vec<Row> {
    let mut all: Vec<(f64, usize, f64)> = columns
        .iter()
        .enumerate()
        .flat_map(|(place, column)| column.points().map(move |p| (p.x, place, p.y)))
        .collect();
    record::sort::by(&mut all, |a, b| a.0.total_cmp(&b.0));
    all.chunk_by(|a, b| a.0 == b.0)
        .map(|group| {
            let mut values = vec![None; columns.len()];
            group.iter().for_each(|(_, place, y)| values[*place] = Some(*y));
            Row { x: group[0].0, values }
        })
        .collect()
}
