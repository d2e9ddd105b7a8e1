//! The steps, one a file, and the list of them.
//!
//! To add a step: write its file after the pattern of [`spikes`], name it in
//! [`ALL`] at its place in the order of the stages.  Controls, methods text,
//! files, link and replay follow from the definition.

use record::say;

mod allan;
mod autocorrelation;
mod average;
mod calibrate;
mod clock;
mod coherence;
mod compare;
mod compare_words;
mod daily;
mod day_stack;
mod decimate;
mod detrend;
mod elements;
mod even;
mod exclude;
mod fill;
mod filter;
mod fine;
mod gate;
mod harmonics;
mod histogram;
mod k_index;
mod match_reference;
mod order;
mod orient;
#[cfg(test)]
mod picture_tests;
mod quiet_day;
mod rate;
mod read;
mod reference;
mod shifts;
mod sight;
mod spectrogram;
mod spectrum;
mod spikes;
mod station;
mod storm_plates;
mod storm_words;
mod storms;
mod temperature;

use crate::step::Step;
pub(crate) use calibrate::kept;
pub(crate) use daily::usual_k9;

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
    &temperature::STEP,
    &match_reference::STEP,
    &orient::STEP,
    &elements::STEP,
    &fill::STEP,
    &detrend::STEP,
    &filter::STEP,
    &decimate::STEP,
    &rate::STEP,
    &spectrum::STEP,
    &spectrogram::STEP,
    &coherence::STEP,
    &harmonics::STEP,
    &allan::STEP,
    &histogram::STEP,
    &autocorrelation::STEP,
    &quiet_day::STEP,
    &k_index::STEP,
    &storms::STEP,
    &compare::STEP,
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
        say!("The parts of the record no longer fit together: {error}"),
        "This is a mistake in Lodelog. Please report it with the log and the procedure.",
    )
}
