//! `orient`: from the sensor's axes to level ones, and to north, east, down.

use crate::outcome::{FieldFrame, Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use field::orientation;
use record::vector::{Mat3, apply, multiply, transpose};
use record::{Channel, Fault, Record, Role, Unit, print};

/// Turns the components into the frame of the station.
pub static STEP: Step = Step {
    id: "orient",
    stage: Stage::Field,
    title: "Orient",
    params: &[
        Param::choice(
            "axes",
            "Which axis points where",
            &[
                ("+x+y+z", "x forward, y right, z down"),
                ("+x-y-z", "x forward, y left, z up"),
                ("+y+x-z", "y forward, x right, z up"),
                ("-y+x+z", "y backward, x right, z down"),
                ("-x-y+z", "x backward, y left, z down"),
                ("-x+y-z", "x backward, y right, z up"),
                ("+z+y-x", "z forward, y right, x up"),
                ("-z+y+x", "z backward, y right, x down"),
            ],
            "+x+y+z",
            "Read it off the drawing on the sensor's board.",
        ),
        Param::choice(
            "north",
            "North by",
            &[("unknown", "not known from north"), ("azimuth", "known from true north")],
            "unknown",
            "Without it there is a magnetic heading, but no declination.",
        ),
        Param::number(
            "azimuth",
            "Azimuth of forward axis",
            Unit::Degree,
            (-360.0, 360.0, 1.0),
            0.0,
            "Clockwise from true north, from a map or the Sun; not from a compass.",
        ),
        Param::number(
            "azimuth_sigma",
            "Azimuth uncertainty",
            Unit::Degree,
            (0.0, 90.0, 0.1),
            1.0,
            "One standard uncertainty.",
        ),
        Param::number(
            "tilt_sigma",
            "Levelling uncertainty",
            Unit::Degree,
            (0.0, 45.0, 0.1),
            0.5,
            "One standard uncertainty; a small bubble is good for about half a degree.",
        ),
    ],
    sentence: |context| {
        if context.text("north") == "azimuth" {
            "The sensor stood level to within {tilt_sigma}, with {axes}; where forward points is \
             {north}: {azimuth} ± {azimuth_sigma}."
        } else {
            "The sensor stood level to within {tilt_sigma}, with {axes}; where forward points is \
             {north}."
        }
    },
    why: Why {
        what: "The three components are renamed and turned so that they point forward, right and \
               down, and, where the azimuth is known, north, east and down.",
        why: "Declination and inclination are angles against north and the horizon, so the sensor \
              must be tied to both.",
        wrong: "One degree of tilt moves the heading by more than two degrees where the field dips \
                steeply, and a compass cannot tell you the azimuth, since it points along the very \
                field you are measuring.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    if state.frame != FieldFrame::Sensor {
        return Err(Fault::new(
            "orient/already",
            "The components already stand north, east and down: they were put into the \
             observatory's axes.",
            "Switch this step off, or let “Match to a reference” only report.",
        ));
    }
    let axes = orientation::axes(context.text("axes"))?;
    let known = context.text("north") == "azimuth";
    let azimuth = context.number("azimuth");
    let turn = if known { orientation::about_down(azimuth) } else { record::vector::IDENTITY };
    let matrix = multiply(&turn, &axes);
    let mut next = state.clone();
    next.record = turned(&state.record, &matrix, known)?;
    next.before = turned(&state.before, &matrix, known)?;
    let middle = multiply(&matrix, &state.shared.component);
    next.shared.component = multiply(&middle, &transpose(&matrix));
    next.shared.tilt_deg = context.number("tilt_sigma");
    next.shared.azimuth_deg = if known { context.number("azimuth_sigma") } else { 0.0 };
    next.frame =
        if known { FieldFrame::Geographic { azimuth_deg: azimuth } } else { FieldFrame::Level };
    let remark = if known {
        format!(
            "The components are now X north, Y east and Z down, turned by {}° about the vertical.",
            print::trimmed(azimuth, 6)
        )
    } else {
        "The components are now forward, right and down; without a known azimuth there is no \
         declination."
            .to_owned()
    };
    let after = next.record.clone();
    let outcome = Outcome::new(next, remark);
    let caption = if known {
        "The field turned to north (X), east (Y) and down (Z)."
    } else {
        "The field turned to forward, right and down."
    };
    Ok(plates::with_series(outcome, &after, None, "series", "Oriented", caption))
}

fn turned(record: &Record, matrix: &Mat3, known: bool) -> Result<Record, Fault> {
    let axes = record.vector().ok_or_else(|| {
        Fault::new(
            "orient/no-vector",
            "There are no three field components to turn.",
            "Orienting needs x, y and z of a magnetometer; see the columns in the reading report.",
        )
    })?;
    let n = record.len();
    let mut columns = [Vec::with_capacity(n), Vec::with_capacity(n), Vec::with_capacity(n)];
    for k in 0..n {
        let v = apply(matrix, [axes[0].values[k], axes[1].values[k], axes[2].values[k]]);
        for (column, value) in columns.iter_mut().zip(v) {
            column.push(value);
        }
    }
    let unit = axes[0].unit;
    let roles = [Role::X, Role::Y, Role::Z];
    let old = axes.map(|axis| axis.name.clone());
    let channels: Vec<Channel> = record
        .channels()
        .iter()
        .map(|channel| match old.iter().position(|name| *name == channel.name) {
            Some(axis) => Channel::new(
                new_name(record, channel, axis, known),
                roles[axis],
                unit,
                std::mem::take(&mut columns[axis]),
            ),
            None => channel.clone(),
        })
        .collect();
    Record::with_marks(record.shared_times(), channels, record.marks().clone())
        .map_err(super::internal)
}

// North, east and down have their letters; another channel may have taken one.
fn new_name(record: &Record, channel: &Channel, axis: usize, known: bool) -> String {
    let letter = ["X", "Y", "Z"][axis];
    if known && record.named(letter).is_none() { letter.to_owned() } else { channel.name.clone() }
}
