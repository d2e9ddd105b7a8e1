//! The truth about the varying field, for a garden log's truth file.

use super::moment;
use crate::json::Object;
use crate::outside::{Outside, bays, daily, disturbance, pulsations, storm};
use crate::scenario::DAYS;
use crate::scenario::{Scenario, Storm};

/// Mean harmonics of the daily variation over the days of the log.
pub(super) fn daily_variation(scenario: &Scenario, days: u32) -> Object {
    let place = &scenario.garden;
    let daily = daily::Daily::of(scenario, place, days);
    let list = daily.days(days);
    let mut object = Object::new().text(
        "note",
        "mean over the days of the log; hours are local mean time of the (first) maximum, \
         UTC plus longitude / 15; storms, bays and warmth come on top",
    );
    let shares = [1.0, 1.0, place.shares.induced_z].map(|share| share * place.shares.daily);
    for (k, key) in ["x", "y", "z"].into_iter().enumerate() {
        let mean = daily::mean_harmonics(list, k, shares[k]);
        let harmonics = mean.iter().enumerate().map(|(n, harmonic)| {
            Object::new()
                .number("period_h", 24.0 / (n + 1) as f64)
                .number("amplitude_nt", harmonic.amplitude_nt)
                .number("maximum_local_h", harmonic.maximum_h)
        });
        object = object.objects(key, harmonics);
    }
    object
}

/// The storms that begin before the end of the log.
pub(super) fn storms(scenario: &Scenario, outside: &Outside, end_s: f64) -> Vec<Object> {
    let inside = scenario.storms.iter().filter(|storm| storm.onset_s < end_s);
    inside.map(|one| storm_object(scenario, outside, one, end_s)).collect()
}

fn storm_object(scenario: &Scenario, outside: &Outside, one: &Storm, end_s: f64) -> Object {
    let last = (one.onset_s + 2.0 * 86_400.0).min(end_s);
    let mut lowest = (one.onset_s, f64::INFINITY);
    let mut t_s = one.onset_s;
    while t_s < last {
        let x = outside.at(t_s)[0];
        if x < lowest.1 {
            lowest = (t_s, x);
        }
        t_s += 30.0;
    }
    let daily = daily::Daily::of(scenario, &scenario.garden, DAYS);
    let deepest = disturbance::deepest(outside, &daily, &scenario.garden, one, end_s);
    let (hour, depth_nt) = deepest.unwrap_or((0, f64::NAN));
    Object::new()
        .text("onset", &moment(scenario, one.onset_s))
        .text("deepest_hour", &moment(scenario, hour as f64 * 3_600.0))
        .number("deepest_hour_nt", depth_nt)
        .text(
            "deepest_hour_note",
            "mean of an hour of UTC of the horizontal field less its daily variation and its \
             steady part, bays included: the depth that the step Storms estimates",
        )
        .number("commencement_nt", one.commencement_nt)
        .number("commencement_rise_s", one.rise_s)
        .text("ring_current_deepest", &moment(scenario, storm::deepest_s(one)))
        .number("ring_current_depth_nt", one.depth_nt)
        .text("lowest_x", &moment(scenario, lowest.0))
        .number("lowest_x_below_quiet_nt", lowest.1)
}

/// Bays and pulsations that begin before the end of the log.
pub(super) fn unrest(scenario: &Scenario, end_s: f64) -> Object {
    let bays = bays::list(scenario).into_iter().filter(|bay| bay.onset_s < end_s);
    let packets = pulsations::list(scenario).into_iter().filter(|packet| packet.start_s < end_s);
    Object::new()
        .count("quiet_days_at_start", scenario.quiet_days as usize)
        .objects(
            "bays",
            bays.map(|bay| {
                Object::new()
                    .text("onset", &moment(scenario, bay.onset_s))
                    .number("depth_x_nt", bay.depth_nt)
            }),
        )
        .objects(
            "pulsations",
            packets.map(|packet| {
                Object::new()
                    .text("start", &moment(scenario, packet.start_s))
                    .number("length_s", packet.length_s)
                    .number("period_s", packet.period_s)
                    .number("amplitude_x_nt", packet.amplitude_nt.0)
                    .number("amplitude_y_nt", packet.amplitude_nt.1)
            }),
        )
}
