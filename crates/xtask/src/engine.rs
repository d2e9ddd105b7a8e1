//! Builds the engine for the page: compile, bind, optimise.
//!
//! In goes `crates/page`; out come `page.js`, `page.d.ts` and `page_bg.wasm`
//! in a folder of the caller's choice.  The glue is an ES module that the page
//! and its worker both import.

use crate::arguments::Arguments;
use crate::halt::Halt;
use crate::setup::{node, wasm_target};
use crate::{place, run};
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

/// What the optimiser may use: what every browser of the floor understands
/// (Chrome 109, Firefox 115, Safari 16.4).
const FEATURES: [&str; 7] = [
    "--enable-bulk-memory",
    "--enable-nontrapping-float-to-int",
    "--enable-sign-ext",
    "--enable-mutable-globals",
    "--enable-reference-types",
    "--enable-multivalue",
    "--enable-simd",
];

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
    bind(&wasm, package, folder)?;
    if how == Build::Dist {
        optimise(root, &folder.join(format!("{package}_bg.wasm")))?;
    }
    Ok(())
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

fn bind(wasm: &Path, package: &str, folder: &Path) -> Result<(), Halt> {
    let mut bindgen = Bindgen::new();
    bindgen
        .input_path(wasm)
        .out_name(package)
        .typescript(true)
        .web(true)
        .and_then(|b| b.generate(folder))
        .map_err(|error| {
            Halt::new(
                format!("The glue for {} could not be written: {error:#}", wasm.display()),
                "crates/page and crates/xtask must name the same version of wasm-bindgen.",
            )
        })
}

fn optimise(root: &Path, wasm: &Path) -> Result<(), Halt> {
    let small = wasm.with_extension("wasm.small");
    let mut opt = node::wasm_opt(root)?;
    run::shown(opt.args(["-Os", "--converge"]).args(FEATURES).arg(wasm).arg("-o").arg(&small))?;
    std::fs::rename(&small, wasm).map_err(|error| Halt::file(wasm, "replaced", &error))
}
