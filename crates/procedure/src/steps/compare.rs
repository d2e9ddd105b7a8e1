//! `compare`: the station beside an observatory's record.

use super::daily::{self, Panel, words};
use super::reference::reference_days;
use crate::outcome::{Named, Outcome, Reference, State, Value};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use field::compare::{Agreement, agreement};
use field::days::Days;
use record::{Fault, Station, Unit, Warning, print};

/// Sets the station against its reference.
pub static STEP: Step = Step {
    id: "compare",
    stage: Stage::Days,
    title: "Compare",
    params: &[Param::choice(
        "baseline",
        "Baselines",
        &[("remove", "after taking each one's mean off"), ("keep", "as they stand")],
        "remove",
        "An observatory's variation data have no absolute level.",
    )],
    sentence: |_| "Lay the station's components over the observatory's, {baseline}.",
    why: Why {
        what: "Both records are brought to the same bins of UTC and compared component by component: \
               scatter of the difference, correlation, and slope.",
        why: "What both see is the Sun's doing; what only yours sees is local.",
        wrong: "High correlation proves that changes agree, not that your absolute values are right; \
                and beyond some hundred kilometres only the large changes are shared.",
    },
    run,
    repeatable: false,
    removable: true,
};

struct Pair {
    name: &'static str,
    station: Vec<f64>,
    reference: Vec<f64>,
    agreement: Agreement,
}

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let reference = state.reference.as_deref().ok_or_else(|| {
        Fault::new(
            "compare/no-reference",
            "No observatory's record has been opened.",
            "Drop one (IAGA-2002) on the page beside the log, for the same days.",
        )
    })?;
    let days = daily::days(state)?;
    let theirs = reference_days(reference, &days)?;
    let level = context.text("baseline") == "remove";
    let pairs: Vec<Pair> = ["X", "Y", "Z"]
        .into_iter()
        .enumerate()
        .map(|(k, name)| pair(name, &days.values[k], &theirs.values[k], level))
        .collect();
    if pairs.iter().all(|p| p.agreement.n < 10) {
        return Err(Fault::new(
            "compare/no-overlap",
            format!("The log and {} share fewer than ten samples.", reference.name),
            "Open the observatory's file for the days of the log; look at both reading reports.",
        ));
    }
    let outcome = reported(Outcome::new(state.clone(), remark(&pairs, reference)), &pairs);
    let outcome = match (&state.station, &reference.station) {
        (Some(here), Some(there)) => outcome.warn(distance(here, there)),
        _ => outcome,
    };
    Ok(with_figures(outcome, &days, pairs, &reference.name))
}

fn pair(name: &'static str, station: &[f64], reference: &[f64], level: bool) -> Pair {
    let both = |k: usize| station[k].is_finite() && reference[k].is_finite();
    let mean = |list: &[f64]| {
        let used: Vec<f64> = (0..list.len()).filter(|k| both(*k)).map(|k| list[k]).collect();
        if level && !used.is_empty() { used.iter().sum::<f64>() / used.len() as f64 } else { 0.0 }
    };
    let (a, b) = (mean(station), mean(reference));
    let station: Vec<f64> = station.iter().map(|v| v - a).collect();
    let reference: Vec<f64> = reference.iter().map(|v| v - b).collect();
    let agreement = agreement(&station, &reference, |_| true);
    Pair { name, station, reference, agreement }
}

fn remark(pairs: &[Pair], reference: &Reference) -> String {
    let each: Vec<String> = pairs
        .iter()
        .filter(|p| p.agreement.n > 0)
        .map(|p| {
            format!(
                "{} differs by {} rms, correlation {}",
                p.name,
                print::with_unit(&print::significant(p.agreement.rms_nt, 3), Unit::Nanotesla),
                print::fixed(p.agreement.correlation, 3)
            )
        })
        .collect();
    format!("Against {}: {}.", reference.name, each.join("; "))
}

fn reported(mut outcome: Outcome, pairs: &[Pair]) -> Outcome {
    let list = |name, f: fn(&Agreement) -> f64, unit| Named {
        name,
        value: Value::List(pairs.iter().map(|p| f(&p.agreement)).collect()),
        unit,
        sigma: None,
    };
    outcome = outcome
        .value(list("rms_nt", |a| a.rms_nt, Unit::Nanotesla))
        .value(list("correlation", |a| a.correlation, Unit::None))
        .value(list("slope", |a| a.slope, Unit::None));
    for p in pairs.iter().filter(|p| p.agreement.n > 0) {
        let a = &p.agreement;
        let text = format!(
            "{} rms, correlation {}, slope {} ({})",
            print::with_unit(&print::significant(a.rms_nt, 3), Unit::Nanotesla),
            print::fixed(a.correlation, 3),
            print::fixed(a.slope, 2),
            print::counted(a.n, "pair", "pairs")
        );
        outcome = outcome.line(p.name, &format!("{} station less reference", p.name), text);
    }
    outcome
}

// How far a comparison can be trusted, by distance (common practice, no source).
fn distance(here: &Station, there: &Station) -> Warning {
    let km = great_circle_km(here, there);
    let trust = match km {
        d if d < 300.0 => "shape and size should agree",
        d if d < 800.0 => "the shape should agree, sizes only roughly",
        _ => "only storms can be expected to agree",
    };
    let minutes = (there.longitude_deg - here.longitude_deg) * 4.0;
    Warning::new(
        "compare/distance",
        format!(
            "The observatory is {} km away and its local noon comes {} {}: {trust} (common \
             practice).",
            print::significant(km, 3),
            print::duration(minutes.abs() * 60.0),
            if minutes > 0.0 { "earlier" } else { "later" }
        ),
        "",
    )
}

fn great_circle_km(a: &Station, b: &Station) -> f64 {
    let unit = |s: &Station| field::elements::components(s.longitude_deg, s.latitude_deg, 1.0);
    let (u, v) = (unit(a), unit(b));
    let across = record::vector::norm(record::vector::cross(u, v));
    let along = record::vector::dot(u, v);
    6371.2 * field::elements::declination_deg(along, across).to_radians()
}

fn with_figures(outcome: Outcome, days: &Days, pairs: Vec<Pair>, name: &str) -> Outcome {
    let text = words(
        "comparison",
        format!("The station's components over those of {name}, and their difference."),
        pairs
            .iter()
            .map(|p| {
                format!("{}: correlation {}.", p.name, print::fixed(p.agreement.correlation, 3))
            })
            .collect::<Vec<_>>()
            .join(" "),
    );
    let mut panels: Vec<Panel> = Vec::new();
    let mut differences = Vec::new();
    for p in pairs {
        let difference = p.station.iter().zip(&p.reference).map(|(a, b)| a - b).collect();
        differences.push((p.name.to_owned(), difference));
        panels.push(Panel {
            quantity: p.name,
            unit: Unit::Nanotesla,
            series: vec![("station".to_owned(), p.station), (name.to_owned(), p.reference)],
        });
    }
    panels.push(Panel { quantity: "difference", unit: Unit::Nanotesla, series: differences });
    let times = daily::bin_times_ns(days);
    daily::with_overlay(outcome, "comparison", "Comparison", times, panels, Vec::new(), text)
}
