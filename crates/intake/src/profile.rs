//! Profiles: what the cells of one column of the sample look like.

use crate::calendar::Date;
use crate::header::Row;
use crate::number::{self, Cell, Mark};
use crate::stamp;

/// Counts over the cells of a column.
#[derive(Clone, Debug, Default)]
pub(crate) struct Profile {
    /// Cells that are not blank or missing.
    pub filled: usize,
    /// Cells that are numbers.
    pub numbers: usize,
    /// Cells with a date and a time of day.
    pub stamps: usize,
    /// Cells with a date alone.
    pub dates: usize,
    /// Cells with a time of day alone.
    pub clocks: usize,
    /// Cells such as 18.10.05, a time or a date.
    pub dotted: usize,
    /// The numbers.
    pub values: Vec<f64>,
    /// Whether every number is written without decimals.
    pub whole: bool,
    /// The longest cell that is a plain number, bytes.
    pub longest: usize,
    /// A unit behind the values, when most have one.
    pub unit: Option<String>,
    /// Different texts, at most 20.
    pub texts: Vec<Vec<u8>>,
    /// The first filled cell.
    pub example: String,
}

impl Profile {
    /// The profile of column `place`.
    pub(crate) fn of(rows: &[Row], place: usize, mark: Mark) -> Self {
        let mut out = Self { whole: true, ..Self::default() };
        let (mut with_units, mut run_together) = (0, 0);
        for cell in rows.iter().filter_map(|row| row.cells.get(place)) {
            let text = number::trimmed(cell);
            if number::is_missing(text) {
                continue;
            }
            if out.filled == 0 {
                out.example = crate::decode::excerpt(text, 32);
            }
            out.filled += 1;
            match number::measured(text, mark) {
                Cell::Value(value) => {
                    out.numbers += 1;
                    out.whole &=
                        text.iter().all(|b| b.is_ascii_digit() || matches!(b, b'-' | b'+'));
                    out.longest = out.longest.max(text.len());
                    run_together += usize::from(is_run_together(text));
                    out.values.push(value);
                    if let Some((_, unit)) = number::with_unit(text, mark) {
                        with_units += 1;
                        out.unit.get_or_insert_with(|| unit.to_owned());
                    }
                }
                _ => out.word(text),
            }
        }
        // One cell that is one of the two for certain decides for the others.
        if out.clocks > 0 {
            out.clocks += std::mem::take(&mut out.dotted);
        } else if out.dates > 0 {
            out.dates += std::mem::take(&mut out.dotted);
        }
        // `20260503` and `20260503142005`, when all cells are such days that exist.
        if run_together == out.filled {
            let days = if out.longest == 8 { &mut out.dates } else { &mut out.stamps };
            *days += run_together;
        }
        if with_units * 2 < out.filled {
            out.unit = None;
        }
        out
    }

    fn word(&mut self, text: &[u8]) {
        let read = stamp::read(text);
        if read.is_some() && self.stamps + self.dates + self.clocks == 0 {
            self.example = crate::decode::excerpt(text, 32);
        }
        match read {
            Some(_) if is_dotted(text) => self.dotted += 1,
            Some(stamp) => match (stamp.date, stamp.of_day_ns) {
                (Some(_), Some(_)) => self.stamps += 1,
                (Some(Date::Known(_) | Date::Open(_)), None) => self.dates += 1,
                _ => self.clocks += 1,
            },
            None if self.texts.len() < 20 && !self.texts.iter().any(|t| t == text) => {
                self.texts.push(text.to_vec());
            }
            None => {}
        }
    }

    /// Whether most filled cells are of a kind counted in `count`.
    pub(crate) fn mostly(&self, count: usize) -> bool {
        self.filled > 0 && count * 10 >= self.filled * 8
    }

    /// Whether the numbers hardly ever fall (or rise) and mostly change, as a
    /// time does; a restart or two may fall back.
    pub(crate) fn runs(&self) -> bool {
        let (up, down, n) = self.steps();
        n >= 1 && up.max(down) * 2 >= n && up.min(down) <= (n / 20).max(2) && up != down
    }

    /// Whether the numbers rise, and nothing but a restart falls back.
    pub(crate) fn climbs(&self) -> bool {
        let (up, down, n) = self.steps();
        n >= 1 && up * 2 >= n && down * 20 <= n
    }

    fn steps(&self) -> (usize, usize, usize) {
        let steps = || self.values.windows(2).map(|w| w[1] - w[0]);
        let (up, down) =
            (steps().filter(|s| *s > 0.0).count(), steps().filter(|s| *s < 0.0).count());
        (up, down, self.values.len().saturating_sub(1))
    }

    /// Smallest number.
    pub(crate) fn least(&self) -> f64 {
        self.values.iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// Largest number.
    pub(crate) fn most(&self) -> f64 {
        self.values.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }

    /// The middle one of the steps between neighbours that differ, sign off.
    pub(crate) fn median_step(&self) -> f64 {
        let mut steps: Vec<f64> =
            self.values.windows(2).map(|w| (w[1] - w[0]).abs()).filter(|s| *s > 0.0).collect();
        record::sort::ascending(&mut steps);
        steps.get(steps.len() / 2).copied().unwrap_or(0.0)
    }

    /// Whether all those steps are the same.
    pub(crate) fn even(&self) -> bool {
        let step = self.median_step();
        let even = |w: &[f64]| ((w[1] - w[0]).abs() - step).abs() < 1e-6 * step.max(1e-9);
        // A restart is one uneven step.
        let odd = self.values.windows(2).filter(|w| !even(w)).count();
        odd <= self.values.len() / 20
    }
}

fn is_run_together(text: &[u8]) -> bool {
    let recent = text.starts_with(b"19") || text.starts_with(b"20");
    recent && matches!(text.len(), 8 | 12 | 14) && stamp::read(text).is_some()
}

// Three numbers of two digits between points, good for a time and for a date.
fn is_dotted(text: &[u8]) -> bool {
    let both = stamp::clock(text, false).is_some_and(|(_, rest)| rest.is_empty());
    both && text.contains(&b'.') && !text.contains(&b':') && crate::calendar::date(text).is_some()
}
