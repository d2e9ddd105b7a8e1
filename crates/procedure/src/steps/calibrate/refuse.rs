//! A turning that was refused: why, which way to turn next, and the map of
//! what was seen.

use crate::outcome::{Outcome, State};
use crate::plates;
use field::calibration::{self, CalibrationError, Options, Seen};
use field::model::ModelField;
use record::{Fault, Record, Unit, print, say, words::word};

/// The refusal, with the map of directions.
pub(super) fn refused(
    state: &State,
    turned: &Record,
    error: CalibrationError,
    options: &Options,
) -> Outcome {
    let turn_more = !options.model.is_flat()
        && matches!(error, CalibrationError::PoorCoverage { .. } | CalibrationError::Flat { .. });
    let seen = seen(state, turned, options);
    let mut fault = Fault::from(counted_as_shown(error, seen.as_ref()));
    if let (true, Some(seen), Some(earth)) = (turn_more, &seen, &state.model) {
        fault.remedy.push(' ');
        fault.remedy.push_str(&aim(seen.least_seen, earth));
    }
    let outcome = Outcome::refused(state, fault);
    match seen {
        Some(seen) => plates::with_refused_directions(outcome, &seen),
        None => outcome,
    }
}

// The words and the map must count the same patches.
fn counted_as_shown(mut error: CalibrationError, seen: Option<&Seen>) -> CalibrationError {
    if let CalibrationError::PoorCoverage { coverage, least_seen, model, .. } = &mut error
        && let Some(seen) = seen.filter(|_| !model.is_flat())
    {
        (*coverage, *least_seen) = (seen.coverage, seen.least_seen);
    }
    error
}

fn seen(state: &State, turned: &Record, options: &Options) -> Option<Seen> {
    let axes = turned.vector()?;
    let marks = turned.marks();
    let known = options.field.map(|(field, _)| field);
    let field = match &state.model {
        Some(earth) => Some(earth.f_nt),
        None => known,
    };
    let field = field.filter(|_| axes[0].unit == Unit::Nanotesla);
    calibration::seen(axes.map(|c| c.values.as_slice()), |k| marks.keeps(k), field)
}

/// How to hold the sensor so that the field points along an axis of it, such
/// as `−z`: the field itself points north and down where its inclination is
/// positive.
fn aim(axis: &str, earth: &ModelField) -> String {
    let against = axis.starts_with('−');
    let letter = axis.trim_start_matches(['+', '−']);
    let dip = if against { -earth.inclination_deg } else { earth.inclination_deg };
    let (north, down) =
        if against { (word("south"), word("down")) } else { (word("north"), word("down")) };
    let down = if dip < 0.0 { word("up") } else { down };
    let steep = print::fixed(dip.abs(), 0);
    if dip.abs() > 85.0 {
        return say!("Begin with the {letter} arrow straight {down}.");
    }
    say!("Begin with the {letter} arrow towards magnetic {north} and {steep}° {down}.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use field::model::{Which, field};
    use record::Station;

    #[test]
    fn the_arrow_is_aimed_along_the_field_in_either_hemisphere() {
        let at = |latitude| {
            let station = Station::new("", latitude, -9.9, 0.0).unwrap();
            field(Which::Wmm2025, &station, 2026.5).unwrap()
        };
        let north = at(57.4);
        assert_eq!(aim("−z", &north), "Begin with the z arrow towards magnetic south and 71° up.");
        assert_eq!(
            aim("+x", &north),
            "Begin with the x arrow towards magnetic north and 71° down."
        );
        assert!(aim("+y", &at(-40.0)).ends_with("° up."));
        assert_eq!(aim("−z", &at(86.5)), "Begin with the z arrow straight up.");
    }
}
