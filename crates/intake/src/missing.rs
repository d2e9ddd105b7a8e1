//! Numbers that stand for "no value": -200, -999.9, 99999 and their like.
//!
//! A number counts as such a code when it is a usual one, stands at the end of
//! the column's range, is repeated, and lies far outside the rest.  A code
//! found in one column is looked for in the others with less proof.

use crate::decide::{Asked, alternatives};
use crate::{Decision, ReadError};
use record::print::{counted, trimmed};
use record::{say, words::word};

// Common practice, no source; met in real logs.
const CODES: [f64; 27] = [
    -200.0, -99.0, -99.9, -99.99, -999.0, -999.9, -999.99, -9999.0, -9999.9, -99999.0, 999.0,
    999.9, 999.99, 9999.0, 9999.9, 9999.99, 99999.0, 99999.9, 99999.99, 999999.0, 88888.0,
    -32768.0, 1e20, -9.99, 1e31, -1e31, -127.0,
];

/// Turns codes for "no value" into NaN, column by column.  `field` says which
/// columns are raw field components, where -32768 means "too large" instead.
pub(crate) fn settle(
    names: &[String],
    columns: &mut [Vec<f64>],
    field: &[bool],
    asked: &mut Asked,
) -> Result<(), ReadError> {
    let mut codes: Vec<(usize, f64)> = Vec::new();
    let saturation = |code: f64, place: usize| code == -32768.0 && field.get(place) == Some(&true);
    for (place, column) in columns.iter_mut().enumerate() {
        // One code may hide another that lies nearer.
        while let Some(code) = ends(column).into_iter().find(|code| {
            CODES.contains(code) && !saturation(*code, place) && stands_apart(column, *code, 0.5)
        }) {
            codes.push((place, code));
            if !take_out(&names[place], column, code, asked)? {
                break;
            }
        }
    }
    for (place, column) in columns.iter_mut().enumerate() {
        for (_, code) in &codes {
            let looked_at = codes.contains(&(place, *code)) || saturation(*code, place);
            if !looked_at && stands_apart(column, *code, 0.05) {
                take_out(&names[place], column, *code, asked)?;
            }
        }
    }
    Ok(())
}

// Returns whether the code was taken out.
fn take_out(
    name: &str,
    column: &mut [f64],
    code: f64,
    asked: &mut Asked,
) -> Result<bool, ReadError> {
    let n = column.iter().filter(|v| **v == code).count();
    let id = format!("missing:{name}");
    let known = alternatives(&[
        ("missing", word("it means that there is no value")),
        ("value", word("it is a value")),
    ]);
    let given = asked.answer(&id, &known)?;
    let missing = given.as_deref() != Some("value");
    let shown = if code.abs() == 1e31 { "±1e31".to_owned() } else { trimmed(code, 9) };
    asked.note(Decision {
        id,
        sentence: if missing {
            say!("In {name}, {shown} means that there is no value.")
        } else {
            say!("In {name}, {shown} is a value like the others.")
        },
        evidence: say!(
            "it stands {} in {} and far from every other value",
            record::print::often(n),
            counted(column.len(), "row", "rows")
        ),
        chosen: if missing { "missing" } else { "value" }.to_owned(),
        alternatives: known,
        ambiguous: false,
    });
    if missing {
        column.iter_mut().filter(|v| **v == code).for_each(|v| *v = f64::NAN);
    }
    Ok(missing)
}

fn ends(column: &[f64]) -> [f64; 2] {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for value in column {
        // Comparisons with NaN are false.
        low = if *value < low { *value } else { low };
        high = if *value > high { *value } else { high };
    }
    [low, high]
}

// Whether a code is at an end of the range, and the rest begins farther off
// than `share` of its own range.
fn stands_apart(column: &[f64], code: f64, share: f64) -> bool {
    let (mut n, mut low, mut high) = (0usize, f64::INFINITY, f64::NEG_INFINITY);
    for value in column {
        if *value == code {
            n += 1;
        } else if !value.is_nan() {
            low = low.min(*value);
            high = high.max(*value);
        }
    }
    let strong = code.abs() >= 9999.0;
    if n < if strong { 1 } else { 2 } || low > high {
        return false;
    }
    let gap = if code < low { low - code } else { code - high };
    let range = high - low;
    gap > 0.0 && gap > share * range && gap > 0.02 * code.abs()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Choices;

    #[test]
    fn a_repeated_code_far_outside_is_missing_and_a_cold_day_is_not() {
        let choices = Choices::default();
        let mut asked = Asked::new(&choices);
        let mut columns =
            vec![vec![13.6, -200.0, 12.1, -200.0, 11.0], vec![-9.99, -9.5, -9.0, -9.99, -8.0]];
        settle(&["T".into(), "cold".into()], &mut columns, &[false, false], &mut asked).unwrap();
        assert!(columns[0][1].is_nan() && columns[0][3].is_nan());
        assert_eq!(columns[1][0], -9.99);
        assert_eq!(asked.decisions.len(), 1);
    }

    #[test]
    fn the_student_may_say_that_a_code_is_a_value() {
        let choices = Choices::default().with("missing:T", "value");
        let mut asked = Asked::new(&choices);
        let mut columns = vec![vec![13.6, -200.0, 12.1, -200.0, 11.0]];
        settle(&["T".into()], &mut columns, &[false], &mut asked).unwrap();
        assert_eq!((columns[0][1], asked.decisions.len()), (-200.0, 1));
    }
}
