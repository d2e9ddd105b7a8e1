//! Lines are clean: no trailing blanks, no tabs, no promises, no place on someone's disk.

use super::{Finding, Kept};

/// Words that put work off.  Spelled in halves, or this file would find itself.
const PROMISES: [&str; 3] = [concat!("TO", "DO"), concat!("FIX", "ME"), concat!("XX", "X")];

/// Where machines keep things.  Spelled in halves as well.
const PLACES: [&str; 7] = [
    concat!("/", "work/"),
    concat!("/", "root/"),
    concat!("/", "home/"),
    concat!("/", "Users/"),
    concat!("/", "tmp/"),
    concat!("/", "farm/"),
    concat!("C", ":\\"),
];

/// Kinds of file that people write.
const WRITTEN: [&str; 12] =
    ["rs", "js", "mjs", "css", "html", "py", "sh", "md", "toml", "yml", "json", ""];

/// Finds unclean lines in files that people write.
pub fn check(file: &Kept) -> Vec<Finding> {
    let (Some(text), true) = (&file.text, WRITTEN.contains(&file.ending())) else {
        return Vec::new();
    };
    if file.is_data() || file.path == "LICENSE" {
        return Vec::new();
    }
    let numbered = text.split('\n').enumerate();
    let mut found: Vec<Finding> = numbered
        .flat_map(|(at, line)| {
            faults(line).map(move |words| Finding::new(&file.path, at + 1, words))
        })
        .collect();
    if !text.is_empty() && !text.ends_with('\n') {
        found.push(Finding::new(&file.path, text.lines().count(), "does not end its last line"));
    }
    found.extend(registry_addresses(file, text));
    found
}

fn faults(line: &str) -> impl Iterator<Item = String> + use<> {
    let blank = line.ends_with([' ', '\t', '\r']);
    let promise = PROMISES.into_iter().find(|word| has_word(line, word));
    let place = PLACES.into_iter().find(|place| has_place(line, place));
    [
        blank.then(|| "ends with blanks; take them away".to_owned()),
        line.contains('\t').then(|| "has a tab; indent with spaces".to_owned()),
        promise.map(|word| format!("says {word}; do it, or file it where work is filed")),
        place.map(|place| format!("names {place}, a place on one machine; use a relative path")),
    ]
    .into_iter()
    .flatten()
}

fn has_word(line: &str, word: &str) -> bool {
    let inside = |c: char| c.is_ascii_alphanumeric() || c == '_';
    line.match_indices(word).any(|(at, _)| {
        !line[..at].ends_with(inside) && !line[at + word.len()..].starts_with(inside)
    })
}

/// A place begins a path: what stands before it is no part of a longer one.
fn has_place(line: &str, place: &str) -> bool {
    let before = |c: char| c.is_ascii_alphanumeric() || ['.', '_', '-', '}', ')', '/'].contains(&c);
    line.match_indices(place).any(|(at, _)| !line[..at].ends_with(before))
}

/// The lock file of the page's checks names packages and digests, not where they came from.
fn registry_addresses(file: &Kept, text: &str) -> Option<Finding> {
    let lock = file.path.ends_with("package-lock.json");
    let words = "names where packages came from; npm's setting in tests/page/.npmrc leaves it out";
    let line = text.lines().position(|line| line.contains("\"resolved\""))?;
    lock.then(|| Finding::new(&file.path, line + 1, words))
}

#[cfg(test)]
mod tests {
    use super::super::tests::kept_file;
    use super::*;

    fn words(path: &str, text: &str) -> String {
        check(&kept_file(path, text)).iter().map(|f| f.words.clone()).collect::<Vec<_>>().join(";")
    }

    #[test]
    fn trailing_blanks_tabs_and_a_last_line_cut_short_are_found() {
        assert!(words("a.rs", "let a; \n").contains("blanks"));
        assert!(words("a.css", "a\r\n").contains("blanks"));
        assert!(words("a.js", "\tlet a;\n").contains("tab"));
        assert!(words("a.md", "text").contains("last line"));
        assert_eq!(words("a.rs", "let a;\n"), "");
    }

    #[test]
    fn a_promise_is_found_and_a_longer_word_is_not() {
        for promise in PROMISES {
            assert!(words("a.rs", &format!("// {promise}: later\n")).contains(promise));
            assert_eq!(words("a.rs", &format!("// {promise}S_OF\n")), "");
        }
    }

    #[test]
    fn a_place_on_a_machine_is_found_and_the_same_letters_in_an_address_are_not() {
        for place in PLACES {
            assert!(words("a.py", &format!("open(\"{place}x\")\n")).contains("machine"), "{place}");
        }
        let inside = format!("see ../shared{}x\n", concat!("/", "work/"));
        assert_eq!(words("a.md", &inside), "");
    }

    #[test]
    fn data_is_left_as_it_is() {
        assert_eq!(words("tests/corpus/a.json", "{\t} "), "");
        assert_eq!(words("demo-data/README.md", "a \n"), "ends with blanks; take them away");
    }

    #[test]
    fn an_address_in_the_lock_file_is_found() {
        let lock = "{\n    \"resolved\": \"x\"\n}\n";
        assert!(words("tests/page/package-lock.json", lock).contains("came from"));
        assert_eq!(words("tests/page/other.json", lock), "");
    }
}
