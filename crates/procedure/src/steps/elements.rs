//! `elements`: D, I, H, X, Y, Z, F and heading, each with its uncertainty.

use crate::outcome::{FieldFrame, Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use field::elements;
use field::mean::{self, MeanElements, Uncertainty};
use record::{Channel, Fault, Quantity, Record, Role, Unit, Warning, print, say, words::word};

/// Works out the elements of the field.
pub static STEP: Step = Step {
    id: "elements",
    stage: Stage::Field,
    title: "Elements",
    params: &[Param::span("span", "Span averaged", "Nothing typed means the whole record.")],
    sentence: |_| "Work out the elements of the field and their means over {span}.",
    why: Why {
        what: "The total field F is the length of the vector, the horizontal field H the length of \
               its level part, the inclination I its dip below the horizon and the declination D \
               the angle of its level part from true north.",
        why: "These are the quantities that charts, models and observatories speak of, so they can \
              be compared with yours.",
        wrong: "An angle is only as good as the levelling and the azimuth behind it, however many \
                samples were averaged: averaging removes noise, not a crooked table.",
        picture: "The vector F with its level part H; D is the angle from north to H, I the dip \
                  from H to F.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let axes = state.record.vector().ok_or_else(|| {
        Fault::new(
            "elements/no-vector",
            "There are no three field components to work with.",
            "Elements need x, y and z of a magnetometer; see the columns in the reading report.",
        )
    })?;
    let unit = axes[0].unit;
    let [x, y, z] = axes.map(|channel| channel.values.as_slice());
    let places = match context.span("span") {
        Some((start, end)) => state.record.places_between(start, end),
        None => 0..state.record.len(),
    };
    let marks = state.record.marks();
    let keep = |k: usize| places.contains(&k) && marks.keeps(k);
    let uncertainty = Uncertainty {
        component_nt: state.shared.component,
        scale_relative: state.shared.scale,
        tilt_deg: state.shared.tilt_deg,
        azimuth_deg: state.shared.azimuth_deg,
        step_nt: 0.0,
    };
    let mean = mean::mean(x, y, z, keep, &uncertainty);
    if mean.n == 0 {
        return Err(Fault::new(
            "elements/no-samples",
            "No sample of the span takes part: all are missing or marked.",
            "Choose another span, or see which cleaning step marked them.",
        ));
    }
    let record = with_elements(state, unit)?;
    let mut next = state.clone();
    next.record = record.clone();
    next.field = Some(record.clone());
    let outcome = reported(Outcome::new(next, remark(&mean, state, unit)), &mean, state, unit);
    let outcome = plates::with_elements(outcome, &record, &mean, state.frame);
    let outcome = plates::with_vector(outcome, &mean, state.frame, unit);
    Ok(plates::with_series(
        outcome,
        &record,
        None,
        "series",
        word("Components and total field"),
        word("The field against time: its components and, where there are three, its total."),
    ))
}

fn is_geographic(state: &State) -> bool {
    matches!(state.frame, FieldFrame::Geographic { .. })
}

fn with_elements(state: &State, unit: Unit) -> Result<Record, Fault> {
    let Some(axes) = state.record.vector() else { return Ok(state.record.clone()) };
    let [x, y, z] = axes.map(|channel| channel.values.as_slice());
    let all = elements::of(x, y, z);
    let mut made = vec![Channel::new("F", Role::F, unit, all.f)];
    if state.frame != FieldFrame::Sensor {
        made.push(Channel::new("H", Role::H, unit, all.h));
        made.push(Channel::new("I", Role::I, Unit::Degree, all.i));
        match state.frame {
            FieldFrame::Geographic { azimuth_deg } => {
                made.push(Channel::new(
                    "heading",
                    Role::Other,
                    Unit::Degree,
                    shifted(&all.d, azimuth_deg),
                ));
                made.push(Channel::new("D", Role::D, Unit::Degree, all.d));
            }
            _ => {
                let headings = elements::headings_deg(&all.d);
                made.push(Channel::new("heading", Role::Other, Unit::Degree, headings));
            }
        }
    }
    made.into_iter()
        .try_fold(state.record.clone(), |record, channel| {
            record.with_channel(unclash(&record, channel))
        })
        .map_err(super::internal)
}

// Magnetic heading of the forward axis: its true azimuth less the declination.
fn shifted(declination_deg: &[f64], azimuth_deg: f64) -> Vec<f64> {
    declination_deg.iter().map(|d| (azimuth_deg - d).rem_euclid(360.0)).collect()
}

// A log may already have a channel called F; it is kept beside ours.
fn unclash(record: &Record, mut channel: Channel) -> Channel {
    if record.named(&channel.name).is_some() {
        channel.name.push_str(" from components");
    }
    channel
}

fn remark(mean: &MeanElements, state: &State, unit: Unit) -> String {
    let total = in_unit(mean.total_nt, unit).readable();
    let mut text = say!("Total field {total}");
    if state.frame == FieldFrame::Sensor {
        text.push_str(word("; the sensor is not oriented, so there are no angles"));
    } else {
        text.push_str(&say!(
            ", horizontal {}, inclination {}",
            in_unit(mean.horizontal_nt, unit).readable(),
            mean.inclination_deg.readable()
        ));
        if is_geographic(state) {
            text.push_str(&say!(", declination {}", mean.declination_deg.readable()));
        }
        let heading = heading(mean, state);
        text.push_str(&say!("; magnetic heading of the forward axis {}", heading.readable()));
    }
    text.push('.');
    if state.calibration.is_none() {
        text.push_str(word(" Not calibrated: the sensor's own offsets are in all of these."));
    }
    text
}

fn in_unit(quantity: Quantity, unit: Unit) -> Quantity {
    Quantity { unit, ..quantity }
}

fn heading(mean: &MeanElements, state: &State) -> Quantity {
    match state.frame {
        FieldFrame::Geographic { azimuth_deg } => {
            let d = mean.declination_deg;
            // The azimuth cancels: a heading is measured without it.
            let without = (d.sigma * d.sigma - state.shared.azimuth_deg * state.shared.azimuth_deg)
                .max(0.0)
                .sqrt();
            Quantity::new((azimuth_deg - d.value).rem_euclid(360.0), without, Unit::Degree)
        }
        _ => mean.heading_deg,
    }
}

fn reported(mut outcome: Outcome, mean: &MeanElements, state: &State, unit: Unit) -> Outcome {
    outcome = outcome.quantity("total_nt", word("Total field F"), in_unit(mean.total_nt, unit));
    let components = [
        ("x_nt", [word("X north"), word("X forward"), "x"], mean.x_nt),
        ("y_nt", [word("Y east"), word("Y right"), "y"], mean.y_nt),
        ("z_nt", [word("Z down"), word("Z down"), "z"], mean.z_nt),
    ];
    let which = match state.frame {
        FieldFrame::Geographic { .. } => 0,
        FieldFrame::Level => 1,
        FieldFrame::Sensor => 2,
    };
    for (name, labels, quantity) in components {
        outcome = outcome.quantity(name, labels[which], in_unit(quantity, unit));
    }
    if state.frame != FieldFrame::Sensor {
        outcome = outcome
            .quantity(
                "horizontal_nt",
                word("Horizontal field H"),
                in_unit(mean.horizontal_nt, unit),
            )
            .quantity("inclination_deg", word("Inclination I"), mean.inclination_deg)
            .quantity("heading_deg", word("Magnetic heading"), heading(mean, state));
    }
    if is_geographic(state) {
        outcome = outcome.quantity("declination_deg", word("Declination D"), mean.declination_deg);
    }
    outcome = budget(outcome, mean, state);
    for warning in warnings(mean, state, unit) {
        outcome = outcome.warn(warning);
    }
    outcome
}

// What makes up the uncertainty of the angles and of F, largest first; parts
// below a twentieth of the largest change nothing.
fn budget(mut outcome: Outcome, mean: &MeanElements, state: &State) -> Outcome {
    for (name, (_, parts)) in
        MeanElements::NAMES.into_iter().zip(mean.all().into_iter().zip(&mean.budget))
    {
        let wanted = match name {
            "F" => true,
            "D" => is_geographic(state),
            "I" => state.frame != FieldFrame::Sensor,
            _ => false,
        };
        let largest = parts.iter().map(|p| p.sigma).fold(0.0, f64::max);
        let mut told: Vec<_> = parts.iter().filter(|p| p.sigma > 0.05 * largest).collect();
        told.sort_by(|a, b| b.sigma.total_cmp(&a.sigma));
        if !wanted || told.is_empty() {
            continue;
        }
        let unit = if name == "F" { Unit::Nanotesla } else { Unit::Degree };
        let each: Vec<String> = told
            .iter()
            .map(|p| {
                let size = print::with_unit(&print::significant(p.sigma, 2), unit);
                format!("{} {size}", p.name)
            })
            .collect();
        outcome = outcome.line(
            &format!("budget_{name}"),
            &say!("± of {name} made up of"),
            each.join(", "),
        );
    }
    outcome
}

fn warnings(mean: &MeanElements, state: &State, unit: Unit) -> Vec<Warning> {
    let mut out = Vec::new();
    if state.calibration.is_none() {
        out.push(Warning::new(
            "elements/not-calibrated",
            "The components are not calibrated: offsets of a cheap sensor can be as large as the \
             field itself, so these numbers say little about the Earth.",
            "Open a turning log and add the step “Calibrate”.",
        ));
    }
    if let Some(model) = &state.model
        && unit == Unit::Nanotesla
        && state.calibration.is_some()
    {
        let off = mean.total_nt.value - model.f_nt;
        let sigma = record::vector::norm([mean.total_nt.sigma, model.sigma.f_nt, 0.0]);
        if off.abs() > 3.0 * sigma {
            out.push(Warning::new(
                "elements/far-from-model",
                say!(
                    "The total field stands {} from the model field, more than three times what \
                     the uncertainties allow.",
                    print::with_unit(&print::significant(off, 3), Unit::Nanotesla)
                ),
                "Look for steel near the station, or for a log in another unit than it says.",
            ));
        }
    }
    if state.frame != FieldFrame::Sensor {
        out.push(Warning::new(
            "elements/not-for-navigation",
            "Not for navigation or safety: official charts and licensed practice go before a \
             classroom sensor.",
            "",
        ));
    }
    out
}
