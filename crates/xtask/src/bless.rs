//! `bless`: lets the tests rewrite the outputs they compare with, for a person to review.

use crate::arguments::Arguments;
use crate::halt::Halt;
use crate::{place, run};
use std::path::Path;
use std::process::Command;

/// What tells the tests to write instead of comparing.
const VARIABLE: &str = "FIGURE_BLESS";

/// Runs the tests of the named crate, of `figure` when none is named, and
/// shows which kept outputs changed.
pub fn command(root: &Path, arguments: Arguments) -> Result<(), Halt> {
    let named = arguments.files()?;
    let crates = if named.is_empty() { vec!["figure".to_owned()] } else { named };
    let mut cargo = place::cargo();
    cargo.arg("test").args(crates.iter().flat_map(|name| ["--package", name.as_str()]));
    run::shown(cargo.env(VARIABLE, "1").current_dir(root))?;
    let mut git = Command::new("git");
    let changed =
        run::asked(git.args(["status", "--short", "--", "crates", "tests"]).current_dir(root))?;
    println!("{changed}");
    println!("Read what changed as one reads code, before it is committed.");
    Ok(())
}
