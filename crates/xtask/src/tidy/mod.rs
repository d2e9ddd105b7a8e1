//! `tidy`: the habits that a compiler does not check.
//!
//! Reads every file that the project keeps (tracked, or new and not ignored)
//! and changes none.  One rule a file; each rule's tests show that it fires.

mod crates;
mod functions;
mod headers;
mod page;
mod papers;
mod sizes;
mod text;
mod top;
mod words;

use crate::arguments::Arguments;
use crate::halt::Halt;
use crate::run;
use std::fmt;
use std::path::Path;
use std::process::Command;

/// One broken habit: where, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// The file, from the project's folder, with `/`.
    pub path: String,
    /// The line, from 1; 0 when it is the whole file.
    pub line: usize,
    /// What is wrong, and what is wanted.
    pub words: String,
}

impl Finding {
    /// A finding at a line, from 1; 0 for the whole file.
    pub fn new(path: &str, line: usize, words: impl Into<String>) -> Self {
        Self { path: path.to_owned(), line, words: words.into() }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}: {}", self.path, self.words),
            line => write!(f, "{}:{line}: {}", self.path, self.words),
        }
    }
}

/// A file that the project keeps.
#[derive(Clone, Debug)]
pub struct Kept {
    /// From the project's folder, with `/`.
    pub path: String,
    /// Bytes.
    pub length: u64,
    /// Its text; `None` when it is not UTF-8 or holds a zero byte.
    pub text: Option<String>,
}

impl Kept {
    /// What stands after the last dot of the name; empty without one.
    pub fn ending(&self) -> &str {
        let name = self.path.rsplit('/').next().unwrap_or("");
        name.rsplit_once('.').map_or("", |(_, ending)| ending)
    }

    /// Data kept as it is, faults and all: no rule about text applies.
    pub fn is_data(&self) -> bool {
        ["demo-data/", "tests/corpus/", "tests/kept/"]
            .iter()
            .any(|below| self.path.starts_with(below))
            && self.ending() != "md"
    }
}

/// Checks every kept file; prints what was found and fails when there is any.
pub fn command(root: &Path, arguments: Arguments) -> Result<(), Halt> {
    arguments.nothing_left()?;
    let files = kept(root)?;
    let found = findings(&files);
    for finding in &found {
        println!("{finding}");
    }
    println!("tidy: {} files, {} findings", files.len(), found.len());
    match found.len() {
        0 => Ok(()),
        n => Err(Halt::new(format!("tidy found {n} broken habits."), "They are listed above.")),
    }
}

/// Everything found, rule by rule, in the order of the files.
pub fn findings(files: &[Kept]) -> Vec<Finding> {
    let mut found = top::check(files);
    found.extend(crates::check(files));
    found.extend(papers::check(files, crate::HELP));
    found.extend(words::check(files));
    for file in files {
        found.extend(sizes::check(file));
        found.extend(headers::check(file));
        found.extend(text::check(file));
        found.extend(functions::check(file));
        found.extend(page::check(file));
    }
    found
}

fn kept(root: &Path) -> Result<Vec<Kept>, Halt> {
    let mut git = Command::new("git");
    git.args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"]);
    let listed = run::asked(git.current_dir(root))?;
    let mut paths: Vec<&str> = listed.split('\0').filter(|path| !path.is_empty()).collect();
    paths.sort_unstable();
    paths.dedup();
    // What is listed and gone is about to leave the list as well.
    Ok(paths.into_iter().filter_map(|path| read(root, path)).collect())
}

fn read(root: &Path, path: &str) -> Option<Kept> {
    let bytes = std::fs::read(root.join(path)).ok()?;
    let length = bytes.len() as u64;
    let text = String::from_utf8(bytes).ok().filter(|text| !text.contains('\0'));
    Some(Kept { path: path.to_owned(), length, text })
}

#[cfg(test)]
pub mod tests {
    use super::*;

    /// A file for a test.
    pub fn kept_file(path: &str, text: &str) -> Kept {
        Kept { path: path.into(), length: text.len() as u64, text: Some(text.into()) }
    }

    #[test]
    fn a_finding_names_its_file_its_line_and_the_fault() {
        let found = findings(&[kept_file("crates/a/src/x.rs", "//! A.\nfn f() {} \n")]);
        let lines: Vec<String> = found.iter().map(ToString::to_string).collect();
        assert_eq!(lines, ["crates/a/src/x.rs:2: ends with blanks; take them away"]);
    }

    #[test]
    fn the_ending_is_what_stands_after_the_last_dot_of_the_name() {
        assert_eq!(kept_file("a.b/c", "").ending(), "");
        assert_eq!(kept_file("a/b.test.mjs", "").ending(), "mjs");
    }
}
