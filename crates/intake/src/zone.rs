//! Offsets from UTC: stated by stamps, by a header, or by the student.
//!
//! A zone is a list of offsets with the instants from which they hold, as the
//! page resolves them from the zone's name: `+00:00 2026-03-29T01:00:00Z +01:00
//! 2026-10-25T01:00:00Z +00:00`.  The hour that occurs twice in autumn is told
//! apart by the order of the rows: the first pass is the earlier one.

use crate::decide::{Asked, alternatives};
use crate::{ReadError, stamp};
use record::print::counted;
use record::{
    Instant, NANOS_PER_SECOND, Warning, say,
    words::{word, worded},
};

/// Offsets and the instants from which they hold.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Zone {
    name: String,
    // (from, offset), both nanoseconds; the first holds from ever.
    spans: Vec<(i64, i64)>,
}

impl Zone {
    fn fixed(offset_s: i32) -> Self {
        Self {
            name: String::new(),
            spans: vec![(i64::MIN, i64::from(offset_s) * NANOS_PER_SECOND)],
        }
    }

    /// Reads offsets and instants by turns, behind the zone's name if it has one.
    pub(crate) fn parse(text: &str) -> Option<Self> {
        let mut spans = Vec::new();
        let mut from = Some(i64::MIN);
        let mut words = text.split_ascii_whitespace().peekable();
        let is_name = |word: &&str| word.len() < 64 && stamp::offset(word.as_bytes()).is_none();
        let name = words.next_if(is_name).unwrap_or_default().to_owned();
        for word in words {
            match from.take() {
                Some(start) => {
                    let offset = stamp::offset(word.as_bytes())??;
                    spans.push((start, i64::from(offset) * NANOS_PER_SECOND));
                }
                None => {
                    let read = stamp::read(word.as_bytes())?;
                    let Some(crate::calendar::Date::Known(day)) = read.date else { return None };
                    let start = day + read.of_day_ns.unwrap_or(0);
                    if spans.last().is_some_and(|(last, _)| *last >= start) {
                        return None;
                    }
                    from = Some(start);
                }
            }
        }
        (from.is_none() && !spans.is_empty()).then_some(Self { name, spans })
    }

    /// Whether no clock of the zone showed a local time: it fell into the hour that
    /// is leapt over in spring.
    fn skips(&self, local_ns: i64) -> bool {
        !self.spans.iter().enumerate().any(|(k, (from, offset))| {
            let until = self.spans.get(k + 1).map_or(i64::MAX, |(next, _)| *next);
            (*from..until).contains(&local_ns.saturating_sub(*offset))
        })
    }

    /// The zone in words: `+01:00`, or its name with its offsets.
    fn said(&self) -> String {
        let offset = |ns: i64| shown(i32::try_from(ns / NANOS_PER_SECOND).unwrap_or(0));
        let mut text = String::new();
        for (k, (from, ns)) in self.spans.iter().enumerate() {
            if k > 0 {
                text += &say!(", from {} UTC ", Instant(*from).readable());
            }
            text += &offset(*ns);
        }
        match self.name.as_str() {
            "" => text,
            name => format!("{name} ({text})"),
        }
    }

    /// The instant of a local time: the earliest that is not before `after`.
    /// Local times that no clock showed are read with the offset before the leap.
    pub(crate) fn utc(&self, local_ns: i64, after_ns: i64) -> i64 {
        let mut best: Option<i64> = None;
        let mut fallback = local_ns;
        for (k, (from, offset)) in self.spans.iter().enumerate() {
            let until = self.spans.get(k + 1).map_or(i64::MAX, |(next, _)| *next);
            let instant = local_ns.saturating_sub(*offset);
            if *from <= local_ns.saturating_sub(*offset) || k == 0 {
                fallback = instant;
            }
            if instant >= *from && instant < until {
                if instant >= after_ns {
                    return instant;
                }
                best = best.or(Some(instant));
            }
        }
        best.unwrap_or(fallback)
    }
}

/// What the file states about its zone.
#[derive(Debug)]
pub(crate) struct Stated {
    /// Rows whose stamp carries an offset.
    pub zoned: usize,
    /// All rows.
    pub rows: usize,
    /// The first offset carried.
    pub first_offset_s: Option<i32>,
    /// Whether others differ from it.
    pub offsets_differ: bool,
    /// The offset that a header states.
    pub header_s: Option<i32>,
}

/// Brings local times to UTC.
pub(crate) fn settle(
    ns: &mut [i64],
    stated: &Stated,
    warnings: &mut Vec<Warning>,
    asked: &mut Asked,
) -> Result<Zone, ReadError> {
    if stated.zoned > 0 {
        let evidence = match (stated.zoned == stated.rows, stated.offsets_differ) {
            (true, false) => {
                say!("every stamp carries {}", shown(stated.first_offset_s.unwrap_or(0)))
            }
            (true, true) => worded("every stamp carries its offset from UTC"),
            (false, _) => say!(
                "{} of {} stamps carry an offset; the others are read as UTC",
                stated.zoned,
                stated.rows
            ),
        };
        note(asked, word("Stamps state their offset from UTC."), evidence, "stated", false);
        return Ok(Zone::default());
    }
    if let Some(given) = asked.raw("zone") {
        return given_zone(ns, &given, word("your choice"), warnings, asked);
    }
    if let Some(offset) = stated.header_s {
        let zone = Zone::fixed(offset);
        apply(ns, &zone);
        let sentence = match offset {
            0 => worded("Stamps are in UTC."),
            _ => say!("Stamps are local times at {} and were brought to UTC.", shown(offset)),
        };
        note(asked, &sentence, worded("the header says so"), &shown(offset), false);
        return Ok(zone);
    }
    if let Some(given) = asked.raw("zone-assumed") {
        let why = word("nothing in the log names a zone; you chose this one for another log");
        return given_zone(ns, &given, why, warnings, asked);
    }
    let evidence = worded("nothing in the log names a zone");
    note(asked, word("Stamps are read as UTC."), evidence, "UTC", true);
    warnings.extend(clock_back(ns));
    Ok(Zone::fixed(0))
}

fn given_zone(
    ns: &mut [i64],
    given: &str,
    why: &str,
    warnings: &mut Vec<Warning>,
    asked: &mut Asked,
) -> Result<Zone, ReadError> {
    let zone = answered(given)?;
    warnings.extend(leapt_over(ns, &zone));
    apply(ns, &zone);
    let sentence = match given {
        "UTC" => worded("Stamps are in UTC."),
        _ => say!("Stamps are local times at {} and were brought to UTC.", zone.said()),
    };
    note(asked, &sentence, why.to_owned(), given, false);
    Ok(zone)
}

// Times that no clock in the zone showed.
fn leapt_over(ns: &[i64], zone: &Zone) -> Option<Warning> {
    let rows = ns.iter().filter(|time| zone.skips(**time)).count();
    (rows > 0).then(|| {
        Warning::new(
            "intake/skipped-hour",
            say!(
                "{} carry times that no clock in this zone showed: the hour leapt over in spring. \
                 They are read with the offset before it.",
                counted(rows, "row", "rows")
            ),
            "The logger was probably not set forward; then choose its winter offset instead.",
        )
    })
}

fn answered(given: &str) -> Result<Zone, ReadError> {
    if given == "UTC" {
        return Ok(Zone::fixed(0));
    }
    Zone::parse(given).ok_or_else(|| ReadError::Choice {
        id: "zone".to_owned(),
        given: given.to_owned(),
        known: worded(
            "UTC, an offset such as +01:00, or offsets and the instants from which they hold",
        ),
    })
}

// A step back of 50 to 60 minutes, as clocks take in autumn.
fn clock_back(ns: &[i64]) -> Option<Warning> {
    let hour = |w: &[i64]| (3000..=3600).contains(&((w[0] - w[1]) / NANOS_PER_SECOND));
    ns.windows(2).any(hour).then(|| {
        Warning::new(
            "intake/clock-back",
            "The clock goes back by about an hour within the log, as clocks do in autumn.",
            "If the logger ran on local time, choose its zone; the repeated hour is then told apart.",
        )
    })
}

fn apply(ns: &mut [i64], zone: &Zone) {
    let mut before = i64::MIN;
    let mut last_local = i64::MIN;
    for time in ns {
        let local = *time;
        // Rows that fall back while the clock repeats its hour are the second pass.
        let after = if local < last_local { before } else { before.min(zone.utc(local, before)) };
        *time = zone.utc(local, after);
        (before, last_local) = (*time, local);
    }
}

fn note(asked: &mut Asked, sentence: &str, evidence: String, chosen: &str, ambiguous: bool) {
    asked.note(crate::Decision {
        id: "zone".to_owned(),
        sentence: sentence.to_owned(),
        evidence,
        chosen: chosen.to_owned(),
        alternatives: known(chosen),
        ambiguous,
    });
}

// The usual answers, and the one in force when it is none of them.
fn known(chosen: &str) -> Vec<(String, String)> {
    if chosen == "stated" {
        return Vec::new();
    }
    let mut all = alternatives(&[
        ("UTC", word("the clock showed UTC")),
        ("+01:00", word("an hour ahead of UTC")),
        ("-05:00", word("five hours behind UTC")),
    ]);
    if !all.iter().any(|(id, _)| id == chosen) {
        let said = Zone::parse(chosen).map_or_else(|| chosen.to_owned(), |zone| zone.said());
        all.push((chosen.to_owned(), said));
    }
    all
}

fn shown(offset_s: i32) -> String {
    if offset_s == 0 {
        return "UTC".to_owned();
    }
    let sign = if offset_s < 0 { '-' } else { '+' };
    format!("{sign}{:02}:{:02}", offset_s.abs() / 3600, offset_s.abs() / 60 % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn local(text: &str) -> i64 {
        let stamp = stamp::read(text.as_bytes()).unwrap();
        let Some(crate::calendar::Date::Known(day)) = stamp.date else { panic!() };
        day + stamp.of_day_ns.unwrap()
    }

    #[test]
    fn the_repeated_autumn_hour_is_told_apart_by_row_order() {
        // trade.md, 1.2: UK 2024, 01:30 on 27 October happens twice, 00:30Z and 01:30Z.
        let zone =
            Zone::parse("+00:00 2024-03-31T01:00:00Z +01:00 2024-10-27T01:00:00Z +00:00").unwrap();
        let mut ns = [
            "2024-10-27 00:30",
            "2024-10-27 01:00",
            "2024-10-27 01:30",
            "2024-10-27 01:00",
            "2024-10-27 01:30",
            "2024-10-27 02:00",
        ]
        .map(local);
        apply(&mut ns, &zone);
        let got: Vec<String> = ns.iter().map(|t| Instant(*t).iso()).collect();
        assert_eq!(
            got,
            [
                "2024-10-26T23:30:00Z",
                "2024-10-27T00:00:00Z",
                "2024-10-27T00:30:00Z",
                "2024-10-27T01:00:00Z",
                "2024-10-27T01:30:00Z",
                "2024-10-27T02:00:00Z"
            ]
        );
    }

    #[test]
    fn an_hour_that_no_clock_showed_reads_with_the_offset_before() {
        let zone = Zone::parse("+00:00 2024-03-31T01:00:00Z +01:00").unwrap();
        assert_eq!(
            Instant(zone.utc(local("2024-03-31 00:30"), i64::MIN)).iso(),
            "2024-03-31T00:30:00Z"
        );
        assert_eq!(
            Instant(zone.utc(local("2024-03-31 01:30"), i64::MIN)).iso(),
            "2024-03-31T01:30:00Z"
        );
        assert_eq!(
            Instant(zone.utc(local("2024-03-31 02:30"), i64::MIN)).iso(),
            "2024-03-31T01:30:00Z"
        );
    }

    #[test]
    fn a_zone_that_makes_no_sense_is_refused() {
        assert_eq!(Zone::parse("+25:00"), None);
        assert_eq!(Zone::parse("+01:00 2024-10-27T01:00:00Z"), None);
        assert_eq!(Zone::parse(""), None);
        assert_eq!(Zone::parse("Europe/London"), None);
    }

    #[test]
    fn a_zone_with_a_name_says_its_offsets_and_knows_its_leap() {
        let zone = Zone::parse("Europe/London +00:00 2024-03-31T01:00:00Z +01:00").unwrap();
        assert_eq!(zone.said(), "Europe/London (UTC, from 31 March 2024 01:00 UTC +01:00)");
        let leapt = ["00:59", "01:00", "01:30", "01:59", "02:00"]
            .map(|clock| zone.skips(local(&format!("2024-03-31 {clock}"))));
        assert_eq!(leapt, [false, true, true, true, false]);
    }
}
