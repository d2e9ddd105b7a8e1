//! Builds, serves, tests and checks the project: `cargo xtask COMMAND`.
//!
//! One command a file.  Commands may read and write the project's folder and
//! run other programs; the engine's crates may do neither.
#![allow(clippy::print_stdout, reason = "a command line's answer goes to standard output")]

mod arguments;
mod bench;
mod bless;
mod demo_data;
mod dist;
mod engine;
mod halt;
mod loops;
mod mime;
mod place;
mod replay;
mod run;
mod screens;
mod serve;
mod server;
mod setup;
mod test;
mod tidy;

use arguments::Arguments;
use halt::Halt;
use std::process::ExitCode;

const HELP: &str = "\
cargo xtask serve [--port N] [--dist]   build the page and serve it on this machine
cargo xtask build [--dist]              build the engine into www/pkg and stop
cargo xtask dist [--as-built]           build what is published, with its sizes;
                                        --as-built leaves the engine as it stands
cargo xtask replay [--auto | PROCEDURE.json] LOG... [--reference FILE]
                   [--station LAT,LON,HEIGHT_M] [--out DIR]
                                        run a procedure and print one JSON object
cargo xtask demo-data [--check]         write the invented logs, or compare them
cargo xtask bench [--own] [--tasks A,B] [--runs N]
                                        time our own work, and the shared tasks beside their peers
cargo xtask bench --page [--as-built]   weigh what is published and time it in Chromium
cargo xtask test [--fast] [--only S]    run every suite; --fast leaves browser and Python out
cargo xtask screens [--only A,B]        photograph every state of the page into tests/out/screens
cargo xtask bless [CRATE...]            rewrite the outputs that tests compare with, for review
cargo xtask tidy                        check headers, sizes, dependencies, and what the page may do
";

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    let command = words.next().unwrap_or_default();
    match dispatch(&command, Arguments::new(words)) {
        Ok(code) => code,
        Err(halt) => {
            eprintln!("{halt}");
            ExitCode::FAILURE
        }
    }
}

fn dispatch(command: &str, arguments: Arguments) -> Result<ExitCode, Halt> {
    if command == "replay" {
        // Its files are named from where it is called, which may be anywhere.
        return Ok(replay::command(arguments));
    }
    let root = place::root()?;
    match command {
        "serve" => serve::command(&root, arguments)?,
        "build" => engine::command(&root, arguments)?,
        "dist" => dist::command(&root, arguments)?,
        "demo-data" => demo_data::command(&root, arguments)?,
        "bench" => bench::command(&root, arguments)?,
        "test" => test::command(&root, arguments)?,
        "screens" => screens::command(&root, arguments)?,
        "bless" => bless::command(&root, arguments)?,
        "tidy" => tidy::command(&root, arguments)?,
        "" | "help" | "--help" => print!("{HELP}"),
        other => {
            return Err(Halt::new(
                format!("There is no command `{other}`."),
                format!("The commands are:\n{HELP}"),
            ));
        }
    }
    Ok(ExitCode::SUCCESS)
}
