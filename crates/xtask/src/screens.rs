//! `screens`: photographs of every state of the page, for looking at.
//!
//! Each state at three sizes, light and dark, goes to `tests/out/screens`,
//! with a sheet for each; the states and the ways to them stand in
//! `tests/page/screens`.  Nothing is judged here but that each can be reached.

use crate::arguments::Arguments;
use crate::engine::{self, Build};
use crate::halt::Halt;
use crate::run;
use crate::setup::{browsers, node};
use std::path::Path;

/// Photographs every state, or with `--only A,B` those whose names begin so.
pub fn command(root: &Path, mut arguments: Arguments) -> Result<(), Halt> {
    let only = arguments.value("--only")?.unwrap_or_default();
    arguments.nothing_left()?;
    engine::build(root, Build::Serve, &root.join("www/pkg"))?;
    node::packages(root)?;
    let program = browsers::chromium()?;
    let mut screens = node::command("node", root);
    screens.arg("tests/page/screens.mjs").args(beginnings(&only));
    run::passed_through(screens.env("CHROMIUM", program).current_dir(root))
}

fn beginnings(only: &str) -> impl Iterator<Item = &str> {
    only.split(',').filter(|name| !name.is_empty())
}

#[cfg(test)]
mod tests {
    #[test]
    fn states_are_picked_by_their_beginnings_and_none_means_all() {
        let picked = |only| super::beginnings(only).collect::<Vec<_>>();
        assert_eq!(picked("plate-spectrum,help"), ["plate-spectrum", "help"]);
        assert!(picked("").is_empty());
    }
}
