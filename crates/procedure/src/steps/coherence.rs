//! `coherence`: how much two channels, or the log and the observatory, share
//! at each period.

use super::daily::words;
use super::even;
use super::spectrum::{chosen, named};
use crate::outcome::{Figure, Named, Outcome, Reference, State, Table, Value};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use figure::plan::curves::{Along, Curve, Curves, Level, Look, Spacing, curves};
use figure::plan::{joined, parted};
use figure::{Frame, Plan, View, Words};
use record::{Channel, Fault, Role, Unit, Warning, print, say, words::word};
use signal::coherence::{Coherence, coherence_runs};
use signal::detrend::Detrend;
use signal::spectrum::Segments;
use signal::window::Window;

/// Coherence and phase.
pub static STEP: Step = Step {
    id: "coherence",
    stage: Stage::Spectrum,
    title: "Coherence",
    params: &[
        Param::channel(
            "channel",
            "Channel",
            &[("components", "the three components")],
            "components",
            "",
        ),
        Param::channel(
            "other",
            "Compared with",
            &[("reference", "the same of the observatory")],
            "reference",
            "Another channel of this log, such as the temperature, or the observatory's record.",
        ),
        Param::number(
            "segment_h",
            "Segment length",
            Unit::Hour,
            (1e-5, 1e5, 6.0),
            24.0,
            "Shorter segments give more of them, and a lower level that chance reaches.",
        ),
        Param::number(
            "overlap",
            "Overlap",
            Unit::Percent,
            (0.0, 90.0, 5.0),
            50.0,
            "Half is usual with a Hann window.",
        ),
    ],
    sentence: |_| {
        "Work out the coherence and phase of {channel} with {other}, from Hann segments of {segment_h} \
         overlapping by {overlap}."
    },
    why: Why {
        what: "At each period, coherence says which share of the one's fluctuation is a copy of the other's, \
               larger or smaller and earlier or later, and phase says how much later.",
        why: "What a station shares with an observatory comes from above; what it shares with its \
              thermometer is its own warmth.",
        wrong: "A single segment is coherent with anything, so only what stands above the level of chance \
                counts, and a shared daily habit is not yet a cause.",
        picture: "Two traces share a slow wave; their coherence stands above the level of chance \
                  there alone.",
    },
    run,
    repeatable: true,
    removable: true,
};

struct Pair {
    name: String,
    found: Coherence,
}

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let rate_hz = even::rate_hz(&state.record)?;
    let len = (context.number("segment_h") * 3600.0 * rate_hz).round().clamp(8.0, 1e9) as usize;
    let overlap = (len as f64 * context.number("overlap") / 100.0).floor() as usize;
    let cut = Segments { len, overlap, window: Window::Hann, detrend: Detrend::Line };
    let mut pairs = Vec::new();
    for channel in chosen(context, state)? {
        let (name, other) = other(context, state, &channel)?;
        let grid = even::grid(state, &channel, state.record.cadence().step_ns);
        pairs.push(Pair { name, found: shared(&grid.values, &other, rate_hz, &cut)? });
    }
    let Some(first) = pairs.first().map(|pair| &pair.found) else {
        return Err(Fault::new(
            "coherence/no-channel",
            "There is no channel to compare.",
            "Choose a channel.",
        ));
    };
    let level = first.zero_level(0.95);
    let mut outcome = Outcome::new(state.clone(), remark(&pairs, level))
        .number("segments", first.segments as f64, Unit::None)
        .number("effective_segments", first.effective_segments, Unit::None)
        .number("zero_level_95", level, Unit::None);
    outcome = with_best(outcome, &pairs);
    if first.effective_segments < 5.0 {
        outcome = outcome.warn(Warning::new(
            "coherence/few-segments",
            say!(
                "Only {} went in, so that unrelated series reach a coherence of {} at one period in twenty.",
                print::counted(first.segments, "segment", "segments"),
                print::fixed(level, 2)
            ),
            "Choose shorter segments, or log longer.",
        ));
    }
    outcome.tables.push(table(&pairs));
    Ok(with_figure(outcome, pairs, level))
}

// The other series on the grid of the log, and what the pair is called.
fn other(
    context: &Context<'_>,
    state: &State,
    channel: &Channel,
) -> Result<(String, Vec<f64>), Fault> {
    let name = context.text("other");
    if name != "reference" {
        let second = named(state, name)?;
        if second.name == channel.name {
            return Err(Fault::new(
                "coherence/same",
                say!("{name} is compared with itself, which is coherent everywhere."),
                "Choose another channel.",
            ));
        }
        let grid = even::grid(state, &second, state.record.cadence().step_ns);
        return Ok((say!("{} and {name}", channel.name), grid.values));
    }
    let Some(reference) = &state.reference else {
        return Err(Fault::new(
            "coherence/no-reference",
            "No observatory's record is open.",
            "Open one, or compare with another channel of the log.",
        ));
    };
    let values = of_reference(reference, channel)?;
    let record = &reference.record;
    if 10 * record.cadence().step_ns > 11 * state.record.cadence().step_ns {
        return Err(Fault::new(
            "coherence/slower",
            "The observatory's record is slower than the log.",
            "Average the log into blocks as long as the observatory's step.",
        ));
    }
    Ok((channel.name.clone(), even::means(&state.record, record, &values)))
}

// The component with the same role; H and D become X and Y, X and Y become F.
fn of_reference(reference: &Reference, channel: &Channel) -> Result<Vec<f64>, Fault> {
    let record = &reference.record;
    let get = |role| record.channel(role).map(|c: &Channel| c.values.to_vec());
    let found = get(channel.role).filter(|_| channel.role != Role::Other);
    let turned = || {
        let (h, d) = (get(Role::H)?, get(Role::D)?);
        let axis = match channel.role {
            Role::X => 0,
            Role::Y => 1,
            _ => return None,
        };
        let at = |k: usize| field::elements::components(d[k], 0.0, h[k])[axis];
        Some((0..h.len()).map(at).collect())
    };
    found.or_else(turned).ok_or_else(|| {
        let known: Vec<&str> = record.channels().iter().map(|c| c.name.as_str()).collect();
        Fault::new(
            "coherence/no-component",
            say!(
                "{} has nothing to set beside {}; it holds {}.",
                reference.name,
                channel.name,
                known.join(", ")
            ),
            "Choose another channel, or orient the log first.",
        )
    })
}

fn shared(x: &[f64], y: &[f64], rate_hz: f64, cut: &Segments) -> Result<Coherence, Fault> {
    let n = x.len().min(y.len());
    let both = |k: usize| x[k].is_finite() && y[k].is_finite();
    let mut runs: Vec<(&[f64], &[f64])> = Vec::new();
    let mut start = 0;
    for k in 0..=n {
        if k == n || !both(k) {
            if k > start {
                runs.push((&x[start..k], &y[start..k]));
            }
            start = k + 1;
        }
    }
    if runs.is_empty() {
        return Err(Fault::new(
            "coherence/no-overlap",
            "The two share no samples.",
            "Open records of the same days; look at both reading reports.",
        ));
    }
    Ok(coherence_runs(&runs, rate_hz, cut)?)
}

/// The bin with the highest coherence above 0 Hz.
fn best(found: &Coherence) -> Option<usize> {
    (1..found.coherence.len())
        .filter(|k| found.coherence[*k].is_finite())
        .max_by(|a, b| found.coherence[*a].total_cmp(&found.coherence[*b]))
}

fn remark(pairs: &[Pair], level: f64) -> String {
    let each = pairs.iter().map(|pair| {
        let c = &pair.found;
        let bins = c.coherence.len().saturating_sub(1);
        let above = c.coherence.iter().skip(1).filter(|v| **v > level).count();
        let top = best(c).map_or(String::new(), |k| {
            say!(
                ", most, {}, at {}",
                print::fixed(c.coherence[k], 2),
                print::duration(1.0 / c.frequency_hz[k])
            )
        });
        say!("{} lies above it at {} of the periods{top}", pair.name, print::percent(above, bins))
    });
    let each: Vec<String> = each.collect();
    let c = &pairs[0].found;
    say!(
        "From {}, worth {} independent ones; unrelated series reach {} at one period in twenty. {}.",
        print::counted(c.segments, "segment", "segments"),
        print::fixed(c.effective_segments, 1),
        print::fixed(level, 2),
        each.join("; ")
    )
}

fn with_best(mut outcome: Outcome, pairs: &[Pair]) -> Outcome {
    let mut rows = Vec::new();
    for pair in pairs {
        let c = &pair.found;
        let Some(k) = best(c) else { continue };
        let turns = std::f64::consts::TAU * c.frequency_hz[k];
        let (lag, sigma) = (c.lag_rad[k] / turns, c.lag_sigma_rad(k) / turns);
        rows.push(vec![c.frequency_hz[k], c.coherence[k], c.gain[k], lag, sigma]);
        let late = word(if lag < 0.0 { "earlier" } else { "later" });
        let text = say!(
            "{} at a period of {}; the second comes {} ± {} {late}",
            print::fixed(c.coherence[k], 3),
            print::duration(1.0 / c.frequency_hz[k]),
            print::duration(lag.abs()),
            print::duration(sigma)
        );
        outcome = outcome.line(&pair.name, &say!("{}, most", pair.name), text);
    }
    let value = Value::Rows(rows);
    outcome.value(Named { name: "strongest", value, unit: Unit::None, sigma: None })
}

fn degrees(radians: f64) -> f64 {
    radians.to_degrees()
}

fn table(pairs: &[Pair]) -> Table {
    let mut columns = vec!["frequency_hz".to_owned()];
    let mut data = vec![pairs[0].found.frequency_hz.clone()];
    for Pair { name, found } in pairs {
        columns.extend([
            format!("coherence_{name}"),
            format!("gain_{name}"),
            format!("lag_{name} (deg)"),
            format!("lag_sigma_{name} (deg)"),
        ]);
        data.push(found.coherence.clone());
        data.push(found.gain.clone());
        data.push(found.lag_rad.iter().copied().map(degrees).collect());
        data.push((0..found.lag_rad.len()).map(|k| degrees(found.lag_sigma_rad(k))).collect());
    }
    Table { name: "coherence".to_owned(), columns, data, times_ns: None }
}

/// What the figure shows of a pair, without 0 Hz.
struct Drawn {
    name: String,
    period_s: Vec<f64>,
    coherence: Vec<f64>,
    lag_deg: Vec<f64>,
    low: Vec<f64>,
    high: Vec<f64>,
}

// Longest periods last: periods rise along x.  Phase only where it means something.
fn drawn(pair: Pair, level: f64) -> Drawn {
    let c = &pair.found;
    let order: Vec<usize> = (1..c.frequency_hz.len()).rev().collect();
    let sure = |k: &usize| c.coherence[*k] > level;
    let lag = |k: usize| degrees(c.lag_rad[k]);
    let sigma = |k: usize| 1.96 * degrees(c.lag_sigma_rad(k));
    let only = |f: &dyn Fn(usize) -> f64| -> Vec<f64> {
        order.iter().map(|k| if sure(k) { f(*k) } else { f64::NAN }).collect()
    };
    Drawn {
        period_s: order.iter().map(|k| 1.0 / c.frequency_hz[*k]).collect(),
        coherence: order.iter().map(|k| c.coherence[*k]).collect(),
        lag_deg: only(&lag),
        low: only(&|k| (lag(k) - sigma(k)).max(-180.0)),
        high: only(&|k| (lag(k) + sigma(k)).min(180.0)),
        name: pair.name,
    }
}

fn with_figure(outcome: Outcome, pairs: Vec<Pair>, level: f64) -> Outcome {
    let text = words(
        "coherence",
        word(
            "Coherence at each period, above the dashed line in earnest; below it the phase, positive when \
         the second comes later, with 95 % intervals, where it means something.",
        ),
        outcome.remark.clone(),
    );
    let drawn: Vec<Drawn> = pairs.into_iter().map(|pair| drawn(pair, level)).collect();
    outcome.figure(Figure::new("coherence", word("Coherence and phase"), move |frame, view| {
        let (upper, lower) = parted(*frame, 0.55);
        joined(above(&drawn, level, upper, *view, &text), below(&drawn, lower, *view, &text))
    }))
}

fn period() -> Along<'static> {
    let quantity = word("period");
    Along { quantity, unit: Unit::Second, spacing: Spacing::Durations, span: None }
}

fn above(drawn: &[Drawn], level: f64, frame: Frame, view: View, words: &Words) -> Plan {
    let shown: Vec<Curve<'_>> = drawn
        .iter()
        .map(|d| Curve {
            name: &d.name,
            x: &d.period_s,
            y: &d.coherence,
            interval: None,
            look: Look::Line,
        })
        .collect();
    let span = Some((0.0, 1.0));
    let y = Along { quantity: word("coherence"), unit: Unit::None, spacing: Spacing::Even, span };
    let levels = [Level { at: level, upright: false, name: word("chance, 95 %") }];
    let data = Curves { curves: &shown, x: period(), y, levels: &levels, notes: &[] };
    curves(&data, frame, View { y: None, ..view }, words)
}

fn below(drawn: &[Drawn], frame: Frame, view: View, words: &Words) -> Plan {
    let shown: Vec<Curve<'_>> = drawn
        .iter()
        .map(|d| Curve {
            name: &d.name,
            x: &d.period_s,
            y: &d.lag_deg,
            interval: Some((&d.low, &d.high)),
            look: Look::Points,
        })
        .collect();
    let span = Some((-180.0, 180.0));
    let y = Along { quantity: word("phase"), unit: Unit::Degree, spacing: Spacing::Even, span };
    let levels = [Level { at: 0.0, upright: false, name: "" }];
    let data = Curves { curves: &shown, x: period(), y, levels: &levels, notes: &[] };
    curves(&data, frame, View { y: None, ..view }, words)
}
