//! Lines cut at the edges of a frame, their slopes kept.
//!
//! Source: Y.-D. Liang and B. A. Barsky, "A new concept and method for line
//! clipping", ACM Trans. Graphics 3 (1984) 1-22.

use crate::model::Rect;

type Point = (f64, f64);

/// The part of a segment inside a rectangle; `None` when it misses it or an
/// end is not finite.
pub(crate) fn segment(from: Point, to: Point, rect: &Rect) -> Option<(Point, Point)> {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    if !(dx.is_finite() && dy.is_finite()) {
        return None;
    }
    let (mut enter, mut leave) = (0.0f64, 1.0f64);
    let edges = [
        (-dx, from.0 - rect.x),
        (dx, rect.right() - from.0),
        (-dy, from.1 - rect.y),
        (dy, rect.bottom() - from.1),
    ];
    for (p, q) in edges {
        if p == 0.0 {
            if q < 0.0 {
                return None;
            }
        } else if p < 0.0 {
            enter = enter.max(q / p);
        } else {
            leave = leave.min(q / p);
        }
    }
    let at = |t: f64| (from.0 + t * dx, from.1 + t * dy);
    (enter <= leave).then(|| {
        // Ends inside stay exactly what they were.
        let a = if enter > 0.0 { at(enter) } else { from };
        (a, if leave < 1.0 { at(leave) } else { to })
    })
}

/// The strokes of a line that lie inside a rectangle.  A point that is not
/// finite ends a stroke; a stroke of a single point is a dot.
pub(crate) fn strokes(points: impl IntoIterator<Item = Point>, rect: &Rect) -> Vec<Vec<Point>> {
    let mut out: Vec<Vec<Point>> = Vec::new();
    let mut last: Option<Point> = None;
    let mut alone = true;
    for point in points {
        if !(point.0.is_finite() && point.1.is_finite()) {
            dot(&mut out, last.filter(|_| alone), rect);
            (last, alone) = (None, true);
            continue;
        }
        if let Some(from) = last {
            alone = false;
            if let Some((a, b)) = segment(from, point, rect) {
                join(&mut out, a, b, a == from);
            }
        }
        last = Some(point);
    }
    dot(&mut out, last.filter(|_| alone), rect);
    out
}

fn join(out: &mut Vec<Vec<Point>>, a: Point, b: Point, goes_on: bool) {
    match out.last_mut() {
        Some(stroke) if goes_on && stroke.last() == Some(&a) => stroke.push(b),
        _ => out.push(vec![a, b]),
    }
}

fn dot(out: &mut Vec<Vec<Point>>, point: Option<Point>, rect: &Rect) {
    if let Some(point) = point.filter(|p| rect.holds(p.0, p.1)) {
        out.push(vec![point]);
    }
}

/// A closed outline cut at the edges of a rectangle (Sutherland and Hodgman,
/// Commun. ACM 17 (1974) 32-42).
pub(crate) fn polygon(corners: &[Point], rect: &Rect) -> Vec<Point> {
    let mut kept: Vec<Point> = corners.to_vec();
    let sides: [(bool, f64, bool); 4] = [
        (true, rect.x, true),
        (true, rect.right(), false),
        (false, rect.y, true),
        (false, rect.bottom(), false),
    ];
    for (upright, edge, above) in sides {
        let place = |p: &Point| if upright { p.0 } else { p.1 };
        let inside = |p: &Point| if above { place(p) >= edge } else { place(p) <= edge };
        let mut next = Vec::with_capacity(kept.len() + 2);
        for (k, to) in kept.iter().enumerate() {
            let from = &kept[(k + kept.len() - 1) % kept.len()];
            if inside(from) != inside(to) {
                let t = (edge - place(from)) / (place(to) - place(from));
                next.push((from.0 + t * (to.0 - from.0), from.1 + t * (to.1 - from.1)));
            }
            if inside(to) {
                next.push(*to);
            }
        }
        kept = next;
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const RECT: Rect = Rect { x: 0.0, y: 0.0, width: 100.0, height: 50.0 };

    #[test]
    fn a_line_that_leaves_the_frame_keeps_its_slope() {
        let (a, b) = segment((50.0, 25.0), (90.0, 125.0), &RECT).unwrap();
        assert_eq!(a, (50.0, 25.0));
        assert!((b.0 - 60.0).abs() < 1e-12 && (b.1 - 50.0).abs() < 1e-12);
    }

    #[test]
    fn a_single_point_is_a_dot_and_a_gap_ends_the_stroke() {
        let gap = (f64::NAN, f64::NAN);
        let found = strokes([(1.0, 1.0), gap, (2.0, 2.0), (3.0, 3.0), gap, (4.0, 4.0)], &RECT);
        assert_eq!(found.iter().map(Vec::len).collect::<Vec<_>>(), [1, 2, 1]);
    }

    #[test]
    fn a_line_that_leaves_and_returns_makes_two_strokes() {
        let found = strokes([(10.0, 25.0), (20.0, 80.0), (30.0, 25.0)], &RECT);
        assert_eq!(found.len(), 2);
    }

    #[test]
    fn a_polygon_larger_than_the_frame_becomes_the_frame() {
        let found = polygon(&[(-10.0, -10.0), (200.0, -10.0), (200.0, 90.0), (-10.0, 90.0)], &RECT);
        assert_eq!(found.len(), 4);
        assert!(found.iter().all(|p| RECT.holds(p.0, p.1)));
    }

    proptest! {
        #[test]
        fn what_is_kept_lies_inside_and_on_the_line(
            ax in -500.0f64..500.0, ay in -500.0f64..500.0,
            bx in -500.0f64..500.0, by in -500.0f64..500.0,
        ) {
            let grown = Rect { x: -1e-9, y: -1e-9, width: 100.0 + 2e-9, height: 50.0 + 2e-9 };
            let found = segment((ax, ay), (bx, by), &RECT);
            // The slow twin: many points along the segment.
            let hit = (0..=2000).any(|k| {
                let t = f64::from(k) / 2000.0;
                RECT.holds(ax + t * (bx - ax), ay + t * (by - ay))
            });
            prop_assert!(!hit || found.is_some());
            if let Some((a, b)) = found {
                for p in [a, b] {
                    prop_assert!(grown.holds(p.0, p.1));
                    let off = (bx - ax) * (p.1 - ay) - (by - ay) * (p.0 - ax);
                    prop_assert!(off.abs() < 1e-6);
                }
            }
        }
    }
}
