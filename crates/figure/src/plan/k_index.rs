//! K indices as bars over time, one for each interval.
//!
//! A level is told by its height; its shade only repeats it.  An interval
//! without an index is a dot on the line, not a bar of height 0; an index of 0
//! is a low bar, so that it can be seen.  Indices that the station's own noise
//! may have made are drawn in outline, below a line that says so.

use crate::axis::seconds_from;
use crate::layout::axes::{Kind, Spec};
use crate::layout::key::{self, Entry};
use crate::layout::sheet::Sheet;
use crate::layout::stack::{Margins, stacked};
use crate::metrics::run_width_px;
use crate::model::{Bars, Colour, Dash, Layer, Plan, Points, Rule, Shape, Tick};
use crate::plan::series::{Clock, Window};
use crate::request::{Frame, View, Words};
use crate::writing::line;
use record::{
    Unit, say,
    words::{word, worded},
};

/// Height drawn for an index of 0.
const LOWEST: f64 = 0.12;

/// K indices, one for each interval.
#[derive(Clone, Copy, Debug)]
pub struct KIndices<'a> {
    /// What they are of: `K`, or `K (reference)`.
    pub name: &'a str,
    /// Starts of the intervals, nanoseconds of UTC since 1970, rising.
    pub starts_ns: &'a [i64],
    /// Length of an interval in hours.
    pub hours: f64,
    /// Indices 0 to 9; NaN where there is none.
    pub k: &'a [f64],
    /// The index that the station's noise alone gives: it and those below are not resolved;
    /// `None` when every index is.
    pub floor: Option<u8>,
}

/// A figure of K indices, one panel for each set.
///
/// From an index of 5, the level at which a storm is spoken of (common
/// practice), bars have the accent's colour.
pub fn k_index(sets: &[KIndices<'_>], frame: Frame, view: View, words: &Words) -> Plan {
    let mut sheet = Sheet::new(frame);
    let ends: Vec<Vec<i64>> = sets.iter().map(edges).collect();
    let clocks: Vec<Clock<'_>> = ends.iter().map(|e| Clock::new(e)).collect();
    let window = Window::new(&clocks, view);
    let specs: Vec<Spec> =
        sets.iter().map(|set| Spec::new(Kind::Even, (0.0, 9.4), set.name, Unit::None)).collect();
    let x = Spec::time(window.origin_ns, (window.lo, window.hi));
    let stack = stacked(&sheet, &x, &specs, Margins::default());
    for ((set, mut y), rect) in sets.iter().zip(stack.ys).zip(&stack.rects) {
        let every = if rect.height > 9.5 * 1.1 * sheet.em() { 1 } else { 3 };
        let labelled = |k: u32| if k.is_multiple_of(every) { k.to_string() } else { String::new() };
        y.axis.ticks =
            (0..=9).map(|k| Tick { at: f64::from(k), text: line(labelled(k)) }).collect();
        y.axis.minor.clear();
        sheet.left(*rect, &y.axis, 0.0);
        sheet.panel(set.name, *rect, stack.x.axis.clone(), y.axis, layers(set, &window));
        write_floor(&mut sheet, set);
    }
    if let Some(rect) = stack.rects.last() {
        sheet.bottom(*rect, &stack.x);
    }
    sheet.finish(words)
}

/// Says in the row above what lies below the line of the noise.
fn write_floor(sheet: &mut Sheet, set: &KIndices<'_>) {
    let (Some(_), Some(panel)) = (set.floor, sheet.panels.last()) else { return };
    let (rect, title_px) = (panel.rect, run_width_px(&panel.y.title, sheet.em()));
    let below = Entry {
        runs: line(word("below: not resolved")),
        colour: Colour::Soft,
        dash: Dash::Dashed,
        width_px: 1.0,
        marker: None,
        line: true,
    };
    key::write(sheet, rect, title_px, &[below]);
}

fn edges(set: &KIndices<'_>) -> Vec<i64> {
    let last = set.starts_ns.last().map(|ns| ns.saturating_add(length_ns(set)));
    set.starts_ns.iter().copied().chain(last).collect()
}

fn length_ns(set: &KIndices<'_>) -> i64 {
    (set.hours * 3.6e12) as i64
}

fn layers(set: &KIndices<'_>, window: &Window) -> Vec<Layer> {
    let seconds = |ns: &i64| seconds_from(window.origin_ns, *ns);
    let x0: Vec<f64> = set.starts_ns.iter().map(seconds).collect();
    let length = set.hours * 3600.0;
    // Bars do not touch, so that equal neighbours stay two.
    let (start, end) = (0.08 * length, 0.92 * length);
    let k = |place: usize| set.k.get(place).copied().unwrap_or(f64::NAN);
    let missing: Vec<f64> = (0..x0.len())
        .filter(|place| k(*place).is_nan())
        .map(|place| x0[place] + length / 2.0)
        .collect();
    let floor = set.floor.map(f64::from);
    let resolved = |place: usize| floor.is_none_or(|floor| k(place) > floor);
    let bars = |name: String, thin: bool| Bars {
        name,
        // NaN is neither, and stays NaN.
        y: (0..x0.len())
            .map(|place| if resolved(place) == thin { f64::NAN } else { k(place) })
            .collect(),
        colours: (0..x0.len())
            .map(|place| if thin { Colour::Soft } else { shade(k(place)) })
            .collect(),
        x1: x0.iter().map(|x| x + end).collect(),
        x0: x0.iter().map(|x| x + start).collect(),
        base: -LOWEST,
        thin,
    };
    let mut out = vec![Layer::Bars(bars(set.name.to_owned(), false))];
    let rule = |name: &str, at: f64, dash: Dash| {
        let (name, colour) = (name.to_owned(), Colour::Soft);
        Layer::Rule(Rule { name, at, upright: false, colour, dash })
    };
    if let Some(floor) = floor {
        out.push(Layer::Bars(bars(say!("{} (not resolved)", set.name), true)));
        out.push(rule(word("noise of the station"), floor + 0.5, Dash::Dashed));
    }
    out.push(rule(word("storm level"), 5.0, Dash::Dotted));
    if !missing.is_empty() {
        out.push(Layer::Points(Points {
            name: worded("no index"),
            colour: Colour::Soft,
            shape: Shape::Plus,
            size_px: 4.0,
            y: vec![0.5; missing.len()],
            samples: missing.len() as u64,
            x: missing,
            data: false,
        }));
    }
    out
}

fn shade(k: f64) -> Colour {
    if k >= 5.0 {
        Colour::Accent
    } else if k >= 4.0 {
        Colour::Channel(0)
    } else {
        Colour::Faint
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_interval_without_an_index_has_no_bar_and_an_index_of_0_has_one() {
        let starts: Vec<i64> = (0..4).map(|k| k * 10_800_000_000_000).collect();
        let k = [0.0, f64::NAN, 5.0, 2.0];
        let set = KIndices { name: "K", starts_ns: &starts, hours: 3.0, k: &k, floor: None };
        let frame = Frame { width_px: 400.0, height_px: 220.0, font_px: 12.0 };
        let plan = k_index(&[set], frame, View::ALL, &Words::default());
        let Layer::Bars(bars) = &plan.panels[0].layers[0] else { panic!() };
        assert_eq!(bars.y.iter().filter(|y| y.is_finite()).count(), 3);
        assert!(bars.base < 0.0);
        assert_eq!(bars.colours[2], Colour::Accent);
        assert_eq!(plan.panels[0].x.hi, 43_200.0);
    }

    #[test]
    fn indices_that_noise_may_have_made_are_drawn_in_outline() {
        let starts: Vec<i64> = (0..4).map(|k| k * 10_800_000_000_000).collect();
        let k = [1.0, 2.0, 3.0, f64::NAN];
        let set = KIndices { name: "K", starts_ns: &starts, hours: 3.0, k: &k, floor: Some(2) };
        let frame = Frame { width_px: 400.0, height_px: 220.0, font_px: 12.0 };
        let plan = k_index(&[set], frame, View::ALL, &Words::default());
        let panel = &plan.panels[0];
        let [Layer::Bars(sure), Layer::Bars(not)] = &panel.layers[..2] else { panic!() };
        assert!(!sure.thin && not.thin && not.name == "K (not resolved)");
        let heights = |bars: &Bars| -> Vec<f64> {
            bars.y.iter().copied().filter(|y| y.is_finite()).collect()
        };
        assert_eq!((heights(sure), heights(not)), (vec![3.0], vec![1.0, 2.0]));
    }
}
