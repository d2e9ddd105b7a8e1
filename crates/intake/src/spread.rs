//! Whole-second stamps on a faster stream: rows that share a stamp are spread
//! evenly over it.

use crate::ReadError;
use crate::decide::{Asked, alternatives};
use record::print::counted;
use record::{NANOS_PER_SECOND, say, words::word};

/// Spreads rows that share a stamp, when that is the rule in the file.  Rows
/// with one stamp and the same values are one row written twice: where most
/// are, nothing is spread.
pub(crate) fn settle(
    ns: &mut [i64],
    twin: &dyn Fn(usize) -> bool,
    asked: &mut Asked,
) -> Result<(), ReadError> {
    let Some((unit_ns, usual)) = shared(ns) else { return Ok(()) };
    let sharing = || (1..ns.len()).filter(|row| ns[*row] == ns[row - 1]);
    if sharing().filter(|row| twin(*row)).count() * 2 > sharing().count() {
        return Ok(());
    }
    let known = alternatives(&[
        ("even", word("spread them evenly")),
        ("as-written", word("keep the stamps as written")),
    ]);
    let given = asked.answer("spread", &known)?;
    let spread = given.as_deref() != Some("as-written");
    let word = word(if unit_ns == NANOS_PER_SECOND { "second" } else { "minute" });
    asked.note(crate::Decision {
        id: "spread".to_owned(),
        sentence: if spread {
            say!("Rows that share a whole {word} are spread evenly over it.")
        } else {
            say!("Rows that share a whole {word} keep one time.")
        },
        evidence: say!(
            "stamps are whole {word}s and mostly stand on {}",
            counted(usual, "row", "rows")
        ),
        chosen: if spread { "even" } else { "as-written" }.to_owned(),
        alternatives: known,
        ambiguous: false,
    });
    if spread {
        evenly(ns, unit_ns, usual);
    }
    Ok(())
}

// The unit that all stamps are whole in and how many rows mostly share one,
// when that is two or more.  Groups of unlike sizes need not be of one rate.
fn shared(ns: &[i64]) -> Option<(i64, usize)> {
    if !ns.windows(2).any(|w| w[0] == w[1]) {
        return None;
    }
    let whole = |unit: i64| ns.iter().all(|t| t % unit == 0);
    let unit = if whole(60 * NANOS_PER_SECOND) {
        60 * NANOS_PER_SECOND
    } else if whole(NANOS_PER_SECOND) {
        NANOS_PER_SECOND
    } else {
        return None;
    };
    let mut sizes: Vec<usize> = ns.chunk_by(|a, b| a == b).map(<[i64]>::len).collect();
    if sizes.len() < 3 {
        return None;
    }
    // The first and last groups may be cut.
    sizes.pop();
    sizes.remove(0);
    sizes.sort_unstable();
    let usual = sizes[sizes.len() / 2];
    let successive = ns.chunk_by(|a, b| a == b).map(|g| g[0]).collect::<Vec<_>>();
    let steps = successive.windows(2).filter(|w| w[1].saturating_sub(w[0]) == unit).count();
    (usual >= 2 && steps * 2 >= successive.len() - 1).then_some((unit, usual))
}

fn evenly(ns: &mut [i64], unit_ns: i64, usual: usize) {
    let mut first = true;
    for group in ns.chunk_by_mut(|a, b| a == b) {
        let n = group.len();
        let places = n.max(usual);
        // A file rarely begins on the second: its first rows are the last of theirs.
        let lead = if first { places - n } else { 0 };
        for (k, time) in group.iter_mut().enumerate() {
            let share = (lead + k) as i128 * i128::from(unit_ns) / places as i128;
            *time = time.saturating_add(share as i64);
        }
        first = false;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_rows_a_second_stand_a_quarter_apart() {
        let s = NANOS_PER_SECOND;
        let mut ns = vec![s, s, 2 * s, 2 * s, 2 * s, 2 * s, 3 * s, 3 * s, 3 * s, 3 * s, 4 * s];
        let (unit, usual) = shared(&ns).unwrap();
        evenly(&mut ns, unit, usual);
        assert_eq!(ns[..4], [s + s / 2, s + s / 4 * 3, 2 * s, 2 * s + s / 4]);
        assert!(ns.windows(2).all(|w| w[1] - w[0] == s / 4));
    }

    #[test]
    fn one_row_a_second_with_a_repeat_is_left_alone() {
        let s = NANOS_PER_SECOND;
        assert_eq!(shared(&[s, 2 * s, 2 * s, 3 * s, 4 * s, 5 * s]), None);
    }
}
