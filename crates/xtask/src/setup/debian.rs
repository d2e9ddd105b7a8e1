//! Debian packages: installed when this is root on Debian, asked for otherwise.

use crate::halt::Halt;
use crate::{place, run};
use std::process::Command;

/// Installs packages by name, or says which ones are missing.
///
/// * `packages` - names as Debian has them
/// * `purpose` - what they are for, as in "for the browser tests"
pub fn install(packages: &[&str], purpose: &str) -> Result<(), Halt> {
    let names = packages.join(" ");
    if place::program(&["apt-get"]).is_none() || !is_root() {
        return Err(Halt::new(
            format!("Needed {purpose} and not found: {names}."),
            format!("Install it (on Debian, as root: apt-get install {names})."),
        ));
    }
    let mut update = Command::new("apt-get");
    run::shown(update.args(["update", "-qq"]))?;
    let mut install = Command::new("apt-get");
    install.args(["install", "-y", "-qq", "--no-install-recommends"]).args(packages);
    run::shown(install.env("DEBIAN_FRONTEND", "noninteractive"))
}

fn is_root() -> bool {
    run::asked(Command::new("id").arg("-u")).is_ok_and(|id| id == "0")
}
