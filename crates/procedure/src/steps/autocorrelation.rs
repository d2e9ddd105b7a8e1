//! `autocorrelation`: how long a channel remembers, and how many independent
//! values it is worth.

use super::daily::words;
use super::even;
use super::spectrum::chosen;
use crate::outcome::{Figure, Named, Outcome, State, Table, Value};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use figure::plan::curves::{Along, Curve, Curves, Level, Look, Spacing, curves};
use record::{
    Fault, Unit, print, say,
    words::{word, worded},
};
use signal::stats::{autocorrelation, effective_count, mean, sd};

/// Correlation of a channel with itself, later.
pub static STEP: Step = Step {
    id: "autocorrelation",
    stage: Stage::Spectrum,
    title: "Autocorrelation",
    params: &[
        Param::channel(
            "channel",
            "Channel",
            &[("components", "the three components")],
            "components",
            "",
        ),
        Param::number(
            "longest_h",
            "Longest lag",
            Unit::Hour,
            (1e-5, 1e5, 12.0),
            48.0,
            "At most a fourth of the record says much.",
        ),
    ],
    sentence: |_| "Work out the autocorrelation of {channel} up to a lag of {longest_h}.",
    why: Why {
        what: "The channel is set beside itself, moved by a lag, and the two are correlated; gaps take part in no \
               pair.",
        why: "Neighbouring samples are seldom independent, and the uncertainty of a mean shrinks only with \
              the number of independent ones.",
        wrong: "A slope or a daily wave keeps the correlation high for ever: take it off before you ask how \
                long the noise remembers.",
        picture: "A trace and the same one moved by a lag; beside them, a correlation that falls \
                  as the lag grows.",
    },
    run,
    repeatable: true,
    removable: true,
};

struct Found {
    name: String,
    unit: Unit,
    r: Vec<f64>,
    count: usize,
    effective: f64,
    mean: f64,
    mean_sigma: f64,
}

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let rate_hz = even::rate_hz(record)?;
    let wanted = (context.number("longest_h") * 3600.0 * rate_hz).round().clamp(1.0, 1e8) as usize;
    let mut found = Vec::new();
    for channel in chosen(context, state)? {
        let values = even::grid(state, &channel, record.cadence().step_ns).values;
        let most = wanted.min(values.len().saturating_sub(1));
        let effective = effective_count(&values);
        found.push(Found {
            name: channel.name.clone(),
            unit: channel.unit,
            r: autocorrelation(&values, most),
            count: values.iter().filter(|v| v.is_finite()).count(),
            effective,
            mean: mean(&values).unwrap_or(f64::NAN),
            mean_sigma: sd(&values).unwrap_or(f64::NAN) / effective.sqrt(),
        });
    }
    let list = |f: fn(&Found) -> f64| Value::List(found.iter().map(f).collect());
    let plain = |name, value| Named { name, value, unit: Unit::None, sigma: None };
    let mut outcome = Outcome::new(state.clone(), remark(&found, rate_hz))
        .value(plain("effective_count", list(|f| f.effective)))
        .value(plain("lag_one", list(|f| f.r.get(1).copied().unwrap_or(f64::NAN))));
    outcome = outcome.value(Named {
        name: "mean",
        value: list(|f| f.mean),
        unit: found.first().map_or(Unit::None, |f| f.unit),
        sigma: Some(list(|f| f.mean_sigma)),
    });
    for f in &found {
        let text = say!(
            "{} worth {} independent; the mean is {}",
            print::counted(f.count, "sample", "samples"),
            print::significant(f.effective, 3),
            print::with_unit(&print::with_sigma(f.mean, f.mean_sigma), f.unit)
        );
        outcome = outcome.line(&f.name, &f.name, text);
    }
    outcome.tables.push(table(&found, rate_hz));
    Ok(with_figure(outcome, found, rate_hz))
}

fn remark(found: &[Found], rate_hz: f64) -> String {
    let each = found.iter().map(|f| {
        let fall = f.r.iter().position(|r| *r < 1.0 / std::f64::consts::E);
        let memory = fall.map_or_else(
            || worded("stays above 0.37 all the way"),
            |k| say!("falls below 0.37 after {}", print::duration(k as f64 / rate_hz)),
        );
        let worth = print::significant(f.effective, 3);
        say!("{} {memory}, and is worth {worth} independent samples", f.name)
    });
    format!("{}.", each.collect::<Vec<_>>().join("; "))
}

fn table(found: &[Found], rate_hz: f64) -> Table {
    let n = found.first().map_or(0, |f| f.r.len());
    let mut columns = vec!["lag_s".to_owned()];
    let mut data = vec![(0..n).map(|k| k as f64 / rate_hz).collect::<Vec<f64>>()];
    for f in found {
        columns.push(format!("autocorrelation_{}", f.name));
        data.push(f.r.clone());
    }
    Table { name: "autocorrelation".to_owned(), columns, data, times_ns: None }
}

fn with_figure(outcome: Outcome, found: Vec<Found>, rate_hz: f64) -> Outcome {
    let text = words(
        "autocorrelation",
        word(
            "Autocorrelation against lag; independent values would stay between the dashed lines 95 % of the \
         time.",
        ),
        outcome.remark.clone(),
    );
    let n = found.iter().map(|f| f.r.len()).max().unwrap_or(0);
    // Hours read better than thousands of seconds.
    let (scale, unit) =
        if n as f64 / rate_hz > 7200.0 { (3600.0, Unit::Hour) } else { (1.0, Unit::Second) };
    let lags: Vec<f64> = (0..n).map(|k| k as f64 / rate_hz / scale).collect();
    // Large-sample limits of white noise, 1.96 / √n (G. E. P. Box and G. M.
    // Jenkins, Time Series Analysis, section 2.1.6; after M. S. Bartlett 1946).
    let chance = 1.96 / (found.first().map_or(1.0, |f| f.count as f64)).sqrt();
    outcome.figure(Figure::new("autocorrelation", "Autocorrelation", move |frame, view| {
        let shown: Vec<Curve<'_>> = found
            .iter()
            .map(|f| Curve { name: &f.name, x: &lags, y: &f.r, interval: None, look: Look::Line })
            .collect();
        let level = |at| Level { at, upright: false, name: "" };
        let data = Curves {
            curves: &shown,
            x: Along { quantity: word("lag"), unit, spacing: Spacing::Even, span: None },
            y: Along {
                quantity: word("autocorrelation"),
                unit: Unit::None,
                spacing: Spacing::Even,
                span: None,
            },
            levels: &[level(chance), level(0.0), level(-chance)],
            notes: &[],
        };
        curves(&data, *frame, *view, &text)
    }))
}
