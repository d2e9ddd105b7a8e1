//! The station beside the observatory of the scenario.

use crate::common::{add, numbers, report, session, step};
use specimen::{DEFAULT_SEED, Scenario};

/// With the nudge not mended, and nothing taken off for the temperature.
#[test]
fn the_demo_agrees_with_its_observatory_as_far_as_its_noise_allows() {
    let scenario = Scenario::with_seed(DEFAULT_SEED);
    let mut session = session(&scenario, true);
    add(&mut session, "compare");
    let (report, files) = report(&mut session, true);
    let compare = step(&report, "compare");
    let values = &compare["values"];
    assert_eq!(values["components"]["value"], "X Y Z");
    let (r, slope) = (numbers(&values["correlation"]["value"]), &values["slope"]);
    let (slopes, sigmas) = (numbers(&slope["value"]), numbers(&slope["sigma"]));
    assert!(r[0] > 0.75 && r[1] > 0.6, "{r:?}");
    assert!(compare["remark"].as_str().unwrap().contains("(variation data), 140 km away"));
    // Of the field that varies, the observatory has 1.02 of the day and 0.94 of the bays.
    for k in 0..2 {
        assert!((slopes[k] - 1.0).abs() < 0.08 + 3.0 * sigmas[k], "{slopes:?} ± {sigmas:?}");
    }
    // The logger's clock is fast by nothing at first and 72 s at the end, and a block of ten
    // readings is stamped 15 s after their mean.
    let lag = values["lag_s"]["value"].as_f64().unwrap();
    assert!((0.0..90.0).contains(&lag), "{}", values["lag_s"]);
    let km = values["distance_km"]["value"].as_f64().unwrap();
    assert!((km - 140.0).abs() < 1.0, "{km}");
    let bands = files.iter().find(|(name, _)| name == "compare-bands.csv");
    assert!(bands.is_some(), "{:?}", files.iter().map(|f| &f.0).collect::<Vec<_>>());
}

/// The same days of a second observatory, whose data are definitive.
#[test]
fn several_references_are_compared_and_drawn_at_once() {
    let scenario = Scenario::with_seed(DEFAULT_SEED);
    let mut session = session(&scenario, true);
    let text = String::from_utf8(specimen::kelda_head_reference_of(&scenario).bytes).unwrap();
    let other = text.replace("Kelda Head", "Gull Ness ").replace("Variation ", "Definitive");
    session.open("gull-ness.min", other.as_bytes(), &Default::default()).unwrap();
    add(&mut session, "compare");
    let (report, files) = report(&mut session, true);
    let figures = report["figures"].as_array().unwrap();
    let figure = figures.iter().find(|f| f["name"] == "compare-comparison").unwrap();
    let caption = figure["caption"].as_str().unwrap();
    let alt = figure["alt"].as_str().unwrap();
    for (name, kind) in [("Kelda Head", "variation"), ("Gull Ness", "definitive")] {
        let known = format!("{name} ({kind} data)");
        assert!(caption.contains(&known) && alt.contains(name), "{caption} {alt}");
    }
    let (_, csv) = files.iter().find(|(name, _)| name == "compare-comparison.csv").unwrap();
    let csv = std::str::from_utf8(csv).unwrap();
    let heads = csv.lines().find(|line| line.starts_with("time")).unwrap();
    assert_eq!(heads.split(',').count(), 1 + 3 * 3 + 3, "{heads}");
    assert!(heads.contains("station (log)") && heads.contains("Kelda Head (variation)"), "{heads}");
}

/// Sixty days of the log, ten of the observatory.
#[test]
fn a_reference_of_ten_days_is_drawn_beside_ten_days() {
    let scenario = Scenario::with_seed(DEFAULT_SEED);
    let mut session = session(&scenario, false);
    let text = String::from_utf8(specimen::kelda_head_reference_of(&scenario).bytes).unwrap();
    let end = text.find("\n2026-05-11").expect("an eleventh day");
    session.open("ten-days.min", &text.as_bytes()[..=end], &Default::default()).unwrap();
    add(&mut session, "compare");
    let (_, files) = report(&mut session, true);
    let (_, svg) = files.iter().find(|(name, _)| name == "compare-comparison.svg").unwrap();
    let svg = std::str::from_utf8(svg).unwrap();
    assert!(svg.contains("May 2026</text") && !svg.contains("June</text"));
}
