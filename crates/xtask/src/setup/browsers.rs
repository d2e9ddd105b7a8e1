//! The browsers that the page's tests drive.

use super::debian;
use crate::halt::Halt;
use crate::place;
use std::path::{Path, PathBuf};

/// A browser and where it comes from.
struct Browser {
    name: &'static str,
    /// The variable that may name its program.
    variable: &'static str,
    programs: &'static [&'static str],
    packages: &'static [&'static str],
}

const CHROMIUM: Browser = Browser {
    name: "Chromium",
    variable: "CHROMIUM",
    programs: &["chromium", "chromium-browser", "google-chrome", "google-chrome-stable"],
    // Fonts come along, or every text in a figure would be drawn as boxes.
    packages: &["chromium", "fonts-liberation"],
};

const FIREFOX: Browser = Browser {
    name: "Firefox",
    variable: "FIREFOX",
    programs: &["firefox-esr", "firefox"],
    packages: &["firefox-esr"],
};

const WEBKIT: Browser = Browser {
    name: "WebKit's driver",
    variable: "WEBKIT_DRIVER",
    programs: &["WebKitWebDriver"],
    // Its small browser comes along.
    packages: &["webkit2gtk-driver"],
};

/// WebKit shows its window, if only on a screen in memory.
const SCREEN: Browser = Browser {
    name: "A screen in memory",
    variable: "XVFB_RUN",
    programs: &["xvfb-run"],
    packages: &["xvfb", "xauth"],
};

/// Chromium's program: the one that `CHROMIUM` names, else the first on the path, else
/// Debian's, installed.
pub fn chromium() -> Result<PathBuf, Halt> {
    ensure(&CHROMIUM)
}

/// Firefox's program, found likewise; `FIREFOX` may name it.
pub fn firefox() -> Result<PathBuf, Halt> {
    ensure(&FIREFOX)
}

/// What languages are made from, which WebKit takes from the machine.
const LANGUAGES: &str = "/usr/share/i18n/locales/ar_EG";

/// WebKit's driver and a screen for it; `WEBKIT_DRIVER` and `XVFB_RUN` may name them.
pub fn webkit() -> Result<(PathBuf, PathBuf), Halt> {
    if !Path::new(LANGUAGES).exists() {
        debian::install(&["locales"], "for the languages of a browser")?;
    }
    Ok((ensure(&WEBKIT)?, ensure(&SCREEN)?))
}

fn ensure(browser: &Browser) -> Result<PathBuf, Halt> {
    let Browser { name, variable, programs, packages } = browser;
    if let Some(named) = std::env::var_os(variable).map(PathBuf::from) {
        return if named.is_file() {
            Ok(named)
        } else {
            Err(Halt::new(
                format!("{variable} names {}, which is not a file.", named.display()),
                format!("Name a program of {name}, or leave the variable unset."),
            ))
        };
    }
    if let Some(found) = place::program(programs) {
        return Ok(found);
    }
    debian::install(packages, "for the browser tests")?;
    place::program(programs).ok_or_else(|| {
        Halt::new(
            format!("{name} was installed, and is not on the path."),
            format!("Set {variable} to its program."),
        )
    })
}
