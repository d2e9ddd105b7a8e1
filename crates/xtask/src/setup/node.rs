//! node, npm, and the packages that the page's checks use.
//!
//! Packages come from the lock file of `tests/page`; the optimiser stands apart
//! in `target/tools`, since building the page must not need the tests.

use super::debian;
use crate::halt::Halt;
use crate::{place, run};
use std::path::{Path, PathBuf};
use std::process::Command;

/// The oldest node whose test runner has every flag used here.
const OLDEST: u32 = 20;

/// The optimiser of WebAssembly: npm's `binaryen`, at this version.
const BINARYEN: &str = "132.0.0";

/// Makes sure of node and npm.
pub fn ensure() -> Result<(), Halt> {
    if place::program(&["node"]).is_none() || place::program(&["npm"]).is_none() {
        debian::install(&["nodejs", "npm"], "for the page's checks")?;
    }
    let version = run::asked(Command::new("node").arg("--version"))?;
    match major(&version) {
        Some(found) if found >= OLDEST => Ok(()),
        _ => Err(Halt::new(
            format!("node is {version}; the page's tests need {OLDEST} or newer."),
            "Install a newer node.",
        )),
    }
}

fn major(version: &str) -> Option<u32> {
    version.trim_start_matches('v').split('.').next()?.parse().ok()
}

/// Installs the packages of `tests/page` exactly as its lock file names them.
pub fn packages(root: &Path) -> Result<(), Halt> {
    ensure()?;
    let page = root.join("tests/page");
    let lock = read(&page.join("package-lock.json"))?;
    let stamp = page.join("node_modules/.installed-from");
    if std::fs::read_to_string(&stamp).is_ok_and(|done| done == lock) {
        return Ok(());
    }
    let mut ci = Command::new("npm");
    ci.args(["ci", "--no-audit", "--no-fund", "--ignore-scripts"]);
    run::shown(ci.current_dir(&page))?;
    std::fs::write(&stamp, lock).map_err(|error| Halt::file(&stamp, "written", &error))
}

fn read(path: &Path) -> Result<String, Halt> {
    std::fs::read_to_string(path).map_err(|error| Halt::file(path, "read", &error))
}

/// The optimiser's program; installed when missing.
pub fn wasm_opt(root: &Path) -> Result<PathBuf, Halt> {
    ensure()?;
    let tools = root.join("target/tools");
    let program = tools.join("node_modules/.bin/wasm-opt");
    let manifest = tools.join("node_modules/binaryen/package.json");
    let wanted = format!("\"version\": \"{BINARYEN}\"");
    if program.exists() && std::fs::read_to_string(&manifest).is_ok_and(|m| m.contains(&wanted)) {
        return Ok(program);
    }
    std::fs::create_dir_all(&tools).map_err(|error| Halt::file(&tools, "made", &error))?;
    let mut install = Command::new("npm");
    install.args(["install", "--no-audit", "--no-fund", "--no-save", "--no-package-lock"]);
    install.arg("--prefix").arg(&tools).arg(format!("binaryen@{BINARYEN}"));
    run::shown(install.current_dir(&tools))?;
    Ok(program)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_major_version_is_read_from_what_node_prints() {
        assert_eq!(major("v20.20.2"), Some(20));
        assert_eq!(major("v8.0.0"), Some(8));
        assert_eq!(major("node"), None);
    }
}
