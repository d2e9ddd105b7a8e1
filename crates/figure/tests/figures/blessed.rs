//! Every figure against its blessed drawing in `tests/blessed`.
//!
//! `FIGURE_BLESS=1 cargo test -p figure` rewrites the drawings
//! that differ; what changed is then reviewed like code.  A drawing that
//! differs is left beside the blessed one as `NAME.new.svg`.

use crate::scenes;

use figure::{Frame, Palette, Plan, svg};
use std::path::PathBuf;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/blessed")
}

fn check(name: &str, plan: &Plan, palette: &Palette, width_mm: f64, height_mm: f64) {
    let drawn = svg::svg(plan, palette, width_mm, height_mm);
    let kept = folder().join(format!("{name}.svg"));
    let other = folder().join(format!("{name}.new.svg"));
    let blessed = std::fs::read_to_string(&kept).unwrap_or_default();
    if std::env::var_os("FIGURE_BLESS").is_some() {
        if blessed != drawn {
            std::fs::write(&kept, &drawn).unwrap();
        }
    } else if blessed != drawn {
        std::fs::write(&other, &drawn).unwrap();
        panic!("{name}.svg differs from the blessed one; see {name}.new.svg beside it");
    }
    let _ = std::fs::remove_file(other);
}

#[test]
fn each_scene_is_drawn_as_it_was_blessed() {
    for (name, plan) in scenes::all(Frame::print(170.0, 100.0)) {
        check(name, &plan, &Palette::print(), 170.0, 100.0);
    }
}

#[test]
fn each_scene_fits_a_narrow_dark_screen() {
    let frame = Frame { width_px: 360.0, height_px: 420.0, font_px: 12.0 };
    for (name, plan) in scenes::all(frame) {
        check(&format!("{name}-narrow-dark"), &plan, &Palette::dark(), 95.25, 111.1);
    }
}

#[test]
fn no_two_labels_touch_in_any_scene_at_any_width() {
    for width_px in [240.0, 320.0, 360.0, 420.0, 560.0, 642.0, 900.0, 1400.0] {
        // Narrower than twenty heights of its text a sheet holds no figure.
        for font_px in [11.0, 13.0, 16.0].into_iter().filter(|px| width_px >= 20.0 * px) {
            let frame = Frame { width_px, height_px: 0.62 * width_px.max(420.0), font_px };
            for (name, plan) in scenes::all(frame) {
                let areas: Vec<_> = plan.labels.iter().map(|l| (l.plain(), l.area())).collect();
                for (k, (text, area)) in areas.iter().enumerate() {
                    for (other, its) in &areas[..k] {
                        assert!(
                            !area.meets(its),
                            "{name} at {width_px} px, text {font_px}: {text:?} and {other:?}"
                        );
                    }
                    assert!(
                        area.x > -1.0 && area.right() < width_px + 1.0,
                        "{name} at {width_px} px, text {font_px}: {text:?} leaves the sheet"
                    );
                }
            }
        }
    }
}
