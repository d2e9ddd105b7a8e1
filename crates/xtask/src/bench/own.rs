//! How long the page's own work takes on this machine, natively.
//!
//! The sixty-day demo log is made, opened, worked through and edited.  Each
//! figure is the median of several runs with the smallest and largest beside
//! it: on a busy machine only figures of one run may be compared.

use crate::halt::Halt;
use procedure::session::{Edit, Session};
use std::fmt;
use std::hint::black_box;
use std::time::Instant;

/// Runs of each measurement; odd, so that the median is one of them.
const RUNS: usize = 7;

/// The demo's seed is any: the work is the same.
const SEED: u64 = 1;

/// Measures and prints.
pub fn print() -> Result<(), Halt> {
    for figure in figures()? {
        println!("{figure}");
    }
    Ok(())
}

/// What was measured, in milliseconds.
#[derive(Clone, Debug, PartialEq)]
struct Figure {
    what: String,
    median_ms: f64,
    least_ms: f64,
    most_ms: f64,
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { what, median_ms, least_ms, most_ms } = self;
        write!(f, "{median_ms:>9.1} ms ({least_ms:.1} to {most_ms:.1})  {what}")
    }
}

fn figures() -> Result<Vec<Figure>, Halt> {
    let log = specimen::sixty_days(SEED);
    let megabytes = log.bytes.len() as f64 / 1e6;
    let mut session = opened(&log)?;
    session.finish();
    let step = session.procedure().steps.iter().position(|choice| choice.step.id == "spikes");
    let mut found = vec![
        measured("make the sixty-day log", || {
            black_box(specimen::sixty_days(SEED));
            Ok(())
        })?,
        measured(&format!("open it ({megabytes:.1} MB)"), || {
            opened(&log).map(|s| drop(black_box(s)))
        })?,
        measured("open it and run the proposed procedure", || {
            let mut fresh = opened(&log)?;
            fresh.finish();
            black_box(fresh.runs());
            Ok(())
        })?,
    ];
    if let Some(step) = step {
        let mut thresholds = ["5.5", "6"].iter().cycle();
        found.push(measured("edit the spike threshold, until the page's view is there", || {
            let value = (*thresholds.next().unwrap_or(&"6")).to_owned();
            let edit = Edit::Set { step, param: "threshold".into(), value, live: false };
            session.edit(edit).map_err(|fault| Halt::new(fault.to_string(), ""))?;
            session.finish();
            black_box(session.view());
            Ok(())
        })?);
    }
    Ok(found)
}

fn opened(log: &specimen::Log) -> Result<Session, Halt> {
    let mut session = Session::default();
    session
        .open(&log.name, &log.bytes, &Default::default())
        .map_err(|fault| Halt::new(fault.to_string(), ""))?;
    Ok(session)
}

fn measured(what: &str, mut work: impl FnMut() -> Result<(), Halt>) -> Result<Figure, Halt> {
    let mut times_ms = Vec::with_capacity(RUNS);
    for _ in 0..RUNS {
        let begin = Instant::now();
        work()?;
        times_ms.push(begin.elapsed().as_secs_f64() * 1e3);
    }
    Ok(summed_up(what, times_ms))
}

fn summed_up(what: &str, mut times_ms: Vec<f64>) -> Figure {
    times_ms.sort_by(f64::total_cmp);
    let at = |place: usize| times_ms.get(place).copied().unwrap_or(f64::NAN);
    Figure {
        what: what.to_owned(),
        median_ms: at(times_ms.len() / 2),
        least_ms: at(0),
        most_ms: at(times_ms.len().saturating_sub(1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_stands_with_the_smallest_and_the_largest() {
        let figure = summed_up("work", vec![3.0, 1.0, 2.0]);
        assert_eq!(figure.to_string(), "      2.0 ms (1.0 to 3.0)  work");
    }

    #[test]
    fn the_work_is_done_once_a_run_and_its_failure_stops_the_measurement() {
        let mut done = 0;
        let count = || {
            done += 1;
            Ok(())
        };
        assert!(measured("work", count).is_ok());
        assert_eq!(done, RUNS);
        assert!(measured("work", || Err(Halt::new("no", ""))).is_err());
    }
}
