//! The field models against published and independently computed values.
//!
//! The source of each table stands in its first lines.

use crate::common::Table;
use field::model::{ModelField, Which, field};
use record::Station;

fn at(table: &Table, row: &[String], which: Which) -> ModelField {
    let height_m = 1000.0 * table.number(row, "height_km");
    let (latitude, longitude) = (table.number(row, "lat_deg"), table.number(row, "lon_deg"));
    let station = Station::new("", latitude, longitude, height_m).unwrap();
    let year = if which == Which::Igrf14 && row.len() == 9 { "decimal_year" } else { "year" };
    field(which, &station, table.number(row, year)).unwrap()
}

/// Holds a list of named columns against values, each to half a unit of its printing or more.
fn check(table: &Table, row: &[String], tolerance: f64, values: &[(&str, f64)]) {
    for (name, got) in values {
        let want = table.number(row, name);
        assert!((got - want).abs() <= tolerance, "{name} {got} {want} {row:?}");
    }
}

#[test]
fn wmm2025_gives_its_published_test_values() {
    let table = Table::read(include_str!("wmm2025-values.csv"));
    assert_eq!(table.rows.len(), 67);
    for row in &table.rows {
        let m = at(&table, row, Which::Wmm2025);
        // The file's own X is off by up to 0.00072 nT: see its head.
        let nt = [("x_nt", m.x_nt), ("y_nt", m.y_nt), ("z_nt", m.z_nt), ("h_nt", m.h_nt)];
        check(&table, row, 1e-3, &nt);
        check(&table, row, 1e-3, &[("f_nt", m.f_nt)]);
        check(&table, row, 0.00505, &[("d_deg", m.declination_deg), ("i_deg", m.inclination_deg)]);
        let r = m.rates;
        let rates = [
            ("x_rate_nt_per_year", r.x_nt),
            ("y_rate_nt_per_year", r.y_nt),
            ("z_rate_nt_per_year", r.z_nt),
            ("h_rate_nt_per_year", r.h_nt),
            ("f_rate_nt_per_year", r.f_nt),
            ("d_rate_deg_per_year", r.declination_deg),
            ("i_rate_deg_per_year", r.inclination_deg),
        ];
        check(&table, row, 2e-6, &rates);
    }
}

#[test]
fn wmm2025_gives_the_table_of_its_report() {
    let table = Table::read(include_str!("wmm2025-report.csv"));
    assert_eq!(table.rows.len(), 8);
    for row in &table.rows {
        let m = at(&table, row, Which::Wmm2025);
        let nt = [("x_nt", m.x_nt), ("y_nt", m.y_nt), ("z_nt", m.z_nt), ("h_nt", m.h_nt)];
        check(&table, row, 0.0501, &nt);
        check(&table, row, 0.0501, &[("f_nt", m.f_nt)]);
        check(&table, row, 0.00501, &[("d_deg", m.declination_deg), ("i_deg", m.inclination_deg)]);
        let (lat, lon) = (table.number(row, "lat_deg"), table.number(row, "lon_deg"));
        let grid = field::model::grid_variation_deg(m.declination_deg, lat, lon);
        match (grid, table.text(row, "gv_deg")) {
            (None, "") => {}
            (Some(got), want) => assert!((got - want.parse::<f64>().unwrap()).abs() < 0.00501),
            (None, want) => assert_eq!(want, ""),
        }
    }
}

#[test]
fn igrf14_gives_values_on_which_three_programs_agree() {
    let table = Table::read(include_str!("igrf14-values.csv"));
    assert_eq!(table.rows.len(), 40);
    for row in &table.rows {
        let m = at(&table, row, Which::Igrf14);
        check(&table, row, 1e-3, &[("x_nt", m.x_nt), ("y_nt", m.y_nt), ("z_nt", m.z_nt)]);
    }
}

#[test]
fn igrf14_gives_its_published_test_values() {
    let table = Table::read(include_str!("igrf14-published.csv"));
    assert_eq!(table.rows.len(), 11);
    for row in &table.rows {
        let m = at(&table, row, Which::Igrf14);
        let nt = [("x_nt", m.x_nt), ("y_nt", m.y_nt), ("z_nt", m.z_nt), ("h_nt", m.h_nt)];
        check(&table, row, 0.0501, &nt);
        check(&table, row, 0.0501, &[("f_nt", m.f_nt)]);
        let angles = [("d_deg", m.declination_deg), ("i_deg", m.inclination_deg)];
        check(&table, row, 0.000501, &angles);
        let r = m.rates;
        let rates = [
            ("x_rate_nt_per_year", r.x_nt),
            ("y_rate_nt_per_year", r.y_nt),
            ("z_rate_nt_per_year", r.z_nt),
            ("h_rate_nt_per_year", r.h_nt),
            ("f_rate_nt_per_year", r.f_nt),
        ];
        check(&table, row, 0.0501, &rates);
        let turning = [
            ("d_rate_arcmin_per_year", 60.0 * r.declination_deg),
            ("i_rate_arcmin_per_year", 60.0 * r.inclination_deg),
        ];
        check(&table, row, 0.00501, &turning);
    }
}
