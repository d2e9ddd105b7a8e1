//! `orient`: from the sensor's axes to level ones, and to north, east, down.

mod gravity;

use crate::outcome::{FieldFrame, Outcome, State};
use crate::param::{Choices, Param};
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use field::orientation;
use gravity::Levelling;
use record::vector::{IDENTITY, Mat3, apply, multiply, transpose};
use record::{
    Channel, Fault, Record, Role, Unit, print, say,
    words::{word, worded},
};

/// Every way in which a right-handed sensor can lie along forward, right and
/// down: as text, and in words.
const AXES: Choices = &[
    ("+x+y+z", "x forward, y right, z down"),
    ("+x-y-z", "x forward, y left, z up"),
    ("+y+x-z", "x right, y forward, z up"),
    ("-y+x+z", "x right, y backward, z down"),
    ("-x-y+z", "x backward, y left, z down"),
    ("-x+y-z", "x backward, y right, z up"),
    ("+z+y-x", "x up, y right, z forward"),
    ("-z+y+x", "x down, y right, z backward"),
    ("+x+z-y", "x forward, y up, z right"),
    ("+x-z+y", "x forward, y down, z left"),
    ("+y+z+x", "x down, y forward, z right"),
    ("+y-x+z", "x left, y forward, z down"),
    ("+y-z-x", "x up, y forward, z left"),
    ("+z+x+y", "x right, y down, z forward"),
    ("+z-x-y", "x left, y up, z forward"),
    ("+z-y+x", "x down, y left, z forward"),
    ("-x+z+y", "x backward, y down, z right"),
    ("-x-z-y", "x backward, y up, z left"),
    ("-y+z-x", "x up, y backward, z right"),
    ("-y-x-z", "x left, y backward, z up"),
    ("-y-z+x", "x down, y backward, z left"),
    ("-z+x-y", "x right, y up, z backward"),
    ("-z-x+y", "x left, y down, z backward"),
    ("-z-y-x", "x up, y left, z backward"),
];

/// Compass points and their azimuths.
const POINTS: Choices = &[
    ("0", "north"),
    ("22.5", "north-north-east"),
    ("45", "north-east"),
    ("67.5", "east-north-east"),
    ("90", "east"),
    ("112.5", "east-south-east"),
    ("135", "south-east"),
    ("157.5", "south-south-east"),
    ("180", "south"),
    ("202.5", "south-south-west"),
    ("225", "south-west"),
    ("247.5", "west-south-west"),
    ("270", "west"),
    ("292.5", "west-north-west"),
    ("315", "north-west"),
    ("337.5", "north-north-west"),
];

/// Half a compass point of 22.5 degrees, anywhere within: a rectangle's
/// standard uncertainty (GUM 4.3.7), degrees.
const POINT_SIGMA_DEG: f64 = 6.5;

/// Turns the components into the frame of the station.
pub static STEP: Step = Step {
    id: "orient",
    stage: Stage::Field,
    title: "Orient",
    params: &[
        Param::choice(
            "axes",
            "Which axis points where",
            AXES,
            "+x+y+z",
            "Read it off the arrows on the sensor's board.",
        ),
        Param::choice(
            "level",
            "Levelled",
            &[
                ("hand", "level"),
                ("gravity", "as its accelerometer tells, all in all,"),
                ("each", "as its accelerometer tells, sample by sample,"),
            ],
            "hand",
            "With an accelerometer the tilt is measured and taken off; by hand it counts as nought.",
        ),
        Param::choice(
            "north",
            "North by",
            &[
                ("unknown", "not known from north"),
                ("azimuth", "at an azimuth from true north of"),
                ("words", "by eye to the"),
            ],
            "unknown",
            "Without it there is a magnetic heading, but no declination.",
        ),
        Param::text(
            "landmark",
            "What it points to",
            "its mark",
            "Such as the door, or a church tower.",
        ),
        Param::choice(
            "point",
            "Compass point",
            POINTS,
            "0",
            "From true north, by a map; good to half a point.",
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
    sentence: |context| match context.text("north") {
        "azimuth" => {
            "The sensor stood {level} to within {tilt_sigma}, with {axes}; forward points to \
             {landmark}, which is {north} {azimuth} ± {azimuth_sigma}."
        }
        "words" => {
            "The sensor stood {level} to within {tilt_sigma}, with {axes}; forward points to \
             {landmark}, which is {north} {point}."
        }
        _ => {
            "The sensor stood {level} to within {tilt_sigma}, with {axes}; where forward points is \
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
        picture: "Axes that point askew from a crooked box are turned to north, east and down.",
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
    let (azimuth, known) = azimuth(context);
    let turn = if known.is_some() { orientation::about_down(azimuth) } else { IDENTITY };
    let levelling = match context.text("level") {
        "hand" => Levelling::by_hand(),
        way => gravity::levelling(state, &axes, way == "each")?,
    };
    let matrix = multiply(&turn, &levelling.on_average(&axes));
    let of = |k: usize| match levelling.at(k, &axes) {
        Some(own) => multiply(&turn, &own),
        None => matrix,
    };
    let mut next = state.clone();
    next.record = turned(&state.record, of, known.is_some())?;
    next.before = turned(&state.before, |_| matrix, known.is_some())?;
    let middle = multiply(&matrix, &state.shared.component);
    next.shared.component = multiply(&middle, &transpose(&matrix));
    next.shared.tilt_deg = context.number("tilt_sigma");
    next.shared.azimuth_deg = known.unwrap_or(0.0);
    next.frame = match known {
        Some(_) => FieldFrame::Geographic { azimuth_deg: azimuth },
        None => FieldFrame::Level,
    };
    let after = next.record.clone();
    let remark = [levelling.remark(), remark(azimuth, known.is_some())].concat();
    let outcome = levelling.told(Outcome::new(next, remark));
    let caption = if known.is_some() {
        word("The field turned to north (X), east (Y) and down (Z).")
    } else {
        word("The field turned to forward, right and down.")
    };
    Ok(plates::with_series(outcome, &after, None, "series", "Oriented", caption))
}

/// Azimuth of the forward axis and, where it is known, its uncertainty.
fn azimuth(context: &Context<'_>) -> (f64, Option<f64>) {
    match context.text("north") {
        "azimuth" => (context.number("azimuth"), Some(context.number("azimuth_sigma"))),
        "words" => {
            (record::decimal::parse(context.text("point")).unwrap_or(0.0), Some(POINT_SIGMA_DEG))
        }
        _ => (0.0, None),
    }
}

fn remark(azimuth: f64, known: bool) -> String {
    if known {
        say!(
            "The components are now X north, Y east and Z down, turned by {}° about the vertical.",
            print::trimmed(azimuth, 6)
        )
    } else {
        worded(
            "The components are now forward, right and down; without a known azimuth there is no \
         declination.",
        )
    }
}

fn turned(record: &Record, matrix: impl Fn(usize) -> Mat3, known: bool) -> Result<Record, Fault> {
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
        let v = apply(&matrix(k), [axes[0].values[k], axes[1].values[k], axes[2].values[k]]);
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
