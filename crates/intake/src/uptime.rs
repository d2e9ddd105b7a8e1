//! Uptimes that roll over or begin again.
//!
//! A 32-bit count of milliseconds rolls over after 2^32 ms (49.7 days), one of
//! microseconds after 71.6 minutes: the next value is small, and the step
//! across is as long as the others.  A restart falls back from anywhere; how
//! long the logger was off is not known, so the new stretch is set one step
//! after the old one.

use crate::ReadError;
use crate::decide::{Asked, alternatives};
use record::{
    say,
    words::{word, worded},
};

/// What was found.
#[derive(Debug, Default)]
pub(crate) struct Unrolled {
    /// Restarts.
    pub restarts: usize,
    /// First row and shift of each stretch, nanoseconds.
    pub shifts: Vec<(usize, i64)>,
}

/// Makes an uptime run on across roll-overs and restarts.
pub(crate) fn unroll(
    ns: &mut [i64],
    unit_s: f64,
    asked: &mut Asked,
) -> Result<Unrolled, ReadError> {
    if ns.windows(2).all(|w| w[1] >= w[0]) {
        return Ok(Unrolled::default());
    }
    let step = record::gaps::cadence(ns).step_ns.max(1);
    let turn_ns = turn(unit_s);
    let is_turn = |before: i64, after: i64| {
        turn_ns.is_some_and(|turn| {
            let across = after.saturating_sub(before).saturating_add(turn);
            let longest = step.max(turn / 100_000).saturating_mul(100);
            before > turn / 10 * 9 && across > 0 && across <= longest
        })
    };
    let drops: Vec<usize> = (1..ns.len()).filter(|k| ns[*k] < ns[k - 1]).collect();
    let turns = drops.iter().filter(|k| is_turn(ns[**k - 1], ns[**k])).count();
    // A clock that only stumbles (a step back of a few samples) is no restart.
    let restart = |k: usize| {
        let fall = ns[k - 1].saturating_sub(ns[k]);
        let far = fall > step.saturating_mul(10) || ns[k] < step.saturating_mul(2);
        !is_turn(ns[k - 1], ns[k]) && far
    };
    let restarts = drops.iter().filter(|k| restart(**k)).count();
    let follow = ask(turns, restarts, asked)?;
    let mut done = Unrolled { restarts, shifts: Vec::new() };
    let raw: Vec<(usize, bool)> = drops.iter().map(|k| (*k, is_turn(ns[*k - 1], ns[*k]))).collect();
    let wanted: Vec<(usize, bool)> =
        raw.into_iter().filter(|(k, turned)| *turned || (follow && restart(*k))).collect();
    let mut shift = 0i64;
    let mut next = 0;
    let mut before = ns[0];
    for (row, time) in ns.iter_mut().enumerate() {
        let own = *time;
        if let Some((k, turned)) = wanted.get(next)
            && *k == row
        {
            shift = match (turned, turn_ns) {
                (true, Some(turn)) => shift.saturating_add(turn),
                _ => before.saturating_add(step).saturating_sub(own),
            };
            done.shifts.push((row, shift));
            next += 1;
        }
        *time = own.saturating_add(shift);
        before = *time;
    }
    Ok(done)
}

fn turn(unit_s: f64) -> Option<i64> {
    let units = 4_294_967_296i64;
    match unit_s {
        1e-3 => Some(units * 1_000_000),
        1e-6 => Some(units * 1_000),
        _ => None,
    }
}

fn ask(turns: usize, restarts: usize, asked: &mut Asked) -> Result<bool, ReadError> {
    if turns > 0 {
        asked.note(crate::Decision {
            id: "rollover".to_owned(),
            sentence: say!(
                "The count rolled over {}; times run on across.",
                record::print::often(turns)
            ),
            evidence: worded("it fell from near 2^32 to near 0 with a step as long as the others"),
            chosen: "run-on".to_owned(),
            alternatives: Vec::new(),
            ambiguous: false,
        });
    }
    if restarts == 0 {
        return Ok(true);
    }
    let known = alternatives(&[
        ("run-on", word("set each new stretch one step after the last")),
        ("as-written", word("keep the count as written")),
    ]);
    let given = asked.answer("restart", &known)?;
    let follow = given.as_deref() != Some("as-written");
    asked.note(crate::Decision {
        id: "restart".to_owned(),
        sentence: say!(
            "The logger began again {}; {}.",
            record::print::often(restarts),
            if follow {
                word("how long it was off is not known, so each stretch follows one step after the last")
            } else {
                word("its count is kept as written")
            }
        ),
        evidence: worded("its count fell back"),
        chosen: if follow { "run-on" } else { "as-written" }.to_owned(),
        alternatives: known,
        ambiguous: given.is_none(),
    });
    Ok(follow)
}
