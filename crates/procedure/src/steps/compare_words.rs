//! What the step Compare says of what it found.

use super::compare::{Late, Pair};
use crate::outcome::{Outcome, Reference};
use field::compare::Band;
use record::{Fault, Station, Unit, Warning, print, say, words::word};

fn nt(value: f64) -> String {
    print::with_unit(&print::significant(value, 2), Unit::Nanotesla)
}

/// The reference's name with its type of data, when its file says one.
pub(super) fn with_kind(reference: &Reference) -> String {
    if reference.kind.is_empty() {
        reference.name.clone()
    } else {
        say!("{} ({} data)", reference.name, word(&reference.kind))
    }
}

/// The same, short, for a line's name in a figure.
pub(super) fn short_kind(reference: &Reference) -> String {
    if reference.kind.is_empty() {
        reference.name.clone()
    } else {
        format!("{} ({})", reference.name, word(&reference.kind))
    }
}

/// The station as the name of its line in a figure; long names stand in the caption alone.
pub(super) fn of_station(station: Option<&Station>) -> String {
    let name = station.map(|s| s.name.as_str()).filter(|n| (1..=16).contains(&n.chars().count()));
    say!("{} (log)", name.unwrap_or(word("station")))
}

fn agree(pairs: &[Pair]) -> String {
    let each: Vec<String> = pairs
        .iter()
        .filter(|p| p.agreement.n > 0)
        .map(|p| {
            say!(
                "{} differs by {} rms, correlation {}, slope {}",
                p.name,
                nt(p.agreement.rms_nt),
                print::fixed(p.agreement.correlation, 2),
                print::with_sigma(p.slope.value, p.slope.sigma)
            )
        })
        .collect();
    each.join("; ")
}

/// The remark of the step.
pub(super) fn remark(
    pairs: &[Pair],
    late: Option<Late>,
    reference: &Reference,
    here: Option<&Station>,
) -> String {
    let far = here.zip(reference.station.as_ref()).map_or_else(String::new, |(here, there)| {
        say!(", {} km away", print::significant(great_circle_km(here, there), 3))
    });
    let lag = late.map_or_else(String::new, |late| format!(" {}.", lag(late)));
    say!("Against {}{far}: {}.{lag}", with_kind(reference), agree(pairs))
}

fn lag(late: Late) -> String {
    let known = print::with_sigma(late.seconds.abs(), late.sigma_s);
    let side = if late.seconds < 0.0 { word("ahead of") } else { word("behind") };
    if late.seconds.abs() < 2.0 * late.sigma_s {
        say!("The two clocks agree within {}", print::duration((2.0 * late.sigma_s).ceil()))
    } else {
        say!("The station is {known} s {side} it")
    }
}

/// One line a component, and one for each band of it.
pub(super) fn with_lines(mut outcome: Outcome, pairs: &[Pair], late: Option<Late>) -> Outcome {
    for p in pairs.iter().filter(|p| p.agreement.n > 0) {
        let a = &p.agreement;
        let text = say!(
            "{} rms, correlation {}, slope {} ({} before the reference's noise of {} is allowed for; {})",
            nt(a.rms_nt),
            print::fixed(a.correlation, 2),
            print::with_sigma(p.slope.value, p.slope.sigma),
            print::fixed(p.slope.diluted, 2),
            nt(p.slope.noise_nt),
            print::counted(a.n, "pair", "pairs")
        );
        outcome = outcome.line(p.name, &say!("{} station less reference", p.name), text);
        for (k, band) in p.bands.iter().enumerate() {
            let [from, to] = band.periods_s.map(print::duration);
            let label = say!("{}, periods {from} to {to}", p.name);
            outcome = outcome.line(&format!("{}_band_{}", p.name, k + 1), &label, of_band(band));
        }
    }
    match late {
        Some(late) => outcome.line("lag", "Lag", format!("{}.", lag(late))),
        None => outcome.line("lag", "Lag", word("quick changes are too unlike to tell")),
    }
}

fn of_band(band: &Band) -> String {
    let a = &band.agreement;
    let coherence = if band.coherence.is_nan() {
        String::new()
    } else {
        say!(
            ", coherence {} (unrelated records stay below {})",
            print::fixed(band.coherence, 2),
            print::fixed(band.unrelated, 2)
        )
    };
    say!(
        "station {}, reference {}, difference {} rms; correlation {}{coherence}",
        nt(band.rms_nt),
        nt(band.reference_rms_nt),
        nt(a.rms_nt),
        print::fixed(a.correlation, 2)
    )
}

/// How far a comparison can be trusted, by distance (common practice, no source).
pub(super) fn with_distance(outcome: Outcome, here: &Station, there: &Station) -> Outcome {
    let km = great_circle_km(here, there);
    let trust = match km {
        d if d < 300.0 => word("shape and size should agree"),
        d if d < 800.0 => word("the shape should agree, sizes only roughly"),
        _ => word("only storms can be expected to agree"),
    };
    let minutes = (there.longitude_deg - here.longitude_deg) * 4.0;
    let message = say!(
        "The observatory is {} km away and its local noon comes {} {}, so its daily variation comes by \
         as much {}: {trust}; toward the aurora, above 60°, bays differ within 100 to 300 km (common \
         practice).",
        print::significant(km, 3),
        print::duration(minutes.abs().round() * 60.0),
        word(if minutes > 0.0 { "earlier" } else { "later" }),
        word(if minutes > 0.0 { "earlier" } else { "later" })
    );
    outcome
        .number("distance_km", km, Unit::None)
        .number("local_time_offset_min", minutes, Unit::None)
        .warn(Warning::new("compare/distance", message, ""))
}

/// Another reference that was opened beside the first.
pub(super) fn with_other(
    outcome: Outcome,
    other: &Reference,
    compared: &Result<Vec<Pair>, Fault>,
    here: Option<&Station>,
) -> Outcome {
    let label = say!("Against {}", with_kind(other));
    let far = here.zip(other.station.as_ref()).map_or_else(String::new, |(here, there)| {
        say!("{} km away: ", print::significant(great_circle_km(here, there), 3))
    });
    let text = match compared {
        Ok(pairs) => format!("{far}{}", agree(pairs)),
        Err(fault) => say!("not compared. {}", fault.message),
    };
    outcome.line(&format!("other_{}", other.name), &label, text)
}

fn great_circle_km(a: &Station, b: &Station) -> f64 {
    let unit = |s: &Station| field::elements::components(s.longitude_deg, s.latitude_deg, 1.0);
    let (u, v) = (unit(a), unit(b));
    let across = record::vector::norm(record::vector::cross(u, v));
    let along = record::vector::dot(u, v);
    6371.2 * field::elements::declination_deg(along, across).to_radians()
}
