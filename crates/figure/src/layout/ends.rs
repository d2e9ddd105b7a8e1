//! Direct labels at the right ends of lines, in place of a legend.
//!
//! Each label stands as near the height at which its line ends as the others
//! let it; a short leader in the line's own colour and dashes joins the two.

use super::sheet::Sheet;
use crate::clip;
use crate::metrics::{CAP, run_width_px};
use crate::model::{Anchor, Colour, Dash, Duty, Layer, Panel, Rect, Run, Shape, Stroke};
use crate::writing::quantity;

/// Length of a leader, in heights of the text.
const LEADER: f64 = 1.5;

/// The end of a line.
#[derive(Clone, Debug)]
pub(crate) struct End {
    pub runs: Vec<Run>,
    pub y_px: f64,
    pub colour: Colour,
    pub dash: Dash,
    pub marker: Option<Shape>,
    pub width_px: f64,
}

/// The end of a layer that is a line.
pub(crate) fn of_layer(panel: &Panel, layer: &Layer) -> Option<End> {
    let Layer::Line(line) = layer else { return None };
    Some(End {
        runs: vec![quantity(&line.name)],
        y_px: last_px(panel, &line.x, &line.y),
        colour: line.colour,
        dash: line.dash,
        marker: line.marker,
        width_px: line.width_px,
    })
}

/// The height at which a line is last seen inside a frame; the frame's foot
/// for one that never is.
pub(crate) fn last_px(panel: &Panel, x: &[f64], y: &[f64]) -> f64 {
    let places = x.iter().zip(y).map(|(x, y)| (panel.x_px(*x), panel.y_px(*y)));
    let seen = clip::strokes(places, &panel.rect);
    let last = seen.last().and_then(|stroke| stroke.last());
    last.map_or(panel.rect.bottom(), |place| place.1)
}

/// Room that labels at the ends need at the right of a frame.
pub(crate) fn margin_px<'a>(runs: impl Iterator<Item = &'a [Run]>, em: f64) -> f64 {
    runs.map(|runs| run_width_px(runs, em) * 1.1 + (LEADER + 0.9) * em).fold(0.0, f64::max)
}

/// Writes the labels beside a frame.
pub(crate) fn write(sheet: &mut Sheet, rect: Rect, ends: &[End]) {
    let em = sheet.em();
    let inset = 0.5 * em;
    let wanted: Vec<f64> = ends.iter().map(|end| end.y_px.clamp(rect.y, rect.bottom())).collect();
    let placed = spread(&wanted, 1.25 * em, (rect.y + inset, rect.bottom() - inset));
    for ((end, from), to) in ends.iter().zip(&wanted).zip(placed) {
        let x = rect.right();
        sheet.strokes.push(Stroke {
            path: vec![(x + 0.25 * em, *from), (x + LEADER * em, to)],
            colour: end.colour,
            width_px: end.width_px,
            dash: end.dash,
            marker: end.marker,
        });
        let at = (x + (LEADER + 0.35) * em, to + CAP / 2.0 * em);
        sheet.write(end.runs.clone(), at, Anchor::Start, Duty::Direct);
    }
}

/// Heights at least `apart` from each other, between the limits when they can
/// be, in the order of those wanted and as near to them as that allows (least
/// squares: neighbours that would touch move as one).
pub(crate) fn spread(wanted: &[f64], apart: f64, (top, bottom): (f64, f64)) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    record::sort::by(&mut order, |a, b| wanted[*a].total_cmp(&wanted[*b]));
    // Each group: (sum of wanted minus their rank offsets, how many).
    let mut groups: Vec<(f64, usize)> = Vec::new();
    for (rank, place) in order.iter().enumerate() {
        groups.push((wanted[*place] - rank as f64 * apart, 1));
        while let [.., (a, n), (b, m)] = groups[..] {
            if a / n as f64 <= b / m as f64 {
                break;
            }
            groups.truncate(groups.len() - 2);
            groups.push((a + b, n + m));
        }
    }
    let room = wanted.len().saturating_sub(1) as f64 * apart;
    let limit = (bottom - room).max(top);
    let starts = groups
        .iter()
        .flat_map(|(sum, n)| std::iter::repeat_n((sum / *n as f64).clamp(top, limit), *n));
    let mut out = vec![0.0; wanted.len()];
    for (rank, (place, start)) in order.iter().zip(starts).enumerate() {
        out[*place] = start + rank as f64 * apart;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn labels_that_would_touch_part_evenly_and_others_stay() {
        let found = spread(&[10.0, 50.0, 51.0], 9.0, (0.0, 100.0));
        assert_eq!(found, [10.0, 46.0, 55.0]);
    }

    proptest! {
        #[test]
        fn labels_keep_apart_and_inside(
            wanted in prop::collection::vec(0.0f64..200.0, 1..9), apart in 5.0f64..20.0,
        ) {
            let mut found = spread(&wanted, apart, (0.0, 200.0));
            record::sort::ascending(&mut found);
            prop_assert!(found.windows(2).all(|w| w[1] - w[0] >= apart - 1e-9));
            prop_assert!(found.iter().all(|y| (-1e-9..=200.0 + 1e-9).contains(y)));
        }
    }
}
