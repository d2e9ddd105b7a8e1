//! `spectrogram`: the power at each period as it changes with time.

use super::daily::words;
use super::even;
use super::spectrum::chosen;
use crate::outcome::{Figure, Outcome, State};
use crate::param::Param;
use crate::step::{Context, Stage, Step, Why};
use figure::plan::spectrogram::{Spectrogram as Drawn, spectrogram as plan};
use record::{Fault, Unit, print, say};
use signal::detrend::Detrend;
use signal::spectrogram::spectrogram_telling;
use signal::spectrum::Segments;
use signal::window::Window;

/// Power against time and frequency.
pub static STEP: Step = Step {
    id: "spectrogram",
    stage: Stage::Spectrum,
    title: "Spectrogram",
    params: &[
        Param::channel(
            "channel",
            "Channel",
            &[("components", "the first component")],
            "components",
            "",
        ),
        Param::number(
            "segment_h",
            "Segment length",
            Unit::Hour,
            (1e-4, 1e4, 6.0),
            24.0,
            "The longest period that can be seen.",
        ),
        Param::number("overlap", "Overlap", Unit::Percent, (0.0, 90.0, 5.0), 75.0, ""),
    ],
    sentence: |_| {
        "Show how the power of {channel} changes with time, in Hann segments of {segment_h} overlapping \
         by {overlap}."
    },
    why: Why {
        what: "The record is cut into short segments and the spectrum of each is drawn as a column of \
               shades, one after the other.",
        why: "A pulsation that lasts an hour, a machine that runs at school time or a storm stand out at \
              their own time and period.",
        wrong: "Short segments know the time well and the period badly, long ones the other way round; \
                columns that touch a gap are left blank.",
        picture: "A short burst in the trace shows below as dense hatching at its own time and \
                  period; a gap is left blank.",
    },
    run,
    repeatable: true,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let record = &state.record;
    let rate_hz = even::rate_hz(record)?;
    let step_ns = record.cadence().step_ns;
    let channel = chosen(context, state)?.swap_remove(0);
    let len = (context.number("segment_h") * 3600.0 * rate_hz).round().clamp(8.0, 1e9) as usize;
    let overlap = (len as f64 * context.number("overlap") / 100.0).floor() as usize;
    let segments = Segments { len, overlap, window: Window::Hann, detrend: Detrend::Line };
    let grid = even::grid(state, &channel, step_ns);
    let found = spectrogram_telling(&grid.values, rate_hz, &segments, &mut |s| (context.tell)(s))?;
    let n = found.start.len();
    let remark = say!(
        "Made {} of {}; {} touch a gap or a marked sample and are blank.",
        print::counted(n, "segment", "segments"),
        print::duration(len as f64 / rate_hz),
        print::count(found.blank)
    );
    let times: Vec<i64> = found
        .start
        .iter()
        .map(|s| grid.start_ns + (*s as i64) * step_ns + (len as i64) * step_ns / 2)
        .collect();
    let text = words(
        "spectrogram",
        say!("Power of {} against time and frequency.", channel.name),
        remark.clone(),
    );
    let unit = channel.unit;
    let outcome = Outcome::new(state.clone(), remark)
        .number("segments", n as f64, Unit::None)
        .number("blank", found.blank as f64, Unit::None);
    Ok(outcome.figure(Figure::new("spectrogram", "Spectrogram", move |frame, view| {
        let data = Drawn {
            unit,
            times_ns: &times,
            frequency_hz: &found.frequency_hz,
            density: &found.density,
        };
        plan(&data, *frame, *view, &text)
    })))
}
