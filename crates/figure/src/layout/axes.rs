//! An axis from its span and its room.

use crate::model::{Axis, Run, Scale, Tick};
use crate::ticks::{self, Room, time::Context};
use crate::writing::{line, title, unit_in_label};
use record::Unit;

/// What kind of numbers an axis carries.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Kind {
    /// Plain numbers.
    Even,
    /// Positive numbers by their logarithm.
    Log,
    /// Seconds by their logarithm, written as durations.
    Durations,
    /// Degrees; with the start of the turn they are written in, where they wrap.
    Angle(Option<f64>),
    /// Hours of a day.
    Hours,
    /// Seconds since an origin.
    Time(i64),
}

/// An axis before it has ticks.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Spec {
    pub kind: Kind,
    pub lo: f64,
    pub hi: f64,
    pub quantity: String,
    pub unit: String,
    pub unit_ascii: String,
}

/// An axis with its ticks, and the contexts of a time axis.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Ready {
    pub axis: Axis,
    pub context: Vec<(f64, Context)>,
}

impl Spec {
    /// An axis of a quantity in a unit.
    pub(crate) fn new(kind: Kind, (lo, hi): (f64, f64), quantity: &str, unit: Unit) -> Self {
        Self {
            kind,
            lo,
            hi,
            quantity: quantity.to_owned(),
            unit: unit.symbol().to_owned(),
            unit_ascii: unit.ascii().to_owned(),
        }
    }

    /// An axis of UTC.
    pub(crate) fn time(origin_ns: i64, (lo, hi): (f64, f64)) -> Self {
        Self {
            kind: Kind::Time(origin_ns),
            lo,
            hi,
            quantity: record::words::worded("time"),
            unit: "UTC".to_owned(),
            unit_ascii: String::new(),
        }
    }

    /// The same axis with ticks for its room.
    pub(crate) fn ready(&self, room: Room) -> Ready {
        match self.kind {
            Kind::Time(origin_ns) => self.timed(origin_ns, room),
            Kind::Even => {
                self.numbered(Scale::Linear, ticks::linear::ticks(self.lo, self.hi, room))
            }
            Kind::Log => self.numbered(Scale::Log10, ticks::log::ticks(self.lo, self.hi, room)),
            Kind::Durations => {
                let found = ticks::period::along_duration(self.lo, self.hi, room);
                let mut ready = self.numbered(Scale::Log10, found);
                ready.axis.title = title(&self.quantity, "", 0);
                ready
            }
            Kind::Hours => {
                self.numbered(Scale::Linear, ticks::angle::hours(self.lo, self.hi, room))
            }
            Kind::Angle(from) => {
                self.numbered(Scale::Linear, ticks::angle::ticks(self.lo, self.hi, from, room))
            }
        }
    }

    fn numbered(&self, scale: Scale, found: ticks::Ticks) -> Ready {
        let unit = unit_in_label(&self.unit);
        let title = title(&self.quantity, &unit, found.exponent);
        let axis = self.axis(scale, found.major, found.minor, title);
        Ready { axis, context: Vec::new() }
    }

    fn timed(&self, origin_ns: i64, room: Room) -> Ready {
        let at = |seconds| crate::axis::instant(origin_ns, seconds).0;
        let inside = |ns| crate::axis::seconds_from(origin_ns, ns).clamp(self.lo, self.hi);
        let found = ticks::time::ticks(at(self.lo), at(self.hi), room);
        let tick = |(ns, text)| Tick { at: inside(ns), text: line(text) };
        let major = found.major.into_iter().map(tick).collect();
        let minor = found.minor.into_iter().map(inside).collect();
        let context = found.context.into_iter().map(|(ns, c)| (inside(ns), c)).collect();
        Ready { axis: self.axis(Scale::Time { origin_ns }, major, minor, line("UTC")), context }
    }

    fn axis(&self, scale: Scale, ticks: Vec<Tick>, minor: Vec<f64>, title: Vec<Run>) -> Axis {
        Axis {
            scale,
            lo: self.lo,
            hi: self.hi,
            ticks,
            minor,
            title,
            quantity: self.quantity.clone(),
            unit: self.unit.clone(),
            unit_ascii: self.unit_ascii.clone(),
            wraps_from: if let Kind::Angle(from) = self.kind { from } else { None },
        }
    }
}
