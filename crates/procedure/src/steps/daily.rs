//! What the steps of Days share: the field laid out in whole UTC days, and
//! figures of curves over time.

use crate::outcome::{FieldFrame, Figure, Outcome, State};
use field::days::Days;
use field::k_index::{self, Interval};
use field::model::dipole;
use field::quiet_day::{self, QuietDay};
use figure::Words;
use figure::plan::Trace;
use figure::plan::overlay::{Overlay, Stretch, overlay};
use record::vector::Mat3;
use record::{Fault, Record, Station, Unit};

/// The field as it left the step Elements: what was detrended or filtered for
/// a spectrum afterwards does not reach the days.
pub(super) fn field_record(state: &State) -> &Record {
    state.field.as_ref().unwrap_or(&state.record)
}

/// The three components in days of equal bins, a minute or the record's step.
pub(super) fn days(state: &State) -> Result<Days, Fault> {
    if state.frame == FieldFrame::Sensor {
        return Err(Fault::new(
            "days/not-oriented",
            "The components still stand in the sensor's own axes.",
            "Switch the steps Orient and Elements on: days are read in north, east and down.",
        ));
    }
    let record = field_record(state);
    let axes = record.vector().ok_or_else(|| {
        Fault::new(
            "days/no-vector",
            "There are no three field components.",
            "This step needs x, y and z of a magnetometer.",
        )
    })?;
    let columns = axes.map(|c| c.values.as_slice());
    let marks = record.marks();
    let cadence_s = record.cadence().step_ns as f64 * 1e-9;
    Ok(Days::new(record.times_ns(), &columns, |k| marks.keeps(k), cadence_s, 60.0, 0.5)?)
}

/// The matrix that turns north, east and down so that the first axis lies along the mean
/// horizontal field, the second to its right.
pub(super) fn along_the_meridian(days: &Days) -> Mat3 {
    let middle = |c: usize| {
        days.values.get(c).and_then(|list| signal::robust::median(list)).unwrap_or(f64::NAN)
    };
    let (x, y) = (middle(0), middle(1));
    let h = record::vector::norm([x, y, 0.0]);
    // Without a horizontal field, as it stands.
    let (cos, sin) = if h > 0.0 { (x / h, y / h) } else { (1.0, 0.0) };
    [[cos, sin, 0.0], [-sin, cos, 0.0], [0.0, 0.0, 1.0]]
}

/// The field along the mean horizontal direction, as the one component of days.
pub(super) fn horizontal(days: &Days, turn: &Mat3) -> Days {
    let [x, y] = [0, 1].map(|c| days.values.get(c).map_or(&[][..], Vec::as_slice));
    let h = x.iter().zip(y).map(|(x, y)| turn[0][0] * x + turn[0][1] * y).collect();
    Days { first: days.first, bins: days.bins, values: vec![h] }
}

/// The quiet-day curve of one component by the order of quietness found in the whole field.
pub(super) fn quiet_of(state: &State, days: &Days, order: &[usize]) -> Result<QuietDay, Fault> {
    Ok(quiet_day::curve(days, order, &quiet_day::Options::new(longitude_deg(state)?))?)
}

/// The limit of K 9 by which days are ranked, nT.
pub(super) const RANKED_BY_NT: f64 = 500.0;

/// The days from the quietest on, by the station's own K.
pub(super) fn order(state: &State, days: &Days) -> Result<Vec<usize>, Fault> {
    Ok(quiet_day::quietest(&intervals(state, days, RANKED_BY_NT)?))
}

/// Longitude for local time.
pub(super) fn longitude_deg(state: &State) -> Result<f64, Fault> {
    state.station.as_ref().map(|s| s.longitude_deg).ok_or_else(|| {
        Fault::new(
            "days/no-station",
            "The station's longitude is not known, so there is no local time.",
            "Switch the step Station on and fill in its place.",
        )
    })
}

/// K of every interval, for a limit of K 9.
pub(super) fn intervals(state: &State, days: &Days, k9_nt: f64) -> Result<Vec<Interval>, Fault> {
    Ok(k_index::indices(days, &k_index::Options::new(k9_nt, longitude_deg(state)?)))
}

/// Dipole latitude of the station at the record's time, degrees, and the limit of K 9 usual there.
pub(crate) fn usual_k9(station: &Station, record: &Record) -> Option<(f64, f64)> {
    let year = record.start()?.decimal_year();
    let place = dipole::of_station(field::model::best_for(year), station, year).ok()?;
    Some((place.latitude_deg, k_index::guess_k9_nt(place.latitude_deg)))
}

/// Middles of the bins of all days, nanoseconds.
pub(super) fn bin_times_ns(days: &Days) -> Vec<i64> {
    let step = days.bin_ns();
    (0..days.len() * days.bins).map(|k| days.first.0 + k as i64 * step + step / 2).collect()
}

/// One panel of an overlay: its quantity and its series by name.
pub(super) struct Panel {
    pub quantity: &'static str,
    pub unit: Unit,
    pub series: Vec<(String, Vec<f64>)>,
}

/// Cuts off what stands before the first number of any series and behind the last.
pub(super) fn held(mut times_ns: Vec<i64>, mut panels: Vec<Panel>) -> (Vec<i64>, Vec<Panel>) {
    let is_held = |k: &usize| {
        panels.iter().flat_map(|panel| &panel.series).any(|(_, values)| values[*k].is_finite())
    };
    let first = (0..times_ns.len()).find(is_held).unwrap_or(0);
    let end = (first..times_ns.len()).rfind(is_held).map_or(times_ns.len(), |last| last + 1);
    times_ns.truncate(end);
    times_ns.drain(..first);
    for (_, values) in panels.iter_mut().flat_map(|panel| &mut panel.series) {
        values.truncate(end);
        values.drain(..first);
    }
    (times_ns, panels)
}

/// Adds a figure of panels with several series each over one time axis.
pub(super) fn with_overlay(
    outcome: Outcome,
    name: &'static str,
    title: &'static str,
    times_ns: Vec<i64>,
    panels: Vec<Panel>,
    stretches: Vec<(i64, i64, String)>,
    words: Words,
) -> Outcome {
    outcome.figure(Figure::new(name, title, move |frame, view| {
        let traces: Vec<Vec<Trace<'_>>> = panels
            .iter()
            .map(|panel| {
                let each = panel.series.iter().map(|(name, values)| Trace {
                    name,
                    unit: panel.unit,
                    times_ns: &times_ns,
                    values,
                    marks: None,
                    faint: None,
                });
                each.collect()
            })
            .collect();
        let shown: Vec<Overlay<'_>> = panels
            .iter()
            .zip(&traces)
            .map(|(p, traces)| Overlay { quantity: p.quantity, unit: p.unit, traces })
            .collect();
        let shaded: Vec<Stretch<'_>> = stretches
            .iter()
            .map(|(a, b, name)| Stretch { start_ns: *a, end_ns: *b, name })
            .collect();
        overlay(&shown, &shaded, *frame, *view, &words)
    }))
}

/// The next of 1, 2, 5, 10, 20, ... from a number on; 1 for what is not a positive number.
pub(super) fn round_up(value: f64) -> f64 {
    if !(value > 0.0 && value.is_finite()) {
        return 1.0;
    }
    let mut ten = 1.0;
    while ten > value {
        ten /= 10.0;
    }
    while ten * 10.0 <= value {
        ten *= 10.0;
    }
    [1.0, 2.0, 5.0].iter().map(|m| m * ten).find(|v| *v >= value).unwrap_or(10.0 * ten)
}

/// Words of a figure without provenance, which is added when it is planned.
pub(super) fn words(name: &str, caption: impl Into<String>, summary: impl Into<String>) -> Words {
    Words {
        name: name.to_owned(),
        caption: caption.into(),
        summary: summary.into(),
        provenance: String::new(),
    }
}
