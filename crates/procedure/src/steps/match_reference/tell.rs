//! What is said of a match: remark, values, warnings, figures.

use super::Laid;
use crate::outcome::{Named, Outcome, Reference, State, Value};
use crate::steps::daily::{self, Panel, words};
use field::match_reference::Match;
use record::{
    Quantity, Unit, Warning, print, say,
    words::{word, worded},
};

const NAMES: [&str; 3] = ["X", "Y", "Z"];

/// The outcome of a match.
pub(super) fn told(
    next: State,
    state: &State,
    found: &Match,
    laid: &Laid,
    reference: &Reference,
    take: bool,
) -> Outcome {
    let outcome = Outcome::new(next, remark(found, reference, take));
    let mut outcome = lines(values(outcome, found), found, state, laid.warms);
    for warning in warnings(found, take) {
        outcome = outcome.warn(warning);
    }
    with_figure(outcome, found, laid, reference)
}

fn remark(found: &Match, reference: &Reference, take: bool) -> String {
    let each: Vec<String> = (0..3)
        .map(|k| {
            let rms = print::with_unit(&print::significant(found.rms_nt[k], 2), Unit::Nanotesla);
            say!("{} to {rms} (correlation {})", NAMES[k], print::fixed(found.correlation[k], 2))
        })
        .collect();
    let clock = match found.lag_s {
        lag if lag.abs() < 1.0 => worded("the clocks agree"),
        lag if lag > 0.0 => say!("the log's stamps are {} late", print::duration(lag)),
        lag => say!("the log's stamps are {} early", print::duration(-lag)),
    };
    say!(
        "Over {}, {clock}; matched, the log follows {} in {}; its axes lie as {}{}.{}",
        print::counted(found.n, word("shared sample"), word("shared samples")),
        reference.name,
        each.join(", "),
        axes_in_words(&found.axes),
        if found.left_handed { word(", and they are left-handed") } else { "" },
        if take {
            word(" The log now stands in the observatory's axes, scales and levels.")
        } else {
            ""
        },
    )
}

/// `+x-y-z` as "x north, −y east, −z down".
fn axes_in_words(axes: &str) -> String {
    let signed = axes.as_bytes().chunks(2).zip(["north", "east", "down"].map(word));
    let one = |(pair, way): (&[u8], &str)| match pair {
        [b'-', axis] => format!("−{} {way}", char::from(*axis)),
        [_, axis] => format!("{} {way}", char::from(*axis)),
        _ => String::new(),
    };
    signed.map(one).collect::<Vec<_>>().join(", ")
}

fn values(outcome: Outcome, found: &Match) -> Outcome {
    let rows = |m: &[[f64; 3]; 3]| Value::Rows(m.iter().map(|row| row.to_vec()).collect());
    let list = |name, all: [f64; 3], unit, sigma: Option<[f64; 3]>| Named {
        name,
        value: Value::List(all.to_vec()),
        unit,
        sigma: sigma.map(|s| Value::List(s.to_vec())),
    };
    let (nt, none) = (Unit::Nanotesla, Unit::None);
    let coefficient = found.per_degc_nt.map(|[value, _]| value);
    let coefficient_sigma = found.per_degc_nt.map(|[_, sigma]| sigma);
    outcome
        .value(Named {
            name: "matrix",
            value: rows(&found.matrix),
            unit: none,
            sigma: Some(rows(&found.matrix_sigma)),
        })
        .value(list("offset", found.offset, nt, None))
        .number("lag_s", found.lag_s, Unit::Second)
        .value(list("rms_nt", found.rms_nt, nt, None))
        .value(list("correlation", found.correlation, none, None))
        .value(list("reliability", found.reliability, none, None))
        .value(list("drift_nt", found.drift_nt, nt, None))
        .value(list(
            "coefficient_nt_per_degc",
            coefficient,
            Unit::NanoteslaPerCelsius,
            Some(coefficient_sigma),
        ))
        .value(Named {
            name: "axes",
            value: Value::Text(found.axes.clone()),
            unit: none,
            sigma: None,
        })
        .number("n", found.n as f64, none)
}

fn lines(mut outcome: Outcome, found: &Match, state: &State, warms: bool) -> Outcome {
    let axes = state.record.vector().map(|axes| axes.map(|c| c.name.clone()));
    let axes = axes.unwrap_or_else(|| ["x", "y", "z"].map(str::to_owned));
    for (k, name) in NAMES.into_iter().enumerate() {
        let parts: Vec<String> = (0..3)
            .map(|j| {
                let entry = print::with_sigma(found.matrix[k][j], found.matrix_sigma[k][j]);
                format!("({entry}) {}", axes[j])
            })
            .collect();
        let level = print::with_unit(&print::fixed(found.offset[k], 0), Unit::Nanotesla);
        let text = say!("{} and baseline {level}", parts.join(" + "));
        outcome = outcome.line(&format!("row_{name}"), &say!("{name} of the observatory"), text);
    }
    for (k, axis) in axes.iter().enumerate() {
        let drift = print::with_unit(&print::significant(found.drift_nt[k], 2), Unit::Nanotesla);
        let mut text = say!("drift {drift}");
        if warms {
            let [value, sigma] = found.per_degc_nt[k];
            let q = Quantity::new(value, sigma, Unit::NanoteslaPerCelsius);
            text.push_str(&format!(", {}", q.readable()));
        }
        outcome = outcome.line(&format!("beside_{k}"), &say!("{axis} beside"), text);
    }
    outcome
}

fn warnings(found: &Match, take: bool) -> Vec<Warning> {
    let mut out = Vec::new();
    let weakest = found.reliability.iter().copied().fold(1.0, f64::min);
    if weakest < 0.8 {
        out.push(Warning::new(
            "match-reference/dilution",
            say!(
                "Of the scatter of the weakest component only {} % goes with the observatory; a \
                 regression the other way round would have shrunk its slopes by as much.",
                print::fixed(100.0 * weakest, 0)
            ),
            "Use days with a storm in them, and take spikes and temperature off first.",
        ));
    }
    if found.left_handed {
        out.push(Warning::new(
            "match-reference/left-handed",
            "The three axes of the log are left-handed: one of them is reversed, which no way of \
             holding the sensor explains.",
            "Look at the sensor's drawing and at the columns; a sign was lost somewhere.",
        ));
    }
    if take {
        out.push(Warning::new(
            "match-reference/levels",
            "Levels and azimuth are now the observatory's, not measured here: only what differs \
             from it is yours.",
            "For a declination of your own, calibrate by a turning and orient by the Sun or a map.",
        ));
    }
    out
}

fn with_figure(outcome: Outcome, found: &Match, laid: &Laid, reference: &Reference) -> Outcome {
    let matched = laid.matched(found);
    let n = matched[0].len();
    let mut panels = Vec::new();
    let mut rest = Vec::new();
    for (axis, mine) in matched.into_iter().enumerate() {
        let theirs = &laid.reference[axis];
        let used: Vec<f64> =
            (0..n).filter(|k| both_at(&mine, theirs, *k)).map(|k| theirs[k]).collect();
        let mean = used.iter().sum::<f64>() / used.len().max(1) as f64;
        rest.push((NAMES[axis].to_owned(), mine.iter().zip(theirs).map(|(a, b)| a - b).collect()));
        let about = |list: &[f64]| list.iter().map(|v| v - mean).collect::<Vec<f64>>();
        panels.push(Panel {
            quantity: NAMES[axis],
            unit: Unit::Nanotesla,
            series: vec![
                (worded("log, matched"), about(&mine)),
                (reference.name.clone(), about(theirs)),
            ],
        });
    }
    panels.push(Panel { quantity: word("residual"), unit: Unit::Nanotesla, series: rest });
    let rms: Vec<String> = (0..3)
        .map(|k| format!("{} {}", NAMES[k], print::significant(found.rms_nt[k], 2)))
        .collect();
    let text = words(
        "match",
        say!(
            "The log, matched, over {} (about its mean), and what is left between them.",
            reference.name
        ),
        say!(
            "Three panels of station over reference and one of the residual; rms residuals in nT: {}.",
            rms.join(", ")
        ),
    );
    let times = daily::bin_times_ns(&laid.days);
    daily::with_overlay(
        outcome,
        "match",
        word("Matched to the reference"),
        times,
        panels,
        Vec::new(),
        text,
    )
}

fn both_at(a: &[f64], b: &[f64], k: usize) -> bool {
    a[k].is_finite() && b[k].is_finite()
}
