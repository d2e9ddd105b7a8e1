//! The browser that the page's tests drive.

use super::debian;
use crate::halt::Halt;
use crate::place;
use std::path::PathBuf;

const NAMES: [&str; 4] = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable"];

/// The browser's program: the one that `CHROMIUM` names, else the first on the
/// path, else Debian's, installed.
pub fn ensure() -> Result<PathBuf, Halt> {
    if let Some(named) = std::env::var_os("CHROMIUM").map(PathBuf::from) {
        return if named.is_file() {
            Ok(named)
        } else {
            Err(Halt::new(
                format!("CHROMIUM names {}, which is not a file.", named.display()),
                "Name a Chromium program, or leave the variable unset.",
            ))
        };
    }
    if let Some(found) = place::program(&NAMES) {
        return Ok(found);
    }
    // Fonts come along, or every text in a figure would be drawn as boxes.
    debian::install(&["chromium", "fonts-liberation"], "for the browser tests")?;
    place::program(&NAMES).ok_or_else(|| {
        Halt::new("Chromium was installed, and is not on the path.", "Set CHROMIUM to its program.")
    })
}
