//! `k-index`: the station's own K for every three hours.

use super::daily::{self, words};
use super::sight::{self, with_sight};
use crate::outcome::{Figure, Named, Outcome, State, Table, Value};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use field::k_index::{self, Interval};
use field::quiet_day;
use figure::plan::k_index::{KIndices, k_index as plan};
use record::{
    Fault, Unit, Warning, print, say,
    words::{word, worded},
};

/// Finds K.
pub static STEP: Step = Step {
    id: "k-index",
    stage: Stage::Days,
    title: "K index",
    params: &[Param::number(
        "k9",
        "Limit of K 9",
        Unit::Nanotesla,
        (100.0, 5_000.0, 50.0),
        500.0,
        "500 suits middle latitudes; larger toward the aurora. Official limits are set centrally.",
    )],
    sentence: |_| {
        "Give every three hours of UTC a K index from the range that is left of X and Y when the \
         regular daily variation is taken off, with K 9 from {k9}."
    },
    why: Why {
        what: "In each of the day's eight three-hour intervals the range of the horizontal components, \
               freed of the regular daily curve, is put into one of ten classes.",
        why: "One digit for three hours says at a glance how disturbed the field was, and \
              observatories have done it in the same way since 1938.",
        wrong: "This is the K of your station, not the planetary index; and a noisy sensor cannot see \
                quiet: its own noise already fills the lower classes.",
        picture: "A trace cut into eight intervals with a bar for each; the widest range has the \
                  tallest bar.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let k9 = context.number("k9");
    let days = daily::days(state)?;
    let found = daily::intervals(state, &days, k9)?;
    let noise = minute_noise(&days.values);
    let floor = k_index::noise_floor(noise, k9);
    let usual = state
        .station
        .as_ref()
        .and_then(|station| daily::usual_k9(station, daily::field_record(state)));
    let text = format!("{}{}", remark(&found, floor, noise), guidance(usual, k9));
    let mut outcome = Outcome::new(state.clone(), text)
        .value(Named {
            name: "k",
            value: Value::List(found.iter().map(|i| i.k.map_or(f64::NAN, f64::from)).collect()),
            unit: Unit::None,
            sigma: None,
        })
        .number("noise_floor_k", floor.map_or(f64::NAN, f64::from), Unit::None);
    outcome.tables.push(Table {
        name: "k-index".to_owned(),
        columns: vec![
            "interval_start".to_owned(),
            "k".to_owned(),
            "range_x (nT)".to_owned(),
            "range_y (nT)".to_owned(),
            "present".to_owned(),
        ],
        data: vec![
            found.iter().map(|i| i.k.map_or(f64::NAN, f64::from)).collect(),
            found.iter().map(|i| i.range_nt[0]).collect(),
            found.iter().map(|i| i.range_nt[1]).collect(),
            found.iter().map(|i| i.present).collect(),
        ],
        times_ns: Some(found.iter().map(|i| i.start.0).collect()),
    });
    for warning in warnings(days.bin_ns(), floor) {
        outcome = outcome.warn(warning);
    }
    if let Some((latitude_deg, usual_nt)) = usual {
        outcome = outcome.number("dipole_latitude_deg", latitude_deg, Unit::Degree).number(
            "usual_k9_nt",
            usual_nt,
            Unit::Nanotesla,
        );
    }
    outcome = with_bars(outcome, &found, floor.filter(|k| *k > 0), k9);
    // Without two whole days there is no quiet day, and no noise to be had from it.
    Ok(match sight::Found::of(state, &days, &quiet_day::quietest(&found)) {
        Ok(seen) => with_sight(outcome, seen),
        Err(_) => outcome,
    })
}

// What limit is usual here, and whether the one chosen is far from it.
fn guidance(usual: Option<(f64, f64)>, k9_nt: f64) -> String {
    let Some((latitude_deg, usual_nt)) = usual else { return String::new() };
    let nt = |v: f64| print::with_unit(&print::trimmed(v, 4), Unit::Nanotesla);
    let far = k9_nt > 1.4 * usual_nt || k9_nt < usual_nt / 1.4;
    say!(
        " At a dipole latitude of {}° the limit of K 9 is about {} by those of 21 observatories{}; \
         official ones follow the distance from the aurora and are set centrally.",
        print::fixed(latitude_deg, 1),
        nt(usual_nt),
        if far { say!(", far from the {} chosen", nt(k9_nt)) } else { String::new() }
    )
}

// Scatter of neighbouring bins: what the sensor and the fastest changes leave.
fn minute_noise(values: &[Vec<f64>]) -> f64 {
    let each = values.iter().take(2).filter_map(|list| {
        let steps: Vec<f64> = list.windows(2).map(|w| (w[1] - w[0]).abs()).collect();
        signal::robust::median(&steps).map(|m| 1.482_602_218_505_602 * m / std::f64::consts::SQRT_2)
    });
    each.fold(0.0, f64::max)
}

fn remark(found: &[Interval], floor: Option<u8>, noise_nt: f64) -> String {
    let known: Vec<u8> = found.iter().filter_map(|i| i.k).collect();
    let Some(most) = known.iter().max() else {
        return worded("No interval has enough samples for a K.");
    };
    let when = found.iter().find(|i| i.k == Some(*most)).map(|i| i.start.readable());
    let storm = known.iter().filter(|k| **k >= 5).count();
    say!(
        "K of {} of {}; the largest is {most}, from {} UTC; {} reached 5. The noise of one bin, {}, \
         alone reads K {}{}.",
        print::count(known.len()),
        print::counted(found.len(), "interval", "intervals"),
        when.unwrap_or_default(),
        print::counted(storm, "interval", "intervals"),
        print::with_unit(&print::significant(noise_nt, 2), Unit::Nanotesla),
        floor.map_or_else(|| "0".to_owned(), |k| k.to_string()),
        match floor.filter(|k| *k > 0) {
            Some(floor) => say!(
                ", so that {} at or below it {} not resolved",
                print::counted(
                    known.iter().filter(|k| **k <= floor).count(),
                    "interval",
                    "intervals"
                ),
                if known.iter().filter(|k| **k <= floor).count() == 1 {
                    word("is")
                } else {
                    word("are")
                }
            ),
            None => String::new(),
        }
    )
}

fn warnings(bin_ns: i64, floor: Option<u8>) -> Vec<Warning> {
    let mut out = vec![Warning::new(
        "k-index/local",
        "This is a local K with a limit you chose, not the planetary Kp.",
        "",
    )];
    if bin_ns > 60_000_000_000 {
        out.push(Warning::new(
            "k-index/bins",
            say!(
                "K is defined on one-minute values; blocks of {} smooth the shortest pulses away.",
                print::duration(bin_ns as f64 * 1e-9)
            ),
            "Average into minutes in the step Average to see them.",
        ));
    }
    if floor.is_some_and(|k| k >= 2) {
        out.push(Warning::new(
            "k-index/noise",
            say!("Classes below {} are not resolved by this sensor.", floor.unwrap_or(0) + 1),
            "Average over longer blocks, or read quiet intervals as “at most”.",
        ));
    }
    out
}

fn with_bars(outcome: Outcome, found: &[Interval], floor: Option<u8>, k9_nt: f64) -> Outcome {
    let starts: Vec<i64> = found.iter().map(|i| i.start.0).collect();
    let k: Vec<f64> = found.iter().map(|i| i.k.map_or(f64::NAN, f64::from)).collect();
    let unresolved = |k: &u8| floor.is_some_and(|floor| *k <= floor);
    let low = found.iter().filter_map(|i| i.k).filter(unresolved).count();
    let outlined = floor.map_or_else(String::new, |floor| {
        say!(
            " Bars in outline, K {floor} and less, are not resolved: this station's own noise reads K {floor}."
        )
    });
    let text = words(
        "k-index",
        say!(
            "Local K index of every three hours of UTC, K 9 from {}; not the planetary index.{outlined}",
            print::with_unit(&print::trimmed(k9_nt, 4), Unit::Nanotesla)
        ),
        summary(found, floor, low),
    );
    outcome.figure(Figure::new("k-index", word("K index"), move |frame, view| {
        let set = KIndices { name: "K", starts_ns: &starts, hours: 3.0, k: &k, floor };
        plan(&[set], *frame, *view, &text)
    }))
}

fn summary(found: &[Interval], floor: Option<u8>, low: usize) -> String {
    let known: Vec<u8> = found.iter().filter_map(|i| i.k).collect();
    let count = |k: u8| known.iter().filter(|v| **v == k).count();
    let least = floor.map_or(0, |floor| floor + 1);
    let each: Vec<String> = (least..=9)
        .filter(|k| count(*k) > 0)
        .map(|k| format!("K {k}: {}", print::often(count(k))))
        .collect();
    let mut parts = vec![say!(
        "Bars of the local K for {}",
        print::counted(found.len(), "interval", "intervals")
    )];
    if !each.is_empty() {
        parts.push(each.join(", "));
    }
    if let Some(floor) = floor {
        let are = word(if low == 1 { "is" } else { "are" });
        parts.push(say!("The {} at K {floor} or below {are} not resolved", print::count(low)));
    }
    let missing = found.len() - known.len();
    let have = word(if missing == 1 { "has" } else { "have" });
    let missing = if missing == 0 { worded("None") } else { print::count(missing) };
    parts.push(say!("{missing} {have} no index"));
    format!("{}.", parts.join(". "))
}
