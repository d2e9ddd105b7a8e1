//! The observatory's record: one-minute values in the IAGA-2002 format.
//!
//! The scenario and a number of days go in; text of 70-character records comes
//! out, X, Y, Z in nT and F from a scalar instrument a few steps away.  Format:
//! IAGA-2002 exchange format, IAGA Division V, description of June 2015.

use crate::Log;
use crate::garden::{moment, place};
use crate::json::Object;
use crate::outside::Outside;
use crate::prng::Prng;
use crate::scenario::{Scenario, at};
use crate::text::{Clock, push_hundredths};
use record::Instant;
use record::vector::{Vec3, norm};

/// Minutes without values, seconds after the start: the pier was worked at.
const WORK_S: (i64, i64) = (at(7, 10, 5, 0), at(7, 10, 44, 0));

/// F of the scalar instrument less F of the vector one, nT.
const PIER_NT: f64 = 1.3;

/// The record of the first `days` days.
pub fn log(scenario: &Scenario, days: u32) -> Log {
    let name = format!("kelda-head-reference-{days}-days.min");
    let outside = Outside::of(scenario, &scenario.observatory, days);
    let mut bytes = Vec::with_capacity(days as usize * 1_440 * 71 + 2_000);
    header(scenario, &mut bytes);
    let mut writer = Rows {
        scenario,
        outside: &outside,
        noise: Prng::new(scenario.seed, "observatory's noise"),
        clock: Clock::from(scenario.start),
    };
    for minute in 0..i64::from(days) * 1_440 {
        writer.push(&mut bytes, minute * 60);
    }
    let truth = truth(scenario, &name, days);
    Log { name, bytes, truth }
}

fn header(scenario: &Scenario, out: &mut Vec<u8>) {
    let place = &scenario.observatory;
    let longitude = format!("{:.3}", place.longitude_deg.rem_euclid(360.0));
    let latitude = format!("{:.3}", place.latitude_deg);
    let height = format!("{:.0}", place.height_m);
    for (label, value) in [
        ("Format", "IAGA-2002"),
        ("Source of Data", "Invented for lessons"),
        ("Station Name", place.name),
        ("IAGA Code", "KLH"),
        ("Geodetic Latitude", &latitude),
        ("Geodetic Longitude", &longitude),
        ("Elevation", &height),
        ("Reported", "XYZF"),
        ("Sensor Orientation", "XYZ"),
        ("Digital Sampling", "1 second"),
        ("Data Interval Type", "Filtered 1-minute (00:30 - 01:29)"),
        ("Data Type", "Variation"),
    ] {
        line(out, &format!(" {label:<23}{value}"));
    }
    line(out, " # Invented values of an invented observatory, not a measurement.");
    line(out, "DATE       TIME         DOY     KLHX      KLHY      KLHZ      KLHF");
}

// Sixty-nine characters and the bar that ends a header record.
fn line(out: &mut Vec<u8>, text: &str) {
    out.extend_from_slice(format!("{text:<69}|\n").as_bytes());
}

struct Rows<'a> {
    scenario: &'a Scenario,
    outside: &'a Outside,
    noise: Prng,
    clock: Clock,
}

impl Rows<'_> {
    fn push(&mut self, out: &mut Vec<u8>, t_s: i64) {
        let field = self.minute(t_s as f64);
        let scalar = norm(field) + PIER_NT + 0.05 * self.noise.normal();
        self.clock.push_date(out, t_s);
        out.push(b' ');
        self.clock.push_time(out, t_s);
        out.extend_from_slice(b".000 ");
        let instant = Instant(self.scenario.start.0 + t_s * 1_000_000_000);
        out.extend_from_slice(format!("{:03}", day_of_year(instant)).as_bytes());
        out.extend_from_slice(b"   ");
        let missing = (WORK_S.0..WORK_S.1).contains(&t_s);
        for value in [field[0], field[1], field[2], scalar] {
            let mut digits = Vec::with_capacity(12);
            let hundredths = if missing { 9_999_900 } else { (value * 100.0).round() as i64 };
            push_hundredths(&mut digits, hundredths);
            out.extend(std::iter::repeat_n(b' ', 10usize.saturating_sub(digits.len())));
            out.extend_from_slice(&digits);
        }
        out.push(b'\n');
    }

    /// The field about a minute, weighted 1 : 6 : 1 at half-minutes: nearly the
    /// Gaussian filter that observatories use (σ 15.9 s, INTERMAGNET manual).
    fn minute(&mut self, t_s: f64) -> Vec3 {
        let place = &self.scenario.observatory;
        let (a, b, c) =
            (self.outside.at(t_s - 30.0), self.outside.at(t_s), self.outside.at(t_s + 30.0));
        let mut each = |k: usize| {
            let years = t_s / (365.0 * 86_400.0);
            let steady = place.main_nt[k] + place.rate_nt_per_year[k] * years + place.rocks_nt[k];
            let varying = (a[k] + 6.0 * b[k] + c[k]) / 8.0;
            steady + varying + 0.08 * self.noise.normal()
        };
        [each(0), each(1), each(2)]
    }
}

fn day_of_year(instant: Instant) -> i64 {
    let year = instant.civil().year;
    let start = Instant::from_date(year, 1, 1).unwrap_or_default();
    (instant.0 - start.0) / 86_400_000_000_000 + 1
}

fn truth(scenario: &Scenario, name: &str, days: u32) -> String {
    let shares = scenario.observatory.shares;
    let log = Object::new()
        .text("name", name)
        .count("rows", days as usize * 1_440)
        .text("start", &moment(scenario, 0.0))
        .text("end", &moment(scenario, f64::from(days) * 86_400.0 - 60.0))
        .number("cadence_s", 60.0)
        .text("stamp", "centre of the minute");
    let against = Object::new()
        .number("daily_variation_share", shares.daily)
        .number("ring_current_share", shares.ring)
        .number("bays_share", shares.bays)
        .number("induced_z_share", shares.induced_z)
        .number("local_noon_earlier_s", {
            let apart = scenario.observatory.longitude_deg - scenario.garden.longitude_deg;
            apart * 240.0
        })
        .text("shares_note", "size here for each unit in the garden");
    let mut object = Object::new()
        .count("schema", 1)
        .flag("invented", true)
        .text("about", "Invented: there is no observatory of this name at this place.")
        .text("seed", &scenario.seed.to_string())
        .object("log", log)
        .object("station", place(&scenario.observatory))
        .vector("main_nt", scenario.observatory.main_nt)
        .vector("rocks_nt", scenario.observatory.rocks_nt)
        .number("scalar_minus_vector_nt", PIER_NT)
        .object("against_the_garden", against);
    if WORK_S.0 < i64::from(days) * 86_400 {
        let work = Object::new()
            .text("first_missing", &moment(scenario, WORK_S.0 as f64))
            .count("minutes", ((WORK_S.1 - WORK_S.0) / 60) as usize);
        object = object.object("missing", work);
    }
    object.finish_in_lines()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::default_scenario;

    #[test]
    fn every_record_has_seventy_characters_and_the_columns_of_the_format() {
        let log = log(&default_scenario(), 1);
        let text = String::from_utf8(log.bytes).unwrap();
        assert!(text.lines().all(|line| line.len() == 70));
        let rows: Vec<&str> = text.lines().skip(14).collect();
        assert_eq!(rows.len(), 1_440);
        assert_eq!(&rows[0][..24], "2026-05-01 00:00:00.000 ");
        assert_eq!(&rows[0][24..27], "121");
        for columns in [31..40, 41..50, 51..60, 61..70] {
            assert!(rows[700][columns].trim().parse::<f64>().is_ok());
        }
        assert!(text.lines().nth(3).unwrap().starts_with(" IAGA Code              KLH"));
    }

    #[test]
    fn minutes_of_work_at_the_pier_are_missing_by_the_format_s_number() {
        let log = log(&default_scenario(), 8);
        let text = String::from_utf8(log.bytes).unwrap();
        assert_eq!(text.lines().filter(|line| line.contains(" 99999.00")).count(), 39);
    }
}
