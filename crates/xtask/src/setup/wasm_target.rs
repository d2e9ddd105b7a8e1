//! The compiler's WebAssembly target.

use crate::halt::Halt;
use crate::run;
use std::path::Path;
use std::process::Command;

/// The target's name.
pub const NAME: &str = "wasm32-unknown-unknown";

/// Adds the target when the compiler lacks it.
pub fn ensure() -> Result<(), Halt> {
    if has_library() {
        return Ok(());
    }
    run::shown(Command::new("rustup").args(["target", "add", NAME])).map_err(|halt| {
        Halt::new(
            format!("The compiler cannot build for {NAME}. {}", halt.message),
            format!("Install Rust with rustup, then: rustup target add {NAME}"),
        )
    })
}

/// Adds the source of the standard library when the compiler lacks it.
pub fn ensure_source() -> Result<(), Halt> {
    let sysroot = run::asked(Command::new("rustc").args(["--print", "sysroot"]))?;
    if Path::new(&sysroot).join("lib/rustlib/src/rust/library/Cargo.lock").is_file() {
        return Ok(());
    }
    run::shown(Command::new("rustup").args(["component", "add", "rust-src"]))
}

fn has_library() -> bool {
    let mut ask = Command::new("rustc");
    ask.args(["--print", "target-libdir", "--target", NAME]);
    run::asked(&mut ask).is_ok_and(|folder| Path::new(&folder).is_dir())
}
