//! The truth about what went wrong, for a garden log's truth file.

use super::super::Written;
use super::moment;
use crate::json::Object;
use crate::scenario::{STEP_S, Scenario};
use crate::sensor::rotation;
use record::vector::{Vec3, apply};

/// Spikes, repeats, losses, van, nudge and clock, as far as they lie before
/// the end of the log.
pub(super) fn object(scenario: &Scenario, written: &Written, end_s: f64) -> Object {
    let mishaps = &scenario.mishaps;
    let rows: Vec<usize> = written.spikes.iter().map(|spike| spike.row).collect();
    let size = |v: Vec3| v.iter().fold(0.0f64, |a, b| a.max(b.abs()));
    let largest = written.spikes.iter().map(|spike| size(spike.added_nt)).fold(0.0, f64::max);
    let smallest = written.spikes.iter().map(|s| size(s.added_nt)).fold(f64::INFINITY, f64::min);
    let spikes = Object::new()
        .count("count", rows.len())
        .number("largest_nt", largest)
        .number("smallest_nt", smallest)
        .text("rows_note", "data rows from 1; header and notes not counted")
        .counts("rows", &rows);
    let repeats = Object::new()
        .count("count", written.repeated_rows.len())
        .counts("rows", &written.repeated_rows);
    let stretch = |span: (i64, i64)| {
        Object::new()
            .text("last_before_logged", &moment(scenario, (span.0 - STEP_S) as f64))
            .text("first_after_logged", &moment(scenario, span.1 as f64))
            .count("rows_lost", ((span.1 - span.0) / STEP_S) as usize)
    };
    let mut object = Object::new()
        .object("spikes", spikes)
        .object("repeats", repeats)
        .number("clock_fast_ppm", mishaps.clock_ppm)
        .number("clock_ahead_at_end_s", end_s * mishaps.clock_ppm * 1e-6);
    if (mishaps.gap_s.0 as f64) < end_s {
        object = object.object("gap", stretch(mishaps.gap_s));
    }
    if (mishaps.restart_s.0 as f64) < end_s {
        object = object.object("restart", stretch(mishaps.restart_s));
    }
    if mishaps.van_s.0 < end_s {
        let van = Object::new()
            .text("from", &moment(scenario, mishaps.van_s.0))
            .text("to", &moment(scenario, mishaps.van_s.1))
            .vector("field_nt", mishaps.van_nt)
            .vector("along_arrows_nt", apply(&rotation(&scenario.stand), mishaps.van_nt));
        object = object.object("van", van);
    }
    if mishaps.nudge_s < end_s {
        let nudge = Object::new()
            .text("at", &moment(scenario, mishaps.nudge_s))
            .number("turned_deg", scenario.nudged.azimuth_deg - scenario.stand.azimuth_deg)
            .vector("along_arrows_nt", nudge_step(scenario));
        object = object.object("nudge", nudge);
    }
    object
}

/// How the field along the arrows changed at the nudge.
fn nudge_step(scenario: &Scenario) -> Vec3 {
    let main = scenario.garden.main_nt;
    let before = apply(&rotation(&scenario.stand), main);
    let after = apply(&rotation(&scenario.nudged), main);
    record::vector::sub(after, before)
}
