//! What a runner's output says: how many checks passed and failed, and its closing lines.
//!
//! Knows the closings of cargo's test runner and of node's; any other command
//! counts as one check, by whether it succeeded.

use std::fmt;
use std::time::Duration;

/// Checks that passed and that failed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Checks that passed.
    pub passed: u64,
    /// Checks that failed.
    pub failed: u64,
}

/// A suite's result.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The suite.
    pub name: &'static str,
    /// Its checks.
    pub counts: Counts,
    /// How long it took, set-up included.
    pub took: Duration,
}

impl Counts {
    /// Adds another command's checks.
    pub fn add(&mut self, other: Self) {
        self.passed += other.passed;
        self.failed += other.failed;
    }

    /// The checks in a command's output; a command that failed has at least one failed check.
    pub fn read(text: &str, succeeded: bool) -> Self {
        let mut counts = Self::default();
        let mut lines = 0;
        for line in text.lines().filter_map(counted) {
            counts.add(line);
            lines += 1;
        }
        // Only a command that counts nothing itself is one check.
        if lines == 0 {
            counts.passed = u64::from(succeeded);
        }
        if !succeeded {
            counts.failed = counts.failed.max(1);
        }
        counts
    }
}

impl fmt::Display for Counts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} passed, {} failed", self.passed, self.failed)
    }
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:<10} {}, {} s", self.name, self.counts, self.took.as_secs())
    }
}

/// The checks that one line counts.
fn counted(line: &str) -> Option<Counts> {
    let line = line.trim();
    if let Some(rest) = line.strip_prefix("test result: ") {
        return Some(Counts { passed: before(rest, " passed")?, failed: before(rest, " failed")? });
    }
    let (name, number) = node_count(line)?;
    match name {
        "pass" => Some(Counts { passed: number, failed: 0 }),
        // A cancelled test did not pass.
        "fail" | "cancelled" => Some(Counts { passed: 0, failed: number }),
        _ => None,
    }
}

/// The number right before a word.
fn before(text: &str, word: &str) -> Option<u64> {
    let end = text.find(word)?;
    text[..end].rsplit(' ').next()?.parse().ok()
}

/// A closing line of node's runner: `# pass 3`, or `ℹ pass 3`.
fn node_count(line: &str) -> Option<(&str, u64)> {
    let rest = line.strip_prefix("# ").or_else(|| line.strip_prefix("ℹ "))?;
    let (name, number) = rest.split_once(' ')?;
    Some((name, number.parse().ok()?))
}

/// How many last lines stand for a runner that is not known.
const LAST: usize = 3;

/// The lines with which a runner closes: those that count, else its last ones.
pub fn closing_lines(text: &str) -> Vec<&str> {
    let closing = |line: &&str| {
        let line = line.trim();
        line.starts_with("test result: ") || node_count(line).is_some()
    };
    let lines: Vec<&str> = text.lines().filter(closing).collect();
    if !lines.is_empty() {
        return lines;
    }
    let spoken: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).collect();
    spoken[spoken.len().saturating_sub(LAST)..].to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;

    const CARGO: &str = "\
running 2 tests
test result: ok. 41 passed; 0 failed; 0 ignored; 0 measured; 0 filtered out; finished in 1.2s
   Doc-tests field
test result: FAILED. 3 passed; 2 failed; 0 ignored; 0 measured; 0 filtered out; finished in 0s
";

    #[test]
    fn cargo_s_results_add_up_over_crates() {
        assert_eq!(Counts::read(CARGO, false), Counts { passed: 44, failed: 2 });
        assert_eq!(closing_lines(CARGO).len(), 2);
    }

    #[test]
    fn node_s_results_are_read_in_both_of_its_forms() {
        let tap = "# tests 5\n# pass 4\n# fail 1\n# cancelled 0\n";
        assert_eq!(Counts::read(tap, false), Counts { passed: 4, failed: 1 });
        let spec = "ℹ tests 5\nℹ pass 3\nℹ fail 1\nℹ cancelled 1\nℹ duration_ms 5.5\n";
        assert_eq!(Counts::read(spec, false), Counts { passed: 3, failed: 2 });
    }

    #[test]
    fn another_command_counts_as_one() {
        assert_eq!(Counts::read("done\n", true), Counts { passed: 1, failed: 0 });
        assert_eq!(Counts::read("", false), Counts { passed: 0, failed: 1 });
        assert_eq!(closing_lines("a\n\nb\nc\nd\n"), ["b", "c", "d"]);
    }

    #[test]
    fn a_runner_that_ran_nothing_and_a_build_that_broke_are_not_passes() {
        let none = "test result: ok. 0 passed; 0 failed; 0 ignored; finished in 0s\n";
        assert_eq!(Counts::read(none, true), Counts::default());
        let broke = "test result: ok. 9 passed; 0 failed\nerror: could not compile\n";
        assert_eq!(Counts::read(broke, false), Counts { passed: 9, failed: 1 });
    }
}
