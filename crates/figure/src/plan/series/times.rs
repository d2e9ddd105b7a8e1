//! A trace's time axis, the window on it, and lines through it.

use crate::axis::seconds_from;
use crate::model::{Colour, Dash, Line};
use crate::request::View;
use crate::thin::{Samples, thin};
use record::{Instant, Marks};
use std::borrow::Cow;
use std::ops::Range;

const DAY_NS: i64 = 86_400_000_000_000;

/// Times in rising order.
#[derive(Clone, Debug)]
pub(crate) struct Clock<'a> {
    pub times_ns: Cow<'a, [i64]>,
    /// Where each of them stood, when they did not rise.
    order: Option<Vec<usize>>,
    /// The longest step that is not a gap, nanoseconds.
    gap_ns: i64,
}

impl<'a> Clock<'a> {
    pub(crate) fn new(times_ns: &'a [i64]) -> Self {
        let rises = times_ns.windows(2).all(|w| w[0] <= w[1]);
        if !rises {
            let mut order: Vec<usize> = (0..times_ns.len()).collect();
            order.sort_by_key(|k| times_ns[*k]);
            let times_ns: Cow<'a, [i64]> = order.iter().map(|k| times_ns[*k]).collect();
            let gap_ns = gap_ns(&times_ns);
            return Self { times_ns, order: Some(order), gap_ns };
        }
        Self { times_ns: Cow::Borrowed(times_ns), order: None, gap_ns: gap_ns(times_ns) }
    }

    /// A clock of times known to rise.
    pub(crate) fn rising(times_ns: &'a [i64], gap_ns: i64) -> Self {
        Self { times_ns: Cow::Borrowed(times_ns), order: None, gap_ns }
    }

    /// The longest step that is not a gap, when the times rise.
    pub(crate) fn rises(&self) -> Option<i64> {
        self.order.is_none().then_some(self.gap_ns)
    }

    /// Values in the order of the times; as many as there are times.
    pub(crate) fn sorted<'v>(&self, values: &'v [f64]) -> Cow<'v, [f64]> {
        let at = |k: &usize| values.get(*k).copied().unwrap_or(f64::NAN);
        match &self.order {
            Some(order) => order.iter().map(at).collect(),
            None if values.len() == self.times_ns.len() => Cow::Borrowed(values),
            None => (0..self.times_ns.len()).map(|k| at(&k)).collect(),
        }
    }

    /// Marks in the order of the times.
    pub(crate) fn sorted_marks(&self, marks: &Marks) -> Marks {
        match &self.order {
            Some(order) => Marks::from_bits(
                order.iter().map(|k| marks.bits().get(*k).copied().unwrap_or(0)).collect(),
            ),
            None => marks.clone(),
        }
    }

    /// The samples of a window.
    pub(crate) fn places(&self, window: &Window) -> Range<usize> {
        let from = self.times_ns.partition_point(|t| *t < window.lo_ns);
        let to = self.times_ns.partition_point(|t| *t <= window.hi_ns);
        from..to.max(from)
    }

    /// A thinned line through the samples of a window.
    pub(crate) fn line(&self, samples: Samples<'_>, window: &Window, columns: usize) -> Line {
        let span_ns = i128::from(window.hi_ns) - i128::from(window.lo_ns);
        let column_ns = span_ns / columns.max(1) as i128;
        let longest = i128::from(self.gap_ns).max(column_ns);
        let edge = |column: usize| {
            let at = i128::from(window.lo_ns) + span_ns * column as i128 / columns.max(1) as i128;
            self.times_ns.partition_point(|t| i128::from(*t) < at)
        };
        let broken = |a: usize, b: usize| {
            i128::from(self.times_ns[b]) - i128::from(self.times_ns[a]) > longest
        };
        let found = thin(samples, self.places(window), columns, edge, broken);
        let along = |k: &Option<usize>| {
            k.map_or(f64::NAN, |k| seconds_from(window.origin_ns, self.times_ns[k]))
        };
        Line {
            name: String::new(),
            colour: Colour::Ink,
            width_px: 1.0,
            dash: Dash::Solid,
            marker: None,
            x: found.places.iter().map(along).collect(),
            y: found.places.iter().map(|k| k.map_or(f64::NAN, |k| samples.values[k])).collect(),
            lift: 0.0,
            samples: found.samples,
            data: true,
        }
    }
}

/// The longest step that is not a gap.
fn gap_ns(times_ns: &[i64]) -> i64 {
    let step = step_ns(times_ns);
    step.saturating_add(step / 2)
}

/// The usual step: the median of all, or of stretches spread over many times.
/// Backward steps and steps of zero are left out; 0 when none is left.
pub(crate) fn step_ns(times_ns: &[i64]) -> i64 {
    const STRETCH: usize = 64;
    let len = times_ns.len();
    let step = |w: &[i64]| w[1].saturating_sub(w[0]);
    let mut steps: Vec<i64> = if len <= STRETCH * STRETCH {
        times_ns.windows(2).map(step).collect()
    } else {
        let start = |k: u64| (k * (len - STRETCH) as u64 / (STRETCH as u64 - 1)) as usize;
        let stretch = |k| times_ns[start(k)..start(k) + STRETCH].windows(2).map(step);
        (0..STRETCH as u64).flat_map(stretch).collect()
    };
    steps.retain(|step| *step > 0);
    if steps.is_empty() {
        return 0;
    }
    let middle = (steps.len() - 1) / 2;
    record::sort::nth_whole(&mut steps, middle)
}

/// The stretch of time shown.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Window {
    /// Midnight before the first sample of all, so that it stays when the view moves.
    pub origin_ns: i64,
    pub lo_ns: i64,
    pub hi_ns: i64,
    /// The same, in seconds from the origin.
    pub lo: f64,
    pub hi: f64,
}

impl Window {
    pub(crate) fn new(clocks: &[Clock<'_>], view: View) -> Self {
        let first = clocks.iter().filter_map(|c| c.times_ns.first()).min().copied().unwrap_or(0);
        let last = clocks.iter().filter_map(|c| c.times_ns.last()).max().copied().unwrap_or(DAY_NS);
        let origin_ns = first.saturating_sub(first.rem_euclid(DAY_NS));
        let (mut lo_ns, mut hi_ns) = match view.x_span() {
            Some((lo, hi)) => (Instant::from_seconds(lo).0, Instant::from_seconds(hi).0),
            None => (first, last),
        };
        if hi_ns.saturating_sub(lo_ns) < 10 {
            // A single sample: half a minute on either side.
            let half = if view.x_span().is_some() { 10 } else { DAY_NS / 2880 };
            (lo_ns, hi_ns) = (lo_ns.saturating_sub(half), hi_ns.saturating_add(half));
        }
        let (lo, hi) = (seconds_from(origin_ns, lo_ns), seconds_from(origin_ns, hi_ns));
        Self { origin_ns, lo_ns, hi_ns, lo, hi }
    }

    /// The values of a line inside the window.
    pub(crate) fn inside<'l>(&self, line: &'l Line) -> impl Iterator<Item = f64> + use<'l> {
        let (lo, hi) = (self.lo, self.hi);
        line.x.iter().zip(&line.y).filter(move |(x, _)| (lo..=hi).contains(*x)).map(|(_, y)| *y)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_that_step_back_are_put_in_order_with_their_values() {
        let clock = Clock::new(&[30, 10, 20]);
        assert_eq!(clock.times_ns[..], [10, 20, 30]);
        assert_eq!(clock.sorted(&[3.0, 1.0, 2.0])[..], [1.0, 2.0, 3.0]);
        assert_eq!(clock.sorted_marks(&Marks::from_bits(vec![4, 1, 2])).bits(), [1, 2, 4]);
    }

    #[test]
    fn the_step_of_a_long_log_is_found_from_a_part_of_it() {
        let times: Vec<i64> = (0..100_000).map(|k| k * 30 + i64::from(k > 50_000) * 9999).collect();
        assert_eq!(step_ns(&times), 30);
    }

    #[test]
    fn a_gap_longer_than_a_column_breaks_the_line_and_a_shorter_one_does_not() {
        let times: Vec<i64> = (0..20).map(|k| (k + 5 * i64::from(k >= 10)) * DAY_NS).collect();
        let values = vec![1.0; 20];
        let clock = Clock::new(&times);
        let window = Window::new(std::slice::from_ref(&clock), View::ALL);
        let samples = Samples::new(&values, None);
        let breaks = |columns| {
            let line = clock.line(samples, &window, columns);
            line.y.iter().filter(|y| y.is_nan()).count()
        };
        assert_eq!(breaks(100), 1);
        assert_eq!(breaks(2), 0);
    }
}
