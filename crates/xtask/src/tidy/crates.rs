//! Who may use whom: the crates' dependencies, against the table below.
//!
//! Data moves one way, so each crate knows only what stands before it; a heavy
//! dependency stands in one crate.  A change of this table is a change of the
//! architecture and is written as one.

use super::{Finding, Kept};

/// A crate and what it may name in its manifest.
struct Row {
    name: &'static str,
    /// What it may be built on.
    uses: &'static [&'static str],
    /// What its tests may use besides.
    tests: &'static [&'static str],
}

/// The table.  Every crate's tests may also use [`TESTS`].
const TABLE: [Row; 15] = [
    Row { name: "crc32fast", uses: &[], tests: &[] },
    Row { name: "say", uses: &[], tests: &[] },
    Row { name: "sort", uses: &[], tests: &[] },
    Row { name: "record", uses: &["say", "sort"], tests: &[] },
    Row { name: "scan", uses: &["record"], tests: &[] },
    // memchr finds padding and words, flate2 opens gzip, sha2 names the file as it was.
    Row {
        name: "intake",
        uses: &["record", "scan", "csv", "memchr", "flate2", "sha2", "libm"],
        tests: &[],
    },
    // Of record, only the form that faults take.
    Row { name: "signal", uses: &["record", "rustfft", "libm"], tests: &[] },
    Row { name: "clean", uses: &["record", "signal", "libm"], tests: &[] },
    Row { name: "field", uses: &["record", "signal", "nalgebra", "libm"], tests: &[] },
    // A plan crosses the worker's boundary as bytes (postcard), colours as JSON;
    // qrcodegen draws the link's squares.
    Row {
        name: "figure",
        uses: &[
            "record",
            "plotters",
            "plotters-backend",
            "plotters-svg",
            "serde",
            "serde_json",
            "postcard",
            "qrcodegen",
            "libm",
        ],
        tests: &[],
    },
    Row { name: "specimen", uses: &["record", "field", "libm"], tests: &["intake", "signal"] },
    Row {
        name: "procedure",
        uses: &[
            "record",
            "intake",
            "signal",
            "clean",
            "field",
            "figure",
            "serde",
            "serde_json",
            "flate2",
            "libm",
        ],
        tests: &["specimen"],
    },
    Row {
        name: "page",
        uses: &[
            "record",
            "procedure",
            "figure",
            "specimen",
            "serde_json",
            "wasm-bindgen",
            "web-sys",
            "js-sys",
            "plotters-canvas",
            "plotters-backend",
        ],
        tests: &[],
    },
    // Tools of the workbench; nothing of them reaches the page.
    Row {
        name: "bench",
        uses: &["record", "intake", "signal", "field", "serde_json", "wasm-bindgen"],
        tests: &[],
    },
    Row {
        name: "xtask",
        uses: &[
            "bench",
            "record",
            "procedure",
            "specimen",
            "serde_json",
            "flate2",
            "sha2",
            "proc-macro2",
            "syn",
            "toml",
            "wasm-bindgen-cli-support",
            "wasmparser",
        ],
        tests: &[],
    },
];

/// What the tests of every crate may use.
const TESTS: [&str; 2] = ["proptest", "serde_json"];

/// The sections of a manifest, and whether only tests see them.
const SECTIONS: [(&str, bool); 3] =
    [("dependencies", false), ("build-dependencies", false), ("dev-dependencies", true)];

/// Finds manifests that name what their row does not allow.
pub fn check(files: &[Kept]) -> Vec<Finding> {
    let manifests =
        files.iter().filter(|f| f.path.starts_with("crates/") && f.path.ends_with("/Cargo.toml"));
    let mut found: Vec<Finding> = manifests.clone().flat_map(check_manifest).collect();
    if let (Some(page), Some(xtask)) = (
        pinned(manifests.clone(), "crates/page/Cargo.toml", "wasm-bindgen"),
        pinned(manifests, "crates/xtask/Cargo.toml", "wasm-bindgen-cli-support"),
    ) && page != xtask
    {
        let words = format!("wants wasm-bindgen {page}, and xtask its glue at {xtask}; name one");
        found.push(Finding::new("crates/page/Cargo.toml", 0, words));
    }
    found
}

fn check_manifest(file: &Kept) -> Vec<Finding> {
    let folder = file.path.split('/').nth(1).unwrap_or("");
    let Some(manifest) = parsed(file) else {
        return vec![Finding::new(&file.path, 0, "cannot be parsed as TOML")];
    };
    let Some(row) = TABLE.iter().find(|row| row.name == folder) else {
        return vec![Finding::new(&file.path, 0, "is not in the table of crates")];
    };
    let named = SECTIONS.iter().flat_map(|(section, tests)| {
        sections(&manifest, section).into_iter().map(move |name| (name, *tests))
    });
    named
        .filter(|(name, tests)| !allowed(row, name, *tests))
        .map(|(name, _)| {
            let may = row.uses.join(", ");
            let words = format!("uses {name}; {folder} may use: {may}");
            Finding::new(&file.path, line_of(file, &name), words)
        })
        .collect()
}

fn allowed(row: &Row, name: &str, tests: bool) -> bool {
    row.uses.contains(&name) || tests && (row.tests.contains(&name) || TESTS.contains(&name))
}

/// The names in a section, for every platform.
fn sections(manifest: &toml::Table, section: &str) -> Vec<String> {
    let names = |table: &toml::Table| -> Vec<String> {
        let section = table.get(section).and_then(toml::Value::as_table);
        section.map(|s| s.iter().map(|(name, v)| real_name(name, v)).collect()).unwrap_or_default()
    };
    let mut found = names(manifest);
    let targets = manifest.get("target").and_then(toml::Value::as_table);
    for target in targets.into_iter().flat_map(toml::Table::values) {
        found.extend(target.as_table().map(names).unwrap_or_default());
    }
    found
}

/// The crate's own name, where the manifest calls it by another.
fn real_name(name: &str, value: &toml::Value) -> String {
    let package = value.get("package").and_then(toml::Value::as_str);
    package.unwrap_or(name).to_owned()
}

fn line_of(file: &Kept, name: &str) -> usize {
    let text = file.text.as_deref().unwrap_or("");
    let begins = |line: &str| {
        let rest = line.trim().strip_prefix(name);
        rest.is_some_and(|rest| rest.starts_with([' ', '.', '=']))
    };
    text.lines().position(begins).map_or(0, |at| at + 1)
}

fn parsed(file: &Kept) -> Option<toml::Table> {
    file.text.as_deref()?.parse().ok()
}

/// The version that a manifest asks of a dependency.
fn pinned<'a>(
    mut manifests: impl Iterator<Item = &'a Kept>,
    path: &str,
    name: &str,
) -> Option<String> {
    let manifest = parsed(manifests.find(|file| file.path == path)?)?;
    let wanted = manifest.get("dependencies")?.get(name)?;
    let version = wanted.get("version").unwrap_or(wanted).as_str()?;
    Some(version.to_owned())
}

#[cfg(test)]
mod tests {
    use super::super::tests::kept_file;
    use super::*;

    fn words(folder: &str, manifest: &str) -> Vec<(usize, String)> {
        let found = check(&[kept_file(&format!("crates/{folder}/Cargo.toml"), manifest)]);
        found.into_iter().map(|f| (f.line, f.words)).collect()
    }

    #[test]
    fn a_dependency_against_the_data_s_direction_is_found_at_its_line() {
        let found = words("record", "[dependencies]\nfield.workspace = true\n");
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].0, 2);
        assert!(found[0].1.starts_with("uses field"), "{}", found[0].1);
    }

    #[test]
    fn a_heavy_dependency_outside_its_crate_is_found_for_every_platform_and_name() {
        let target = "[target.'cfg(unix)'.dependencies]\nnalgebra = \"1\"\n";
        assert_eq!(words("signal", target).len(), 1);
        let renamed = "[dependencies]\nlibm = { package = \"rustfft\", version = \"6\" }\n";
        assert_eq!(words("field", renamed).len(), 1);
        assert_eq!(words("field", "[build-dependencies]\ncc = \"1\"\n").len(), 1);
    }

    #[test]
    fn what_the_table_allows_passes_and_tests_may_use_more() {
        let manifest = "[dependencies]\nrecord = { path = \"../record\" }\nlibm.workspace = true\n\
                        [dev-dependencies]\nproptest.workspace = true\n";
        assert_eq!(words("clean", manifest), []);
        assert_eq!(words("clean", "[dependencies]\nproptest = \"1\"\n").len(), 1);
    }

    #[test]
    fn a_crate_that_the_table_does_not_know_and_a_broken_manifest_are_found() {
        assert_eq!(words("helpers", "[package]\n").len(), 1);
        assert_eq!(words("field", "[dependencies\n").len(), 1);
    }

    #[test]
    fn two_versions_of_the_glue_are_found() {
        let page = "[dependencies]\nwasm-bindgen = { version = \"=0.2.1\" }\n";
        let files = |other: &str| {
            let xtask = format!("[dependencies]\nwasm-bindgen-cli-support = \"{other}\"\n");
            [
                kept_file("crates/page/Cargo.toml", page),
                kept_file("crates/xtask/Cargo.toml", &xtask),
            ]
        };
        assert_eq!(check(&files("=0.2.2")).len(), 1);
        assert_eq!(check(&files("=0.2.1")), []);
    }

    #[test]
    fn no_crate_is_used_by_one_that_stands_before_it() {
        for (at, row) in TABLE.iter().enumerate() {
            let later = TABLE.iter().skip(at).map(|other| other.name);
            let later: Vec<&str> = later.filter(|name| row.uses.contains(name)).collect();
            assert_eq!(later, Vec::<&str>::new(), "{}", row.name);
        }
    }
}
