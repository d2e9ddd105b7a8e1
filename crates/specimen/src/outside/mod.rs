//! The outside field: everything that varies, at one place, every 30 seconds.
//!
//! The scenario and a place go in; X, Y and Z in nT come out, on a grid in
//! true time that begins two minutes before the start.  The main field and the
//! rocks are not in it, nor anything the sensor does.

pub mod background;
pub mod bays;
pub mod daily;
pub mod disturbance;
pub mod pulsations;
pub mod storm;

use crate::scenario::{Place, Scenario};
use record::vector::Vec3;

/// Seconds between the nodes of the grid.
pub const NODE_S: f64 = 30.0;

/// Nodes before the start of the log.
const BEFORE: usize = 4;

/// The outside field at one place.
#[derive(Clone, Debug)]
pub struct Outside {
    /// X, Y, Z at each node, nT.
    pub nodes: Vec<Vec3>,
}

impl Outside {
    /// The field of the first `days` days.
    pub fn of(scenario: &Scenario, place: &Place, days: u32) -> Self {
        let count = days as usize * 2_880 + 2 * BEFORE;
        let mut nodes = background::series(scenario, place, count);
        let mut add = |first: usize, values: &mut dyn FnMut(f64) -> Vec3, last: usize| {
            let last = last.min(nodes.len());
            for (node, sum) in nodes.iter_mut().enumerate().take(last).skip(first) {
                let value = values(node_s(node));
                sum.iter_mut().zip(value).for_each(|(sum, v)| *sum += v);
            }
        };
        let daily = daily::Daily::of(scenario, place, days);
        add(0, &mut |t| daily.at(t), usize::MAX);
        for storm in &scenario.storms {
            add(
                node_after(storm.onset_s - 600.0),
                &mut |t| storm::field(storm, place, t),
                usize::MAX,
            );
        }
        for bay in bays::list(scenario) {
            let end = node_after(bay.end_s());
            add(node_after(bay.onset_s), &mut |t| bay.field(place, t), end);
        }
        for packet in pulsations::list(scenario) {
            let end = node_after(packet.end_s());
            add(node_after(packet.start_s), &mut |t| packet.field(place, t), end);
        }
        Self { nodes }
    }

    /// The field at a moment, seconds after the start: straight between nodes,
    /// the first or last node beyond the ends.
    pub fn at(&self, t_s: f64) -> Vec3 {
        let place = (t_s / NODE_S + BEFORE as f64).clamp(0.0, (self.nodes.len() - 1) as f64);
        let node = (place as usize).min(self.nodes.len().saturating_sub(2));
        let part = place - node as f64;
        let (a, b) = (self.nodes[node], self.nodes[node + 1]);
        [a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part, a[2] + (b[2] - a[2]) * part]
    }
}

/// Time of a node, seconds after the start.
fn node_s(node: usize) -> f64 {
    (node as f64 - BEFORE as f64) * NODE_S
}

/// The first node at or after a moment.
fn node_after(t_s: f64) -> usize {
    (t_s / NODE_S + BEFORE as f64).ceil().max(0.0) as usize
}

/// Local mean time at a longitude, hours, 0 to 24.
pub fn local_h(t_s: f64, longitude_deg: f64) -> f64 {
    (t_s / 3_600.0 + longitude_deg / 15.0).rem_euclid(24.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::default_scenario;

    #[test]
    fn a_shorter_series_is_the_beginning_of_a_longer_one() {
        let scenario = default_scenario();
        let short = Outside::of(&scenario, &scenario.garden, 6);
        let long = Outside::of(&scenario, &scenario.garden, 12);
        assert_eq!(short.nodes[..], long.nodes[..short.nodes.len()]);
    }

    #[test]
    fn quiet_nights_are_flat_and_the_day_s_least_x_lies_near_local_noon() {
        let scenario = default_scenario();
        let outside = Outside::of(&scenario, &scenario.garden, 5);
        // Mean of the first five days by local hour.
        let mut sums = [[0.0; 2]; 24];
        let mut counts = [0.0; 24];
        for (node, value) in outside.nodes.iter().enumerate() {
            let hour = local_h(node_s(node), scenario.garden.longitude_deg) as usize;
            sums[hour][0] += value[0];
            sums[hour][1] += value[1];
            counts[hour] += 1.0;
        }
        let mean = |hour: usize, k: usize| sums[hour][k] / counts[hour];
        let least = (0..24).min_by(|a, b| mean(*a, 0).total_cmp(&mean(*b, 0))).unwrap();
        assert!((9..=13).contains(&least), "{least}");
        let east = (0..24).max_by(|a, b| mean(*a, 1).total_cmp(&mean(*b, 1))).unwrap();
        let west = (0..24).min_by(|a, b| mean(*a, 1).total_cmp(&mean(*b, 1))).unwrap();
        assert!((6..=10).contains(&east) && (12..=15).contains(&west), "{east} {west}");
        let night: Vec<f64> = [22, 23, 0, 1, 2, 3].iter().map(|h| mean(*h, 0)).collect();
        let range = night.iter().fold(f64::MIN, |a, b| a.max(*b))
            - night.iter().fold(f64::MAX, |a, b| a.min(*b));
        assert!(range < 8.0, "{night:?}");
    }

    #[test]
    fn the_second_storm_is_the_deeper_one() {
        let scenario = default_scenario();
        let outside = Outside::of(&scenario, &scenario.garden, 45);
        let least = |storm: &crate::scenario::Storm| {
            let first = node_after(storm.onset_s);
            let values = outside.nodes[first..first + 2_880].iter().map(|v| v[0]);
            values.fold(f64::INFINITY, f64::min)
        };
        let (first, second) = (least(&scenario.storms[0]), least(&scenario.storms[1]));
        assert!(first < -110.0 && first > -330.0, "{first}");
        assert!(second < first && second > -700.0, "{second}");
    }
}
