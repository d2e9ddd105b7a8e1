//! The invented turning log of the demo data against its own truth.

use field::calibration::{Options, fit};

#[test]
fn the_demo_turning_log_gives_its_true_offset_and_matrix() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo-data/tern-skerry-turning");
    let text = std::fs::read_to_string(format!("{root}.csv")).unwrap();
    let truth = std::fs::read_to_string(format!("{root}.truth.json")).unwrap();
    let truth: serde_json::Value = serde_json::from_str(&truth).unwrap();
    let number = |v: &serde_json::Value| v.as_f64().unwrap();
    let mut raw = [vec![], vec![], vec![]];
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        for (list, cell) in raw.iter_mut().zip(&cells[1..4]) {
            list.push(cell.parse::<f64>().map_or(f64::NAN, |v| 1000.0 * v));
        }
    }
    let total = number(&truth["field"]["during_turning"]["total_nt"]);
    let options = Options { field: Some((total, 138.0)), ..Options::default() };
    let found = fit([&raw[0], &raw[1], &raw[2]], |_| true, &options).unwrap();
    let mut worst: f64 = 0.0;
    for axis in 0..3 {
        let want = 1000.0 * number(&truth["sensor"]["offset_during_turning_ut"][axis]);
        worst = worst.max((found.offset[axis] - want).abs() / found.offset_sigma[axis]);
        for b in 0..3 {
            let want = number(&truth["sensor"]["matrix_symmetric"][axis][b]);
            let off = (found.matrix[axis][b] - want).abs() / found.matrix_sigma[axis][b];
            worst = worst.max(off);
        }
    }
    println!(
        "worst {worst:.2} sigma; offset sigma {:?}; rms {:.1} nT, held out {:?}; inflation {:.2}; \
         condition {:.2}; seen {:.2}; rejected {}; heading {:.3} degrees",
        found.offset_sigma,
        found.residual_rms,
        found.held_out_rms,
        found.serial_inflation,
        found.condition,
        found.coverage,
        found.rejected.len(),
        found.heading_error_at(16_725.0)
    );
    // Nine numbers, seen together: 3.5 standard deviations are passed by chance once in 250 logs.
    assert!(worst < 3.5, "{worst}");
    // Rows are counted from 1 below the header.
    let bad = truth["bad_rows"].as_array().unwrap();
    for row in bad {
        let sample = row.as_u64().unwrap() as usize - 1;
        let near = found.rejected.contains(&sample) || found.rejected.contains(&(sample + 1));
        assert!(near || found.residuals[sample].is_nan(), "row {row} was used");
    }
    assert!(found.rejected.len() < 3 * bad.len());
    assert!(found.warnings().is_empty(), "{:?}", found.warnings());
}
