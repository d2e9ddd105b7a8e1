//! The top level holds what the project's map names, and nothing else.

use super::{Finding, Kept};
use std::collections::BTreeSet;

const ALLOWED: [&str; 9] = [
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "crates",
    "www",
    "demo-data",
    "tests",
];

/// Finds entries of the top level that are neither on the map nor dot-files.
pub fn check(files: &[Kept]) -> Vec<Finding> {
    let entries: BTreeSet<&str> =
        files.iter().filter_map(|file| file.path.split('/').next()).collect();
    let strange = |entry: &&str| !ALLOWED.contains(entry) && !entry.starts_with('.');
    let words = format!("does not belong at the top level, which holds {}", ALLOWED.join(", "));
    entries.into_iter().filter(strange).map(|e| Finding::new(e, 0, words.as_str())).collect()
}

#[cfg(test)]
mod tests {
    use super::super::tests::kept_file;
    use super::*;

    #[test]
    fn an_entry_that_is_not_on_the_map_is_found_once() {
        let files = [kept_file("notes/a.md", ""), kept_file("notes/b.md", "")];
        let found = check(&files);
        assert_eq!(found.iter().map(|f| f.path.as_str()).collect::<Vec<_>>(), ["notes"]);
    }

    #[test]
    fn the_map_and_dot_files_pass() {
        let files = [kept_file("www/index.html", ""), kept_file(".ci/run", "")];
        assert_eq!(check(&files), []);
    }
}
