//! `quiet-day`: the regular daily variation, from the quietest days.

use super::daily::{self, RANKED_BY_NT, words};
use super::day_stack::{Told, with_stack};
use crate::outcome::{FieldFrame, Figure, Named, Outcome, State, Table, Value};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use field::days::Days;
use field::quiet_day::{self, Middle, QuietDay};
use figure::Words;
use figure::plan::curves::{Along, Curve, Curves, Look, Spacing, curves};
use record::{Fault, Instant, Role, Unit, Warning, print, say, words::word};

/// Folds the quietest days.
pub static STEP: Step = Step {
    id: "quiet-day",
    stage: Stage::Days,
    title: "Quiet day",
    params: &[
        Param::whole("days", "Quiet days", (2.0, 60.0, 1.0), false, 5.0, "Five a month is usual."),
        Param::choice(
            "middle",
            "Middle of the days",
            &[("median", "median"), ("mean", "mean")],
            "median",
            "The median is not moved by a bay on one of the days.",
        ),
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
        "Take the {middle} of the {days} quietest days by the clock, ranked by the sum, the sum of \
         squares and the greatest of their K, each less its line from midnight to midnight, and draw \
         {harmonics} harmonics of 24 hours through it."
    },
    why: Why {
        what: "The days with the lowest K indices of this very record are laid over each other, each \
               freed of the line from midnight to midnight, and brought together; night is taken as nought.",
        why: "The regular daily variation is made by currents that sunlight drives in the ionosphere, \
              and it must be known before a disturbance can be seen beside it.",
        wrong: "In an unquiet month even the quietest days are disturbed, and a sensor that follows \
                the temperature has a daily variation of its own.",
        picture: "Faint curves of several days and one mean curve, lowest near noon under the \
                  Sun, level at night.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let days = daily::days(state)?;
    let longitude = daily::longitude_deg(state)?;
    let options = quiet_day::Options {
        days: context.whole("days"),
        middle: if context.text("middle") == "mean" { Middle::Mean } else { Middle::Median },
        harmonics: context.whole("harmonics"),
        ..quiet_day::Options::new(longitude)
    };
    let intervals = daily::intervals(state, &days, RANKED_BY_NT)?;
    let quiet = quiet_day::curve(&days, &quiet_day::quietest(&intervals), &options)?;
    let dates: Vec<String> = quiet.dates.iter().map(|d| date(*d)).collect();
    let names = ["X", "Y", "Z"];
    let ranges: Vec<String> = names
        .iter()
        .zip(&quiet.range_nt)
        .map(|(name, nt)| format!("{name} {}", range(nt)))
        .collect();
    let remark = say!(
        "Laid {} over each other ({}); the daily ranges are {}.",
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
    let warmth = warmth(state, &quiet, &options);
    if let (None, Some(waves)) = (state.shared.warmth_nt_per_degc, &warmth)
        && waves.first().is_some_and(|w| *w > 0.5)
    {
        outcome = outcome.warn(warm_days(waves[0]));
    }
    let shown = Harmony { quiet: &quiet, warmth: warmth.unwrap_or_default(), longitude };
    outcome = with_harmonics(outcome, &shown, &names, warmth_sigma(state));
    outcome.tables.push(taken_off(&quiet, &days));
    let told = Told {
        quiet: &quiet.used,
        intervals: &intervals,
        k9_nt: RANKED_BY_NT,
        longitude_deg: longitude,
    };
    Ok(with_stack(with_curve(outcome, &quiet, longitude), &days, &told))
}

fn date(instant: Instant) -> String {
    instant.readable().rsplit_once(' ').map_or_else(String::new, |(day, _)| day.to_owned())
}

// The record with the curve taken off, in the bins of the days.
fn taken_off(quiet: &QuietDay, days: &Days) -> Table {
    Table {
        name: "quiet-day-taken-off".to_owned(),
        columns: ["time", "x (nT)", "y (nT)", "z (nT)"].map(str::to_owned).to_vec(),
        data: (0..3).map(|c| quiet.take_off(days, c)).collect(),
        times_ns: Some(daily::bin_times_ns(days)),
    }
}

// What the harmonics are told from.
struct Harmony<'a> {
    quiet: &'a QuietDay,
    /// Amplitude of each harmonic of the temperature on the same days, °C.
    warmth: Vec<f64>,
    longitude: f64,
}

impl Harmony<'_> {
    /// Standard uncertainty of an amplitude and of its time as a share of the day: the scatter of
    /// the days, and what is not known of the sensor's change with the temperature of those days.
    fn sigma(&self, c: usize, k: usize, amplitude: f64, nt_per_degc: f64) -> (f64, f64) {
        let (sigma, share) = self.quiet.harmonic_sigma(c, k).unwrap_or((f64::NAN, f64::NAN));
        let warm = nt_per_degc * self.warmth.get(k - 1).copied().unwrap_or(0.0);
        let turn = warm / amplitude / std::f64::consts::TAU / k as f64;
        (record::vector::norm([sigma, warm, 0.0]), record::vector::norm([share, turn, 0.0]))
    }
}

// Harmonics of the temperature on the quiet days, °C; none without a thermometer.
fn warmth(state: &State, quiet: &QuietDay, options: &quiet_day::Options) -> Option<Vec<f64>> {
    let record = daily::field_record(state);
    let thermometer = record.channel(Role::Temperature)?;
    let marks = record.marks();
    let cadence_s = record.cadence().step_ns as f64 * 1e-9;
    let columns: [&[f64]; 1] = [&thermometer.values];
    let days =
        Days::new(record.times_ns(), &columns, |k| marks.keeps(k), cadence_s, 60.0, 0.5).ok()?;
    let found = quiet_day::curve(&days, &quiet.used, options).ok()?;
    let harmonics = found.harmonics.first()?;
    let amplitude = |k| harmonics.amplitude_and_peak(k).map_or(0.0, |(amplitude, _)| amplitude);
    Some((1..=harmonics.pairs.len()).map(amplitude).collect())
}

// The sensor's uncertainty with temperature along north, east and down, nT/°C.
fn warmth_sigma(state: &State) -> [f64; 3] {
    let Some([x, y, z]) = state.shared.warmth_nt_per_degc else { return [0.0; 3] };
    let FieldFrame::Geographic { azimuth_deg } = state.frame else { return [x, y, z] };
    let [cos, sin, _] = field::elements::components(azimuth_deg, 0.0, 1.0);
    let level = |a: f64, b: f64| record::vector::norm([a * x, b * y, 0.0]);
    [level(cos, sin), level(sin, cos), z]
}

fn warm_days(degc: f64) -> Warning {
    Warning::new(
        "quiet-day/warmth",
        say!(
            "The thermometer has a wave of {} °C in 24 hours on these days, and nothing was taken off \
             for it: a sensor that changes by 3 nT/°C makes {} of daily variation by itself.",
            print::significant(degc, 2),
            print::with_unit(&print::significant(3.0 * degc, 2), Unit::Nanotesla)
        ),
        "Add the step Temperature, with the night hours, or compare with an observatory.",
    )
}

fn with_harmonics(
    mut outcome: Outcome,
    shown: &Harmony<'_>,
    names: &[&str; 3],
    warmth_sigma: [f64; 3],
) -> Outcome {
    // Amplitudes, hours of the maximum, and the uncertainty of each, row by row.
    let mut rows = [vec![], vec![], vec![], vec![]];
    for (c, (name, harmonics)) in names.iter().zip(&shown.quiet.harmonics).enumerate() {
        let mut row = [vec![], vec![], vec![], vec![]];
        for k in 1..=harmonics.pairs.len() {
            let Some((amplitude, share)) = harmonics.amplitude_and_peak(k) else { continue };
            let (sigma, share_sigma) = shown.sigma(c, k, amplitude, warmth_sigma[c]);
            let period_h = 24.0 / k as f64;
            let local_h = (share * 24.0 + shown.longitude / 15.0).rem_euclid(period_h);
            let all = [amplitude, local_h, sigma, share_sigma * 24.0];
            row.iter_mut().zip(all).for_each(|(list, v)| list.push(v));
            if k <= 3 {
                let size = print::with_unit(&print::with_sigma(amplitude, sigma), Unit::Nanotesla);
                outcome = outcome.line(
                    &format!("{name}_{k}"),
                    &format!("{name}, {} h", print::trimmed(period_h, 3)),
                    say!(
                        "{size}, greatest at {} h local mean time",
                        print::with_sigma(local_h, share_sigma * 24.0)
                    ),
                );
            }
        }
        rows.iter_mut().zip(row).for_each(|(all, row)| all.push(row));
    }
    let [amplitudes, phases, amplitude_sigma, phase_sigma] = rows;
    let named = |name, rows, sigma, unit| Named {
        name,
        value: Value::Rows(rows),
        unit,
        sigma: Some(Value::Rows(sigma)),
    };
    outcome.value(named("amplitude_nt", amplitudes, amplitude_sigma, Unit::Nanotesla)).value(named(
        "phase_h",
        phases,
        phase_sigma,
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
    record::sort::by(&mut order, |a, b| a.0.total_cmp(&b.0));
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
    outcome.figure(Figure::new("quiet-day", word("Quiet day"), move |frame, view| {
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

fn range(nt: &f64) -> String {
    print::with_unit(&print::significant(*nt, 2), Unit::Nanotesla)
}

fn curve_words(quiet: &QuietDay) -> Words {
    words(
        "quiet-day",
        word(
            "The quiet day against local mean time: the quietest days about the night, with the spread from day to day as a band.",
        ),
        say!(
            "Curves of X, Y and Z over 24 hours of local mean time. Their ranges are {}.",
            quiet.range_nt.iter().map(range).collect::<Vec<_>>().join(", ")
        ),
    )
}

fn against_local_time<'a>(shown: &'a [Curve<'a>]) -> Curves<'a> {
    Curves {
        curves: shown,
        x: Along {
            quantity: word("local mean time"),
            unit: Unit::Hour,
            spacing: Spacing::Hours,
            span: Some((0.0, 24.0)),
        },
        y: Along {
            quantity: word("variation"),
            unit: Unit::Nanotesla,
            spacing: Spacing::Even,
            span: None,
        },
        levels: &[],
        notes: &[],
    }
}
