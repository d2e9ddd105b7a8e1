//! The frame of a panel: four hairlines, ticks that point inward.

use super::DrawFault;
use super::easel::{Easel, Pen};
use crate::model::{Colour, Outline, Panel};
use plotters_backend::DrawingBackend;

/// Length of a tick, in heights of the text.
const MAJOR: f64 = 0.42;
/// Length of a tick between.
const MINOR: f64 = 0.22;

pub(super) fn draw<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    em: f64,
) -> Result<(), DrawFault> {
    let rect = panel.rect;
    let pen = Pen::solid(Colour::Soft, 1.0);
    match panel.outline {
        Outline::Open => return Ok(()),
        Outline::Circle => {
            let middle = (rect.x + rect.width / 2.0, rect.y + rect.height / 2.0);
            return easel.ring(middle, rect.width.min(rect.height) / 2.0, pen);
        }
        Outline::Frame => {}
    }
    let corners = [
        (rect.x, rect.y),
        (rect.right(), rect.y),
        (rect.right(), rect.bottom()),
        (rect.x, rect.bottom()),
    ];
    for k in 0..4 {
        easel.straight(corners[k], corners[(k + 1) % 4], pen)?;
    }
    let (bottom, between) = (panel.x.ticks.iter().map(|t| t.at), panel.x.minor.iter().copied());
    let along: Vec<(f64, f64)> =
        bottom.map(|at| (at, MAJOR)).chain(between.map(|at| (at, MINOR))).collect();
    upright(easel, panel, &along, em, rect.bottom(), -1.0)?;
    let top: Vec<(f64, f64)> = match &panel.top {
        Some(ticks) => ticks.iter().map(|t| (t.at, MAJOR)).collect(),
        None => along,
    };
    upright(easel, panel, &top, em, rect.y, 1.0)?;
    level(easel, panel, em)
}

fn upright<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    ticks: &[(f64, f64)],
    em: f64,
    y: f64,
    inward: f64,
) -> Result<(), DrawFault> {
    for (at, length) in ticks {
        let x = sharp(panel.x_px(*at));
        // At the corners the frame itself is the tick.
        if x - panel.rect.x > 1.0 && panel.rect.right() - x > 1.0 {
            let pen = Pen::solid(Colour::Soft, 1.0);
            easel.straight((x, y), (x, y + inward * length * em), pen)?;
        }
    }
    Ok(())
}

fn level<DB: DrawingBackend>(
    easel: &mut Easel<'_, DB>,
    panel: &Panel,
    em: f64,
) -> Result<(), DrawFault> {
    let rect = panel.rect;
    let major = panel.y.ticks.iter().map(|t| (t.at, MAJOR));
    for (at, length) in major.chain(panel.y.minor.iter().map(|at| (*at, MINOR))) {
        let y = sharp(panel.y_px(at));
        if y - rect.y > 1.0 && rect.bottom() - y > 1.0 {
            let pen = Pen::solid(Colour::Soft, 1.0);
            easel.straight((rect.x, y), (rect.x + length * em, y), pen)?;
            easel.straight((rect.right(), y), (rect.right() - length * em, y), pen)?;
        }
    }
    Ok(())
}

/// The middle of the nearest pixel.
fn sharp(px: f64) -> f64 {
    px.floor() + 0.5
}
