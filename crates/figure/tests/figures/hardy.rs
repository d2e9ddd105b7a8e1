//! No input makes a figure panic, and what comes out can always be drawn.

use crate::scenes;

use figure::plan::curves::{Along, Curve, Curves, Level, Look, Note, Spacing, curves};
use figure::{Frame, Palette, Plan, View, from_bytes, plan, readout, svg, table, to_bytes};
use proptest::prelude::*;
use record::{Marks, Unit};

/// Draws, tabulates, sends and reads a plan in every way there is.
fn exercise(plan: &Plan) {
    let text = svg::svg(plan, &Palette::light(), 170.0, 100.0);
    assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
    table::csv(plan);
    table::rows(plan, 20);
    from_bytes(&to_bytes(plan)).unwrap();
    for (x, y) in [(0.0, 0.0), (200.0, 100.0), (1e9, -1e9), (f64::NAN, f64::NAN)] {
        readout::at(plan, x, y);
    }
    for panel in 0..=plan.panels.len() {
        readout::at_stop(plan, panel, 3);
        readout::count(plan, panel);
    }
    readout::data_span(plan, -5.0, f64::INFINITY);
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => -1e3f64..1e3,
        1 => any::<f64>(),
        1 => Just(f64::NAN),
        1 => Just(0.0),
        1 => Just(f64::INFINITY),
        1 => Just(f64::MAX),
        1 => Just(5e-324),
    ]
}

fn numbers() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(number(), 0..40)
}

fn times() -> impl Strategy<Value = Vec<i64>> {
    prop_oneof![
        prop::collection::vec(-4_000_000_000_000_000_000i64..4_000_000_000_000_000_000, 0..40),
        prop::collection::vec(any::<i64>(), 0..6),
        (0i64..40).prop_map(|n| (0..n).map(|k| k * 30_000_000_000).collect()),
    ]
}

fn view() -> impl Strategy<Value = View> {
    let span = || prop::option::of((number(), number()));
    (span(), span()).prop_map(|(x, y)| View { x, y })
}

fn frame() -> impl Strategy<Value = Frame> {
    (number(), number(), prop_oneof![8.0f64..20.0, number()])
        .prop_map(|(width_px, height_px, font_px)| Frame { width_px, height_px, font_px })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn series_of_anything(
        times in times(), values in numbers(), faint in prop::option::of(numbers()),
        bits in prop::collection::vec(any::<u16>(), 0..40), view in view(), frame in frame(),
    ) {
        let marks = Marks::from_bits(bits);
        let trace = plan::Trace {
            name: "x", unit: Unit::Nanotesla, times_ns: &times, values: &values,
            marks: Some(&marks), faint: faint.as_deref(),
        };
        exercise(&plan::series(&[trace, trace], frame, view, &scenes::words("a", "b")));
    }

    #[test]
    fn angles_of_anything(
        times in times(), values in numbers(), mean_deg in number(), sigma_deg in number(),
        view in view(), frame in frame(),
    ) {
        let trace = plan::angles::AngleTrace {
            name: "D", times_ns: &times, values_deg: &values, marks: None, mean_deg, sigma_deg,
        };
        exercise(&plan::angles::angles(&[trace], frame, view, &scenes::words("a", "b")));
    }

    #[test]
    fn spectra_of_anything(
        mut frequency in numbers(), density in numbers(), low in number(), high in number(),
        peak in number(), view in view(), frame in frame(),
    ) {
        frequency.sort_by(f64::total_cmp);
        let trace = plan::spectrum::SpectrumTrace {
            name: "X", unit: Unit::Celsius, frequency_hz: &frequency, density: &density,
            height: Default::default(),
        };
        let words = scenes::words("a", "b");
        let peaks = [(peak, 1.0 / peak)];
        exercise(&plan::spectrum::spectrum(&[trace; 2], (low, high), &peaks, frame, view, &words));
    }

    #[test]
    fn curves_of_anything(
        x in numbers(), y in numbers(), lo in numbers(), hi in numbers(), at in number(),
        look in prop::sample::select(vec![Look::Line, Look::Points, Look::Both]),
        spacing in prop::sample::select(vec![
            Spacing::Even, Spacing::Log, Spacing::Hours, Spacing::Degrees, Spacing::Durations,
        ]),
        view in view(), frame in frame(),
    ) {
        let along = |spacing| Along { quantity: "q", unit: Unit::Metre, spacing, span: None };
        let curve = Curve { name: "c", x: &x, y: &y, interval: Some((&lo, &hi)), look };
        let data = Curves {
            curves: &[curve, curve],
            x: along(spacing),
            y: along(spacing),
            levels: &[Level { at, upright: true, name: "l" }, Level { at, upright: false, name: "m" }],
            notes: &[Note { x: at, y: at, text: "n" }],
        };
        exercise(&curves(&data, frame, view, &scenes::words("a", "b")));
    }

    #[test]
    fn calibrations_of_anything(
        x in numbers(), y in numbers(), z in numbers(),
        offset in prop::array::uniform3(number()),
        matrix in prop::array::uniform3(prop::array::uniform3(number())),
        radius in number(), frame in frame(),
    ) {
        let data = plan::calibration::CalibrationData {
            raw: [&x, &y, &z], raw_unit: Unit::Count, unit: Unit::Nanotesla,
            offset, matrix, radius, rejected: &[2, 5],
        };
        let words = scenes::words("a", "b");
        exercise(&plan::calibration::calibration(&data, frame, View::ALL, &words));
    }

    #[test]
    fn k_indices_histograms_and_overlays_of_anything(
        mut starts in times(), k in numbers(), hours in number(), edges in numbers(),
        counts in prop::collection::vec(any::<u32>(), 0..40), normal in (number(), number()),
        view in view(), frame in frame(),
    ) {
        let words = scenes::words("a", "b");
        let counts: Vec<u64> = counts.into_iter().map(u64::from).collect();
        let bins = plan::histogram::Bins {
            behind: &[],
            quantity: "q", unit: Unit::None, edges: &edges, counts: &counts, normal: Some(normal),
        };
        exercise(&plan::histogram::histogram(&bins, frame, view, &words));
        let trace = plan::Trace {
            name: "x", unit: Unit::Nanotesla, times_ns: &starts, values: &k, marks: None, faint: None,
        };
        let traces = [trace, trace];
        let panel = plan::overlay::Overlay { quantity: "q", unit: Unit::Degree, traces: &traces };
        let from = starts.first().copied().unwrap_or(0);
        let stretch = plan::overlay::Stretch { start_ns: from, end_ns: i64::MAX, name: "s" };
        exercise(&plan::overlay::overlay(&[panel], &[stretch], frame, view, &words));
        starts.sort_unstable();
        let floor = starts.first().map(|ns| ns.rem_euclid(12) as u8);
        let set = plan::k_index::KIndices { name: "K", starts_ns: &starts, hours, k: &k, floor };
        exercise(&plan::k_index::k_index(&[set, set], frame, view, &words));
    }

    #[test]
    fn spectrograms_and_maps_of_anything(
        mut times in times(), mut frequency in numbers(), density in numbers(),
        z in prop::array::uniform2(number()), azimuth_deg in prop::array::uniform2(number()),
        count in any::<u32>(), view in view(), frame in frame(),
    ) {
        let words = scenes::words("a", "b");
        times.sort_unstable();
        frequency.sort_by(f64::total_cmp);
        let data = plan::spectrogram::Spectrogram {
            unit: Unit::Nanotesla, times_ns: &times, frequency_hz: &frequency, density: &density,
        };
        exercise(&plan::spectrogram::spectrogram(&data, frame, view, &words));
        let cell = plan::sphere_map::SphereCell { z, azimuth_deg, count: count as usize };
        exercise(&plan::sphere_map::sphere_map(&[cell], frame, view, &words));
        exercise(&plan::sphere_map::residual_map(&[cell], (&z[..1], Unit::Nanotesla), frame, &words));
        let field = plan::vector::FieldVector {
            up: "N", level_deg: azimuth_deg.into(), forward_deg: Some(z[0]),
            inclination_deg: z.into(), plan_words: "a", section_words: "b",
        };
        exercise(&plan::vector::vector(&field, frame, view, &words));
    }

    #[test]
    fn stacks_and_sights_of_anything(
        x in numbers(), y in numbers(), apart in number(), span in prop::array::uniform2(number()),
        rows in 0..70usize, hours in any::<bool>(), view in view(), frame in frame(),
    ) {
        let words = scenes::words("a", "b");
        let weight = plan::stack::Weight::Disturbed;
        let row = plan::stack::Row { name: "1 May", x: &x, y: &y, weight };
        let data = plan::stack::Stack {
            quantity: "q", unit: Unit::Nanotesla, apart, rows: &vec![row; rows],
            along: ("x", Unit::Hour), hours, span: span.into(), key: &[("k", weight)],
        };
        exercise(&plan::stack::stack(&data, frame, view, &words));
        let seen = plan::sight::Seen::Large;
        let signal = plan::sight::Signal { name: "s", periods_s: span.into(), sizes: (apart, 1.0), seen };
        let data = plan::sight::Sight {
            unit: Unit::Nanotesla, periods_s: &x, noise: &y, interval: (&y, &x), signals: &[signal],
        };
        exercise(&plan::sight::sight(&data, frame, view, &words));
    }

    #[test]
    fn bytes_of_anything_are_refused_or_a_plan(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let _ = from_bytes(&bytes);
    }
}

#[test]
fn no_trace_at_all_leaves_a_sheet_that_says_so() {
    let frame = Frame { width_px: 400.0, height_px: 200.0, font_px: 12.0 };
    let plan = plan::series(&[], frame, View::ALL, &scenes::words("a", "b"));
    assert!(plan.labels.iter().any(|label| label.plain() == "Nothing to draw"));
    exercise(&plan);
}
