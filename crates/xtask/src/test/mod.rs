//! `test`: everything that must hold, in order, each with its closing lines.
//!
//! Sets up what is missing first.  A suite that fails does not stop the next;
//! the command fails at the end.  Full outputs go to `target/checks/`.

mod outcome;
mod suites;

use crate::arguments::Arguments;
use crate::halt::Halt;
use crate::run;
use outcome::{Counts, Outcome};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use suites::Suite;

/// Runs every suite, or with `--fast` those that need neither browser nor Python;
/// `--only NAME` runs one.
pub fn command(root: &Path, mut arguments: Arguments) -> Result<(), Halt> {
    let fast = arguments.flag("--fast");
    let only = arguments.value("--only")?;
    arguments.nothing_left()?;
    let chosen = chosen(suites::all(root, fast), fast, only.as_deref())?;
    let logs = root.join("target/checks");
    std::fs::create_dir_all(&logs).map_err(|error| Halt::file(&logs, "made", &error))?;
    let outcomes: Vec<Outcome> = chosen.into_iter().map(|suite| run_suite(suite, &logs)).collect();
    summary(&outcomes)
}

fn chosen<'a>(all: Vec<Suite<'a>>, fast: bool, only: Option<&str>) -> Result<Vec<Suite<'a>>, Halt> {
    let names: Vec<&str> = all.iter().map(|suite| suite.name).collect();
    if let Some(name) = only
        && !names.contains(&name)
    {
        let known = format!("The suites are: {}.", names.join(", "));
        return Err(Halt::new(format!("There is no suite `{name}`."), known));
    }
    let wanted = |suite: &Suite<'_>| match only {
        Some(name) => suite.name == name,
        None => !fast || suite.is_fast,
    };
    Ok(all.into_iter().filter(wanted).collect())
}

/// Sets a suite up, runs its commands, and prints how it closed.
fn run_suite(suite: Suite<'_>, logs: &Path) -> Outcome {
    println!("── {}", suite.name);
    let begin = Instant::now();
    // The log of an earlier run would only mislead; usually there is none.
    let _none = std::fs::remove_file(logs.join(format!("{}.log", suite.name)));
    let mut counts = Counts::default();
    match (suite.set_up)() {
        Ok(commands) => {
            for command in commands {
                counts.add(run_one(suite.name, command, logs));
            }
        }
        Err(halt) => {
            println!("{halt}");
            counts.failed += 1;
        }
    }
    Outcome { name: suite.name, counts, took: begin.elapsed() }
}

/// How much of a failed command's output is shown.
const SHOWN_LINES: usize = 120;

fn run_one(suite: &str, mut command: Command, logs: &Path) -> Counts {
    let spelled = run::spelled(&command);
    println!("  $ {spelled}");
    let output = match output_of(&mut command) {
        Ok(output) => output,
        Err(error) => {
            println!("`{spelled}` did not start: {error}. Is the program installed?");
            return Counts { passed: 0, failed: 1 };
        }
    };
    let log = logs.join(format!("{suite}.log"));
    // The log is a convenience: what matters is printed below.
    let _unwritten = append(&log, &output.text);
    let counts = Counts::read(&output.text, output.succeeded);
    if output.succeeded {
        for line in outcome::closing_lines(&output.text) {
            println!("  {line}");
        }
    } else {
        let lines: Vec<&str> = output.text.lines().collect();
        let from = lines.len().saturating_sub(SHOWN_LINES);
        println!("{}", lines[from..].join("\n"));
        println!("  failed; the whole output is in target/checks/{suite}.log");
    }
    counts
}

struct Output {
    text: String,
    succeeded: bool,
}

/// Both outputs of a command, in the order in which they were written.
fn output_of(command: &mut Command) -> std::io::Result<Output> {
    let (mut reader, writer) = std::io::pipe()?;
    let both = writer.try_clone()?;
    // Colours are for terminals; these lines are read and kept.
    command.env("TERM", "dumb").env("NO_COLOR", "1").env("CARGO_TERM_COLOR", "never");
    let mut child = command.stdin(Stdio::null()).stdout(writer).stderr(both).spawn()?;
    // The command holds the pipe's writing ends; while it does, the pipe stays open.
    command.stdout(Stdio::null()).stderr(Stdio::null());
    let mut bytes = Vec::new();
    std::io::Read::read_to_end(&mut reader, &mut bytes)?;
    let succeeded = child.wait()?.success();
    Ok(Output { text: String::from_utf8_lossy(&bytes).into_owned(), succeeded })
}

fn append(path: &Path, text: &str) -> std::io::Result<()> {
    use std::io::Write;
    let mut file = std::fs::OpenOptions::new().create(true).append(true).open(path)?;
    file.write_all(text.as_bytes())
}

/// Prints every suite's counts, then all together on a line alone.
fn summary(outcomes: &[Outcome]) -> Result<(), Halt> {
    println!();
    for outcome in outcomes {
        println!("{outcome}");
    }
    let mut all = Counts::default();
    let mut took = Duration::ZERO;
    for outcome in outcomes {
        all.add(outcome.counts);
        took += outcome.took;
    }
    println!("in {} min {:02} s", took.as_secs() / 60, took.as_secs() % 60);
    println!("{all}");
    if all.failed == 0 && all.passed > 0 {
        return Ok(());
    }
    let failed = outcomes.iter().filter(|o| o.counts.failed > 0).map(|o| o.name);
    let names = failed.collect::<Vec<_>>().join(", ");
    Err(Halt::new(format!("Not everything holds: {names}."), "Each failure is shown above."))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shell(script: &str) -> Command {
        let mut sh = Command::new("sh");
        sh.args(["-c", script]);
        sh
    }

    fn suite(name: &'static str, is_fast: bool, scripts: &'static [&str]) -> Suite<'static> {
        let set_up = move || Ok(scripts.iter().map(|script| shell(script)).collect());
        Suite { name, is_fast, set_up: Box::new(set_up) }
    }

    fn logs(name: &str) -> std::path::PathBuf {
        let folder = std::env::temp_dir().join(format!("lodelog-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&folder).expect("made");
        folder
    }

    #[test]
    fn a_suite_runs_all_its_commands_and_counts_the_failures() {
        let logs = logs("suite");
        let outcome = run_suite(suite("s", true, &["false", "true", "exit 3"]), &logs);
        assert_eq!(outcome.counts, Counts { passed: 1, failed: 2 });
        std::fs::remove_dir_all(logs).expect("removed");
    }

    #[test]
    fn a_suite_that_cannot_be_set_up_fails_once() {
        let set_up = Box::new(|| Err(Halt::new("missing", "")));
        let outcome = run_suite(Suite { name: "s", is_fast: true, set_up }, Path::new("."));
        assert_eq!(outcome.counts, Counts { passed: 0, failed: 1 });
    }

    #[test]
    fn a_program_that_is_missing_fails_once() {
        let logs = logs("missing");
        let counts = run_one("s", Command::new("no-such-program-lodelog"), &logs);
        assert_eq!(counts, Counts { passed: 0, failed: 1 });
        std::fs::remove_dir_all(logs).expect("removed");
    }

    #[test]
    fn both_outputs_come_in_the_order_in_which_they_were_written() {
        let output = output_of(&mut shell("echo a; echo b >&2; echo c; exit 1")).expect("ran");
        assert_eq!((output.text.as_str(), output.succeeded), ("a\nb\nc\n", false));
    }

    #[test]
    fn a_fast_run_leaves_the_slow_suites_out_and_an_unknown_name_is_refused() {
        let all = || vec![suite("a", true, &[]), suite("b", false, &[])];
        let names = |only, fast| {
            let chosen = chosen(all(), fast, only).expect("chosen");
            chosen.iter().map(|s| s.name).collect::<Vec<_>>()
        };
        assert_eq!(names(None, false), ["a", "b"]);
        assert_eq!(names(None, true), ["a"]);
        assert_eq!(names(Some("b"), true), ["b"]);
        assert!(chosen(all(), false, Some("c")).is_err());
    }

    #[test]
    fn a_run_in_which_nothing_passed_fails() {
        assert!(summary(&[]).is_err());
        let one = |passed, failed| Outcome {
            name: "s",
            counts: Counts { passed, failed },
            took: Duration::ZERO,
        };
        assert!(summary(&[one(1, 0)]).is_ok());
        assert!(summary(&[one(5, 1)]).is_err());
    }
}
