//! The steps, one a file, and the list of them.
//!
//! To add a step: write its file after the pattern of [`spikes`], name it in
//! [`ALL`] at its place in the order of the stages.  Controls, methods text,
//! files, link and replay follow from the definition.

mod average;
mod calibrate;
mod clock;
mod detrend;
mod elements;
mod exclude;
mod fill;
mod filter;
mod gate;
mod order;
mod orient;
mod read;
mod shifts;
mod spectrum;
mod spikes;
mod station;

use crate::step::Step;

/// Every step, in the order in which they are offered.
pub static ALL: &[&Step] = &[
    &read::STEP,
    &station::STEP,
    &order::STEP,
    &clock::STEP,
    &gate::STEP,
    &exclude::STEP,
    &spikes::STEP,
    &shifts::STEP,
    &average::STEP,
    &calibrate::STEP,
    &orient::STEP,
    &elements::STEP,
    &fill::STEP,
    &detrend::STEP,
    &filter::STEP,
    &spectrum::STEP,
];

/// The step with an identifier.
pub fn find(id: &str) -> Option<&'static Step> {
    ALL.iter().copied().find(|step| step.id == id)
}

/// A fault of our own arithmetic: lengths that ought to agree did not.
#[allow(clippy::needless_pass_by_value, reason = "made for map_err")]
fn internal(error: record::RecordError) -> record::Fault {
    record::Fault::new(
        "procedure/internal",
        format!("The parts of the record no longer fit together: {error}"),
        "This is a mistake in Lodelog. Please report it with the log and the procedure.",
    )
}
