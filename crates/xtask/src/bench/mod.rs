//! `bench`: how long our work takes on this machine.
//!
//! First the page's own work on the demo log; then the shared tasks, in one
//! run: general-purpose libraries in Python, our functions natively, the same
//! in Chromium, and the ratios.  With `--page`, what is published instead.

mod compare;
mod own;
mod page;
mod shared;

use crate::arguments::Arguments;
use crate::halt::Halt;
use crate::{place, run};
use std::path::Path;

/// Timed runs of a shared task, unless another number is asked for.
const RUNS: u32 = 5;

/// numpy asks the system for large pages whenever it makes a long array; so that
/// the first touch of memory costs both sides the same, ours does as well, where
/// the system's library knows the wish.
const LARGE_PAGES: (&str, &str) = ("GLIBC_TUNABLES", "glibc.malloc.hugetlb=1");

/// Measures; started from a quick build, or without the wish for large pages, it
/// starts itself anew.
pub fn command(root: &Path, mut arguments: Arguments) -> Result<(), Halt> {
    if arguments.flag("--page") {
        let as_built = arguments.flag("--as-built");
        arguments.nothing_left()?;
        return page::print(root, as_built);
    }
    if cfg!(debug_assertions) || std::env::var_os(LARGE_PAGES.0).is_none() {
        let mut cargo = place::cargo();
        cargo.env(LARGE_PAGES.0, LARGE_PAGES.1);
        cargo.args(["run", "--quiet", "--release", "--package", "xtask", "--", "bench"]);
        cargo.args(arguments.files_and_options());
        return run::passed_through(cargo.current_dir(root));
    }
    let only_own = arguments.flag("--own");
    let tasks = arguments.value("--tasks")?;
    let runs = match arguments.value("--runs")? {
        None => RUNS,
        Some(text) => text.parse().map_err(|_| {
            Halt::new(format!("--runs {text} is not a number."), "Give a number from 0.")
        })?,
    };
    arguments.nothing_left()?;
    if tasks.is_none() {
        own::print()?;
    }
    if only_own {
        return Ok(());
    }
    shared::print(root, tasks.as_deref(), runs)
}
