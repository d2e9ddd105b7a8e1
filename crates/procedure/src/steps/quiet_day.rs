//! `quiet-day`: the regular daily variation, from the quietest days.

use super::daily::{self, words};
use crate::outcome::{Figure, Named, Outcome, State, Value};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use field::quiet_day::QuietDay;
use figure::Words;
use figure::plan::curves::{Along, Curve, Curves, Look, Spacing, curves};
use record::{Fault, Instant, Unit, print};

/// Folds the quietest days.
pub static STEP: Step = Step {
    id: "quiet-day",
    stage: Stage::Days,
    title: "Quiet day",
    params: &[
        Param::whole("days", "Quiet days", (2.0, 60.0, 1.0), false, 5.0, "Five a month is usual."),
        Param::whole(
            "harmonics",
            "Harmonics drawn",
            (0.0, 12.0, 1.0),
            false,
            6.0,
            "Of 24 hours; 0 keeps the plain average.",
        ),
    ],
    sentence: |_| {
        "Average the {days} quietest days by the clock, after taking each day's slow change off, and \
         draw {harmonics} harmonics of 24 hours through the average."
    },
    why: Why {
        what: "The days with the lowest K indices of this very record are laid over each other, each \
               freed of the line from midnight to midnight, and averaged; night is taken as nought.",
        why: "The regular daily variation is made by currents that sunlight drives in the ionosphere, \
              and it must be known before a disturbance can be seen beside it.",
        wrong: "In an unquiet month even the quietest days are disturbed, and a sensor that follows \
                the temperature has a daily variation of its own.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let days = daily::days(state)?;
    let longitude = daily::longitude_deg(state)?;
    let quiet = daily::quiet(state, &days, context.whole("days"), context.whole("harmonics"))?;
    let dates: Vec<String> = quiet.dates.iter().map(|d| date(*d)).collect();
    let names = ["X", "Y", "Z"];
    let ranges: Vec<String> = names
        .iter()
        .zip(&quiet.range_nt)
        .map(|(name, range)| {
            format!("{name} {}", print::with_unit(&print::significant(*range, 3), Unit::Nanotesla))
        })
        .collect();
    let remark = format!(
        "Averaged {} ({}); the daily ranges are {}.",
        print::counted(quiet.used.len(), "day", "days"),
        dates.join(", "),
        ranges.join(", ")
    );
    let mut outcome = Outcome::new(state.clone(), remark).value(Named {
        name: "range_nt",
        value: Value::List(quiet.range_nt.clone()),
        unit: Unit::Nanotesla,
        sigma: None,
    });
    outcome = with_harmonics(outcome, &quiet, &names, longitude);
    Ok(with_curve(outcome, &quiet, longitude))
}

fn date(instant: Instant) -> String {
    instant.readable().rsplit_once(' ').map_or_else(String::new, |(day, _)| day.to_owned())
}

fn with_harmonics(
    mut outcome: Outcome,
    quiet: &QuietDay,
    names: &[&str; 3],
    longitude_deg: f64,
) -> Outcome {
    let mut amplitudes = Vec::new();
    let mut phases = Vec::new();
    for (name, harmonics) in names.iter().zip(&quiet.harmonics) {
        let mut row = (Vec::new(), Vec::new());
        for k in 1..=harmonics.pairs.len() {
            let Some((amplitude, share)) = harmonics.amplitude_and_peak(k) else { continue };
            let period_h = 24.0 / k as f64;
            let local_h = (share * 24.0 + longitude_deg / 15.0).rem_euclid(period_h);
            row.0.push(amplitude);
            row.1.push(local_h);
            if k <= 3 {
                let size = print::with_unit(&print::significant(amplitude, 3), Unit::Nanotesla);
                outcome = outcome.line(
                    &format!("{name}_{k}"),
                    &format!("{name}, {} h", print::trimmed(period_h, 3)),
                    format!("{size}, greatest at {} h local mean time", print::fixed(local_h, 1)),
                );
            }
        }
        amplitudes.push(row.0);
        phases.push(row.1);
    }
    let rows = |name, rows, unit| Named { name, value: Value::Rows(rows), unit, sigma: None };
    outcome.value(rows("amplitude_nt", amplitudes, Unit::Nanotesla)).value(rows(
        "phase_h",
        phases,
        Unit::Hour,
    ))
}

fn with_curve(outcome: Outcome, quiet: &QuietDay, longitude_deg: f64) -> Outcome {
    let bins = quiet.curve.first().map_or(0, Vec::len);
    let shift = longitude_deg / 15.0;
    // From local midnight to local midnight.
    let mut order: Vec<(f64, usize)> = (0..bins)
        .map(|k| (((k as f64 + 0.5) * 24.0 / bins as f64 + shift).rem_euclid(24.0), k))
        .collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let hours: Vec<f64> = order.iter().map(|(h, _)| *h).collect();
    let sorted = |list: &Vec<f64>| -> Vec<f64> { order.iter().map(|(_, k)| list[*k]).collect() };
    let lines: Vec<Vec<f64>> = quiet.curve.iter().map(sorted).collect();
    let spreads: Vec<Vec<f64>> = quiet.spread_nt.iter().map(sorted).collect();
    let edges: Vec<(Vec<f64>, Vec<f64>)> = lines
        .iter()
        .zip(&spreads)
        .map(|(line, spread)| {
            let edge = |sign: f64| line.iter().zip(spread).map(|(v, s)| v + sign * s).collect();
            (edge(-1.0), edge(1.0))
        })
        .collect();
    let text = curve_words(quiet);
    outcome.figure(Figure::new("quiet-day", "Quiet day", move |frame, view| {
        let shown: Vec<Curve<'_>> = ["X", "Y", "Z"]
            .iter()
            .zip(&lines)
            .zip(&edges)
            .map(|((name, y), (lo, hi))| Curve {
                name,
                x: &hours,
                y,
                interval: Some((lo, hi)),
                look: Look::Line,
            })
            .collect();
        curves(&against_local_time(&shown), *frame, *view, &text)
    }))
}

fn curve_words(quiet: &QuietDay) -> Words {
    words(
        "quiet-day",
        "The quiet day against local mean time: average of the quietest days about the night, with \
         the spread from day to day as a band.",
        format!(
            "Curves of X, Y and Z over 24 hours of local mean time. Their ranges are {} nT.",
            quiet.range_nt.iter().map(|r| print::significant(*r, 3)).collect::<Vec<_>>().join(", ")
        ),
    )
}

fn against_local_time<'a>(shown: &'a [Curve<'a>]) -> Curves<'a> {
    Curves {
        curves: shown,
        x: Along {
            quantity: "local mean time",
            unit: Unit::Hour,
            spacing: Spacing::Hours,
            span: Some((0.0, 24.0)),
        },
        y: Along {
            quantity: "variation",
            unit: Unit::Nanotesla,
            spacing: Spacing::Even,
            span: None,
        },
        levels: &[],
        notes: &[],
    }
}
