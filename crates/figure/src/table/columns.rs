//! The data of a plan as columns, and those columns side by side.

use crate::model::{Axis, Layer, Panel, Plan};
use std::borrow::Cow;

/// One line, set of points or edge of a band.
#[derive(Clone, Debug)]
pub(super) struct Column<'a> {
    pub panel: usize,
    pub name: String,
    pub x: &'a Axis,
    pub y: &'a Axis,
    places: Cow<'a, [f64]>,
    values: &'a [f64],
}

/// One x with a value for each column that has one there.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    pub x: f64,
    pub values: Vec<Option<f64>>,
}

impl<'a> Column<'a> {
    /// The points inside the frame along x.
    pub(super) fn points(&self) -> impl Iterator<Item = (f64, f64)> {
        let (lo, hi) = (self.x.lo, self.x.hi);
        let pairs = self.places.iter().copied().zip(self.values.iter().copied());
        pairs.filter(move |(x, y)| (lo..=hi).contains(x) && !y.is_nan())
    }

    fn rises(&self) -> bool {
        let mut last = f64::NEG_INFINITY;
        self.points().all(|(x, _)| std::mem::replace(&mut last, x) < x)
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
    let mut push = |name: &str, places: Cow<'a, [f64]>, values: &'a [f64]| {
        let name = name.to_owned();
        out.push(Column { panel: place, name, x: &panel.x, y: &panel.y, places, values });
    };
    match layer {
        Layer::Line(line) if line.data => push(&line.name, Cow::from(&line.x), &line.y),
        Layer::Points(points) if points.data => {
            push(&points.name, Cow::from(&points.x), &points.y);
        }
        Layer::Band(band) if band.data => {
            push(&format!("{} lower", band.name), Cow::from(&band.x), &band.lo);
            push(&format!("{} upper", band.name), Cow::from(&band.x), &band.hi);
        }
        Layer::Bars(bars) => push(&bars.name, Cow::from(&bars.x0), &bars.y),
        Layer::Cells(cells) => {
            let middles = cells.outlines.iter().map(|corners| middle(corners)).collect();
            push(&cells.name, Cow::Owned(middles), &cells.values);
        }
        _ => {}
    }
}

fn middle(corners: &[(f64, f64)]) -> f64 {
    corners.iter().map(|c| c.0).sum::<f64>() / corners.len().max(1) as f64
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
        .flat_map(|(place, column)| column.points().map(move |(x, y)| (x, place, y)))
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all.chunk_by(|a, b| a.0 == b.0)
        .map(|group| {
            let mut values = vec![None; columns.len()];
            group.iter().for_each(|(_, place, y)| values[*place] = Some(*y));
            Row { x: group[0].0, values }
        })
        .collect()
}
