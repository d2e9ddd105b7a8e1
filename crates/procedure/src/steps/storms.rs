//! `storms`: commencement, main phase and recovery in one station's record.

use super::daily::{self, Panel, words};
use crate::outcome::{Named, Outcome, State, Value};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use field::days::Days;
use field::model::dipole;
use field::storms::{self, Options, Storm};
use record::{Fault, Instant, Unit, Warning, print};

/// Looks for storms.
pub static STEP: Step = Step {
    id: "storms",
    stage: Stage::Days,
    title: "Storms",
    params: &[
        Param::number(
            "depth",
            "Depth of a storm",
            Unit::Nanotesla,
            (10.0, 1_000.0, 10.0),
            50.0,
            "Of the hourly disturbance; 50 is where moderate storms begin.",
        ),
        Param::number(
            "jump",
            "Smallest sudden jump",
            Unit::Nanotesla,
            (1.0, 500.0, 1.0),
            10.0,
            "Within ten minutes, staying.",
        ),
    ],
    sentence: |_| {
        "Take the quiet day off X, and call a storm what then falls below {depth} in the hourly mean; \
         look before it for a sudden jump of at least {jump}."
    },
    why: Why {
        what: "The north component, freed of its quiet-day curve and level and scaled to the magnetic \
               equator, is searched for hours of deep depression, and the hours before for a jump.",
        why: "In a magnetic storm a ring of current round the Earth weakens the horizontal field for \
              hours to days, everywhere at once.",
        wrong: "One station cannot tell a sudden commencement from a parked car: only a second record, \
                best an observatory's, can.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let days = daily::days(state)?;
    let quiet = daily::quiet(state, &days, 5, 6)?;
    let latitude = dipole_latitude_deg(state, days.first.decimal_year())?;
    let disturbance = storms::disturbance(&days, 0, &quiet, latitude);
    let options = Options {
        depth_nt: context.number("depth"),
        jump_nt: context.number("jump"),
        ..Options::default()
    };
    let found = storms::find(&days, &disturbance, &options);
    let mut outcome = Outcome::new(state.clone(), remark(&found))
        .number("storms", found.len() as f64, Unit::None)
        .value(times("onset", found.iter().map(|s| s.onset)))
        .value(times("deepest", found.iter().map(|s| s.deepest)))
        .value(Named {
            name: "depth_nt",
            value: Value::List(found.iter().map(|s| s.depth_nt).collect()),
            unit: Unit::Nanotesla,
            sigma: None,
        });
    for (k, storm) in found.iter().enumerate() {
        outcome = outcome.line(
            &format!("storm_{}", k + 1),
            &format!("{} UTC", storm.onset.readable()),
            told(storm),
        );
    }
    outcome = outcome.warn(Warning::new(
        "storms/one-station",
        "This is the disturbance of one station, not Dst, and not a warning of space weather.",
        "Compare with an observatory's record before you call a jump a sudden commencement.",
    ));
    Ok(with_disturbance(outcome, &days, &found, disturbance))
}

fn with_disturbance(
    outcome: Outcome,
    days: &Days,
    found: &[Storm],
    disturbance: Vec<f64>,
) -> Outcome {
    let stretches = found
        .iter()
        .enumerate()
        .map(|(k, s)| {
            let end = s.end.map_or(s.deepest.0, |e| e.0);
            (s.onset.0, end, format!("{}", k + 1))
        })
        .collect();
    let text = words(
        "disturbance",
        "Local disturbance: X less its quiet day, scaled to the magnetic equator; storms are shaded \
         and numbered.",
        remark(found),
    );
    let panels = vec![Panel {
        quantity: "local disturbance",
        unit: Unit::Nanotesla,
        series: vec![("X".to_owned(), disturbance)],
    }];
    let times = daily::bin_times_ns(days);
    daily::with_overlay(outcome, "disturbance", "Local disturbance", times, panels, stretches, text)
}

fn times(name: &'static str, list: impl Iterator<Item = Instant>) -> Named {
    let text: Vec<String> = list.map(Instant::iso).collect();
    Named { name, value: Value::Text(text.join(" ")), unit: Unit::None, sigma: None }
}

fn dipole_latitude_deg(state: &State, decimal_year: f64) -> Result<f64, Fault> {
    let station = state.station.as_ref().ok_or_else(|| {
        Fault::new(
            "storms/no-station",
            "The station's place is not known.",
            "Switch the step Station on and fill in its place.",
        )
    })?;
    let which = field::model::best_for(decimal_year);
    Ok(dipole::of_station(which, station, decimal_year)?.latitude_deg)
}

fn told(storm: &Storm) -> String {
    let depth = print::with_unit(&print::significant(storm.depth_nt, 3), Unit::Nanotesla);
    let jump = match storm.jump {
        Some(jump) => format!(
            "jump of {} at {}",
            print::with_unit(&print::significant(jump.size_nt, 2), Unit::Nanotesla),
            jump.time.readable()
        ),
        None => "no sudden jump".to_owned(),
    };
    let class = storms::class(storm.depth_nt).map_or("", |c| c.id());
    let like = if class.is_empty() { String::new() } else { format!(", as of a {class} storm") };
    format!("{jump}; deepest {depth} about {}{like}", storm.deepest.readable())
}

fn remark(found: &[Storm]) -> String {
    match found.first() {
        None => "No storm of this depth.".to_owned(),
        Some(first) => format!(
            "Found {}; the first with onset on {} UTC ({}).",
            print::counted(found.len(), "storm", "storms"),
            first.onset.readable(),
            told(first)
        ),
    }
}
