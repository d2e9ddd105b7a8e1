//! What stands between the axes, cut at the frame.

use super::DrawFault;
use super::easel::{Easel, Pen};
use super::shapes;
use crate::clip;
use crate::model::{
    Band, Bars, Cells, Colour, Dash, Layer, Line, Panel, Points, Rect, Rule, Span, Whiskers,
};
use plotters_backend::DrawingBackend;

/// Distance between the markers of a line, in pixels along x.
const MARKER_EVERY_PX: f64 = 72.0;

pub(super) fn draw<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    em: f64,
) -> Result<(), DrawFault> {
    panel.layers.iter().try_for_each(|layer| match layer {
        Layer::Line(line) => self::line(easel, panel, line),
        Layer::Points(points) => self::points(easel, panel, points),
        Layer::Band(band) => self::band(easel, panel, band),
        Layer::Bars(bars) => self::bars(easel, panel, bars),
        Layer::Span(span) => self::span(easel, panel, span),
        Layer::Rule(rule) => self::rule(easel, panel, rule),
        Layer::Whiskers(whiskers) => self::whiskers(easel, panel, whiskers, em),
        Layer::Cells(cells) => self::cells(easel, panel, cells),
    })
}

fn line<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    line: &Line,
) -> Result<(), DrawFault> {
    let places = || line.x.iter().zip(&line.y).map(|(x, y)| (panel.x_px(*x), panel.y_px(*y)));
    let pen = Pen { colour: line.colour, width_px: line.width_px, dash: line.dash };
    easel.clipped(places(), &panel.rect, pen)?;
    let Some(shape) = line.marker else { return Ok(()) };
    // Each shape starts elsewhere, so that lines which run together keep
    // their markers apart.
    let mut next = panel.rect.x + 14.0 + 17.0 * f64::from(shape as u8);
    for (x, y) in places().filter(|(x, y)| panel.rect.holds(*x, *y)) {
        if x >= next {
            shapes::marker(easel, shape, (x, y), 6.0, line.colour)?;
            next = x + MARKER_EVERY_PX;
        }
    }
    Ok(())
}

fn points<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    points: &Points,
) -> Result<(), DrawFault> {
    let places = points.x.iter().zip(&points.y).map(|(x, y)| (panel.x_px(*x), panel.y_px(*y)));
    for (x, y) in places {
        // An edge marker stands on the frame, whatever rounding says.
        let inside = panel.rect.holds(x, y) || shapes::hangs(points.shape) && !x.is_nan();
        if inside && panel.rect.holds(x, y.clamp(panel.rect.y, panel.rect.bottom())) {
            shapes::marker(easel, points.shape, (x, y), points.size_px, points.colour)?;
        }
    }
    Ok(())
}

fn band<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    band: &Band,
) -> Result<(), DrawFault> {
    let fill = easel.palette.fill;
    let len = band.x.len().min(band.lo.len()).min(band.hi.len());
    let mut start = 0;
    while start < len {
        let sound = |k: &usize| {
            band.x[*k].is_finite() && band.lo[*k].is_finite() && band.hi[*k].is_finite()
        };
        let end = (start..len).find(|k| !sound(k)).unwrap_or(len);
        let at = |k: usize, y: f64| (panel.x_px(band.x[k]), panel.y_px(y));
        let upper: Vec<(f64, f64)> = (start..end).map(|k| at(k, band.hi[k])).collect();
        let lower: Vec<(f64, f64)> = (start..end).map(|k| at(k, band.lo[k])).collect();
        let mut corners = upper.clone();
        corners.extend(lower.iter().rev());
        corners.retain(|p| p.0.is_finite() && p.1.is_finite());
        easel.filled(&clip::polygon(&corners, &panel.rect), band.colour, fill)?;
        if fill <= 0.0 {
            let pen = Pen { colour: band.colour, width_px: 1.0, dash: Dash::Dotted };
            easel.clipped(upper.into_iter(), &panel.rect, pen)?;
            easel.clipped(lower.into_iter(), &panel.rect, pen)?;
        }
        start = end + 1;
    }
    Ok(())
}

fn bars<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    bars: &Bars,
) -> Result<(), DrawFault> {
    let rect = panel.rect;
    let fill = easel.palette.fill;
    let alpha = if bars.thin { fill } else { fill.ceil() };
    for (k, y) in bars.y.iter().enumerate().filter(|(_, y)| y.is_finite()) {
        let level = |v: f64| panel.y_px(v).clamp(rect.y, rect.bottom());
        let across = |v: f64| panel.x_px(v).clamp(rect.x, rect.right());
        let (left, right) = (across(bars.x0[k]), across(bars.x1[k]));
        let (top, foot) = (level(*y), level(bars.base));
        if right - left < 0.05 {
            continue;
        }
        let colour = bars.colours.get(k).copied().unwrap_or(Colour::Ink);
        easel.box_filled((left, top.min(foot)), (right, top.max(foot)), colour, alpha)?;
        // Edges of narrow bars would fill them.
        let edge = [(left, foot), (left, top), (right, top), (right, foot)];
        let narrow = bars.thin && right - left < 4.0;
        let shown = if narrow { &edge[1..3] } else { &edge[..] };
        easel.path(shown, Pen::solid(colour, 1.0))?;
    }
    Ok(())
}

fn span<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    span: &Span,
) -> Result<(), DrawFault> {
    let rect = panel.rect;
    let across = |v: f64| panel.x_px(v).clamp(rect.x, rect.right());
    let (left, right) = (across(span.x0), across(span.x1));
    if right.is_nan() || left.is_nan() || right <= left {
        return Ok(());
    }
    let fill = easel.palette.fill;
    easel.box_filled((left, rect.y), (right, rect.bottom()), span.colour, fill)?;
    let pen = Pen { colour: span.colour, width_px: 1.0, dash: Dash::Dotted };
    for x in [left, right] {
        if x > rect.x && x < rect.right() {
            easel.straight((x, rect.y), (x, rect.bottom()), pen)?;
        }
    }
    Ok(())
}

fn rule<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    rule: &Rule,
) -> Result<(), DrawFault> {
    let rect = panel.rect;
    let pen = Pen { colour: rule.colour, width_px: 1.0, dash: rule.dash };
    let (from, to) = if rule.upright {
        let x = panel.x_px(rule.at);
        ((x, rect.y), (x, rect.bottom()))
    } else {
        let y = panel.y_px(rule.at);
        ((rect.x, y), (rect.right(), y))
    };
    match clip::segment(from, to, &rect) {
        Some((from, to)) => easel.straight(from, to, pen),
        None => Ok(()),
    }
}

fn whiskers<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    whiskers: &Whiskers,
    em: f64,
) -> Result<(), DrawFault> {
    let pen = Pen::solid(whiskers.colour, 1.2);
    let cap = if whiskers.x.len() > 40 { 0.12 * em } else { 0.28 * em };
    for ((x, lo), hi) in whiskers.x.iter().zip(&whiskers.lo).zip(&whiskers.hi) {
        let (x, low, high) = (panel.x_px(*x), panel.y_px(*lo), panel.y_px(*hi));
        for (from, to) in [
            ((x, low), (x, high)),
            ((x - cap, low), (x + cap, low)),
            ((x - cap, high), (x + cap, high)),
        ] {
            if let Some((from, to)) = clip::segment(from, to, &panel.rect) {
                easel.straight(from, to, pen)?;
            }
        }
    }
    Ok(())
}

fn cells<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    cells: &Cells,
) -> Result<(), DrawFault> {
    let mut strip: Option<(Rect, Colour)> = None;
    for (corners, colour) in cells.outlines.iter().zip(&cells.colours) {
        let places: Vec<(f64, f64)> =
            corners.iter().map(|(x, y)| (panel.x_px(*x), panel.y_px(*y))).collect();
        if !places.iter().all(|p| p.0.is_finite() && p.1.is_finite()) {
            continue;
        }
        let level = if cells.edged { None } else { upright_box(&places) };
        let Some(one) = level else {
            easel.filled(&clip::polygon(&places, &panel.rect), *colour, 1.0)?;
            if cells.edged {
                let closed: Vec<_> = places.iter().chain(places.first()).copied().collect();
                easel.path(&closed, Pen::solid(Colour::Hairline, 1.0))?;
            }
            continue;
        };
        // Neighbours of one shade are drawn as one.
        strip = match strip {
            Some((before, shade)) if shade == *colour && joins(&before, &one) => {
                Some((Rect { width: one.right() - before.x, ..before }, shade))
            }
            other => {
                shaded(easel, panel, other)?;
                Some((one, *colour))
            }
        };
    }
    shaded(easel, panel, strip)
}

/// The rectangle of four corners that go round one.
fn upright_box(places: &[(f64, f64)]) -> Option<Rect> {
    let [a, b, c, d] = places else { return None };
    let level = a.1 == b.1 && c.1 == d.1 && b.0 == c.0 && d.0 == a.0;
    level.then(|| Rect {
        x: a.0.min(b.0),
        y: a.1.min(c.1),
        width: (b.0 - a.0).abs(),
        height: (c.1 - a.1).abs(),
    })
}

fn joins(before: &Rect, next: &Rect) -> bool {
    before.y == next.y && before.height == next.height && (before.right() - next.x).abs() < 0.01
}

fn shaded<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    strip: Option<(Rect, Colour)>,
) -> Result<(), DrawFault> {
    let Some((strip, colour)) = strip else { return Ok(()) };
    let rect = panel.rect;
    // A little over, so that no seam shows between neighbours.
    let from = (strip.x.max(rect.x), strip.y.max(rect.y));
    let to = ((strip.right() + 0.4).min(rect.right()), (strip.bottom() + 0.4).min(rect.bottom()));
    if to.0 > from.0 && to.1 > from.1 { easel.box_filled(from, to, colour, 1.0) } else { Ok(()) }
}
