//! Files stay small: in lines of code, and in bytes.

use super::{Finding, Kept};

/// The most lines of code in a Rust file, above its tests.
const MOST_LINES: usize = 500;

/// The heaviest file that the project keeps, in bytes.
const HEAVIEST: u64 = 3_000_000;

/// Finds a file that is too long or too heavy.
pub fn check(file: &Kept) -> Option<Finding> {
    if file.length > HEAVIEST {
        let words = format!("is {} bytes; {HEAVIEST} is the most, make it instead", file.length);
        return Some(Finding::new(&file.path, 0, words));
    }
    if file.ending() != "rs" {
        return None;
    }
    let lines = code_lines(file.text.as_deref()?);
    let words = format!("has {lines} lines of code; {MOST_LINES} is the most, split it");
    (lines > MOST_LINES).then(|| Finding::new(&file.path, 0, words))
}

/// Lines above the first `#[cfg(test)]`, without blanks and comments.
fn code_lines(text: &str) -> usize {
    let above = text.lines().map(str::trim).take_while(|line| *line != "#[cfg(test)]");
    above.filter(|line| !line.is_empty() && !line.starts_with("//")).count()
}

#[cfg(test)]
mod tests {
    use super::super::tests::kept_file;
    use super::*;

    fn file_of(lines: usize) -> Kept {
        let code = "let a = 1;\n".repeat(lines);
        kept_file("a.rs", &format!("//! A.\n\n{code}#[cfg(test)]\nmod tests {{}}\n"))
    }

    #[test]
    fn a_file_of_501_lines_is_found_and_one_of_500_is_not() {
        assert!(check(&file_of(501)).is_some_and(|f| f.words.contains("501 lines")));
        assert_eq!(check(&file_of(500)), None);
    }

    #[test]
    fn tests_blanks_and_comments_do_not_count() {
        assert_eq!(code_lines("//! A.\n\n/// B.\nfn b() {}\n#[cfg(test)]\nmod tests {}\n"), 1);
    }

    #[test]
    fn a_heavy_file_is_found_whatever_it_holds() {
        let file = Kept { path: "demo-data/a.csv".into(), length: HEAVIEST + 1, text: None };
        assert!(check(&file).is_some());
    }
}
