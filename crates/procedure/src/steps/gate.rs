//! `gate`: values that cannot be, sensor codes for "too large", stuck values.

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use clean::gate::{Gated, Limit, Options, gate};
use record::{
    Channel, Fault, Reason, Role, Unit, print, say,
    words::{word, worded},
};

/// Marks what lies outside limits, is saturated, or is stuck.
pub static STEP: Step = Step {
    id: "gate",
    stage: Stage::Clean,
    title: "Gate",
    params: &[
        Param::number(
            "field_limit",
            "Largest field component",
            Unit::Nanotesla,
            (1.0, 1e9, 10_000.0),
            200_000.0,
            "The Earth's field stays below 70,000 nT; a cheap sensor's offset adds to it.",
        ),
        Param::number(
            "cold",
            "Coldest believed",
            Unit::Celsius,
            (-100.0, 100.0, 5.0),
            -40.0,
            "Colder readings are taken for faults.",
        ),
        Param::number(
            "hot",
            "Hottest believed",
            Unit::Celsius,
            (-100.0, 200.0, 5.0),
            85.0,
            "Hotter readings are taken for faults.",
        ),
        Param::choice(
            "codes",
            "Saturation codes",
            &[("mark", "mark"), ("keep", "keep")],
            "mark",
            "Many sensors write a fixed number when the field is too strong for them.",
        ),
        Param::whole(
            "stuck",
            "Repeats until stuck",
            (0.0, 100_000.0, 5.0),
            false,
            60.0,
            "0 switches this rule off.",
        ),
    ],
    sentence: |_| {
        "Mark field components beyond ±{field_limit}, temperatures outside {cold} to {hot}, and values \
         repeated more than {stuck} times in a row; {codes} the sensor's codes for “too strong”."
    },
    why: Why {
        what: "Samples with a value that cannot be true, with a saturation code, or stuck at one \
               value are marked and left out.",
        why: "An unplugged wire, an overloaded sensor or a hung logger writes numbers that look \
              like data and are none.",
        wrong: "Limits set too close cut the peaks off a real storm, and a sensor with coarse steps \
                repeats itself honestly.",
        picture: "Two limits run above and below a trace: peaks beyond them and a stretch stuck \
                  at one value are crossed out.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let options = Options {
        limits: record.channels().iter().filter_map(|c| limit(context, c)).collect(),
        codes: context.text("codes") == "mark",
        stuck_longer_than: context.whole("stuck"),
    };
    let found = gate(record, &options)?;
    let mut next = state.clone();
    next.record = found.record.clone();
    let after = next.record.clone();
    let (largest, unit) = found.largest.as_ref().map_or((0.0, Unit::None), |o| {
        (o.beyond, record.named(&o.channel).map_or(Unit::None, |c| c.unit))
    });
    let outcome = Outcome::new(next, remark(&found, record.len(), unit))
        .number("marked", found.marked as f64, Unit::None)
        .number("largest", largest, unit);
    let caption = word("The record with values that cannot be true marked.");
    Ok(plates::with_series(outcome, &after, None, "series", "Gated", caption))
}

fn limit(context: &Context<'_>, channel: &Channel) -> Option<Limit> {
    let (low, high) = match (channel.role, channel.unit) {
        (Role::X | Role::Y | Role::Z, Unit::Nanotesla) => {
            let most = context.number("field_limit");
            (-most, most)
        }
        (Role::Temperature, Unit::Celsius) => (context.number("cold"), context.number("hot")),
        _ => return None,
    };
    Some(Limit { channel: channel.name.clone(), low, high })
}

fn remark(found: &Gated, n: usize, unit: Unit) -> String {
    let count = |which: &[bool]| which.iter().filter(|flag| **flag).count();
    if found.marked == 0 {
        return worded("Nothing was out of range, saturated or stuck.");
    }
    let parts = [
        (Reason::OutOfRange, count(&found.out_of_range)),
        (Reason::Saturated, count(&found.saturated)),
        (Reason::Stuck, count(&found.stuck)),
    ];
    let said: Vec<String> = parts
        .iter()
        .filter(|(_, n)| *n > 0)
        .map(|(reason, n)| format!("{} {}", print::count(*n), reason.label()))
        .collect();
    let mut text = say!(
        "Marked {} of {} ({}): {}",
        print::count(found.marked),
        print::counted(n, "sample", "samples"),
        print::percent(found.marked, n),
        said.join(", ")
    );
    if let Some(outside) = &found.largest {
        let value = print::with_unit(&print::significant(outside.value, 5), unit);
        text.push_str(&say!("; the farthest out is {value} in {}", outside.channel));
    }
    text.push('.');
    text
}
