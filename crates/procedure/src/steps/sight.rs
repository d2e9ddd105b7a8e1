//! What can this sensor see?  Its own noise against the size of known signals.
//!
//! The noise is taken from the quiet days with their curve taken off, so it is at most the
//! sensor's own: what the field does on a quiet day is still in it.

use super::daily::{self, words};
use super::fine;
use crate::outcome::{Figure, Outcome, State, Table};
use field::days::Days;
use figure::plan::sight::{Seen, Sight, Signal, sight};
use record::{Fault, NANOS_PER_SECOND, Unit, print, say, words::word};
use signal::allan::{Kind, curve};
use std::f64::consts::{PI, SQRT_2};

/// A signal that others have measured.
struct Known {
    name: &'static str,
    /// From and to, seconds.
    periods_s: (f64, f64),
    /// Largest less smallest value, from and to, nT.
    sizes_nt: (f64, f64),
}

/// Where sizes and periods are from: [`SOURCES`], in the same order.
const SIGNALS: [Known; 9] = [
    Known { name: "daily variation", periods_s: (43_200.0, 86_400.0), sizes_nt: (20.0, 50.0) },
    Known { name: "storm", periods_s: (14_400.0, 57_600.0), sizes_nt: (50.0, 350.0) },
    Known { name: "sudden rise", periods_s: (240.0, 720.0), sizes_nt: (10.0, 50.0) },
    Known { name: "flare", periods_s: (1_200.0, 7_200.0), sizes_nt: (5.0, 30.0) },
    Known { name: "Pc5", periods_s: (150.0, 600.0), sizes_nt: (1.0, 50.0) },
    Known { name: "Pc3–4", periods_s: (10.0, 150.0), sizes_nt: (0.1, 5.0) },
    Known { name: "tide of the Moon", periods_s: (44_714.0, 44_714.0), sizes_nt: (1.0, 3.0) },
    Known { name: "car passing at 10 m", periods_s: (4.0, 20.0), sizes_nt: (40.0, 200.0) },
    Known { name: "car parked at 20 m", periods_s: (600.0, 28_800.0), sizes_nt: (5.0, 25.0) },
];

/// The sources, for the caption.
const SOURCES: &str = "Sizes and periods: daily variation at middle latitudes, Campbell 2003 and \
    Yamazaki and Maute 2017; main phase of a storm, moderate to severe, Loewe and Prölss 1997, two \
    to eight hours, Gonzalez and others 1994; bands of pulsations, Jacobs and others 1964; a car as \
    1.5 t of steel by the rule of 1 nT for 1 t at 30 m and the inverse cube, up to five times that \
    for its remanence (a maker's rule of thumb); their other sizes, sudden rise, flare and the Moon's \
    tide are common practice, no source. A rise is drawn as half a wave.";

/// The noise, and what it hides.
pub(super) struct Found {
    periods_s: Vec<f64>,
    noise: Vec<f64>,
    low: Vec<f64>,
    high: Vec<f64>,
}

impl Found {
    /// From the field along its mean horizontal direction on the quiet days, their curve taken
    /// off, as finely as the log has it.
    ///
    /// The size at a period T is that of a wave whose neighbouring half-periods differ by twice
    /// the standard deviation of such differences: √2 π times the Allan deviation at T/2.
    pub(super) fn of(state: &State, days: &Days, order: &[usize]) -> Result<Self, Fault> {
        let turn = daily::along_the_meridian(days);
        let level = daily::horizontal(days, &turn);
        let quiet = daily::quiet_of(state, &level, order)?;
        let even = fine::even(state, &turn)?;
        let mut kept = Vec::new();
        let mut used = quiet.used.clone();
        used.sort_unstable();
        for day in used {
            let span = even.place(days.midnight(day))..even.place(days.midnight(day + 1));
            kept.extend(span.map(|k| even.values[0][k] - quiet.at(0, even.at(k))));
            // No average reaches from one day into another.
            kept.push(f64::NAN);
        }
        let step_s = even.step_ns as f64 / NANOS_PER_SECOND as f64;
        let points = curve(&kept, step_s, Kind::Overlapping, 2)?;
        let sure = points.iter().filter(|p| p.degrees_of_freedom >= 2.0 && p.deviation > 0.0);
        let mut out = Self { periods_s: vec![], noise: vec![], low: vec![], high: vec![] };
        for point in sure {
            let (low, high) = point.interval(0.95);
            out.periods_s.push(2.0 * point.tau_s);
            out.noise.push(SQRT_2 * PI * point.deviation);
            out.low.push(SQRT_2 * PI * low);
            out.high.push(SQRT_2 * PI * high);
        }
        Ok(out)
    }

    /// The size that stands out at a period, between those known and flat beyond them.
    fn at(&self, period_s: f64) -> f64 {
        let next = self.periods_s.partition_point(|p| *p < period_s);
        let (Some(a), Some(b)) = (next.checked_sub(1), self.noise.get(next)) else {
            return self.noise.get(next).or(self.noise.last()).copied().unwrap_or(f64::NAN);
        };
        let part = (period_s - self.periods_s[a]) / (self.periods_s[next] - self.periods_s[a]);
        self.noise[a] + (b - self.noise[a]) * part
    }

    /// Whether a signal is seen in a single wave; `None` when it is too quick for the log.
    fn sees(&self, signal: &Known) -> Option<Seen> {
        let (from, to) = signal.periods_s;
        let shortest = *self.periods_s.first()?;
        if to < shortest {
            return None;
        }
        let inside = self.periods_s.iter().copied().filter(|p| (from..=to).contains(p));
        let stands = || inside.clone().chain([from.max(shortest), to]).map(|p| self.at(p));
        Some(match signal.sizes_nt {
            (least, _) if least >= stands().fold(0.0, f64::max) => Seen::Always,
            (_, most) if most >= stands().fold(f64::INFINITY, f64::min) => Seen::Large,
            _ => Seen::Never,
        })
    }

    fn named(&self, seen: Option<Seen>) -> String {
        let list: Vec<&str> =
            SIGNALS.iter().filter(|s| self.sees(s) == seen).map(|s| word(s.name)).collect();
        list.join(", ")
    }

    /// What is seen and what is not, in groups.
    fn groups(&self) -> Vec<(&'static str, String)> {
        [
            (word("Seen"), Some(Seen::Always)),
            (word("Seen when large"), Some(Seen::Large)),
            (word("Not seen in a single wave"), Some(Seen::Never)),
            (word("Too quick for this log"), None),
        ]
        .into_iter()
        .map(|(label, seen)| (label, self.named(seen)))
        .filter(|(_, names)| !names.is_empty())
        .collect()
    }

    fn summary(&self) -> String {
        let nt = |v: f64| print::with_unit(&print::significant(v, 2), Unit::Nanotesla);
        let ends = [self.periods_s.first(), self.periods_s.last()]
            .into_iter()
            .flatten()
            .map(|p| say!("{} at a period of {}", nt(self.at(*p)), print::duration(*p)));
        let groups: Vec<String> =
            self.groups().iter().map(|(label, names)| format!("{label}: {names}")).collect();
        say!(
            "A single wave must be larger than {}. {}.",
            ends.collect::<Vec<_>>().join(word(" and than ")),
            groups.join("; ")
        )
    }
}

/// Adds figure, table and words; nothing where the noise cannot be had.
pub(super) fn with_sight(mut outcome: Outcome, found: Found) -> Outcome {
    if found.periods_s.is_empty() {
        return outcome;
    }
    for (k, (label, names)) in found.groups().into_iter().enumerate() {
        outcome = outcome.line(&format!("sight_{}", k + 1), label, names);
    }
    let columns = ["period_s", "size (nT)", "low_95 (nT)", "high_95 (nT)"];
    outcome.tables.push(Table {
        name: "sight".to_owned(),
        columns: columns.map(str::to_owned).to_vec(),
        data: vec![
            found.periods_s.clone(),
            found.noise.clone(),
            found.low.clone(),
            found.high.clone(),
        ],
        times_ns: None,
    });
    let text = words(
        "sight",
        say!(
            "What this sensor can see: the size (largest less smallest value) from which a single wave \
             stands out of the quiet days by twice its standard uncertainty, with its 95 % interval, and \
             known signals. Solid boxes are seen, dashed ones when large, dotted ones not. {}",
            word(SOURCES)
        ),
        found.summary(),
    );
    outcome.figure(Figure::new("sight", word("What it can see"), move |frame, view| {
        let shown = SIGNALS.map(|s| Signal {
            name: word(s.name),
            periods_s: s.periods_s,
            sizes: s.sizes_nt,
            seen: found.sees(&s).unwrap_or(Seen::Never),
        });
        let data = Sight {
            unit: Unit::Nanotesla,
            periods_s: &found.periods_s,
            noise: &found.noise,
            interval: (&found.low, &found.high),
            signals: &shown,
        };
        sight(&data, *frame, *view, &text)
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stands_above_the_noise_is_seen() {
        let found = Found {
            periods_s: vec![60.0, 600.0, 36_000.0],
            noise: vec![60.0, 20.0, 6.0],
            low: vec![59.0, 19.0, 4.0],
            high: vec![61.0, 21.0, 9.0],
        };
        let of = |name: &str| found.sees(SIGNALS.iter().find(|s| s.name == name).unwrap());
        assert_eq!(of("daily variation"), Some(Seen::Always));
        assert_eq!(of("Pc5"), Some(Seen::Large));
        assert_eq!(of("Pc3–4"), Some(Seen::Never));
        assert_eq!(of("car passing at 10 m"), None);
        assert!((found.at(330.0) - 40.0).abs() < 1e-9);
        assert!(found.summary().contains("; Too quick for this log: car passing at 10 m."));
    }

    #[test]
    fn a_car_is_as_large_as_the_rule_makes_it() {
        let rule = |metres: f64| 1.5 * (30.0 / metres).powi(3);
        let near = SIGNALS.iter().find(|s| s.name.ends_with("10 m")).unwrap().sizes_nt;
        let far = SIGNALS.iter().find(|s| s.name.ends_with("20 m")).unwrap().sizes_nt;
        assert!((near.0 - rule(10.0)).abs() < 1.0 && (near.1 - 5.0 * rule(10.0)).abs() < 5.0);
        assert!((far.0 - rule(20.0)).abs() < 0.1 && (far.1 - 5.0 * rule(20.0)).abs() < 0.5);
    }
}
