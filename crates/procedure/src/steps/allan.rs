//! `allan`: how far averaging helps.

use super::daily::words;
use super::even;
use super::spectrum::chosen;
use crate::outcome::{Figure, Named, Outcome, State, Table, Value};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use figure::plan::curves::{Along, Curve, Curves, Look, Note, Spacing, curves};
use record::{
    Fault, Unit, print, say,
    words::{word, worded},
};
use signal::allan::{Kind, Point, curve_telling, regimes};

/// Allan deviations of channels.
pub static STEP: Step = Step {
    id: "allan",
    stage: Stage::Spectrum,
    title: "Allan deviation",
    params: &[Param::channel(
        "channel",
        "Channel",
        &[("components", "the three components")],
        "components",
        "",
    )],
    sentence: |_| "Work out the overlapping Allan deviation of {channel} for averaging times of one step upward.",
    why: Why {
        what: "For each averaging time, neighbouring averages are differenced; how much they scatter is \
               the Allan deviation.",
        why: "It falls while averaging helps and rises when drift takes over, so its lowest point names \
              the longest averaging time worth having.",
        wrong: "The daily variation and storms count as noise here, so judge a sensor by a quiet night or \
                in a shield, not by a stormy month.",
        picture: "A curve falls, turns and rises again; its lowest point is circled.",
    },
    run,
    repeatable: true,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let step_ns = state.record.cadence().step_ns;
    let step_s = 1.0 / even::rate_hz(&state.record)?;
    let channels = chosen(context, state)?;
    let mut found: Vec<(String, Unit, Vec<Point>)> = Vec::new();
    for (place, channel) in channels.iter().enumerate() {
        let mut tell = |share| (context.tell)((place as f64 + share) / channels.len() as f64);
        // On even times: a gap parts the averages beside it.
        let kept = even::grid(state, channel, step_ns).values;
        found.push((
            channel.name.clone(),
            channel.unit,
            curve_telling(&kept, step_s, Kind::Overlapping, 2, &mut tell)?,
        ));
    }
    let mut outcome = Outcome::new(state.clone(), remark(&found));
    for (name, unit, points) in &found {
        if let Some(least) = minimum(points) {
            let text = say!(
                "{} when averaged over {}",
                print::with_unit(&print::significant(least.deviation, 2), *unit),
                print::duration(least.tau_s)
            );
            outcome = outcome.line(name, &say!("{name}, least"), text);
        }
        for (k, r) in regimes(points).iter().enumerate() {
            let label =
                say!("{name}, {} to {}", print::duration(r.from_s), print::duration(r.to_s));
            let slope = print::fixed(r.slope, 2);
            let text = say!("slope {slope}, as of {}", r.meaning.words());
            outcome = outcome.line(&format!("{name}_slope_{}", k + 1), &label, text);
        }
    }
    if let Some(least) = found.first().and_then(|(_, _, points)| minimum(points)) {
        outcome = outcome.number("minimum_nt", least.deviation, found[0].1).number(
            "tau_s",
            least.tau_s,
            Unit::Second,
        );
    }
    let slopes = found.first().map_or_else(Vec::new, |(_, _, points)| regimes(points));
    outcome = outcome.value(Named {
        name: "slopes",
        value: Value::Rows(slopes.iter().map(|r| vec![r.from_s, r.to_s, r.slope]).collect()),
        unit: Unit::None,
        sigma: None,
    });
    outcome = outcome.value(Named {
        name: "deviation",
        value: Value::Rows(
            found.iter().map(|(_, _, p)| p.iter().map(|p| p.deviation).collect()).collect(),
        ),
        unit: found[0].1,
        sigma: None,
    });
    outcome.tables.push(table(&found));
    Ok(with_curves(outcome, found))
}

/// The lowest point, of averages of at most a quarter of the record (common practice, no source):
/// a line or a mean that was taken off makes longer ones low by itself.
fn minimum(points: &[Point]) -> Option<Point> {
    let whole = points.first().map_or(0, |p| p.terms + p.terms_left_out + 1);
    let short = points.partition_point(|p| p.m <= whole / 4);
    signal::allan::minimum(&points[..short])
}

fn remark(found: &[(String, Unit, Vec<Point>)]) -> String {
    let each: Vec<String> = found
        .iter()
        .filter_map(|(name, unit, points)| {
            let least = minimum(points)?;
            let size = print::with_unit(&print::significant(least.deviation, 2), *unit);
            Some(say!("{name} is steadiest, to {size}, over {}", print::duration(least.tau_s)))
        })
        .collect();
    if each.is_empty() {
        worded("No averaging time has enough neighbouring averages.")
    } else {
        format!("{}.", each.join("; "))
    }
}

fn table(found: &[(String, Unit, Vec<Point>)]) -> Table {
    let first = &found[0].2;
    let mut columns = vec!["tau_s".to_owned()];
    let mut data = vec![first.iter().map(|p| p.tau_s).collect::<Vec<f64>>()];
    for (name, unit, points) in found {
        columns.push(format!("allan_{name} ({})", unit.ascii()));
        let at =
            |tau: &f64| points.iter().find(|p| p.tau_s == *tau).map_or(f64::NAN, |p| p.deviation);
        data.push(data[0].iter().map(at).collect());
    }
    Table { name: "allan".to_owned(), columns, data, times_ns: None }
}

fn with_curves(outcome: Outcome, found: Vec<(String, Unit, Vec<Point>)>) -> Outcome {
    let unit = found[0].1;
    let text = words(
        "allan",
        word("Overlapping Allan deviation against averaging time, with 95 % intervals."),
        remark(&found),
    );
    let least: Vec<(f64, f64, String)> = found
        .iter()
        .filter_map(|(_, _, points)| minimum(points))
        .map(|p| (p.tau_s, p.deviation, say!("least at {}", print::duration(p.tau_s))))
        .collect();
    struct Drawn {
        name: String,
        tau: Vec<f64>,
        deviation: Vec<f64>,
        low: Vec<f64>,
        high: Vec<f64>,
    }
    let drawn: Vec<Drawn> = found
        .into_iter()
        .map(|(name, _, points)| Drawn {
            name,
            tau: points.iter().map(|p| p.tau_s).collect(),
            deviation: points.iter().map(|p| p.deviation).collect(),
            low: points.iter().map(|p| p.interval(0.95).0).collect(),
            high: points.iter().map(|p| p.interval(0.95).1).collect(),
        })
        .collect();
    outcome.figure(Figure::new("allan", word("Allan deviation"), move |frame, view| {
        let shown: Vec<Curve<'_>> = drawn
            .iter()
            .map(|d| Curve {
                name: &d.name,
                x: &d.tau,
                y: &d.deviation,
                interval: Some((&d.low, &d.high)),
                look: Look::Both,
            })
            .collect();
        let notes: Vec<Note<'_>> =
            least.iter().map(|(x, y, text)| Note { x: *x, y: *y, text }).collect();
        let data = Curves {
            curves: &shown,
            x: Along {
                quantity: word("averaging time"),
                unit: Unit::Second,
                spacing: Spacing::Durations,
                span: None,
            },
            y: Along { quantity: word("Allan deviation"), unit, spacing: Spacing::Log, span: None },
            levels: &[],
            notes: &notes,
        };
        curves(&data, *frame, *view, &text)
    }))
}
