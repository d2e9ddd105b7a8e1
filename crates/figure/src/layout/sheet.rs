//! A sheet while it is being laid out: panels and what is written round them.

use super::axes::Ready;
use crate::metrics::{CAP, run_width_px, text_width_px};
use crate::model::{
    Anchor, Axis, Colour, Dash, Duty, Label, Layer, Outline, Panel, Plan, Rect, Run, Stroke, Tick,
};
use crate::request::{Frame, Words};
use crate::ticks::time::Context;
use crate::writing::line;

/// From a frame's edge to the labels beside it, in heights of the text.
pub(crate) const GAP: f64 = 0.5;
/// From a frame's lower edge to the baseline of the ticks' labels.
pub(crate) const FIRST_ROW: f64 = 0.6 + CAP;
/// From a frame's lower edge to the baseline of the row beneath.
pub(crate) const SECOND_ROW: f64 = FIRST_ROW + 1.28;
/// From a frame's lower edge to the end of that row.
pub(crate) const BELOW: f64 = SECOND_ROW + 0.4;
/// From the top of the row above a frame to the frame's upper edge.
pub(crate) const ABOVE: f64 = 1.5;
/// From the baseline of the title to the frame's upper edge.
pub(crate) const TITLE_RISE: f64 = 0.5;

/// A sheet being laid out.
#[derive(Clone, Debug)]
pub(crate) struct Sheet {
    pub frame: Frame,
    pub panels: Vec<Panel>,
    pub labels: Vec<Label>,
    pub strokes: Vec<Stroke>,
}

impl Sheet {
    pub(crate) fn new(frame: Frame) -> Self {
        Self { frame: frame.usable(), panels: vec![], labels: vec![], strokes: vec![] }
    }

    /// Height of the text.
    pub(crate) fn em(&self) -> f64 {
        self.frame.font_px
    }

    /// The plan.
    pub(crate) fn finish(self, words: &Words) -> Plan {
        Plan {
            name: words.name.clone(),
            caption: words.caption.clone(),
            summary: words.summary.clone(),
            provenance: words.provenance.clone(),
            width_px: self.frame.width_px,
            height_px: self.frame.height_px,
            font_px: self.frame.font_px,
            panels: self.panels,
            strokes: self.strokes,
            labels: self.labels,
        }
    }

    /// Adds a panel with a frame; its labels are separate.
    pub(crate) fn panel(&mut self, name: &str, rect: Rect, x: Axis, y: Axis, layers: Vec<Layer>) {
        let (name, outline) = (name.to_owned(), Outline::Frame);
        self.panels.push(Panel { name, rect, outline, x, y, top: None, layers });
    }

    /// Writes something.
    pub(crate) fn write(&mut self, runs: Vec<Run>, at: (f64, f64), anchor: Anchor, duty: Duty) {
        let colour = match duty {
            Duty::Title | Duty::Direct => Colour::Ink,
            Duty::Tick | Duty::Context | Duty::Note => Colour::Soft,
        };
        let (x_px, y_px) = at;
        let size_px = self.em();
        self.labels.push(Label { runs, x_px, y_px, anchor, size_px, colour, clear: false, duty });
    }

    /// Writes something, the paper showing round it, at that of these places
    /// inside `within` where it meets no other label and the fewest of the
    /// points to avoid; the first of equals.  Says whether there was one.
    pub(crate) fn write_free(
        &mut self,
        runs: &[Run],
        within: Rect,
        places: impl IntoIterator<Item = ((f64, f64), Anchor)>,
        avoid: &[(f64, f64)],
        duty: Duty,
    ) -> bool {
        let mut best: Option<(usize, Label)> = None;
        for (at, anchor) in places {
            self.write(runs.to_vec(), at, anchor, duty);
            let Some(mut label) = self.labels.pop() else { return false };
            let area = label.area();
            let inside = within.holds(area.x, area.y) && within.holds(area.right(), area.bottom());
            // Two labels side by side need air, or they read as one.
            let air = 0.4 * self.em();
            let wide = Rect { x: area.x - air, width: area.width + 2.0 * air, ..area };
            if !inside || self.labels.iter().any(|other| other.area().meets(&wide)) {
                continue;
            }
            let met = avoid.iter().filter(|(x, y)| area.holds(*x, *y)).count();
            label.clear = met > 0;
            if best.as_ref().is_none_or(|(least, _)| met < *least) {
                best = Some((met, label));
            }
        }
        let found = best.is_some();
        self.labels.extend(best.map(|(_, label)| label));
        found
    }

    /// The labels of a right axis.
    pub(crate) fn right(&mut self, rect: Rect, axis: &Axis) {
        let em = self.em();
        for tick in &axis.ticks {
            let y = rect.bottom() - axis.fraction(tick.at) * rect.height + CAP / 2.0 * em;
            self.write(tick.text.clone(), (rect.right() + GAP * em, y), Anchor::Start, Duty::Tick);
        }
    }

    /// The labels of the left axis, and its title above its upper end, `rise`
    /// pixels higher than usual.
    pub(crate) fn left(&mut self, rect: Rect, axis: &Axis, rise: f64) {
        let em = self.em();
        for tick in &axis.ticks {
            let y = rect.bottom() - axis.fraction(tick.at) * rect.height + CAP / 2.0 * em;
            self.write(tick.text.clone(), (rect.x - GAP * em, y), Anchor::End, Duty::Tick);
        }
        let at = (rect.x, rect.y - TITLE_RISE * em - rise);
        self.write(axis.title.clone(), at, Anchor::Start, Duty::Title);
    }

    /// The labels of the bottom axis, the contexts beneath, and its title at
    /// its right end.
    pub(crate) fn bottom(&mut self, rect: Rect, ready: &Ready) {
        let em = self.em();
        let y = rect.bottom() + FIRST_ROW * em;
        for tick in &ready.axis.ticks {
            let x = rect.x + ready.axis.fraction(tick.at) * rect.width;
            self.write(tick.text.clone(), (x, y), Anchor::Middle, Duty::Tick);
        }
        let y = rect.bottom() + SECOND_ROW * em;
        let title = ready.axis.title.clone();
        let end = rect.right() - run_width_px(&title, em) * 1.12 - 0.8 * em;
        self.contexts(rect, ready, y, end);
        self.write(title, (rect.right(), y), Anchor::End, Duty::Title);
    }

    /// Ticks along the top with their labels.
    pub(crate) fn top(&mut self, rect: Rect, axis: &Axis, ticks: &[Tick]) {
        let y = rect.y - GAP * self.em();
        for tick in ticks {
            let x = rect.x + axis.fraction(tick.at) * rect.width;
            self.write(tick.text.clone(), (x, y), Anchor::Middle, Duty::Tick);
        }
    }

    /// Writes the days, months or years that fit before `end`, each beside a
    /// hairline where it begins, the year with the first and where it changes.
    fn contexts(&mut self, rect: Rect, ready: &Ready, y: f64, end: f64) {
        let em = self.em();
        let place = |at: f64| rect.x + ready.axis.fraction(at) * rect.width;
        let items: Vec<(f64, &Context)> =
            ready.context.iter().map(|(at, c)| (place(*at), c)).collect();
        for (x, text) in chosen(&items, end, em) {
            let begins = x > rect.x + 0.5;
            if begins {
                self.separator(x, rect.bottom(), y + 0.15 * em);
            }
            let x = if begins { x + 0.35 * em } else { x };
            self.write(line(text), (x, y), Anchor::Start, Duty::Context);
        }
    }

    fn separator(&mut self, x: f64, top: f64, bottom: f64) {
        let em = self.em();
        self.strokes.push(Stroke {
            path: vec![(x, top + (FIRST_ROW + 0.35) * em), (x, bottom)],
            colour: Colour::Soft,
            width_px: 1.0,
            dash: Dash::Solid,
            marker: None,
        });
    }
}

/// The contexts that fit, every one or every second, fifth, ... of them.
fn chosen(items: &[(f64, &Context)], end: f64, em: f64) -> Vec<(f64, String)> {
    for stride in [1, 2, 5, 10, 20, 50, 100, 1000] {
        if let Some(found) = fitted(items, stride, end, em) {
            return found;
        }
    }
    items.first().map(|(x, c)| (*x, c.full.clone())).into_iter().collect()
}

/// Every `stride`-th context, when all of them fit; the first gives way to
/// the second, and those that would run past the end are left out.
fn fitted(
    items: &[(f64, &Context)],
    stride: usize,
    end: f64,
    em: f64,
) -> Option<Vec<(f64, String)>> {
    let mut out: Vec<(f64, String)> = Vec::new();
    let mut year = None;
    for (place, (x, c)) in items.iter().enumerate() {
        if place > 1 && (place - 1) % stride != 0 {
            continue;
        }
        let text = if year == Some(c.year) { &c.short } else { &c.full };
        if text.is_empty() {
            continue;
        }
        let clear = |(before, text): &(f64, String)| {
            before + text_width_px(text, em) * 1.12 + 0.9 * em <= *x
        };
        if !out.last().is_none_or(clear) {
            if place > 1 {
                return None;
            }
            out.clear();
            out.push((*x, c.full.clone()));
        } else {
            out.push((*x, text.clone()));
        }
        year = Some(c.year);
    }
    let first_stays = out.len();
    let mut place = 0;
    out.retain(|(x, text)| {
        place += 1;
        (place == 1 && first_stays == 1) || x + 0.35 * em + text_width_px(text, em) * 1.12 <= end
    });
    Some(out)
}
