//! `station`: where the sensor stood, and the Earth's field there by the model.

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use field::model;
use record::{Fault, Instant, NANOS_PER_SECOND, Station, Unit, Warning, say, words::word};
use std::sync::Arc;

/// Places the sensor on the Earth.
pub static STEP: Step = Step {
    id: "station",
    stage: Stage::Log,
    title: "Station",
    params: &[
        Param::text("name", "Station name", "the station", "For captions only."),
        Param::number(
            "latitude",
            "Latitude, north positive",
            Unit::Degree,
            (-90.0, 90.0, 0.1),
            0.0,
            "One decimal places the sensor to about 11 km, which is all the model needs; more \
             decimals go into links and hand-ins.",
        ),
        Param::number(
            "longitude",
            "Longitude, east positive",
            Unit::Degree,
            (-180.0, 360.0, 0.1),
            0.0,
            "West is negative.",
        ),
        Param::number(
            "height",
            "Height above sea",
            Unit::Metre,
            (-1_000.0, 600_000.0, 10.0),
            0.0,
            "A hundred metres change the field by about 2 nT.",
        ),
    ],
    sentence: |_| "The sensor stood at {name}, latitude {latitude}, longitude {longitude}, height {height}.",
    why: Why {
        what: "The place and the middle of the record's time go into a model of the Earth's main \
               field, which says what declination, inclination and total field to expect there.",
        why: "The model gives a scale to calibrate against and a number to compare with, and the \
              longitude turns UTC into the Sun's local time.",
        wrong: "The model knows nothing of the rock, pipes and buildings near you, which easily \
                change the field by more than its stated uncertainty.",
        picture: "A dot on the globe opens into a view of the place, where the field F dips below \
                  the horizon by the angle I.",
    },
    run,
    repeatable: false,
    removable: false,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let name = context.text("name");
    let [latitude, longitude, height] =
        ["latitude", "longitude", "height"].map(|key| context.number(key));
    let station = Station::new(name, latitude, longitude, height)
        .map_err(|e| Fault::new("station/place", e.to_string(), "Change the number."))?;
    let mut next = state.clone();
    next.station = Some(station.clone());
    let middle = middle_of(state).ok_or_else(|| {
        Fault::new(
            "station/no-times",
            "The log has no samples with a time, so the model has no date.",
            "Look at the reading report.",
        )
    })?;
    match model::field(model::best_for(middle.decimal_year()), &station, middle.decimal_year()) {
        Ok(found) => Ok(with_model(next, found, middle)),
        // The place still serves for local time when no model covers the date.
        Err(error) => {
            let fault = Fault::from(error);
            let remark = word("No model of the Earth's field covers this date.");
            let warning = Warning::new("station/no-model", fault.message, fault.remedy);
            Ok(Outcome::new(next, remark).warn(warning))
        }
    }
}

fn middle_of(state: &State) -> Option<Instant> {
    let times = state.record.times_ns();
    let (first, last) = (times.iter().min()?, times.iter().max()?);
    Some(Instant(first + (last - first) / 2))
}

fn with_model(mut next: State, found: model::ModelField, middle: Instant) -> Outcome {
    let (declination, inclination, total) =
        (found.declination(), found.inclination(), found.total());
    let remark = say!(
        "The model {} for {} gives declination {}, inclination {} and total field {} \
         (± is the model's own standard uncertainty).",
        found.which.name(),
        middle.rounded(3600 * NANOS_PER_SECOND).readable(),
        declination.readable(),
        inclination.readable(),
        total.readable()
    );
    next.model = Some(Arc::new(found));
    Outcome::new(next, remark)
        .quantity("model_declination_deg", word("Model declination"), declination)
        .quantity("model_inclination_deg", word("Model inclination"), inclination)
        .quantity("model_total_nt", word("Model total field"), total)
}
