//! `match-reference`: the station's axes, scales, lag and baselines by an
//! observatory's record of the same days.

pub(super) mod observatory;
mod tell;

use crate::outcome::{FieldFrame, Outcome, State};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use field::days::Days;
use field::follow::{Lagged, Response};
use field::match_reference::{Match, Options, fit};
use record::vector::{Vec3, multiply, transpose};
use record::{Channel, Fault, Record, Role, Unit};

/// Matches the station to a reference.
pub static STEP: Step = Step {
    id: "match-reference",
    stage: Stage::Calibrate,
    title: "Match to a reference",
    params: &[
        Param::number(
            "lag_min",
            "Longest clock difference",
            Unit::None,
            (0.0, 180.0, 5.0),
            30.0,
            "In minutes each way; 0 takes both clocks as right.",
        ),
        Param::choice(
            "warmth",
            "Temperature",
            &[("with", "the temperature and"), ("without", "")],
            "with",
            "Where the log has a thermometer whose effect was not taken off before.",
        ),
        Param::number(
            "warmth_lag_min",
            "Temperature lag",
            Unit::None,
            (0.0, 600.0, 5.0),
            0.0,
            "In minutes: the time constant with which the sensor follows the thermometer.",
        ),
        Param::choice(
            "action",
            "Done with it",
            &[
                ("tell", "only report it"),
                ("take", "put the log into the observatory's axes, scales and levels"),
            ],
            "tell",
            "Put into its axes, the log is oriented: switch the step Orient off.",
        ),
    ],
    sentence: |context| {
        if context.text("warmth") == "with" {
            "Find the clock difference up to {lag_min} minutes, then regress each component of \
             the log on the observatory's three, {warmth} a steady drift, with the sensor \
             {warmth_lag_min} minutes behind its thermometer; turn that round to a matrix and an \
             offset, and {action}."
        } else {
            "Find the clock difference up to {lag_min} minutes, then regress each component of \
             the log on the observatory's three, {warmth} a steady drift; turn that round to a \
             matrix and an offset, and {action}."
        }
    },
    why: Why {
        what: "Where the Sun stirs the field, your sensor and the observatory see the same changes; \
               nine numbers, an offset and a lag say how yours must be turned and stretched to show \
               what theirs shows.",
        why: "It finds swapped or reversed axes, wrong scales and a wrong clock without moving the \
              sensor, from days you have logged already.",
        wrong: "On quiet days there is too little change to fix nine numbers, and the levels become \
                the observatory's own, so they are no measurement of yours; temperature that follows \
                the Sun is easily taken for the field.",
        picture: "Two traces, one turned over and smaller, are laid on each other until they \
                  agree.",
    },
    run,
    repeatable: false,
    removable: true,
};

/// Both records on one grid.
pub(super) struct Laid {
    /// The station's, days after each other.
    pub days: Days,
    /// The reference's three components, north, east and down, on the same bins.
    pub reference: [Vec<f64>; 3],
    /// Whether the fourth list of the station is its temperature.
    pub warms: bool,
}

impl Laid {
    pub(super) fn station(&self) -> [&[f64]; 3] {
        [0, 1, 2].map(|k| self.days.values[k].as_slice())
    }

    fn degc(&self) -> Option<&[f64]> {
        self.days.values.get(3).filter(|_| self.warms).map(Vec::as_slice)
    }

    /// The matched station, bin by bin.
    pub(super) fn matched(&self, found: &Match) -> [Vec<f64>; 3] {
        let [x, y, z] = self.station();
        let n = x.len();
        let shift = (found.lag_s / (self.days.bin_ns() as f64 * 1e-9)).round() as i64;
        let one = |k: usize| -> Vec3 {
            let from = usize::try_from(k as i64 + shift).ok().filter(|from| *from < n);
            let Some(from) = from else { return [f64::NAN; 3] };
            let place = k as f64 / n as f64 - 0.5;
            let degc = self.degc().map_or(0.0, |list| list[from]);
            found.apply(found.steadied([x[from], y[from], z[from]], place, degc))
        };
        let all: Vec<Vec3> = (0..n).map(one).collect();
        [0, 1, 2].map(|axis| all.iter().map(|v| v[axis]).collect())
    }
}

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let reference = state.reference.as_deref().ok_or_else(|| {
        Fault::new(
            "match-reference/no-reference",
            "No observatory's record has been opened.",
            "Drop one (IAGA-2002) on the page beside the log, for the same days.",
        )
    })?;
    let warmth = warmth(context, state);
    let laid = observatory::laid(state, reference, warmth.as_deref())?;
    let cadence_s = laid.days.bin_ns() as f64 * 1e-9;
    let options = Options { longest_lag_s: context.number("lag_min") * 60.0, drift: true };
    let theirs = laid.reference.each_ref().map(Vec::as_slice);
    let found = fit(laid.station(), theirs, laid.degc(), |_| true, cadence_s, &options)?;
    let take = context.text("action") == "take";
    let next = if take { taken(state, &laid, &found, warmth.as_deref())? } else { state.clone() };
    Ok(tell::told(next, state, &found, &laid, reference, take))
}

/// The temperature that the sensor has, where the log tells it and it is asked for.
fn warmth(context: &Context<'_>, state: &State) -> Option<Vec<f64>> {
    let record = &state.record;
    let thermometer = record.channel(Role::Temperature)?;
    if context.text("warmth") != "with" {
        return None;
    }
    let lag_s = context.number("warmth_lag_min") * 60.0;
    let start = record.times_ns().first().copied().unwrap_or(0);
    let times: Vec<f64> = record.times_ns().iter().map(|t| (t - start) as f64 * 1e-9).collect();
    Some(Lagged::new(&times, &thermometer.values).followed(Response::FirstOrder, lag_s))
}

/// The state with its record in the observatory's frame.
fn taken(
    state: &State,
    laid: &Laid,
    found: &Match,
    warmth: Option<&[f64]>,
) -> Result<State, Fault> {
    let mut next = state.clone();
    next.record = in_frame(&state.record, laid, found, warmth)?;
    next.before = next.record.clone();
    let rms = found.rms_nt;
    let middle = multiply(&found.matrix, &state.shared.component);
    let mut component = multiply(&middle, &transpose(&found.matrix));
    for (axis, row) in component.iter_mut().enumerate() {
        // A level is no better known than the two agree.
        row[axis] += rms[axis] * rms[axis];
    }
    next.shared.component = component;
    let azimuth_deg =
        field::elements::declination_deg(found.matrix[0][0], found.matrix[1][0]).rem_euclid(360.0);
    next.frame = FieldFrame::Geographic { azimuth_deg };
    Ok(next)
}

fn in_frame(
    record: &Record,
    laid: &Laid,
    found: &Match,
    warmth: Option<&[f64]>,
) -> Result<Record, Fault> {
    let Some(axes) = record.vector() else { return Ok(record.clone()) };
    let (start, span) = (laid.days.first.0, laid.days.bin_ns() * laid.station()[0].len() as i64);
    let mut columns: [Vec<f64>; 3] = Default::default();
    for (k, t) in record.times_ns().iter().enumerate() {
        let place = (t - start) as f64 / span.max(1) as f64 - 0.5;
        let degc = warmth.map_or(0.0, |list| list[k]);
        let station = [axes[0].values[k], axes[1].values[k], axes[2].values[k]];
        for (column, v) in columns.iter_mut().zip(found.apply(found.steadied(station, place, degc)))
        {
            column.push(v);
        }
    }
    let old = axes.map(|axis| axis.name.clone());
    let roles = [Role::X, Role::Y, Role::Z];
    let mut made = |channel: &Channel| match old.iter().position(|name| *name == channel.name) {
        Some(axis) => {
            let letter = ["X", "Y", "Z"][axis];
            let free = record.named(letter).is_none();
            let name = if free { letter.to_owned() } else { channel.name.clone() };
            Channel::new(name, roles[axis], Unit::Nanotesla, std::mem::take(&mut columns[axis]))
        }
        None => channel.clone(),
    };
    let channels: Vec<Channel> = record.channels().iter().map(&mut made).collect();
    Record::with_marks(record.shared_times(), channels, record.marks().clone())
        .map_err(super::internal)
}
