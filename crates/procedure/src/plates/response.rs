//! The figure of a filter's frequency response.

use crate::outcome::{Figure, Outcome};
use figure::Words;
use figure::plan::curves::{Along, Curve, Curves, Level, Look, Spacing, curves};
use record::{
    Unit, print,
    words::{word, worded},
};
use signal::response::{decibels, spaced};

/// Deepest gain drawn, decibels.
const DEEPEST_DB: f64 = -80.0;

/// Adds the response between two frequencies, with the cut-off periods marked;
/// nothing when `gain` has none.
pub(crate) fn with_response(
    outcome: Outcome,
    gain: impl Fn(f64) -> Option<f64>,
    (low_hz, high_hz): (f64, f64),
    cut_offs_hz: &[f64],
    summary: String,
) -> Outcome {
    let frequencies = spaced(high_hz, low_hz, 801);
    let shown: Option<Vec<f64>> =
        frequencies.iter().map(|f| gain(*f).map(|g| decibels(g).max(DEEPEST_DB))).collect();
    let Some(shown) = shown else { return outcome };
    let periods: Vec<f64> = frequencies.iter().map(|f| 1.0 / f).collect();
    let marked: Vec<(f64, String)> =
        cut_offs_hz.iter().map(|f| (1.0 / f, print::duration(1.0 / f))).collect();
    let words = Words {
        name: "response".to_owned(),
        caption: worded(
            "How much of a wave of each period the filter lets through; 0 dB is all of it, −6 dB \
                  half the amplitude.",
        ),
        summary,
        provenance: String::new(),
    };
    outcome.figure(Figure::new("response", word("Frequency response"), move |frame, view| {
        let gain = Curve { name: "gain", x: &periods, y: &shown, interval: None, look: Look::Line };
        let mut levels = vec![
            Level { at: -3.0103, upright: false, name: "−3 dB" },
            Level { at: -6.0206, upright: false, name: "−6 dB" },
        ];
        levels.extend(marked.iter().map(|(at, name)| Level { at: *at, upright: true, name }));
        let data = Curves {
            curves: &[gain],
            x: along(word("period"), Spacing::Durations, None),
            y: along(word("gain in dB"), Spacing::Even, Some((DEEPEST_DB, 5.0))),
            levels: &levels,
            notes: &[],
        };
        curves(&data, *frame, *view, &words)
    }))
}

fn along(quantity: &str, spacing: Spacing, span: Option<(f64, f64)>) -> Along<'_> {
    let unit = if spacing == Spacing::Durations { Unit::Second } else { Unit::None };
    Along { quantity, unit, spacing, span }
}
