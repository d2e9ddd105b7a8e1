//! Panels one above the other over a common axis.

use super::axes::{Ready, Spec};
use super::sheet::{ABOVE, BELOW, GAP, Sheet};
use crate::model::Rect;
use crate::ticks::{Room, widest_px};

/// Frames and axes of a stack.
#[derive(Clone, Debug)]
pub(crate) struct Stack {
    pub rects: Vec<Rect>,
    pub ys: Vec<Ready>,
    pub x: Ready,
}

/// Room kept free at the right of the frames and above the first.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Margins {
    pub right_px: f64,
    pub top_px: f64,
}

/// Frames of equal size for these upright axes over this common one.
pub(crate) fn stacked(sheet: &Sheet, x: &Spec, ys: &[Spec], extra: Margins) -> Stack {
    let em = sheet.em();
    let many = ys.len().max(1) as f64;
    let above = ABOVE * em;
    let free = sheet.frame.height_px - extra.top_px - BELOW * em - above * many;
    let height = (free / many).max(2.0 * em);
    let upright = Room { length_px: height, font_px: em, upright: true };
    let ys: Vec<Ready> = ys.iter().map(|spec| spec.ready(upright)).collect();
    let widest = ys.iter().map(|y| widest_px(&y.axis.ticks, em)).fold(0.0, f64::max);
    let left = (widest * 1.1 + (GAP + 0.2) * em).max(1.6 * em).min(sheet.frame.width_px * 0.4);
    let right = extra.right_px.max(1.5 * em);
    let width = (sheet.frame.width_px - left - right).max(4.0 * em);
    let rects = (0..ys.len())
        .map(|k| {
            let y = extra.top_px + above + k as f64 * (height + above);
            Rect { x: crisp(left), y: crisp(y), width: width.floor(), height: height.floor() }
        })
        .collect();
    let along = Room { length_px: width.floor(), font_px: em, upright: false };
    Stack { rects, ys, x: x.ready(along) }
}

/// The middle of a pixel, so that a hairline is sharp on a screen.
pub(crate) fn crisp(px: f64) -> f64 {
    px.floor() + 0.5
}
