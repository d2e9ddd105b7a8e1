//! What is worth keeping between one view of a trace and the next.

use super::marked::{Run, runs};
use super::{Clock, Trace};
use crate::thin::{Blocks, Samples};

/// What was found by looking through a trace once.  It holds for that trace
/// alone: other values or marks need another.
#[derive(Clone, Debug, Default)]
pub struct Prepared {
    /// The longest step that is not a gap; `None` when the times do not rise.
    gap_ns: Option<i64>,
    pub(super) kept: Option<Blocks>,
    pub(super) before: Option<Blocks>,
    /// Stretches with the same marks.
    pub(super) runs: Vec<Run>,
}

impl Prepared {
    /// Looks through a trace.
    pub fn new(trace: &Trace<'_>) -> Self {
        let mut made = Self::brief(trace);
        let whole = |values: &[f64]| values.len() == trace.times_ns.len();
        // Blocks are of samples in the order of their times.
        if made.gap_ns.is_some() && whole(trace.values) {
            made.kept = Some(Samples::new(trace.values, trace.marks).blocks());
            let before = trace.faint.filter(|faint| whole(faint));
            made.before = before.map(|faint| Samples::new(faint, None).blocks());
        }
        made
    }

    /// Only what a single view needs.
    pub(super) fn brief(trace: &Trace<'_>) -> Self {
        let clock = Clock::new(trace.times_ns);
        let marks = trace.marks.map(|marks| clock.sorted_marks(marks));
        let len = trace.times_ns.len();
        let found = marks.map_or(Vec::new(), |marks| runs(&marks.bits()[..marks.len().min(len)]));
        Self { gap_ns: clock.rises(), kept: None, before: None, runs: found }
    }

    pub(super) fn clock<'a>(&self, trace: &Trace<'a>) -> Clock<'a> {
        match self.gap_ns {
            Some(gap_ns) => Clock::rising(trace.times_ns, gap_ns),
            None => Clock::new(trace.times_ns),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::series::{series, series_prepared};
    use crate::{Frame, View, Words};
    use record::{Marks, Reason, Unit};

    #[test]
    fn a_prepared_trace_gives_the_same_plan_in_every_view() {
        let times: Vec<i64> = (0..50_000).map(|k| k * 1_000_000_000).collect();
        let raw: Vec<f64> = (0..50_000).map(|k| f64::from((k * 7919) % 1013)).collect();
        let values: Vec<f64> = raw.iter().map(|v| v * 0.5).collect();
        let mut marks = Marks::none(times.len());
        let which: Vec<bool> = (0..times.len()).map(|k| k % 4001 < 3).collect();
        marks.add(Reason::Spike, &which);
        let trace = Trace {
            name: "X",
            unit: Unit::Nanotesla,
            times_ns: &times,
            values: &values,
            marks: Some(&marks),
            faint: Some(&raw),
        };
        let made = [Prepared::new(&trace)];
        let frame = Frame { width_px: 400.0, height_px: 220.0, font_px: 12.0 };
        for x in [None, Some((100.0, 30_000.0)), Some((7.5, 9.25)), Some((-50.0, 200.0))] {
            let (view, words) = (View { x, y: None }, Words::default());
            let plain = series(&[trace], frame, view, &words);
            assert_eq!(plain, series_prepared(&[trace], &made, frame, view, &words));
        }
    }
}
