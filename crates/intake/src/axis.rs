//! The time axis: what was read from the rows becomes nanoseconds of UTC.
//!
//! In this order: the order of day and month, the offset from UTC, uptimes
//! that roll over or begin again, newest-first files, whole seconds shared by
//! several rows.  Every step is a decision with its evidence.  Backward jumps
//! and repeated times stay where they are.

use crate::decide::{Asked, alternatives};
use crate::moment::Times;
use crate::plan::Source;
use crate::{ReadError, dates, midnight, spread, uptime, zone};
use record::print::{count, counted};
use record::{
    Instant, NANOS_PER_SECOND, Warning, say,
    words::{word, worded},
};

/// A settled time axis.
#[derive(Debug)]
pub(crate) struct Axis {
    /// One time a row, in file order unless `reversed`.
    pub ns: Vec<i64>,
    /// Rows left out, ascending: their date does not exist.
    pub dropped: Vec<usize>,
    /// Whether rows are to be turned round.
    pub reversed: bool,
    /// Restarts of an uptime count.
    pub restarts: usize,
    /// Warnings about the times.
    pub warnings: Vec<Warning>,
    /// How times read elsewhere (notes) follow: order of the dates and offset.
    pub reading: Settled,
}

/// What was settled about stamps.
#[derive(Clone, Debug, Default)]
pub(crate) struct Settled {
    /// Order of the three numbers of an open date.
    pub order: dates::Order,
    /// The zone taken away.
    pub zone: zone::Zone,
    /// Nanoseconds added to each uptime, by first row.
    pub shifts: Vec<(usize, i64)>,
}

impl Settled {
    /// The instant of a time as rows keep it.
    pub(crate) fn instant(&self, ns: i64, open: Option<[u16; 3]>, row: usize) -> Instant {
        let day = open.and_then(|parts| self.order.midnight(parts)).unwrap_or(0);
        let local = ns.saturating_add(day);
        let shift =
            self.shifts.iter().rev().find(|(first, _)| *first <= row).map_or(0, |(_, s)| *s);
        Instant(self.zone.utc(local, i64::MIN).saturating_add(shift))
    }
}

/// Settles the times of all rows.  `twin` says whether a row as read holds the
/// values of the one before.
///
/// # Errors
///
/// [`ReadError::Choice`] for an answer that is no alternative.
pub(crate) fn settle(
    times: Times,
    source: &Source,
    file: &str,
    twin: &dyn Fn(usize) -> bool,
    asked: &mut Asked,
) -> Result<Axis, ReadError> {
    let Times { ns, open, zoned, offsets_differ, first_offset_s } = times;
    let mut ns = ns.into_vec();
    let mut axis = Axis {
        ns: Vec::new(),
        dropped: Vec::new(),
        reversed: false,
        restarts: 0,
        warnings: Vec::new(),
        reading: Settled::default(),
    };
    if source.kind == "none" {
        no_times(&mut ns, source, &mut axis, asked)?;
        axis.ns = ns;
        return Ok(axis);
    }
    if !open.is_empty() {
        let (order, unreal) = dates::settle(&mut ns, &open, asked)?;
        axis.reading.order = order;
        without(&mut ns, &unreal);
        axis.dropped = unreal;
    }
    let in_a_day = |t: &i64| t.unsigned_abs() < 2 * crate::stamp::DAY_NS.unsigned_abs();
    if source.undated && ns.iter().all(in_a_day) {
        let start = midnight::settle(&mut ns, file, &mut axis.warnings, asked)?;
        axis.reading.shifts.push((0, start));
    }
    axis.reversed = newest_first(&ns, asked)?;
    if axis.reversed {
        ns.reverse();
    }
    match source.kind {
        "uptime" => {
            let done = uptime::unroll(&mut ns, source.unit_s, asked)?;
            axis.restarts = done.restarts;
            axis.reading.shifts = done.shifts;
            start_of_uptime(&mut ns, &mut axis, asked)?;
        }
        "epoch" => {}
        _ => {
            let stated = zone::Stated {
                zoned,
                rows: ns.len(),
                first_offset_s,
                offsets_differ,
                header_s: source.offset_s,
            };
            axis.reading.zone = zone::settle(&mut ns, &stated, &mut axis.warnings, asked)?;
        }
    }
    let n = ns.len();
    let reversed = axis.reversed;
    let twin = |row: usize| twin(if reversed { n - row } else { row });
    if axis.dropped.is_empty() {
        spread::settle(&mut ns, &twin, asked)?;
    }
    axis.warnings.extend(leap(&ns));
    axis.ns = ns;
    Ok(axis)
}

// A step of more than a year: no logger rests so long between two rows.
fn leap(ns: &[i64]) -> Option<Warning> {
    let year = 365 * crate::stamp::DAY_NS.unsigned_abs();
    let w = ns.windows(2).find(|w| w[0].abs_diff(w[1]) > year)?;
    Some(Warning::new(
        "intake/clock-leap",
        say!(
            "The clock leaps from {} to {}: it was probably set only then, or had lost its power.",
            Instant(w[0]).readable(),
            Instant(w[1]).readable()
        ),
        "Leave the wrong side out with the step “Leave out a span”.",
    ))
}

/// The cadence; without a copy of the steps when all are alike.
pub(crate) fn cadence(ns: &[i64]) -> record::gaps::Cadence {
    let step_ns = match ns {
        [first, second, ..] => second.saturating_sub(*first),
        _ => 0,
    };
    if step_ns > 0 && ns.windows(2).all(|w| w[1].saturating_sub(w[0]) == step_ns) {
        return record::gaps::Cadence { step_ns, jitter_ns: 0 };
    }
    record::gaps::cadence(ns)
}

/// Takes the rows at ascending places out of a column.
pub(crate) fn without<T>(column: &mut Vec<T>, places: &[usize]) {
    let (mut row, mut next) = (0, 0);
    if !places.is_empty() {
        column.retain(|_| {
            let out = places.get(next) == Some(&row);
            next += usize::from(out);
            row += 1;
            !out
        });
    }
}

// Times made from a cadence, from 1970 on.
fn no_times(
    ns: &mut [i64],
    source: &Source,
    axis: &mut Axis,
    asked: &mut Asked,
) -> Result<(), ReadError> {
    let given = asked.number("cadence")?;
    let (step_s, evidence) = match (given, source.cadence_s) {
        (Some(given), _) => (given, worded("your choice")),
        (None, Some(told)) => (told, worded("a comment in the log states the rate")),
        (None, None) => (1.0, worded("nothing in the log says how often it was written")),
    };
    let start = asked.instant("start")?.map_or(0, |instant| instant.0);
    let step_ns = step_s * NANOS_PER_SECOND as f64;
    for (row, time) in ns.iter_mut().enumerate() {
        *time = start.saturating_add((row as f64 * step_ns).round() as i64);
    }
    let text = record::print::duration(step_s);
    asked.note(crate::Decision {
        id: "cadence".to_owned(),
        sentence: say!("Rows are taken to be {text} apart."),
        evidence,
        chosen: record::print::trimmed(step_s, 9),
        alternatives: alternatives(&[
            ("0.01", word("100 a second")),
            ("0.1", word("10 a second")),
            ("1", word("one a second")),
            ("60", word("one a minute")),
        ]),
        ambiguous: given.is_none() && source.cadence_s.is_none(),
    });
    if given.is_none() && source.cadence_s.is_none() {
        axis.warnings.push(Warning::new(
            "intake/no-time",
            say!("The log holds no times: its {} are set {text} apart, so periods and frequencies hold only if that is right.", counted(ns.len(), "row", "rows")),
            "Say how far apart the rows are.",
        ));
    }
    Ok(())
}

fn newest_first(ns: &[i64], asked: &mut Asked) -> Result<bool, ReadError> {
    let back = ns.windows(2).filter(|w| w[1] < w[0]).count();
    if back == 0 {
        return Ok(false);
    }
    let on = ns.windows(2).filter(|w| w[1] > w[0]).count();
    let found = back >= 9 * on.max(1) || on == 0;
    if !found {
        return Ok(false);
    }
    let known = alternatives(&[
        ("newest-first", word("turn the rows round")),
        ("as-written", word("keep the order of the file")),
    ]);
    let given = asked.answer("row-order", &known)?;
    let turned = given.as_deref() != Some("as-written");
    asked.note(crate::Decision {
        id: "row-order".to_owned(),
        sentence: if turned {
            word("The file runs newest first; its rows were turned round.")
        } else {
            word("Rows keep the order of the file.")
        }
        .to_owned(),
        evidence: say!("{} of {} steps go back in time", count(back), count(back + on)),
        chosen: if turned { "newest-first" } else { "as-written" }.to_owned(),
        alternatives: known,
        ambiguous: false,
    });
    Ok(turned)
}

fn start_of_uptime(ns: &mut [i64], axis: &mut Axis, asked: &mut Asked) -> Result<(), ReadError> {
    let given = asked.instant("start")?;
    if let (Some(start), Some(first)) = (given, ns.first().copied()) {
        let shift = start.0.saturating_sub(first);
        ns.iter_mut().for_each(|time| *time = time.saturating_add(shift));
        if axis.reading.shifts.is_empty() {
            axis.reading.shifts.push((0, 0));
        }
        axis.reading.shifts.iter_mut().for_each(|(_, s)| *s = s.saturating_add(shift));
    }
    let sentence = match given {
        Some(start) => say!("The first row was written at {} UTC.", start.readable()),
        None => worded("Times count from when the logger was switched on; the date is not known."),
    };
    asked.note(crate::Decision {
        id: "start".to_owned(),
        sentence,
        evidence: if given.is_some() {
            word("your choice")
        } else {
            word("an uptime carries no date")
        }
        .to_owned(),
        chosen: given.map_or_else(|| "unknown".to_owned(), Instant::iso),
        alternatives: Vec::new(),
        ambiguous: false,
    });
    Ok(())
}
