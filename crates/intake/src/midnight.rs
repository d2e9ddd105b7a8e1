//! Times of day without a date: the day comes from the student, from the
//! file's name, or is 1 January 1970; every midnight passed adds one.

use crate::ReadError;
use crate::calendar::{Date, date};
use crate::decide::Asked;
use crate::stamp::DAY_NS;
use record::{Instant, Warning, say, words::word};

/// Gives times of day their dates.
pub(crate) fn settle(
    ns: &mut [i64],
    file: &str,
    warnings: &mut Vec<Warning>,
    asked: &mut Asked,
) -> Result<i64, ReadError> {
    let given = asked.instant("date")?;
    let named = date_in(file);
    let (start, evidence) = match (given, named) {
        (Some(day), _) => (day.0.div_euclid(DAY_NS) * DAY_NS, word("your choice")),
        (None, Some(day)) => (day, word("the name of the file")),
        (None, None) => (0, word("no column and no file name gives day, month and year")),
    };
    let mut passed = 0i64;
    let mut last = i64::MIN;
    for time in ns.iter_mut() {
        let own = *time;
        // A fall by more than half a day is a midnight; a smaller one is a fault.
        if last != i64::MIN && last - own > DAY_NS / 2 {
            passed += 1;
        }
        last = own;
        *time = own.saturating_add(start).saturating_add(passed.saturating_mul(DAY_NS));
    }
    let day = Instant(start).readable();
    let day = day.trim_end_matches(" 00:00");
    let known = given.is_some() || named.is_some();
    asked.note(crate::Decision {
        id: "date".to_owned(),
        sentence: if known {
            say!("The first row is of {day}.")
        } else {
            say!("The day is not known; times count from {day}.")
        },
        evidence: evidence.to_owned(),
        chosen: Instant(start).iso()[..10].to_owned(),
        alternatives: Vec::new(),
        ambiguous: false,
    });
    if !known {
        warnings.push(Warning::new(
            "intake/no-date",
            "The log holds times of day, but no full date of day, month and year.",
            "Say on which day it begins; models and observatory records need it.",
        ));
    }
    Ok(start)
}

// The first settled date in a file name, such as `garden_2026-05-03.csv`.
fn date_in(file: &str) -> Option<i64> {
    let bytes = file.as_bytes();
    (0..bytes.len())
        .filter(|k| *k == 0 || !bytes[k - 1].is_ascii_digit())
        .filter(|k| bytes[*k..].iter().take_while(|b| b.is_ascii_digit()).count() >= 4)
        .find_map(|k| match date(&bytes[k..])? {
            (Date::Known(day), _) => Some(day),
            (Date::Open(_), _) => None,
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Choices;
    use record::NANOS_PER_SECOND;

    #[test]
    fn a_midnight_passed_adds_a_day_to_the_date_of_the_name() {
        let hour = 3600 * NANOS_PER_SECOND;
        let mut ns = [22 * hour, 23 * hour, 0, hour];
        let choices = Choices::default();
        let mut asked = Asked::new(&choices);
        settle(&mut ns, "garden_2026-05-03.csv", &mut Vec::new(), &mut asked).unwrap();
        let shown: Vec<String> = ns.iter().map(|t| Instant(*t).iso()).collect();
        assert_eq!(shown[1..3], ["2026-05-03T23:00:00Z", "2026-05-04T00:00:00Z"]);
    }
}
