//! Python with the packages of `tests/reference/requirements.txt`, in `tests/.venv`.

use super::debian;
use crate::halt::Halt;
use crate::{place, run};
use std::path::{Path, PathBuf};
use std::process::Command;

/// The Python of `tests/.venv`, made or brought up to date when needed.
pub fn ensure(root: &Path) -> Result<PathBuf, Halt> {
    let folder = root.join("tests/.venv");
    let python = folder.join("bin/python");
    let list = root.join("tests/reference/requirements.txt");
    let wanted =
        std::fs::read_to_string(&list).map_err(|error| Halt::file(&list, "read", &error))?;
    let stamp = folder.join("installed-from");
    if python.exists() && std::fs::read_to_string(&stamp).is_ok_and(|done| done == wanted) {
        return Ok(python);
    }
    if !python.exists() {
        make(&folder)?;
    }
    let mut install = Command::new(&python);
    install.args(["-m", "pip", "install", "--quiet", "--only-binary", ":all:", "-r"]).arg(&list);
    run::shown(&mut install)?;
    std::fs::write(&stamp, wanted).map_err(|error| Halt::file(&stamp, "written", &error))?;
    Ok(python)
}

fn make(folder: &Path) -> Result<(), Halt> {
    let make = || run::shown(Command::new("python3").args(["-m", "venv"]).arg(folder));
    if place::program(&["python3"]).is_some() && make().is_ok() {
        return Ok(());
    }
    // Debian splits the part of Python that makes environments from the rest.
    debian::install(&["python3", "python3-venv"], "for the reference checks")?;
    make()
}
