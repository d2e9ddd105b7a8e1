//! Invented results for the drawings: a magnetometer's sixty days, its turning
//! log, and what follows from them.  Everything comes from a seed.

pub mod curves;
pub mod days;
pub mod noise;
pub mod spectra;
pub mod time;
pub mod turning;

use figure::{Frame, Plan, Words};

/// Every scene with its name.
pub fn all(frame: Frame) -> Vec<(&'static str, Plan)> {
    vec![
        ("series-sixty-days", time::sixty_days(frame)),
        ("series-one-day-marked", time::one_day_marked(frame)),
        ("series-zoomed", time::zoomed(frame)),
        ("angles", time::angles(frame)),
        ("spectrum", spectra::three_components(frame)),
        ("calibration", turning::turning(frame)),
        ("allan", curves::allan(frame)),
        ("quiet-day", curves::quiet_day(frame)),
        ("scatter", curves::scatter(frame)),
        ("compare", curves::compare(frame)),
        ("k-index", curves::k_index(frame)),
        ("stack", days::stack(frame)),
        ("rotations", days::rotations(frame)),
        ("sight", days::sight(frame)),
        ("histogram", curves::histogram(frame)),
        ("directions", curves::directions(frame)),
        ("residual-map", turning::residual_map(frame)),
        ("lengths", turning::lengths(frame)),
        ("field-vector", turning::field_vector(frame)),
        ("spectrogram", curves::spectrogram(frame)),
    ]
}

/// Words for a scene.
pub fn words(name: &str, caption: &str) -> Words {
    Words {
        name: name.to_owned(),
        caption: caption.to_owned(),
        summary: format!("{caption} The data are invented."),
        provenance: "tern-skerry-60-days.csv (invented), SHA-256 1f2e3d4c, procedure 9a8b7c6d, \
                     lodelog 0.1.0"
            .to_owned(),
    }
}
