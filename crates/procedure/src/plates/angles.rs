//! The figure of declination, inclination and heading against time.

use crate::outcome::{FieldFrame, Figure, Outcome};
use field::mean::MeanElements;
use figure::{Words, plan};
use record::{Channel, Quantity, Record, Role, Unit, print, say, words::word};

/// Adds the figure of the angles.
pub(crate) fn with_elements(
    outcome: Outcome,
    record: &Record,
    mean: &MeanElements,
    frame: FieldFrame,
) -> Outcome {
    if frame == FieldFrame::Sensor {
        return outcome;
    }
    let mut shown: Vec<(Channel, f64, f64)> = Vec::new();
    let angles = [
        (Role::D, "D", mean.declination_deg),
        (Role::I, "I", mean.inclination_deg),
        (Role::Other, "heading", mean.heading_deg),
    ];
    for (role, name, quantity) in angles {
        let found =
            record.channels().iter().rev().find(|c| c.role == role && c.name.starts_with(name));
        if let Some(channel) = found {
            let centre = match frame {
                FieldFrame::Geographic { azimuth_deg } if role == Role::Other => {
                    (azimuth_deg - mean.declination_deg.value).rem_euclid(360.0)
                }
                _ => quantity.value,
            };
            shown.push((channel.clone(), centre, quantity.sigma));
        }
    }
    let names: Vec<&str> = shown.iter().map(|(c, _, _)| c.name.as_str()).collect();
    let words = Words {
        name: "angles".to_owned(),
        caption: say!(
            "{} against time, with the mean and its standard uncertainty as a band.",
            names.join(", ")
        ),
        summary: say!(
            "{} against time in degrees. Means: {}.",
            names.join(", "),
            shown
                .iter()
                .map(|(c, m, s)| format!("{} {}°", c.name, print::with_sigma(*m, *s)))
                .collect::<Vec<_>>()
                .join(", ")
        ),
        provenance: String::new(),
    };
    let times = record.shared_times();
    let marks = record.marks().clone();
    outcome.figure(Figure::new("angles", "Declination, inclination, heading", move |room, view| {
        let traces: Vec<plan::angles::AngleTrace<'_>> = shown
            .iter()
            .map(|(channel, mean_deg, sigma_deg)| plan::angles::AngleTrace {
                name: &channel.name,
                times_ns: &times,
                values_deg: &channel.values,
                marks: Some(&marks),
                mean_deg: *mean_deg,
                sigma_deg: *sigma_deg,
            })
            .collect();
        plan::angles::angles(&traces, *room, *view, &words)
    }))
}

/// Adds the drawing of the mean field vector, in plan and in section.
pub(crate) fn with_vector(
    outcome: Outcome,
    mean: &MeanElements,
    frame: FieldFrame,
    unit: Unit,
) -> Outcome {
    let (up, level, forward) = match frame {
        FieldFrame::Sensor => return outcome,
        FieldFrame::Level => ("forward", mean.declination_deg, None),
        FieldFrame::Geographic { azimuth_deg } => ("N", mean.declination_deg, Some(azimuth_deg)),
    };
    let size = |q: Quantity| print::with_unit(&print::with_sigma(q.value, q.sigma), unit);
    let plan_words = if forward.is_some() {
        format!("D = {}\nH = {}", level.readable(), size(mean.horizontal_nt))
    } else {
        say!("heading {}\nH = {}", mean.heading_deg.readable(), size(mean.horizontal_nt))
    };
    let section_words =
        format!("I = {}\nF = {}", mean.inclination_deg.readable(), size(mean.total_nt));
    let inclination = (mean.inclination_deg.value, mean.inclination_deg.sigma);
    let words = Words {
        name: "vector".to_owned(),
        caption: say!(
            "The mean field at the station: seen from above, with {} up, and in section along the \
             field. The shaded cone holds two standard uncertainties either way; arrows are true \
             to angle, not to length.",
            word(if forward.is_some() { "true north" } else { "forward" })
        ),
        summary: say!(
            "Two drawings of the field vector. {}. {}.",
            plan_words.replace('\n', ", "),
            section_words.replace('\n', ", ")
        ),
        provenance: String::new(),
    };
    let level = (level.value, level.sigma);
    outcome.figure(Figure::new("vector", word("The field vector"), move |room, view| {
        let field = plan::vector::FieldVector {
            up,
            level_deg: level,
            forward_deg: forward,
            inclination_deg: inclination,
            plan_words: &plan_words,
            section_words: &section_words,
        };
        plan::vector::vector(&field, *room, *view, &words)
    }))
}
