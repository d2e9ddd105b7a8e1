//! Builds the engine for the page: compile and bind.
//!
//! In goes `crates/page`; out come `page.js`, `page.d.ts` and `page_bg.wasm`
//! in a folder of the caller's choice.  The glue is an ES module that the page
//! and its worker both import.

use crate::arguments::Arguments;
use crate::halt::Halt;
use crate::setup::wasm_target;
use crate::{loops, place, run};
use std::path::{Path, PathBuf};
use wasm_bindgen_cli_support::Bindgen;

/// How much work goes into the engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Build {
    /// Quick to build: for work on the page.
    Serve,
    /// Small and fast: what is published.
    Dist,
}

impl Build {
    fn profile(self) -> &'static str {
        match self {
            Self::Serve => "serve",
            Self::Dist => "dist",
        }
    }
}

/// What is published brings a standard library of its own, compiled for size, whose
/// panics stop the module without writing a message first: 70 kB less to download.
/// Both wait to be stabilised, so a compiler that knows neither builds as usual.
const OWN_LIBRARY: [&str; 4] =
    ["-Z", "build-std=std,panic_abort", "-Z", "build-std-features=optimize_for_size"];
const FOR_SIZE: [(&str, &str); 2] = [
    ("RUSTC_BOOTSTRAP", "1"),
    ("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS", "-Zunstable-options -Cpanic=immediate-abort"),
];

/// `build`: the engine into `www/pkg`, quickly or as published.
pub fn command(root: &Path, mut arguments: Arguments) -> Result<(), Halt> {
    let how = if arguments.flag("--dist") { Build::Dist } else { Build::Serve };
    arguments.nothing_left()?;
    build(root, how, &root.join("www/pkg"))
}

/// Builds the engine into `folder`, replacing what stood there.
pub fn build(root: &Path, how: Build, folder: &Path) -> Result<(), Halt> {
    build_of(root, "page", how, folder)
}

/// Builds the module of a package into `folder`, its files named after it.
pub fn build_of(root: &Path, package: &str, how: Build, folder: &Path) -> Result<(), Halt> {
    wasm_target::ensure()?;
    let wasm = compile(root, package, how)?;
    if folder.exists() {
        std::fs::remove_dir_all(folder).map_err(|e| Halt::file(folder, "cleared", &e))?;
    }
    bind(&wasm, package, how, folder)?;
    check_loops(&folder.join(format!("{package}_bg.wasm")))
}

fn check_loops(wasm: &Path) -> Result<(), Halt> {
    let module = std::fs::read(wasm).map_err(|error| Halt::file(wasm, "read", &error))?;
    match loops::count(&module) {
        Ok(loops) if loops.over_operands == 0 => Ok(()),
        Ok(loops) => Err(Halt::new(
            format!(
                "{} of {} loops in {} begin while operands wait.",
                loops.over_operands,
                loops.all,
                wasm.display()
            ),
            "WebKit 2.50 works some of them out wrong: see crates/xtask/src/loops.rs.",
        )),
        Err(error) => Err(Halt::new(
            format!("{} is no module: {error}.", wasm.display()),
            "Build again; if it stays so, the compiler and `wasm-bindgen` do not fit.",
        )),
    }
}

fn compile(root: &Path, package: &str, how: Build) -> Result<PathBuf, Halt> {
    let plain = || {
        let mut cargo = place::cargo();
        cargo.args(["build", "--package", package, "--target", wasm_target::NAME, "--profile"]);
        cargo.arg(how.profile()).current_dir(root);
        cargo
    };
    let mut small = plain();
    small.args(OWN_LIBRARY).envs(FOR_SIZE);
    let is_small = how == Build::Dist
        && (wasm_target::ensure_source().and_then(|()| run::shown(&mut small)))
            .inspect_err(|halt| eprintln!("The engine comes out larger than it could be: {halt}"))
            .is_ok();
    if !is_small {
        run::shown(&mut plain())?;
    }
    let target = place::target_folder(root)?;
    Ok(target.join(wasm_target::NAME).join(how.profile()).join(format!("{package}.wasm")))
}

/// Writes the glue, and the module as the compiler left it: no optimiser comes after.
/// What one made of it was smaller only until it was packed, and had loops that WebKit
/// does not always work out right (see `loops`).
fn bind(wasm: &Path, package: &str, how: Build, folder: &Path) -> Result<(), Halt> {
    let mut bindgen = Bindgen::new();
    bindgen
        .input_path(wasm)
        .out_name(package)
        .typescript(true)
        .remove_name_section(how == Build::Dist)
        .remove_producers_section(how == Build::Dist)
        .web(true)
        .and_then(|b| b.generate(folder))
        .map_err(|error| {
            Halt::new(
                format!("The glue for {} could not be written: {error:#}", wasm.display()),
                "crates/page and crates/xtask must name the same version of wasm-bindgen.",
            )
        })
}
