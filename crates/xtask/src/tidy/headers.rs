//! Every source file opens by saying what it is.

use super::{Finding, Kept};

/// Finds a source file without a header.
pub fn check(file: &Kept) -> Option<Finding> {
    let (opening, wanted) = opening(file.ending())?;
    if file.is_data() || opens_with(file.text.as_deref()?, opening) {
        return None;
    }
    let words = format!("has no header; open with `{wanted}`: what it is, in and out, never");
    Some(Finding::new(&file.path, 1, words))
}

/// How a header of this kind of file may begin, and how to spell that.
fn opening(ending: &str) -> Option<(&'static [&'static str], &'static str)> {
    Some(match ending {
        "rs" => (&["//!"], "//!"),
        "js" | "mjs" => (&["//", "/*"], "//"),
        "css" => (&["/*"], "/*"),
        "html" => (&["<!--"], "<!--"),
        "py" => (&["\"\"\"", "#"], "\"\"\""),
        "sh" => (&["#"], "#"),
        _ => return None,
    })
}

/// Whether a header stands first; a program line and a doctype may stand before it.
fn opens_with(text: &str, opening: &[&str]) -> bool {
    let before = |line: &&str| {
        line.is_empty() || line.starts_with("#!/") || line.eq_ignore_ascii_case("<!doctype html>")
    };
    let mut lines = text.lines().map(str::trim).skip_while(before);
    let first = lines.next().unwrap_or("");
    let words = |line: &str| line.contains(char::is_alphabetic);
    // The mark may stand on a line of its own, above the words.
    let Some(mark) = opening.iter().find(|mark| first.starts_with(**mark)) else { return false };
    words(&first[mark.len()..]) || lines.next().is_some_and(words)
}

#[cfg(test)]
mod tests {
    use super::super::tests::kept_file;
    use super::*;

    #[test]
    fn a_source_file_without_a_header_is_found_in_each_language() {
        for (path, text) in [
            ("a.rs", "// Only a remark.\n"),
            ("a.js", "export {};\n"),
            ("a.css", "body {}\n"),
            ("a.html", "<!doctype html>\n<html></html>\n"),
            ("a.py", "import math\n"),
            ("empty.rs", ""),
            ("blank.js", "//\n\nexport {};\n"),
        ] {
            assert!(check(&kept_file(path, text)).is_some(), "{path}");
        }
    }

    #[test]
    fn a_header_may_stand_below_a_program_line_or_a_doctype() {
        for (path, text) in [
            ("a.rs", "//! A.\n"),
            ("a.mjs", "#!/usr/bin/env node\n// A.\n"),
            ("a.css", "/* A. */\n"),
            ("a.js", "/*\n * A.\n */\n"),
            ("a.html", "<!DOCTYPE html>\n<!-- A. -->\n"),
            ("a.py", "#!/usr/bin/env python3\n\"\"\"A.\"\"\"\n"),
            ("a.csv", "1,2\n"),
        ] {
            assert_eq!(check(&kept_file(path, text)), None, "{path}");
        }
    }
}
