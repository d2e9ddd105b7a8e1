//! `compare`: the station beside an observatory's record.

use super::compare_words as told;
use super::daily::{self, Panel, words};
use super::reference::{elements_in_bins, stamp_ns};
use crate::engine;
use crate::outcome::{Named, Outcome, Reference, State, Table, Value};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use field::compare::{Agreement, Band, Slope, agreement, bands, slope};
use field::days::Days;
use record::{
    Fault, Station, Unit, print, say,
    words::{word, worded},
};
use signal::smooth::running_mean;

/// Sets the station against its reference.
pub static STEP: Step = Step {
    id: "compare",
    stage: Stage::Days,
    title: "Compare",
    params: &[Param::choice(
        "baseline",
        "Baselines",
        &[
            ("remove", "after taking each one's median of every UTC day off"),
            ("mean", "after taking each one's mean off"),
            ("keep", "as they stand"),
        ],
        "remove",
        "An observatory's variation data have no absolute level, and a sensor drifts.",
    )],
    sentence: |_| {
        "Lay the station's components over the observatory's in the same bins of UTC, {baseline}, and \
         compare them all together and band by band."
    },
    why: Why {
        what: "Both records are brought to the same bins of UTC and compared component by component: \
               lag, slope, scatter of the difference, correlation and coherence, slow and quick apart.",
        why: "What both see is the Sun's doing; what only yours sees is local.",
        wrong: "High correlation proves that changes agree, not that your absolute values are right; \
                and beyond some hundred kilometres only the large changes are shared.",
        picture: "Two traces under one Sun: three features are joined by lines, and one hump in a \
                  single trace is circled.",
    },
    run,
    repeatable: false,
    removable: true,
};

/// One component of both.
pub(super) struct Pair {
    pub name: &'static str,
    pub station: Vec<f64>,
    pub reference: Vec<f64>,
    pub agreement: Agreement,
    pub slope: Slope,
    pub bands: Vec<Band>,
}

/// How far the station is behind the reference, seconds.
#[derive(Clone, Copy)]
pub(super) struct Late {
    pub seconds: f64,
    pub sigma_s: f64,
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
    let baseline = context.text("baseline");
    let stamp_ns = stamp_ns(daily::field_record(state), days.bin_ns());
    let pairs = pairs(reference, &days, stamp_ns, baseline)?;
    let late = late(&pairs, days.bin_ns() as f64 * 1e-9);
    let mut outcome =
        Outcome::new(state.clone(), told::remark(&pairs, late, reference, state.station.as_ref()));
    outcome = reported(outcome, &pairs, late);
    outcome = told::with_lines(outcome, &pairs, late);
    outcome.tables.push(table(&pairs));
    if let (Some(here), Some(there)) = (&state.station, &reference.station) {
        outcome = told::with_distance(outcome, here, there);
    }
    // Others that were opened beside it.
    let mut others = Vec::new();
    for input in context.inputs.files.iter().filter(|i| i.reading.report.format == "iaga-2002") {
        let other = engine::reference(input, &input.reading.record);
        if other.name == reference.name && other.record.len() == reference.record.len() {
            continue;
        }
        let compared = self::pairs(&other, &days, stamp_ns, baseline);
        outcome = told::with_other(outcome, &other, &compared, state.station.as_ref());
        others.extend(compared.ok().map(|pairs| (other, pairs)));
    }
    Ok(with_figures(outcome, &days, pairs, reference, &others, state.station.as_ref()))
}

fn pairs(
    reference: &Reference,
    days: &Days,
    stamp_ns: i64,
    baseline: &str,
) -> Result<Vec<Pair>, Fault> {
    let step_s = days.bin_ns() as f64 * 1e-9;
    let theirs = elements_in_bins(reference, days, stamp_ns)?;
    let pairs: Vec<Pair> = theirs
        .into_iter()
        .map(|(name, list)| {
            let station = level_off(&ours(days, name), &list, days.bins, baseline);
            let reference = level_off(&list, &ours(days, name), days.bins, baseline);
            Pair {
                name,
                agreement: agreement(&station, &reference, |_| true),
                slope: slope(&station, &reference),
                bands: bands(&station, &reference, step_s),
                station,
                reference,
            }
        })
        .collect();
    if pairs.iter().all(|p| p.agreement.n < 10) {
        return Err(Fault::new(
            "compare/no-overlap",
            say!("The log and {} share fewer than ten samples.", reference.name),
            "Open the observatory's file for the days of the log; look at both reading reports.",
        ));
    }
    Ok(pairs)
}

// The station's own, under the name that the reference has.
fn ours(days: &Days, name: &str) -> Vec<f64> {
    let list = |c: usize| days.values.get(c).map_or(&[][..], Vec::as_slice);
    let [x, y, z] = [list(0), list(1), list(2)];
    let length = |down: bool| {
        let each = x.iter().zip(y).zip(z);
        each.map(|((x, y), z)| record::vector::norm([*x, *y, if down { *z } else { 0.0 }]))
            .collect()
    };
    match name {
        "X" => x.to_vec(),
        "Y" => y.to_vec(),
        "Z" => z.to_vec(),
        "H" => length(false),
        _ => length(true),
    }
}

// A list less its level, which is taken where both are there.
fn level_off(list: &[f64], other: &[f64], per_day: usize, baseline: &str) -> Vec<f64> {
    let shared = |part: &[f64], beside: &[f64]| -> Vec<f64> {
        part.iter().zip(beside).filter(|(a, b)| (*a + *b).is_finite()).map(|(a, _)| *a).collect()
    };
    match baseline {
        "keep" => list.to_vec(),
        "mean" => {
            let used = shared(list, other);
            let mean = used.iter().sum::<f64>() / used.len().max(1) as f64;
            list.iter().map(|v| v - mean).collect()
        }
        _ => list
            .chunks(per_day)
            .zip(other.chunks(per_day))
            .flat_map(|(day, beside)| {
                let level = signal::robust::median(&shared(day, beside)).unwrap_or(f64::NAN);
                day.iter().map(move |v| v - level)
            })
            .collect(),
    }
}

// Of changes quicker than two hours, since slow ones make every lag fit; the components weighed
// by what they know.
fn late(pairs: &[Pair], step_s: f64) -> Option<Late> {
    let half = ((3_600.0 / step_s) as usize).max(1);
    let quick = |list: &[f64]| -> Vec<f64> {
        let slow = running_mean(list, half, 0.5);
        list.iter().zip(slow).map(|(v, s)| v - s).collect()
    };
    let (mut sum, mut weights) = (0.0, 0.0);
    for p in pairs {
        let most = ((1_800.0 / step_s) as usize).max(2);
        let Ok(found) = signal::lag::lag(&quick(&p.reference), &quick(&p.station), most) else {
            continue;
        };
        if found.sigma.is_finite() && found.sigma > 0.0 && found.correlation > 0.2 {
            let weight = 1.0 / (found.sigma * found.sigma);
            sum += weight * found.samples;
            weights += weight;
        }
    }
    (weights > 0.0)
        .then(|| Late { seconds: sum / weights * step_s, sigma_s: step_s / weights.sqrt() })
}

fn reported(outcome: Outcome, pairs: &[Pair], late: Option<Late>) -> Outcome {
    let list = |name, f: fn(&Pair) -> f64, sigma: Option<Vec<f64>>, unit| Named {
        name,
        value: Value::List(pairs.iter().map(f).collect()),
        unit,
        sigma: sigma.map(Value::List),
    };
    let slope_sigma = pairs.iter().map(|p| p.slope.sigma).collect();
    let names: Vec<&str> = pairs.iter().map(|p| p.name).collect();
    let outcome = outcome
        .value(Named {
            name: "components",
            value: Value::Text(names.join(" ")),
            unit: Unit::None,
            sigma: None,
        })
        .value(list("rms_nt", |p| p.agreement.rms_nt, None, Unit::Nanotesla))
        .value(list("correlation", |p| p.agreement.correlation, None, Unit::None))
        .value(list("slope", |p| p.slope.value, Some(slope_sigma), Unit::None))
        .value(list("slope_diluted", |p| p.slope.diluted, None, Unit::None));
    match late {
        Some(late) => outcome.value(Named {
            name: "lag_s",
            value: Value::Number(late.seconds),
            unit: Unit::Second,
            sigma: Some(Value::Number(late.sigma_s)),
        }),
        None => outcome.number("lag_s", f64::NAN, Unit::Second),
    }
}

// Component 1, 2, 3 in the order of the value "components".
fn table(pairs: &[Pair]) -> Table {
    let columns = [
        "component",
        "period_from (s)",
        "period_to (s)",
        "rms (nT)",
        "rms_reference (nT)",
        "rms_difference (nT)",
        "correlation",
        "slope",
        "coherence",
        "coherence_unrelated_95",
        "pairs",
    ];
    let rows: Vec<[f64; 11]> = pairs
        .iter()
        .enumerate()
        .flat_map(|(k, p)| {
            p.bands.iter().map(move |b| {
                let a = &b.agreement;
                let [from, to] = b.periods_s;
                let pairs = a.n as f64;
                let (rms, theirs) = (b.rms_nt, b.reference_rms_nt);
                let place = (k + 1) as f64;
                let both = [b.coherence, b.unrelated];
                let [c, u] = both;
                [place, from, to, rms, theirs, a.rms_nt, a.correlation, a.slope, c, u, pairs]
            })
        })
        .collect();
    Table {
        name: "compare-bands".to_owned(),
        columns: columns.map(str::to_owned).to_vec(),
        data: (0..columns.len()).map(|c| rows.iter().map(|r| r[c]).collect()).collect(),
        times_ns: None,
    }
}

fn with_figures(
    outcome: Outcome,
    days: &Days,
    pairs: Vec<Pair>,
    reference: &Reference,
    others: &[(Reference, Vec<Pair>)],
    station: Option<&Station>,
) -> Outcome {
    let each = |name: &str, pairs: &[Pair]| -> String {
        let told = pairs.iter().filter(|p| p.agreement.n > 0).map(|p| {
            let size =
                print::with_unit(&print::significant(p.agreement.rms_nt, 2), Unit::Nanotesla);
            let r = print::fixed(p.agreement.correlation, 2);
            say!("{} correlates by {r} and differs by {size} rms", p.name)
        });
        say!("Against {name}: {}.", told.collect::<Vec<_>>().join("; "))
    };
    let mut names = vec![told::with_kind(reference)];
    let mut summary =
        vec![worded("The log and its reference over time, one component above the other.")];
    summary.push(each(&reference.name, &pairs));
    for (other, pairs) in others {
        names.push(told::with_kind(other));
        summary.push(each(&other.name, pairs));
    }
    let text = words(
        "comparison",
        say!(
            "The components of {} (this log) over those of {}; below, {}, log less reference.",
            station
                .map(|s| s.name.as_str())
                .filter(|n| !n.is_empty())
                .unwrap_or(word("the station")),
            names.join(word(" and ")),
            if others.is_empty() {
                word("their difference")
            } else {
                word("the difference from the first")
            }
        ),
        summary.join(" "),
    );
    let here = told::of_station(station);
    let mut panels: Vec<Panel> = Vec::new();
    let mut differences = Vec::new();
    for p in pairs {
        let difference = p.station.iter().zip(&p.reference).map(|(a, b)| a - b).collect();
        differences.push((p.name.to_owned(), difference));
        let mut series =
            vec![(here.clone(), p.station), (told::short_kind(reference), p.reference)];
        for (other, pairs) in others {
            let same = pairs.iter().find(|q| q.name == p.name);
            series.extend(same.map(|q| (told::short_kind(other), q.reference.clone())));
        }
        panels.push(Panel { quantity: p.name, unit: Unit::Nanotesla, series });
    }
    panels.push(Panel { quantity: word("difference"), unit: Unit::Nanotesla, series: differences });
    // A reference of ten days stands beside ten days, however long the log is.
    let (times, panels) = daily::held(daily::bin_times_ns(days), panels);
    daily::with_overlay(outcome, "comparison", "Comparison", times, panels, Vec::new(), text)
}
