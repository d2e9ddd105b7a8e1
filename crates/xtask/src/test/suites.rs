//! The suites, in the order in which they run: the quickest to fail come first.

use crate::dist;
use crate::engine::{self, Build};
use crate::halt::Halt;
use crate::place;
use crate::setup::{browsers, node, python, wasm_target};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Brings what a suite needs and gives its commands.
pub type SetUp<'a> = Box<dyn FnOnce() -> Result<Vec<Command>, Halt> + 'a>;

/// Some commands under one name.
pub struct Suite<'a> {
    /// The name, as `--only` takes it.
    pub name: &'static str,
    /// Whether it runs under `--fast` as well.
    pub is_fast: bool,
    /// What it needs, and what it runs.
    pub set_up: SetUp<'a>,
}

/// Every suite.
pub fn all(root: &Path, is_fast: bool) -> Vec<Suite<'_>> {
    let suite = |name, is_fast, set_up| Suite { name, is_fast, set_up };
    vec![
        suite("tidy", true, Box::new(|| own(root, &["tidy"]))),
        suite("format", true, Box::new(|| Ok(vec![cargo(root, "fmt --all --check")]))),
        suite("lint", true, Box::new(|| lint(root))),
        suite("rust", true, Box::new(|| Ok(vec![cargo(root, "test --no-fail-fast")]))),
        suite("demo-data", true, Box::new(|| own(root, &["demo-data", "--check"]))),
        suite("engine", true, Box::new(move || own(root, engine_words(is_fast)))),
        suite("node", true, Box::new(|| node_tests(root))),
        suite("types", true, Box::new(|| types(root))),
        suite("scripts", true, Box::new(|| scripts(root))),
        suite("reference", false, Box::new(|| references(root))),
        suite("browser", false, Box::new(|| browser(root))),
    ]
}

/// What the page's checks run on: quickly built, or as published and weighed.
fn engine_words(is_fast: bool) -> &'static [&'static str] {
    if is_fast { &["build"] } else { &["dist"] }
}

fn cargo(root: &Path, words: &str) -> Command {
    let mut cargo = place::cargo();
    cargo.args(words.split(' ')).current_dir(root);
    cargo
}

/// Another command of this program.
fn own(root: &Path, words: &[&str]) -> Result<Vec<Command>, Halt> {
    let program = std::env::current_exe()
        .map_err(|error| Halt::new(format!("This program cannot find itself: {error}."), ""))?;
    let mut command = Command::new(program);
    command.args(words).current_dir(root);
    Ok(vec![command])
}

fn lint(root: &Path) -> Result<Vec<Command>, Halt> {
    wasm_target::ensure()?;
    let page = format!("clippy --package page --target {} -- -D warnings", wasm_target::NAME);
    Ok(vec![cargo(root, "clippy --all-targets -- -D warnings"), cargo(root, &page)])
}

/// Builds the engine for a suite that is run alone; in a whole run it stands already.
fn with_engine(root: &Path) -> Result<(), Halt> {
    let folder = root.join("www/pkg");
    if folder.join("page_bg.wasm").is_file() {
        return Ok(());
    }
    engine::build(root, Build::Serve, &folder)
}

fn node_tests(root: &Path) -> Result<Vec<Command>, Halt> {
    with_engine(root)?;
    test_files(root, "tests/page", &[])
}

/// One run of node's test runner over the test files of a folder.
fn test_files(root: &Path, folder: &str, flags: &[&str]) -> Result<Vec<Command>, Halt> {
    node::packages(root)?;
    let files = files_in(root, folder, ".test.mjs")?;
    let mut node = node::command("node", root);
    node.args(["--test", "--test-reporter=spec"]).args(flags).args(files).current_dir(root);
    Ok(vec![node])
}

/// The files in a folder whose names end so, sorted, from the project's folder.
fn files_in(root: &Path, folder: &str, ending: &str) -> Result<Vec<PathBuf>, Halt> {
    let path = root.join(folder);
    let entries = std::fs::read_dir(&path).map_err(|e| Halt::file(&path, "listed", &e))?;
    let names = entries.flatten().map(|entry| entry.file_name().to_string_lossy().into_owned());
    let mut files: Vec<PathBuf> = names
        .filter(|name| name.ends_with(ending))
        .map(|name| Path::new(folder).join(name))
        .collect();
    files.sort();
    if files.is_empty() {
        return Err(Halt::new(format!("{folder} holds no *{ending}."), "Was the folder moved?"));
    }
    Ok(files)
}

/// A tool of `tests/page`, run from the project's folder.
fn page_tool(root: &Path, script: &str, words: &[&str]) -> Command {
    let mut tool = node::command("node", root);
    tool.arg(Path::new("tests/page/node_modules").join(script)).args(words).current_dir(root);
    tool
}

fn types(root: &Path) -> Result<Vec<Command>, Halt> {
    with_engine(root)?;
    node::packages(root)?;
    let check = |side: &str| {
        let project = format!("tests/page/tsconfig.{side}.json");
        page_tool(root, "typescript/bin/tsc", &["--project", &project])
    };
    Ok(vec![check("page"), check("worker")])
}

fn scripts(root: &Path) -> Result<Vec<Command>, Halt> {
    node::packages(root)?;
    let words = ["--config", "tests/page/eslint.config.js", "--max-warnings", "0"];
    let mut eslint = page_tool(root, "eslint/bin/eslint.js", &words);
    eslint.args(["www", "tests/page"]);
    Ok(vec![eslint])
}

/// Each script recomputes its figures and compares them with those kept.
fn references(root: &Path) -> Result<Vec<Command>, Halt> {
    let files = files_in(root, "tests/reference", "_reference.py")?;
    for file in &files {
        let path = root.join(file);
        let text = std::fs::read_to_string(&path).map_err(|e| Halt::file(&path, "read", &e))?;
        checks_itself(file, &text)?;
    }
    let python = python::ensure(root)?;
    let check = |script: PathBuf| {
        let mut command = Command::new(&python);
        command.arg(script).arg("--check").current_dir(root);
        command
    };
    Ok(files.into_iter().map(check).collect())
}

/// Refuses a script that would pass whatever it computes.
fn checks_itself(file: &Path, text: &str) -> Result<(), Halt> {
    let keeps = text.contains("from keeping import keep") && text.contains("keep(\"");
    keeps.then_some(()).ok_or_else(|| {
        Halt::new(
            format!("{} does not compare its figures with those kept.", file.display()),
            "End it with `keep(\"name.json\", figures)` of tests/reference/keeping.py.",
        )
    })
}

fn browser(root: &Path) -> Result<Vec<Command>, Halt> {
    with_engine(root)?;
    // What is published is made anew from the page and the engine as they stand.
    dist::gather(root)?;
    let (program, other) = (browsers::chromium()?, browsers::firefox()?);
    let (driver, screen) = browsers::webkit()?;
    // One file after another: browsers side by side would spoil each other's timings.
    let mut commands = test_files(root, "tests/page/browser", &["--test-concurrency=1"])?;
    for command in &mut commands {
        command.env("CHROMIUM", &program).env("FIREFOX", &other);
        command.env("WEBKIT_DRIVER", &driver).env("XVFB_RUN", &screen);
        // Pages are held against what this program's own replay prints.
        if let Ok(own) = std::env::current_exe() {
            command.env("LODELOG_XTASK", own);
        }
    }
    Ok(commands)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn root() -> PathBuf {
        place::root().expect("the tests run inside the project")
    }

    #[test]
    fn a_fast_run_needs_neither_browser_nor_python() {
        let root = root();
        let suites = all(&root, true);
        let slow = suites.iter().filter(|s| !s.is_fast).map(|s| s.name);
        assert_eq!(slow.collect::<Vec<_>>(), ["reference", "browser"]);
    }

    #[test]
    fn a_reference_script_that_only_writes_is_refused() {
        let file = Path::new("tests/reference/a_reference.py");
        assert!(checks_itself(file, "path.write_text(text)\n").is_err());
        assert_eq!(checks_itself(file, "from keeping import keep\nkeep(\"a.json\", {})\n"), Ok(()));
    }

    #[test]
    fn the_page_s_test_files_are_found_in_order_and_an_empty_folder_is_refused() {
        let files = files_in(&root(), "tests/page", ".test.mjs").expect("listed");
        assert!(files.windows(2).all(|pair| pair[0] < pair[1]));
        assert!(files.contains(&PathBuf::from("tests/page/helpers.test.mjs")));
        assert!(files_in(&root(), "tests/page", ".no-such-ending").is_err());
    }
}
