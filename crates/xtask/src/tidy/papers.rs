//! What the papers name exists: files, folders, and commands of this program.

use super::{Finding, Kept};

/// Where a path in a paper begins.
const FOLDERS: [&str; 4] = ["crates/", "www/", "demo-data/", "tests/"];

/// What is made on the spot, and so is not kept.
const MADE: [&str; 5] = [
    "www/pkg",
    "tests/.venv",
    "tests/out",
    "tests/page/node_modules",
    "demo-data/tern-skerry-60-days.csv",
];

/// Finds paths and commands in Markdown files that nothing stands behind.
pub fn check(files: &[Kept], help: &str) -> Vec<Finding> {
    let papers = files.iter().filter(|file| file.ending() == "md");
    let mut found = Vec::new();
    for paper in papers {
        for (at, line) in paper.text.as_deref().unwrap_or("").lines().enumerate() {
            let missing = paths(line).filter(|path| !exists(files, path));
            let missing = missing.map(|path| format!("names {path}, which does not exist"));
            let unknown = commands(line).filter(|word| !is_command(help, word));
            let unknown = unknown.map(|word| format!("names `cargo xtask {word}`, no command"));
            found.extend(missing.chain(unknown).map(|w| Finding::new(&paper.path, at + 1, w)));
        }
    }
    found
}

/// The paths on a line, without the full stop of their sentence.
fn paths(line: &str) -> impl Iterator<Item = &str> {
    let outside = |c: char| !(c.is_ascii_alphanumeric() || "._-/".contains(c));
    let words = line.split(outside).map(|word| word.trim_end_matches('.'));
    words.filter(|word| FOLDERS.iter().any(|folder| word.starts_with(folder)))
}

/// Whether a path is kept, as a file or as a folder, or is made on the spot.
///
/// Capitals stand for a name of the reader's choice.
fn exists(files: &[Kept], path: &str) -> bool {
    let path = path.trim_end_matches('/');
    let below =
        |kept: &str| kept == path || kept.strip_prefix(path).is_some_and(|r| r.starts_with('/'));
    let chosen = path.split(['/', '_', '.']).any(|part| {
        part.len() > 1 && part.chars().all(|c| c.is_ascii_uppercase()) && part != "README"
    });
    chosen || MADE.iter().any(|made| path.starts_with(made)) || files.iter().any(|f| below(&f.path))
}

/// The words that follow `cargo xtask` on a line.
fn commands(line: &str) -> impl Iterator<Item = &str> {
    let after = line.split("cargo xtask ").skip(1);
    let word = |rest: &'_ str| rest.find(|c: char| !(c.is_ascii_lowercase() || c == '-'));
    after.map(move |rest| &rest[..word(rest).unwrap_or(rest.len())]).filter(|word| !word.is_empty())
}

fn is_command(help: &str, word: &str) -> bool {
    help.lines().any(|line| commands(line).any(|known| known == word))
}

#[cfg(test)]
mod tests {
    use super::super::tests::kept_file;
    use super::*;

    const HELP: &str = "cargo xtask serve [--port N]  build\ncargo xtask demo-data   write\n";

    fn words(text: &str) -> Vec<String> {
        let files =
            [kept_file("README.md", text), kept_file("crates/field/src/lib.rs", "//! A.\n")];
        check(&files, HELP).into_iter().map(|f| f.words).collect()
    }

    #[test]
    fn a_path_that_leads_nowhere_is_found() {
        let found = words("See `crates/field/src/old.rs` and crates/fields.\n");
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(found[0].contains("crates/field/src/old.rs"));
    }

    #[test]
    fn files_folders_chosen_names_and_made_folders_pass() {
        let text = "`crates/field/src/lib.rs`, `crates/field/`, crates/field/src.\n\
                    `crates/NAME/src`, `tests/.venv/bin/python`, ../shared/crates/x\n";
        assert_eq!(words(text), Vec::<String>::new());
    }

    #[test]
    fn a_command_that_is_none_is_found() {
        let found = words("Run `cargo xtask sevre --port 1`, then cargo xtask demo-data.\n");
        assert_eq!(found, ["names `cargo xtask sevre`, no command"]);
        assert_eq!(words("`cargo xtask`, cargo xtask COMMAND, cargo xtask serve\n"), [""; 0]);
    }
}
