//! Every text of the page stands in every language's catalogue.
//!
//! Texts stand in the code in English.  This rule gathers them, from Rust by
//! its tokens and from the page's scripts by their literals, and holds each
//! `www/words/xx.json` against them: nothing untranslated, nothing stale, the
//! same places in both.

use super::{Finding, Kept};
use proc_macro2::{Delimiter, Group, TokenStream, TokenTree};
use std::collections::{BTreeMap, BTreeSet};

/// Crates whose texts a student reads.
const SPOKEN: [&str; 8] =
    ["record", "intake", "signal", "clean", "field", "figure", "procedure", "page"];

/// Literals that read like prose and are none: names in headers and files.
const NO_WORDS: [&str; 31] = [
    "low_95 (nT)",
    "high_95 (nT)",
    "# {}\r\n# times are UTC\r\ntime",
    "a day later",
    "altitude (m)",
    "counts (cpm)",
    "counts in 5 s",
    "counts total",
    "counts valid",
    "data interval type",
    "data type",
    "dilution of position",
    "east or west",
    "geodetic latitude",
    "geodetic longitude",
    "high_95 (times psd)",
    "iaga code",
    "local_disturbance (nT)",
    "low_95 (times psd)",
    "north or south",
    "period_from (s)",
    "period_to (s)",
    "position valid",
    "reference (nT)",
    "rms (nT)",
    "rms_difference (nT)",
    "rms_reference (nT)",
    "sigma (nT)",
    "size (nT)",
    "station name",
    "utf-8 with mark",
];

/// Words out of a file's header that are looked up as they come.
const FROM_FILES: [&str; 3] = ["definitive", "provisional", "quasi-definitive"];

/// Where a text stands first.
type Texts = BTreeMap<String, (String, usize)>;

/// Finds texts without a translation, and translations without a text.
pub fn check(files: &[Kept]) -> Vec<Finding> {
    let mut needed = Texts::new();
    let mut known = BTreeSet::new();
    for file in files {
        let Some(text) = &file.text else { continue };
        if is_spoken(&file.path)
            && let Ok(tokens) = text.parse()
        {
            let mut walk = Walk { path: &file.path, needed: &mut needed, known: &mut known };
            walk.tokens(tokens, false);
        } else if file.path.starts_with("www/") && matches!(file.ending(), "js" | "html") {
            known.extend(literals(text));
            for said in said_in_script(text) {
                needed.entry(said).or_insert_with(|| (file.path.clone(), 0));
            }
        }
    }
    let is_catalogue =
        |f: &&Kept| f.path.strip_prefix("www/words/").is_some_and(|n| n.len() == "de.json".len());
    files.iter().filter(is_catalogue).flat_map(|file| held(file, &needed, &known)).collect()
}

fn held(file: &Kept, needed: &Texts, known: &BTreeSet<String>) -> Vec<Finding> {
    let text = file.text.as_deref().unwrap_or_default();
    let Ok(all) = serde_json::from_str::<BTreeMap<String, String>>(text) else {
        return vec![Finding::new(&file.path, 0, "is no object of texts")];
    };
    let missing = needed.iter().filter(|(english, _)| !all.contains_key(*english));
    let mut found: Vec<Finding> = missing
        .map(|(english, (path, line))| {
            Finding::new(path, *line, format!("{english:?} is not in {}", file.path))
        })
        .collect();
    for (english, other) in &all {
        if places(english) != places(other) {
            found.push(Finding::new(&file.path, 0, format!("{english:?} has other places")));
        }
        let is_joined = || known.iter().any(|k| k.len() > 12 && english.starts_with(k.as_str()));
        let is_known = needed.contains_key(english) || known.contains(english);
        if !is_known && !FROM_FILES.contains(&english.as_str()) && !is_joined() {
            found.push(Finding::new(&file.path, 0, format!("{english:?} is said nowhere")));
        }
    }
    found
}

fn is_spoken(path: &str) -> bool {
    let of = |name: &str| path.starts_with(&format!("crates/{name}/src/"));
    SPOKEN.iter().any(|name| of(name))
        && path.ends_with(".rs")
        && !path.ends_with("tests.rs")
        && !path.ends_with("testing.rs")
        && path != "crates/record/src/words.rs"
}

struct Walk<'a> {
    path: &'a str,
    needed: &'a mut Texts,
    known: &'a mut BTreeSet<String>,
}

impl Walk<'_> {
    fn tokens(&mut self, tokens: TokenStream, wanted: bool) {
        let all: Vec<TokenTree> = tokens.into_iter().collect();
        let mut at = 0;
        while at < all.len() {
            at += self.token(&all[at..], wanted);
        }
    }

    // Takes what stands first and says how many tokens that was.
    fn token(&mut self, rest: &[TokenTree], wanted: bool) -> usize {
        match rest {
            [TokenTree::Punct(hash), TokenTree::Group(attribute), ..] if hash.as_char() == '#' => {
                let tests = attribute.stream().to_string().replace(' ', "") == "cfg(test)";
                if tests { 2 + item(&rest[2..]) } else { 2 }
            }
            [TokenTree::Punct(hash), TokenTree::Punct(bang), TokenTree::Group(_), ..]
                if hash.as_char() == '#' && bang.as_char() == '!' =>
            {
                3
            }
            [TokenTree::Ident(name), TokenTree::Punct(bang), TokenTree::Group(body), ..]
                if bang.as_char() == '!' =>
            {
                self.macro_call(&name.to_string(), body);
                3
            }
            [TokenTree::Ident(name), TokenTree::Group(body), ..]
                if ["word", "worded", "counted"].contains(&name.to_string().as_str()) =>
            {
                self.tokens(body.stream(), true);
                2
            }
            [TokenTree::Group(group), ..] => {
                self.tokens(group.stream(), wanted && group.delimiter() != Delimiter::Parenthesis);
                1
            }
            [TokenTree::Literal(literal), rest @ ..] => {
                let is_pattern = matches!(rest, [TokenTree::Punct(a), TokenTree::Punct(b), ..]
                    if a.as_char() == '=' && b.as_char() == '>');
                let line = literal.span().start().line;
                if let Ok(text) = syn::parse_str::<syn::LitStr>(&literal.to_string()) {
                    self.literal(&text.value(), line, wanted && !is_pattern, is_pattern);
                }
                1
            }
            _ => 1,
        }
    }

    fn macro_call(&mut self, name: &str, body: &Group) {
        let mut tokens = body.stream().into_iter();
        match (name, tokens.next()) {
            ("say", Some(TokenTree::Literal(literal))) => {
                let line = literal.span().start().line;
                if let Ok(text) = syn::parse_str::<syn::LitStr>(&literal.to_string()) {
                    let key = key(&text.value());
                    self.known.insert(key.clone());
                    let bare: String = places_apart(&key).0;
                    if bare.chars().filter(|c| c.is_alphabetic()).count() > 1 {
                        self.needed.entry(key).or_insert_with(|| (self.path.to_owned(), line));
                    }
                }
                self.tokens(tokens.collect(), false);
            }
            // What is put together when it is compiled is looked up whole.
            ("fitted" | "and_slope" | "concat", _) => {
                self.known.extend(joined(body.stream()));
            }
            (_, first) => {
                let is_text = matches!(first, Some(TokenTree::Literal(_)));
                let rest: TokenStream =
                    first.filter(|_| !is_text).into_iter().chain(tokens).collect();
                self.tokens(rest, false);
            }
        }
    }

    fn literal(&mut self, text: &str, line: usize, wanted: bool, is_pattern: bool) {
        self.known.insert(text.to_owned());
        let letters = text.chars().filter(|c| c.is_alphabetic()).count();
        if (wanted && letters > 1) || (!is_pattern && is_prose(text) && !NO_WORDS.contains(&text)) {
            let place = || (self.path.to_owned(), line);
            self.needed.entry(text.to_owned()).or_insert_with(place);
        }
    }
}

/// How many tokens an item is: up to its braces, or its semicolon.
fn item(tokens: &[TokenTree]) -> usize {
    let ends = |t: &TokenTree| match t {
        TokenTree::Group(group) => group.delimiter() == Delimiter::Brace,
        TokenTree::Punct(punct) => punct.as_char() == ';',
        _ => false,
    };
    tokens.iter().position(ends).map_or(tokens.len(), |at| at + 1)
}

/// The literals of a macro that joins some, each alone.
fn joined(tokens: TokenStream) -> Vec<String> {
    let text = |token: TokenTree| syn::parse_str::<syn::LitStr>(&token.to_string()).ok();
    tokens.into_iter().filter_map(text).map(|literal| literal.value()).collect()
}

/// Two words with a blank between, and no markup.
fn is_prose(text: &str) -> bool {
    let wordy = |word: &str| {
        let letters = word.trim_matches(|c: char| !c.is_alphabetic());
        letters.chars().count() > 1
            && letters.chars().all(|c| c.is_alphabetic() || c == '-' || c == '\'')
    };
    let words: Vec<&str> = text.split(' ').collect();
    words.windows(2).any(|pair| wordy(pair[0]) && wordy(pair[1])) && !text.contains(['<', '='])
}

/// The key of a sentence: its places named or counted, without their formats.
fn key(text: &str) -> String {
    let mut out = String::new();
    let mut counted = 0;
    let mut rest = text;
    while let Some(at) = rest.find(['{', '}']) {
        out.push_str(&rest[..at]);
        let from = &rest[at..];
        let close = from.find('}').unwrap_or(0);
        if from.starts_with("{{") || from.starts_with('}') {
            out.push_str(from.get(..2).unwrap_or(from));
            rest = from.get(2..).unwrap_or_default();
            continue;
        }
        let name = from[1..close].split(':').next().unwrap_or_default();
        if name.is_empty() {
            out.push_str(&format!("{{{counted}}}"));
            counted += 1;
        } else {
            out.push_str(&format!("{{{name}}}"));
        }
        rest = &from[close + 1..];
    }
    out + rest
}

/// The words of a text, and the names of its places, sorted.
fn places_apart(text: &str) -> (String, Vec<String>) {
    let (mut words, mut names) = (String::new(), Vec::new());
    let mut rest = text;
    while let Some((before, from)) = rest.split_once('{') {
        words.push_str(before);
        let Some((name, after)) = from.split_once('}') else { break };
        names.push(name.to_owned());
        rest = after;
    }
    words.push_str(rest);
    names.sort();
    (words, names)
}

fn places(text: &str) -> Vec<String> {
    places_apart(text).1
}

/// Double-quoted literals of a script, and the texts of a page.
fn literals(text: &str) -> Vec<String> {
    let mut out: Vec<String> = text.split('"').map(str::to_owned).collect();
    out.extend(text.split(['<', '>']).map(|t| t.split_whitespace().collect::<Vec<_>>().join(" ")));
    out
}

/// What a script says: the first argument of `say`, and the words of its faults.
fn said_in_script(text: &str) -> Vec<String> {
    let starts = ["say(\"", "inWords(\"", "message: \"", "remedy: \"", "raise(\""];
    let after = |start: &&str| {
        let pieces = text.split(start).skip(1);
        pieces.filter_map(|p| p.split_once('"')).map(|(t, _)| t.to_owned()).collect::<Vec<_>>()
    };
    let mut said: Vec<String> = starts.iter().flat_map(after).collect();
    said.retain(|text| text.chars().filter(|c| c.is_alphabetic()).count() > 1);
    said
}

#[cfg(test)]
mod tests {
    use super::super::tests::kept_file;
    use super::*;

    fn findings(code: &str, catalogue: &str) -> Vec<String> {
        let files =
            [kept_file("crates/record/src/a.rs", code), kept_file("www/words/de.json", catalogue)];
        check(&files).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_text_without_a_translation_is_found_where_it_stands() {
        let code = "//! A.\nfn f() { say!(\"{n:.1} of {} left\", 2); word(\"spike\"); }\n\
                    #[cfg(test)]\nmod tests { fn g() { word(\"not looked for\"); } }\n";
        assert_eq!(
            findings(code, r#"{"spike": "Ausreißer"}"#),
            ["crates/record/src/a.rs:2: \"{n} of {0} left\" is not in www/words/de.json"]
        );
        assert!(
            findings(code, r#"{"spike": "A", "{n} of {0} left": "{0}, davon {n}"}"#).is_empty()
        );
    }

    #[test]
    fn a_translation_that_is_stale_or_has_other_places_is_found() {
        let code = "fn f() { say!(\"{n} left\"); }";
        let found = findings(code, r#"{"{n} left": "{m} übrig", "gone away": "weg"}"#);
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(found[0].contains("said nowhere") && found[1].contains("other places"));
    }

    #[test]
    fn prose_is_wanted_and_identifiers_are_not() {
        assert!(is_prose("Look at the report.") && is_prose("; it was left out"));
        assert!(!is_prose("kebab-case") && !is_prose("<b>two words</b>") && !is_prose("2 h"));
    }
}
