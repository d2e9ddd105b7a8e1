//! The figure of declination, inclination and heading against time.

use crate::outcome::{FieldFrame, Figure, Outcome};
use field::mean::MeanElements;
use figure::{Words, plan};
use record::{Channel, Record, Role, print};

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
        caption: format!(
            "{} against time, with the mean and its standard uncertainty as a band.",
            names.join(", ")
        ),
        summary: format!(
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
