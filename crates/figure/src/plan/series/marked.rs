//! Left-out samples: a marker for the reason, a shade for a long stretch, a
//! caret at the edge for what lies beyond it.

use super::times::{Clock, Window};
use crate::axis::seconds_from;
use crate::layout::key::Entry;
use crate::layout::range;
use crate::model::{Colour, Dash, Points, Shape, Span};
use crate::writing::line;
use record::{Reason, print};
use std::ops::Range;

/// A stretch at least this many columns wide is shaded.
const SHADED_COLUMNS: i128 = 8;

/// What is shown of left-out samples.
#[derive(Clone, Debug, Default)]
pub(crate) struct Marked {
    pub points: Vec<Points>,
    pub spans: Vec<Span>,
    tally: Vec<(Reason, usize)>,
}

/// Markers and shades for the left-out samples of a window, at the values
/// they had.  At most two markers a column and reason: the lowest and the
/// highest.
pub(crate) fn marked(
    name: &str,
    raw: &[f64],
    all: &[Run],
    clock: &Clock<'_>,
    window: &Window,
    columns: usize,
) -> Marked {
    let mut out = Marked::default();
    let all = within(all, clock.places(window));
    if all.is_empty() {
        return out;
    }
    let column_ns =
        (i128::from(window.hi_ns) - i128::from(window.lo_ns)).max(1) / columns.max(1) as i128;
    for reason in Reason::ALL {
        let own = carrying(&all, reason);
        let count: usize = own.iter().map(Range::len).sum();
        if count == 0 {
            continue;
        }
        out.tally.push((reason, count));
        let mut points = empty(name, reason);
        points.samples = count as u64;
        let seconds = |k: usize| seconds_from(window.origin_ns, clock.times_ns[k]);
        for run in own {
            let (a, b) = (clock.times_ns[run.start], clock.times_ns[run.end - 1]);
            if i128::from(b) - i128::from(a) >= SHADED_COLUMNS * column_ns {
                out.spans.push(shade(reason, seconds(run.start), seconds(run.end - 1)));
            } else {
                extremes(&mut points, run, |k| (seconds(k), raw[k]));
            }
        }
        out.points.push(points);
    }
    out.points.iter_mut().for_each(|points| sparse(points, window, columns));
    out.points.retain(|points| !points.x.is_empty());
    out
}

impl Marked {
    /// The span of the kept samples, widened to near markers: those within
    /// one span's length of it.
    pub(crate) fn widened(&self, kept: Option<(f64, f64)>) -> Option<(f64, f64)> {
        let all = || self.points.iter().flat_map(|p| p.y.iter().copied());
        let Some((lo, hi)) = kept else { return range::of(all()) };
        let reach = hi - lo;
        let near = all().filter(|y| *y >= lo - 0.5 * reach && *y <= hi + 0.5 * reach);
        range::joined(kept, range::of(near))
    }

    /// Carets for the markers beyond the frame.
    pub(crate) fn carets(&self, lo: f64, hi: f64) -> Vec<Points> {
        let beyond = |shape, edge: f64, out: &dyn Fn(f64) -> bool| Points {
            name: String::new(),
            colour: self.points.first().map_or(Colour::Accent, |p| p.colour),
            shape,
            size_px: 6.0,
            x: self.across(out),
            y: vec![edge; self.across(out).len()],
            samples: 0,
            data: false,
        };
        let mut found =
            vec![beyond(Shape::Above, hi, &|y| y > hi), beyond(Shape::Below, lo, &|y| y < lo)];
        found.retain(|points| !points.x.is_empty());
        found
    }

    fn across(&self, out: &dyn Fn(f64) -> bool) -> Vec<f64> {
        let pairs = self.points.iter().flat_map(|p| p.x.iter().zip(&p.y));
        pairs.filter(|(_, y)| out(**y)).map(|(x, _)| *x).collect()
    }

    /// Reasons and how many samples carry each.
    pub(super) fn tally(&self) -> &[(Reason, usize)] {
        &self.tally
    }

    /// What the markers mean and how many samples carry them.
    pub(crate) fn entries(&self) -> Vec<Entry> {
        let entry = |(reason, count): &(Reason, usize)| Entry {
            runs: line(format!("{} ({})", reason.label(), print::count(*count))),
            colour: colour(*reason),
            dash: Dash::Solid,
            width_px: 0.0,
            marker: Some(shape(*reason)),
            line: false,
        };
        self.tally.iter().map(entry).collect()
    }
}

/// The marker of a reason.
fn shape(reason: Reason) -> Shape {
    match reason {
        Reason::Spike => Shape::Cross,
        Reason::OutOfRange | Reason::Saturated => Shape::Wedge,
        Reason::Stuck => Shape::Square,
        Reason::Shift | Reason::Excluded => Shape::Diamond,
        Reason::Filled => Shape::Ring,
        Reason::Sparse | Reason::Edge => Shape::Triangle,
        Reason::Missing | Reason::Backward | Reason::Repeat => Shape::Plus,
    }
}

fn colour(reason: Reason) -> Colour {
    Colour::Marked(reason as u8)
}

fn empty(name: &str, reason: Reason) -> Points {
    Points {
        name: format!("{name} {}", reason.id()),
        colour: colour(reason),
        shape: shape(reason),
        size_px: 5.0,
        x: vec![],
        y: vec![],
        samples: 0,
        data: true,
    }
}

fn shade(reason: Reason, x0: f64, x1: f64) -> Span {
    Span { name: reason.label().to_owned(), x0, x1, colour: colour(reason) }
}

/// An unbroken run of samples with the same marks, and those marks.
pub(super) type Run = (Range<usize>, u16);

/// The unbroken runs of samples with the same marks.
pub(super) fn runs(bits: &[u16]) -> Vec<Run> {
    let mut out: Vec<Run> = Vec::new();
    for (sample, bits) in bits.iter().enumerate().filter(|(_, bits)| **bits != 0) {
        match out.last_mut() {
            Some((run, same)) if run.end == sample && same == bits => run.end += 1,
            _ => out.push((sample..sample + 1, *bits)),
        }
    }
    out
}

/// The parts of runs that lie in a range.
fn within(all: &[Run], range: Range<usize>) -> Vec<Run> {
    let from = all.partition_point(|(run, _)| run.end <= range.start);
    let to = all.partition_point(|(run, _)| run.start < range.end);
    let cut = |(run, bits): &Run| (run.start.max(range.start)..run.end.min(range.end), *bits);
    all[from..to.max(from)].iter().map(cut).collect()
}

/// The unbroken runs of samples that carry a reason.
fn carrying(all: &[Run], reason: Reason) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = Vec::new();
    for (run, _) in all.iter().filter(|(_, bits)| bits & reason.bit() != 0) {
        match out.last_mut() {
            Some(last) if last.end == run.start => last.end = run.end,
            _ => out.push(run.clone()),
        }
    }
    out
}

/// A run's lowest and highest sample.
fn extremes(points: &mut Points, run: Range<usize>, at: impl Fn(usize) -> (f64, f64)) {
    let finite = || run.clone().map(&at).filter(|(_, y)| y.is_finite());
    let low = finite().min_by(|a, b| a.1.total_cmp(&b.1));
    let high = finite().max_by(|a, b| a.1.total_cmp(&b.1));
    for (x, y) in low.into_iter().chain(high.filter(|_| high != low)) {
        points.x.push(x);
        points.y.push(y);
    }
}

/// No more than the lowest and the highest marker in each column.
fn sparse(points: &mut Points, window: &Window, columns: usize) {
    if points.x.len() <= columns {
        return;
    }
    let wide = (window.hi - window.lo) / columns as f64;
    let column = |x: f64| ((x - window.lo) / wide) as i64;
    let all: Vec<(f64, f64)> = points.x.iter().copied().zip(points.y.iter().copied()).collect();
    points.x.clear();
    points.y.clear();
    for group in all.chunk_by(|a, b| column(a.0) == column(b.0)) {
        extremes(points, 0..group.len(), |k| group[k]);
    }
}
