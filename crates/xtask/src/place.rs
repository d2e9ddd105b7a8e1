//! Where things stand: the workspace root, the build folder, programs on the path.
//!
//! Looks, and changes nothing.

use crate::halt::Halt;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The workspace root: the nearest folder, from here upwards, that holds both
/// the workspace manifest and `crates/xtask`.
pub fn root() -> Result<PathBuf, Halt> {
    let here = std::env::current_dir()
        .map_err(|error| Halt::new(format!("There is no current folder: {error}."), ""))?;
    root_above(&here).ok_or_else(|| {
        Halt::new(
            format!("{} is not inside the project.", here.display()),
            "Run the command from the project's folder.",
        )
    })
}

fn root_above(here: &Path) -> Option<PathBuf> {
    let is_root =
        |p: &&Path| p.join("Cargo.toml").is_file() && p.join("crates/xtask/Cargo.toml").is_file();
    here.ancestors().find(is_root).map(Path::to_path_buf)
}

/// The cargo that runs this command, or the one on the path.
pub fn cargo() -> Command {
    Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
}

/// The folder into which cargo builds.
pub fn target_folder(root: &Path) -> Result<PathBuf, Halt> {
    let out = cargo()
        .args(["metadata", "--no-deps", "--format-version", "1"])
        .current_dir(root)
        .output()
        .map_err(|error| Halt::new(format!("cargo did not start: {error}."), "Install Rust."))?;
    let text = String::from_utf8_lossy(&out.stdout);
    serde_json::from_str::<serde_json::Value>(&text)
        .ok()
        .and_then(|v| v.get("target_directory").and_then(|d| d.as_str()).map(PathBuf::from))
        .ok_or_else(|| {
            let said = String::from_utf8_lossy(&out.stderr).trim().to_owned();
            Halt::new(format!("cargo could not read the workspace: {said}"), "")
        })
}

/// The first program of these names on the path.
pub fn program(names: &[&str]) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    names.iter().flat_map(|name| folders.iter().map(move |f| f.join(name))).find(|p| p.is_file())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_root_is_found_from_a_folder_deep_inside() {
        let here = Path::new(env!("CARGO_MANIFEST_DIR"));
        let found = root_above(&here.join("src")).expect("found");
        assert_eq!(found, here.parent().and_then(Path::parent).expect("two up"));
    }

    #[test]
    fn a_folder_outside_the_project_has_no_root() {
        assert_eq!(root_above(Path::new("/")), None);
    }

    #[test]
    fn a_program_that_does_not_exist_is_not_found_and_cargo_is() {
        assert_eq!(program(&["no-such-program-lodelog"]), None);
        assert!(program(&["cargo"]).is_some());
    }
}
