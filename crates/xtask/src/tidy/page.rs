//! The page loads nothing from outside, writes no markup from text, and keeps to its policy.

use super::{Finding, Kept};

/// Ways to turn text into markup.
const MARKUP: [&str; 4] =
    [concat!("inner", "HTML"), concat!("outer", "HTML"), "insertAdjacentHTML", "document.write"];

/// What a content policy that allows neither would block anyway.
const INLINE: [&str; 2] = [" style=\"", " onclick=\""];

/// Names of vocabularies, which nobody fetches.
const VOCABULARIES: &str = "http://www.w3.org/";

/// Finds breaches in the files that are published.
pub fn check(file: &Kept) -> Vec<Finding> {
    let published = file.path.starts_with("www/");
    let (Some(text), true) = (&file.text, published) else { return Vec::new() };
    let ending = file.ending();
    if !["html", "css", "js", "mjs", "svg", "json", "webmanifest"].contains(&ending) {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let mut add = |words: String| found.push(Finding::new(&file.path, at + 1, words));
        if let Some(word) = MARKUP.iter().find(|word| line.contains(**word)) {
            add(format!("uses {word}: a log's header is a stranger's text; make elements"));
        }
        if let Some(address) = outside(line, ending) {
            add(format!("loads {address}: the page asks nobody for anything"));
        }
        if let Some(rooted) = rooted(line) {
            add(format!("has {rooted}…: the page must work from any path; begin with ./ or ../"));
        }
        if ending == "html"
            && let Some(inline) = INLINE.iter().find(|inline| line.contains(**inline))
        {
            add(format!("has{inline}…: the policy allows no inline style or script"));
        }
    }
    found
}

/// The first address on a line that the page would fetch from another origin.
///
/// A link that a reader may follow (`<a href`) is not fetched, and neither is
/// an address in a comment or the name of a vocabulary.
fn outside<'a>(line: &'a str, ending: &str) -> Option<&'a str> {
    let trimmed = line.trim_start();
    if ["//", "/*", "* ", "<!--"].iter().any(|mark| trimmed.starts_with(mark)) {
        return None;
    }
    let whole = ["http://", "https://", "ws://", "wss://"];
    let mut starts: Vec<usize> =
        whole.iter().flat_map(|start| line.match_indices(start)).map(|(at, _)| at).collect();
    // Without a scheme: src="//host", url(//host), import "//host".
    let bare = ["\"//", "'//", "(//", "`//"];
    starts.extend(bare.iter().flat_map(|b| line.match_indices(b)).map(|(at, _)| at + 1));
    starts.sort_unstable();
    starts.into_iter().find_map(|at| {
        let address = line[at..].split(['"', '\'', '`', ')', ' ', '>', '<']).next()?;
        let names = address.starts_with(VOCABULARIES);
        let followed = ending == "html" && is_link(&line[..at]);
        let comment = ending != "html" && line[..at].contains("// ");
        (!names && !followed && !comment && address.len() > 2).then_some(address)
    })
}

/// The first address on a line that begins at the server's root.
///
/// A page that is copied to a folder of a school's server has nothing there.
fn rooted(line: &str) -> Option<&str> {
    const LOADS: [&str; 9] = [
        "src=\"/",
        "href=\"/",
        "url(/",
        "url(\"/",
        "from \"/",
        "import \"/",
        "import(\"/",
        "URL(\"/",
        "fetch(\"/",
    ];
    let found = |load: &&str| {
        line.match_indices(*load).any(|(at, _)| !line[at + load.len()..].starts_with('/'))
    };
    LOADS.into_iter().find(found)
}

/// Whether the text before an address opens `<a … href="`.
fn is_link(before: &str) -> bool {
    let Some(open) = before.rfind('<') else { return false };
    before[open..].starts_with("<a ") && before.ends_with("href=\"")
}

#[cfg(test)]
mod tests {
    use super::super::tests::kept_file;
    use super::*;

    fn count(path: &str, line: &str) -> usize {
        check(&kept_file(path, &format!("{line}\n"))).len()
    }

    #[test]
    fn every_way_to_load_from_outside_is_found() {
        for (path, line) in [
            ("www/index.html", "<script src=\"https://x.org/a.js\"></script>"),
            ("www/index.html", "<link rel=\"stylesheet\" href=\"//x.org/a.css\" />"),
            ("www/index.html", "<img src='http://x.org/a.png' />"),
            ("www/a.css", "@import \"https://x.org/a.css\";"),
            ("www/a.css", "src: url(//x.org/f.woff2);"),
            ("www/app/a.js", "import { a } from \"https://x.org/a.js\";"),
            ("www/app/a.js", "await fetch(`https://x.org/${name}`);"),
            ("www/app/a.js", "new Worker('//x.org/w.js')"),
            ("www/app/a.js", "new WebSocket(\"wss://x.org\")"),
        ] {
            assert_eq!(count(path, line), 1, "{line}");
        }
    }

    #[test]
    fn an_address_from_the_server_s_root_is_found() {
        for (path, line) in [
            ("www/index.html", "<script src=\"/app/main.js\"></script>"),
            ("www/a.css", "background: url(/icons/a.svg);"),
            ("www/app/a.js", "import { a } from \"/app/b.js\";"),
            ("www/app/a.js", "new Worker(new URL(\"/worker/engine.js\", location.href));"),
        ] {
            assert_eq!(count(path, line), 1, "{line}");
        }
        assert_eq!(count("www/index.html", "<script src=\"./app/main.js\"></script>"), 0);
    }

    #[test]
    fn links_to_follow_vocabularies_comments_and_own_files_pass() {
        for (path, line) in [
            ("www/index.html", "<a class=\"x\" href=\"https://x.org/\">charts</a>"),
            ("www/icons/a.svg", "<svg xmlns=\"http://www.w3.org/2000/svg\">"),
            ("www/app/a.js", "document.createElementNS(\"http://www.w3.org/2000/svg\", \"g\");"),
            ("www/app/a.js", "// After https://x.org/pattern"),
            ("www/app/a.js", "const url = new URL(\"../pkg/page_bg.wasm\", import.meta.url);"),
            ("tests/page/a.mjs", "await fetch(\"http://127.0.0.1/\");"),
        ] {
            assert_eq!(count(path, line), 0, "{line}");
        }
    }

    #[test]
    fn markup_from_text_and_inline_attributes_are_found() {
        for word in MARKUP {
            assert_eq!(count("www/app/a.js", &format!("e.{word} = x;")), 1, "{word}");
        }
        assert_eq!(count("www/index.html", "<p style=\"color: red\">a</p>"), 1);
        assert_eq!(count("www/index.html", "<button onclick=\"go()\">a</button>"), 1);
    }
}
