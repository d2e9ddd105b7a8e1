//! Runs other programs, shows what they are, and says plainly when one fails.

use crate::halt::Halt;
use std::process::{Command, Stdio};

/// The command as one would type it, for messages.
pub fn spelled(command: &Command) -> String {
    let name = std::path::Path::new(command.get_program())
        .file_name()
        .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let args = command.get_args().map(|a| a.to_string_lossy().into_owned());
    std::iter::once(name).chain(args).collect::<Vec<_>>().join(" ")
}

/// Runs a command with its output shown, on standard error so that a command
/// whose standard output is data stays clean.
pub fn shown(command: &mut Command) -> Result<(), Halt> {
    let name = spelled(command);
    eprintln!("  $ {name}");
    let out = std::io::stderr();
    let code = command.stdin(Stdio::null()).stdout(out).status();
    match code {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => {
            Err(Halt::new(format!("`{name}` failed ({status})."), "Its output is above."))
        }
        Err(error) => Err(not_started(&name, &error)),
    }
}

/// Runs a command whose standard output is this command's own.
pub fn passed_through(command: &mut Command) -> Result<(), Halt> {
    let name = spelled(command);
    match command.stdin(Stdio::null()).status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => {
            Err(Halt::new(format!("`{name}` failed ({status})."), "Its output is above."))
        }
        Err(error) => Err(not_started(&name, &error)),
    }
}

/// Runs a command silently; gives what it wrote to standard output, trimmed.
pub fn asked(command: &mut Command) -> Result<String, Halt> {
    let name = spelled(command);
    let out = command.stdin(Stdio::null()).output().map_err(|error| not_started(&name, &error))?;
    if out.status.success() {
        return Ok(String::from_utf8_lossy(&out.stdout).trim().to_owned());
    }
    let said = String::from_utf8_lossy(&out.stderr).trim().to_owned();
    Err(Halt::new(format!("`{name}` failed ({}): {said}", out.status), ""))
}

fn not_started(name: &str, error: &std::io::Error) -> Halt {
    Halt::new(format!("`{name}` did not start: {error}."), "Is the program installed?")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_program_prints_comes_back_trimmed() {
        assert_eq!(asked(Command::new("echo").arg("a b")).as_deref(), Ok("a b"));
    }

    #[test]
    fn a_program_that_fails_or_is_missing_is_named() {
        let failed = asked(&mut Command::new("false")).expect_err("fails");
        assert!(failed.message.contains("`false` failed"), "{failed}");
        let missing = shown(&mut Command::new("no-such-program-lodelog")).expect_err("missing");
        assert!(missing.message.contains("did not start"), "{missing}");
    }
}
