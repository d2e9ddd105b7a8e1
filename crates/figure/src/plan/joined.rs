//! Two figures as one: the one above the other, each with its own axes.
//!
//! For what belongs together but shares no axis, such as a record and its
//! spectrum.  Words are those of the upper one.

use crate::model::Plan;
use crate::request::Frame;

/// Two plans on one sheet, the second below the first.
///
/// The sheet is as wide as the wider of them and as tall as both.
#[must_use]
pub fn joined(mut upper: Plan, lower: Plan) -> Plan {
    let down = upper.height_px;
    for mut panel in lower.panels {
        panel.rect.y += down;
        upper.panels.push(panel);
    }
    for mut stroke in lower.strokes {
        stroke.path.iter_mut().for_each(|(_, y)| *y += down);
        upper.strokes.push(stroke);
    }
    for mut label in lower.labels {
        label.y_px += down;
        upper.labels.push(label);
    }
    upper.width_px = upper.width_px.max(lower.width_px);
    upper.height_px += lower.height_px;
    upper
}

/// The rooms of the upper and the lower of two figures on a sheet; `share` of
/// the height is the upper one's.
#[must_use]
pub fn parted(frame: Frame, share: f64) -> (Frame, Frame) {
    let frame = frame.usable();
    // Whole pixels, so that hairlines of the lower one stay sharp.
    let upper = (frame.height_px * share.clamp(0.1, 0.9)).round().max(90.0);
    let lower = (frame.height_px - upper).max(90.0);
    (Frame { height_px: upper, ..frame }, Frame { height_px: lower, ..frame })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Trace, series};
    use crate::request::{View, Words};
    use record::Unit;

    #[test]
    fn the_lower_figure_stands_below_the_upper_one() {
        let frame = Frame { width_px: 400.0, height_px: 301.0, font_px: 12.0 };
        let (times, values) = ([0, 1_000_000_000, 2_000_000_000], [1.0, 3.0, 2.0]);
        let one = |frame: Frame| {
            let trace = Trace {
                name: "X",
                unit: Unit::Nanotesla,
                times_ns: &times,
                values: &values,
                marks: None,
                faint: None,
            };
            series(&[trace], frame, View::ALL, &Words::default())
        };
        let (a, b) = parted(frame, 0.5);
        assert_eq!(a.height_px + b.height_px, 301.0);
        let (upper, lower) = (one(a), one(b));
        let labels = upper.labels.len() + lower.labels.len();
        let both = joined(upper, lower);
        assert_eq!((both.height_px, both.labels.len()), (301.0, labels));
        assert!(both.panels[1].rect.y > both.panels[0].rect.bottom());
        assert!(both.panels[1].rect.bottom() < 301.0);
    }
}
