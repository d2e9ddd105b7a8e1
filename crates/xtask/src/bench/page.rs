//! `bench --page`: what a visitor downloads and how long a visitor waits.
//!
//! The sizes are those of what is published; the times are taken in Chromium
//! by `tests/page/bench.mjs`, on the same files, at full pace and at a quarter
//! of it.  On a busy machine the times say little: the load is printed first.

use crate::halt::Halt;
use crate::setup::{browsers, node};
use crate::{dist, run};
use std::path::Path;

/// Builds what is published, unless it is to be taken as built, and measures it.
pub fn print(root: &Path, as_built: bool) -> Result<(), Halt> {
    let published = if as_built { dist::gather(root)? } else { dist::build(root)? };
    print!("{}", published.table());
    node::packages(root)?;
    let program = browsers::chromium()?;
    if let Ok(load) = std::fs::read_to_string("/proc/loadavg") {
        println!("load of this machine before: {}", first_words(&load, 3));
    }
    let mut bench = node::command("node", root);
    bench.arg("tests/page/bench.mjs").env("CHROMIUM", program).current_dir(root);
    run::passed_through(&mut bench)?;
    published.judge()
}

fn first_words(text: &str, count: usize) -> String {
    text.split_whitespace().take(count).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_load_is_the_first_three_figures() {
        assert_eq!(super::first_words("0.10 0.20 0.30 1/100 5\n", 3), "0.10 0.20 0.30");
    }
}
