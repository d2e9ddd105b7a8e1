//! `storms`: commencement, main phase and recovery in one station's record, and
//! what else it may have been.

use super::compare_words::{of_station, short_kind};
use super::daily;
use super::reference::{fine_reference, reference_days};
use super::storm_plates::{Change, Names, with_plates};
use super::{fine, storm_words as told};
use crate::outcome::{Named, Outcome, State, Table, Value};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use field::quiet_day::QuietDay;
use field::storms::{self, Even, Found, Local, Options, Sight};
use record::{Fault, Instant, NANOS_PER_SECOND, Unit, Warning, say, words::word};

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
        "Take the quiet day and the slow level off the horizontal field; where the hourly mean then \
         falls by {depth} and comes back slowly, call it a storm, and look in the twelve hours before \
         it for a sudden rise of at least {jump}."
    },
    why: Why {
        what: "Hours of low horizontal field are searched; a storm is one that is still down by a quarter \
               in the middle of the next twelve hours, a bay one that is not; each is weighed against \
               vans, nudges and a reference.",
        why: "In a magnetic storm a ring of current round the Earth weakens the horizontal field for \
              hours to days, everywhere at once, often after a sudden rise.",
        wrong: "One station alone can mistake a series of bays for a storm, and a thing parked for a day \
                for both: only a second record, best an observatory's, can tell.",
        picture: "The level jumps, falls deep and comes back slowly; beside it a ring of current \
                  round the Earth.",
    },
    run,
    repeatable: false,
    removable: true,
};

/// The reference as the search sees it.
struct Beside {
    days: field::days::Days,
    /// Change of its horizontal field, nT/min.
    change: Vec<f64>,
    quiet: QuietDay,
    even: Even,
    longitude_deg: f64,
}

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let days = daily::days(state)?;
    let longitude_deg = daily::longitude_deg(state)?;
    let turn = daily::along_the_meridian(&days);
    let order = daily::order(state, &days)?;
    let level = daily::horizontal(&days, &turn);
    let quiet = daily::quiet_of(state, &level, &order)?;
    let even = fine::even(state, &turn)?;
    let options = Options {
        depth_nt: context.number("depth"),
        jump_nt: context.number("jump"),
        ..Options::default()
    };
    let station = Sight { days: &level, quiet: &quiet, even: &even, longitude_deg };
    let (other, unused) = match beside(state, &days, &order) {
        Ok(other) => (other, None),
        Err(fault) => (None, Some(fault)),
    };
    let reference = other.as_ref().map(|o| Sight {
        days: &o.days,
        quiet: &o.quiet,
        even: &o.even,
        longitude_deg: o.longitude_deg,
    });
    let found = storms::search(&station, reference.as_ref(), &options);
    let mut outcome = reported(Outcome::new(state.clone(), told::remark(&found)), &found);
    for warning in warnings(state, unused.as_ref(), reference.is_some()) {
        outcome = outcome.warn(warning);
    }
    outcome.tables.push(hourly(&found.local, found.reference.as_ref()));
    let change = Change {
        station: storms::change_nt_per_min(&days),
        reference: other.map_or_else(Vec::new, |o| o.change),
    };
    let names = Names {
        station: of_station(state.station.as_ref()),
        reference: state.reference.as_deref().map(short_kind),
    };
    Ok(with_plates(outcome, &found, &change, &names))
}

/// The reference along its own mean horizontal direction; none without a reference.
fn beside(
    state: &State,
    days: &field::days::Days,
    order: &[usize],
) -> Result<Option<Beside>, Fault> {
    let Some(reference) = state.reference.as_deref() else { return Ok(None) };
    let theirs = reference_days(reference, days)?;
    let turn = daily::along_the_meridian(&theirs);
    let even = fine_reference(reference, &turn)?;
    let change = storms::change_nt_per_min(&theirs);
    let days = daily::horizontal(&theirs, &turn);
    let quiet = daily::quiet_of(state, &days, order)?;
    let own = daily::longitude_deg(state)?;
    let longitude_deg = reference.station.as_ref().map_or(own, |s| s.longitude_deg);
    Ok(Some(Beside { days, change, quiet, even, longitude_deg }))
}

fn reported(outcome: Outcome, found: &Found) -> Outcome {
    let storms: Vec<&storms::Storm> = found.storms().collect();
    let list = |name, values: Vec<f64>, sigmas: Option<Vec<f64>>, unit| Named {
        name,
        value: Value::List(values),
        unit,
        sigma: sigmas.map(Value::List),
    };
    let text = |name, parts: Vec<String>| Named {
        name,
        value: Value::Text(parts.join(" ")),
        unit: Unit::None,
        sigma: None,
    };
    let iso = |time: Instant| time.rounded(NANOS_PER_SECOND).iso();
    let times = |f: fn(&storms::Storm) -> Instant| storms.iter().map(|s| iso(f(s))).collect();
    let numbers = |f: fn(&storms::Storm) -> f64| storms.iter().map(|s| f(s)).collect::<Vec<f64>>();
    let jump = |s: &storms::Storm| s.jump.map_or(f64::NAN, |j| j.size_nt[0]);
    let others = found.candidates.iter().map(|c| (c.onset, c.verdict));
    let others = others.filter(|(_, v)| *v != storms::Verdict::Storm);
    let jumps = found.jumps.iter().map(|j| (j.jump.time, j.verdict));
    let named =
        |(time, verdict): (Instant, storms::Verdict)| format!("{}={}", iso(time), verdict.id());
    let outcome = outcome
        .number("storms", storms.len() as f64, Unit::None)
        .value(text("onset", times(|s| s.onset)))
        .value(list("onset_sigma_s", numbers(|s| s.onset_sigma_s), None, Unit::Second))
        .value(list("jump_nt", numbers(jump), None, Unit::Nanotesla))
        .value(text("main_phase", times(|s| s.main_phase)))
        .value(text("deepest", times(|s| s.deepest)))
        .value(list(
            "depth_nt",
            numbers(|s| s.depth_nt),
            Some(numbers(|s| s.depth_sigma_nt)),
            Unit::Nanotesla,
        ))
        .value(text("not_storms", others.map(named).collect()))
        .value(text("jumps", jumps.map(named).collect()));
    told::with_lines(outcome, found)
}

fn hourly(local: &Local, reference: Option<&Local>) -> Table {
    let hours = local.hours.len();
    let mut columns = vec!["hour_start", "local_disturbance (nT)", "sigma (nT)"];
    let mut data = vec![local.hours.clone(), (0..hours).map(|h| local.sigma_of(h)).collect()];
    if let Some(theirs) = reference {
        columns.push("reference (nT)");
        data.push(theirs.hours.clone());
    }
    Table {
        name: "local-disturbance".to_owned(),
        columns: columns.into_iter().map(str::to_owned).collect(),
        data,
        times_ns: Some((0..hours).map(|h| local.hour(h).0).collect()),
    }
}

fn warnings(state: &State, unused: Option<&Fault>, beside: bool) -> Vec<Warning> {
    let mut out = Vec::new();
    if let Some(fault) = unused {
        out.push(Warning::new(
            "storms/reference-not-used",
            say!("The reference was left aside: {}", fault.message),
            fault.remedy.clone(),
        ));
    }
    let remedy = if beside || state.reference.is_some() {
        ""
    } else {
        word(
            "Drop an observatory's record beside the log before you call a jump a sudden commencement.",
        )
    };
    out.push(Warning::new(
        "storms/one-station",
        "This is the disturbance of one station, not Dst, and not a warning of space weather.",
        remedy,
    ));
    out
}
