//! A magnetic storm: commencement, main phase and recovery.
//!
//! A storm of the scenario and a moment go in; the ring current's field comes
//! out.  Bays and unrest that go with a storm are made beside.
//!
//! The course follows W. D. Gonzalez et al., J. Geophys. Res. 99 (1994)
//! 5771–5792 (a rise within minutes, a main phase of hours, a recovery of
//! days); the sizes are invented.

use crate::scenario::{Place, Storm};
use record::vector::Vec3;

/// Direction of the magnetic meridian in the scenario, as X and Y.
const MERIDIAN: (f64, f64) = (0.990_3, -0.139_2);

/// Z of the ring current's field for each nT that it takes off along the
/// meridian: the axial field's tan 57°, cut down by induced currents.
const DOWN: f64 = 0.32;

/// Field of the magnetopause and ring currents at a moment, nT.
pub fn field(storm: &Storm, place: &Place, t_s: f64) -> Vec3 {
    let along = place.shares.ring * along(storm, t_s);
    let down = -DOWN * place.shares.induced_z * place.shares.ring * ring(storm, t_s);
    [along * MERIDIAN.0, along * MERIDIAN.1, down]
}

/// The storm's field along the magnetic meridian, nT.
pub fn along(storm: &Storm, t_s: f64) -> f64 {
    commencement(storm, t_s) + ring(storm, t_s)
}

/// When the ring current's field is deepest, seconds after the start.
pub fn deepest_s(storm: &Storm) -> f64 {
    storm.onset_s + storm.initial_s + storm.main_s
}

/// How unquiet the field is: 0 before the storm, about 1 at its height for
/// each 100 nT of depth, fading over two days.
pub fn unrest(storm: &Storm, t_s: f64) -> f64 {
    let since = t_s - storm.onset_s;
    if since < 0.0 {
        return 0.0;
    }
    let rise = 0.3 + 0.7 * ramp((since - storm.initial_s) / storm.main_s);
    let after = (t_s - deepest_s(storm)).max(0.0);
    rise * storm.depth_nt / 100.0 * libm::exp(-after / 72_000.0)
}

// A small dip, a rise over minutes, a slow fall.
fn commencement(storm: &Storm, t_s: f64) -> f64 {
    let since = t_s - storm.onset_s;
    let dip = (since - 25.0) / 25.0;
    let dip = if dip.abs() < 5.0 { 0.18 * libm::exp(-dip * dip) } else { 0.0 };
    let rise = ramp((since - 20.0) / storm.rise_s);
    let fall = faded(since.max(0.0) / 16_000.0);
    storm.commencement_nt * (rise * fall - dip)
}

fn ring(storm: &Storm, t_s: f64) -> f64 {
    let main = (t_s - storm.onset_s - storm.initial_s) / storm.main_s;
    if main <= 0.0 {
        return 0.0;
    }
    let after = (t_s - deepest_s(storm)).max(0.0);
    let recovery = 0.55 * faded(after / 36_000.0) + 0.45 * faded(after / 187_000.0);
    -storm.depth_nt * ramp(main) * recovery
}

/// e to the power −u, and nothing where that is below 10⁻¹⁵.
fn faded(u: f64) -> f64 {
    if u > 35.0 { 0.0 } else { libm::exp(-u) }
}

/// From 0 to 1 with level ends.
fn ramp(u: f64) -> f64 {
    let u = u.clamp(0.0, 1.0);
    u * u * (3.0 - 2.0 * u)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::default_scenario;

    #[test]
    fn a_storm_rises_within_minutes_falls_over_hours_and_recovers_over_days() {
        let storm = default_scenario().storms[0];
        let at = |s: f64| along(&storm, storm.onset_s + s);
        assert_eq!(at(-300.0), 0.0);
        assert!(at(30.0) < -3.0);
        assert!(at(260.0) > 0.9 * storm.commencement_nt);
        let deepest = deepest_s(&storm) - storm.onset_s;
        assert!(at(deepest) < -0.9 * storm.depth_nt);
        assert!(at(deepest + 86_400.0) > -0.5 * storm.depth_nt);
        assert!(at(deepest + 3.0 * 86_400.0) < -5.0);
    }
}
