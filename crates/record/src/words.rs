//! The language in which texts are written, and how numbers and dates look in it.
//!
//! Every text that a student reads stands in the source in English and is
//! looked up here before it is shown: a sentence with numbers through
//! [`say!`](crate::say), a plain one through [`word`] or [`of`].  The
//! catalogue of a language maps the English text to its own; where it has
//! none, and in English, the text is used as it stands.  The choice belongs to
//! the thread: the page makes it once for each of its engines, and a result
//! never depends on it, only the words around the numbers do.

use std::cell::Cell;
use std::fmt::{Display, Write as _};

/// How numbers and dates are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Style {
    /// A comma before the decimals, and narrow spaces between thousands.
    pub decimal_comma: bool,
    /// Dates as `2026-05-03` in place of `3 May 2026`.
    pub iso_dates: bool,
}

/// The texts of a language, sorted by their English.
struct Catalogue {
    language: Box<str>,
    texts: Vec<(Box<str>, Box<str>)>,
}

thread_local! {
    static CATALOGUE: Cell<Option<&'static Catalogue>> = const { Cell::new(None) };
    static STYLE: Cell<Style> = const { Cell::new(Style { decimal_comma: false, iso_dates: false }) };
}

/// Chooses the language of this thread by its tag (BCP 47, such as `de`): pairs of English and its
/// translation; none for English.
///
/// The texts stay in memory for good, since words are handed out without an
/// owner; a page does this once or twice.
pub fn speak(language: &str, texts: Vec<(String, String)>) {
    let mut all: Vec<(Box<str>, Box<str>)> = Vec::with_capacity(texts.len());
    for (english, other) in texts {
        all.push((Box::from(english), Box::from(other)));
    }
    all.sort_unstable_by(|a, b| a.0.cmp(&b.0));
    let catalogue = Catalogue { language: language.into(), texts: all };
    let spoken = !catalogue.texts.is_empty();
    CATALOGUE.set(spoken.then(|| &*Box::leak(Box::new(catalogue))));
}

/// Chooses how numbers and dates are written in this thread.
pub fn set_style(style: Style) {
    STYLE.set(style);
}

/// How numbers and dates are written in this thread.
pub fn style() -> Style {
    STYLE.get()
}

/// The tag of the language chosen, `en` until one is.
pub fn language() -> &'static str {
    CATALOGUE.get().map_or("en", |catalogue| &catalogue.language)
}

fn found(english: &str) -> Option<&'static str> {
    let all = &CATALOGUE.get()?.texts;
    let at = all.binary_search_by(|(key, _)| (**key).cmp(english)).ok()?;
    Some(&all[at].1)
}

/// A text in the language chosen; one that is no English text of ours stays as it is.
#[inline(never)]
pub fn word(english: &str) -> &str {
    found(english).unwrap_or(english)
}

/// The same as a text of its own.
#[inline(never)]
pub fn worded(english: &str) -> String {
    word(english).to_owned()
}

/// The same for a text that is handed on.
#[inline(never)]
pub fn of(english: String) -> String {
    found(&english).map_or(english, str::to_owned)
}

/// A sentence in the language chosen, its places filled; see [`say!`](crate::say).
///
/// `values` stand in the order of the places of the English sentence; a
/// translation names its places by what the English calls them.
#[inline(never)]
pub fn fill(english: &'static str, values: &[&dyn Display]) -> String {
    let mut out = String::with_capacity(english.len() + 16 * values.len());
    match found(english) {
        None => write(english, &mut |_, place, out| put(values.get(place), out), &mut out),
        Some(other) => {
            let mut names = Vec::with_capacity(values.len());
            write(english, &mut |name, _, _| names.push(name), &mut String::new());
            let at = |name: &str| names.iter().position(|other| *other == name);
            write(
                other,
                &mut |name, _, out| put(at(name).and_then(|at| values.get(at)), out),
                &mut out,
            );
        }
    }
    out
}

fn put(value: Option<&&dyn Display>, out: &mut String) {
    if let Some(value) = value {
        // Writing to a String does not fail.
        let _ = write!(out, "{value}");
    }
}

// Walks a template: words go to `out`, places to `place` with their name and number.
fn write<'a>(
    template: &'a str,
    place: &mut dyn FnMut(&'a str, usize, &mut String),
    out: &mut String,
) {
    let mut rest = template;
    let mut count = 0;
    while let Some(at) = rest.find(['{', '}']) {
        let (words, from) = rest.split_at(at);
        out.push_str(words);
        match from.find('}').filter(|close| *close > 1 && !from.starts_with("{{")) {
            Some(close) if from.starts_with('{') => {
                place(&from[1..close], count, out);
                count += 1;
                rest = &from[close + 1..];
            }
            _ => {
                out.push_str(&from[..1]);
                rest = from.get(2..).unwrap_or_default();
            }
        }
    }
    out.push_str(rest);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::say;

    fn german() {
        let pair = |a: &str, b: &str| (a.to_owned(), b.to_owned());
        speak(
            "de",
            vec![
                pair("spike", "Ausreißer"),
                pair("{n} of {0} marked", "Von {0} sind {n} markiert"),
            ],
        );
    }

    #[test]
    fn a_sentence_is_what_format_gives_until_a_language_is_chosen() {
        let n = 3;
        assert_eq!(say!("{n} of {} marked", 1.5), "3 of 1.5 marked");
        assert_eq!(say!("{{{n:03}}} {a}{n}", a = "x"), "{003} x3");
        assert_eq!(word("spike"), "spike");
    }

    #[test]
    fn a_translation_may_turn_the_places_around() {
        german();
        let n = 3;
        assert_eq!(say!("{n} of {} marked", 12), "Von 12 sind 3 markiert");
        assert_eq!(say!("{n} left"), "3 left");
        assert_eq!(word("spike"), "Ausreißer");
        assert_eq!(of("a column of the log".to_owned()), "a column of the log");
        speak("en", Vec::new());
        assert_eq!(word("spike"), "spike");
    }
}
