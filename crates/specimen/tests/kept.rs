//! The files in `demo-data/` are what the generator makes, byte for byte.

use std::path::Path;

#[test]
fn the_kept_files_are_what_the_generator_makes() {
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-data");
    for (name, bytes) in specimen::files() {
        let kept = std::fs::read(directory.join(&name)).unwrap_or_default();
        assert!(
            kept == bytes,
            "demo-data/{name} differs; write it again with cargo xtask demo-data"
        );
    }
}

#[test]
fn the_kept_files_together_stay_below_four_megabytes() {
    let total: usize = specimen::files().iter().map(|(_, bytes)| bytes.len()).sum();
    assert!(total < 4_000_000, "{total}");
}
