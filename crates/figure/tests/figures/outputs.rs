//! What leaves a plan: SVG, CSV, tables, readouts and bytes.

use crate::scenes;

use figure::{Frame, Layer, Palette, Plan, View, from_bytes, plan, readout, svg, table, to_bytes};
use proptest::prelude::*;
use record::{Instant, Unit};

fn all() -> Vec<(&'static str, Plan)> {
    scenes::all(Frame::print(170.0, 100.0))
}

/// The value of an attribute in a tag.
fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    let start = tag.find(&format!(" {name}=\""))? + name.len() + 3;
    tag[start..].split('"').next()
}

#[test]
fn every_drawing_has_its_true_size_its_words_and_nothing_from_outside() {
    for (name, plan) in all() {
        let text = svg::svg(&plan, &Palette::print(), 170.0, 100.0);
        let root = text.split('>').next().unwrap();
        assert_eq!(attribute(root, "width"), Some("170mm"), "{name}");
        assert_eq!(attribute(root, "height"), Some("100mm"), "{name}");
        assert!(text.contains(&format!("<title id=\"{}-title\">", plan.name)), "{name}");
        assert!(text.contains(&plan.summary) && text.contains("<text "), "{name}");
        for outside in ["<script", "href", "url(", "@import", "<style", "<image"] {
            assert!(!text.contains(outside), "{name}: {outside}");
        }
        assert_eq!(text.matches("http").count(), 1, "{name}: only the namespace");
    }
}

#[test]
fn no_text_is_printed_smaller_than_7_points() {
    for (name, plan) in all() {
        for (width_mm, height_mm) in [(170.0, 100.0), (85.0, 60.0)] {
            let text = svg::svg(&plan, &Palette::print(), width_mm, height_mm);
            let root = text.split('>').next().unwrap();
            let view: Vec<f64> = attribute(root, "viewBox")
                .unwrap()
                .split(' ')
                .map(|part| part.parse().unwrap())
                .collect();
            let mm_per_unit = (width_mm / view[2]).min(height_mm / view[3]);
            for tag in text.split('<').filter(|tag| tag.starts_with("text ")) {
                let size: f64 = attribute(tag, "font-size").unwrap().parse().unwrap();
                let points = size * mm_per_unit / 25.4 * 72.0;
                assert!(points >= 7.0 - 1e-9, "{name}: {points} pt in {tag}");
            }
        }
    }
}

#[test]
fn every_tag_that_opens_closes() {
    for (name, plan) in all() {
        let text = svg::svg(&plan, &Palette::light(), 170.0, 100.0);
        let mut open = Vec::new();
        for tag in text.split('<').skip(1) {
            let tag = tag.split('>').next().unwrap();
            if let Some(closed) = tag.strip_prefix('/') {
                assert_eq!(open.pop(), Some(closed), "{name}");
            } else if !tag.ends_with('/') {
                open.push(tag.split(' ').next().unwrap());
            }
        }
        assert!(open.is_empty(), "{name}: {open:?}");
    }
}

#[test]
fn a_plan_comes_back_from_its_bytes_and_a_cut_one_is_refused() {
    for (name, plan) in all() {
        let bytes = to_bytes(&plan);
        // NaN breaks lines and is not equal to itself: compared as written.
        let back = from_bytes(&bytes).unwrap();
        assert_eq!(format!("{back:?}"), format!("{plan:?}"), "{name}");
        assert!(from_bytes(&bytes[..bytes.len() - 1]).is_err(), "{name}");
        assert!(from_bytes(&[&bytes[..], &[0]].concat()).is_err(), "{name}");
    }
}

fn trace<'a>(times: &'a [i64], values: &'a [f64]) -> plan::Trace<'a> {
    plan::Trace {
        name: "H, north",
        unit: Unit::Nanotesla,
        times_ns: times,
        values,
        marks: None,
        faint: None,
    }
}

fn frame() -> Frame {
    Frame { width_px: 500.0, height_px: 260.0, font_px: 12.0 }
}

/// Rows of a CSV without its remarks: times and values.
fn reread(text: &str) -> (String, Vec<(String, f64)>) {
    let mut lines = text.split("\r\n").filter(|line| !line.starts_with('#'));
    let head = lines.next().unwrap().to_owned();
    let row = |line: &str| {
        let (time, value) = line.split_once(',').unwrap();
        (time.to_owned(), value.parse().unwrap())
    };
    (head, lines.filter(|line| !line.is_empty()).map(row).collect())
}

#[test]
fn a_file_says_where_it_comes_from_in_remarks_and_names_columns_with_units_in_ascii() {
    let times: Vec<i64> = (0..5).map(|k| k * 1_000_000_000).collect();
    let values = [1.0, 2.0, f64::NAN, 4.0, 5.0];
    let words = scenes::words("series", "North component.");
    let plan = plan::series(&[trace(&times, &values)], frame(), View::ALL, &words);
    let text = table::csv(&plan);
    assert!(text.starts_with("# figure: series\r\n# North component.\r\n# tern-skerry"));
    let (head, rows) = reread(&text);
    assert_eq!(head, "time,\"H, north (nT)\"");
    assert_eq!(rows.len(), 4);
    assert_eq!(rows[3], ("1970-01-01T00:00:04Z".to_owned(), 5.0));
}

proptest! {
    #[test]
    fn a_file_reads_back_exactly(
        start in -2_000_000_000_000_000_000i64..4_000_000_000_000_000_000,
        steps in prop::collection::vec(1i64..90_000_000_000, 1..300),
        seed in any::<u64>(),
    ) {
        let mut at = start;
        let times: Vec<i64> = steps.iter().map(|step| { at += step; at }).collect();
        let mut noise = scenes::noise::Noise::new(seed);
        let values: Vec<f64> = times
            .iter()
            .map(|_| (noise.even() - 0.5) * 10f64.powi((noise.even() * 24.0) as i32 - 12))
            .collect();
        let words = scenes::words("series", "");
        let plan = plan::series(&[trace(&times, &values)], frame(), View::ALL, &words);
        let (_, rows) = reread(&table::csv(&plan));
        let truth: Vec<(String, f64)> =
            times.iter().zip(&values).map(|(t, v)| (Instant(*t).iso(), *v)).collect();
        prop_assert_eq!(rows, truth);
    }
}

#[test]
fn one_spike_among_a_million_samples_is_drawn_to_its_height() {
    let times: Vec<i64> = (0..1_000_000).map(|k| k * 1_000_000_000).collect();
    let mut values: Vec<f64> = (0..1_000_000).map(|k| f64::from(k % 7) * 0.1).collect();
    values[765_432] = 40.0;
    let words = scenes::words("series", "");
    let plan = plan::series(&[trace(&times, &values)], frame(), View::ALL, &words);
    let panel = &plan.panels[0];
    let Layer::Line(line) = &panel.layers[0] else { panic!() };
    assert_eq!(line.samples, 1_000_000);
    let drawn = line.x.iter().zip(&line.y).find(|(_, y)| **y == 40.0).unwrap();
    assert_eq!(*drawn.0, 765_432.0);
    assert!(panel.y.hi > 40.0);
    // Its stroke in the drawing: within a tenth of a pixel of its place.
    let (x, y) = (panel.x_px(765_432.0), panel.y_px(40.0));
    let text = svg::svg(&plan, &Palette::print(), 170.0, 90.0);
    let top = places(&text).into_iter().filter(|p| (p.0 - x).abs() < 0.06).map(|p| p.1);
    assert!(top.clone().any(|found| (found - y).abs() < 0.06), "{:?}", top.collect::<Vec<_>>());
}

/// Every corner of every path of a drawing.
fn places(text: &str) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    for data in text.split(" d=\"M").skip(1) {
        let data = data.split('"').next().unwrap();
        let mut at = (0.0, 0.0);
        for (k, part) in data.split(['M', 'l']).enumerate() {
            let Some((x, y)) = part.trim_end_matches('z').split_once(' ') else { continue };
            let (Ok(x), Ok(y)) = (x.parse::<f64>(), y.parse::<f64>()) else { continue };
            // A path may lift its pen: `M` then starts anew.
            let lifted = k == 0 || data.contains(&format!("M{part}"));
            at = if lifted { (x, y) } else { (at.0 + x, at.1 + y) };
            out.push(at);
        }
    }
    out
}

#[test]
fn pointer_and_keyboard_read_the_same_words_at_the_same_stop() {
    for (name, plan) in all() {
        for panel in 0..plan.panels.len() {
            let count = readout::count(&plan, panel);
            for stop in [0, count / 3, count.saturating_sub(1)] {
                let Some(key) = readout::at_stop(&plan, panel, stop) else {
                    assert_eq!(count, 0, "{name}");
                    continue;
                };
                assert!(!key.text.is_empty() && !key.text.contains("NaN"), "{name}: {}", key.text);
                let y_px = key.values.iter().find(|v| v.panel == panel).map(|v| v.y_px);
                let rect = plan.panels[panel].rect;
                let y_px = y_px.unwrap_or(rect.y + 1.0).clamp(rect.y, rect.bottom());
                let pointer = readout::at(&plan, key.x_px, y_px).unwrap();
                assert_eq!(pointer.text, key.text, "{name}");
                assert_eq!(pointer.values, key.values, "{name}");
            }
        }
    }
}

#[test]
fn a_readout_names_the_instant_and_each_channel_with_its_unit() {
    let (_, plan) = all().into_iter().find(|(name, _)| *name == "series-zoomed").unwrap();
    let rect = plan.panels[0].rect;
    let found = readout::at(&plan, rect.x + 0.5 * rect.width, rect.y + 5.0).unwrap();
    assert!(found.text.starts_with("1 May 23:32 UTC, X 17,4"), "{}", found.text);
    assert!(found.text.contains(" nT, X before 17,4"), "{}", found.text);
}

#[test]
fn a_span_read_from_the_sheet_is_a_view_that_shows_it() {
    let times: Vec<i64> =
        (0..5000).map(|k| 1_777_593_600_000_000_000 + k * 30_000_000_000).collect();
    let values: Vec<f64> = (0..5000).map(|k| f64::from(k % 100)).collect();
    let words = scenes::words("series", "");
    let whole = plan::series(&[trace(&times, &values)], frame(), View::ALL, &words);
    let rect = whole.panels[0].rect;
    let span = readout::data_span(&whole, rect.x + 60.0, rect.x + 120.0);
    assert_eq!(span, readout::data_span(&whole, rect.x + 120.0, rect.x + 60.0));
    let view = View { x: Some(span), y: None };
    let part = plan::series(&[trace(&times, &values)], frame(), view, &words);
    let rect = part.panels[0].rect;
    let again = readout::data_span(&part, rect.x, rect.right());
    assert!((again.0 - span.0).abs() < 1e-6 && (again.1 - span.1).abs() < 1e-6);
}

#[test]
fn a_table_has_at_most_the_rows_asked_for_and_says_how_many_there_are() {
    for (name, plan) in all() {
        let found = table::rows(&plan, 100);
        assert!(!found.rows.is_empty() && found.rows.len() <= 100, "{name}");
        assert!(found.rows.iter().all(|row| row.len() == found.columns.len()), "{name}");
        assert!(found.caption.starts_with(&plan.name), "{name}");
    }
}
