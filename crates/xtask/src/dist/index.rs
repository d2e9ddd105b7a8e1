//! The page's index, changed from how it is worked on to how it is published.
//!
//! Every change names what it replaces, and a name that is not there exactly
//! once stops the build: nothing is published half changed.

use super::digest::{base64, integrity};
use super::parts::{Part, Parts};
use crate::halt::Halt;

const ROOT: &str = " data-engine=\"pkg/page_bg.wasm\" data-worker=\"worker/engine.js\" \
                    data-later=\"later/main.js\">";
const ICON: &str = "<link rel=\"icon\" href=\"icons/lodelog.svg\" type=\"image/svg+xml\" />";
const WATCHDOG: &str = "<script src=\"app/watchdog.js\" defer></script>";
const APP: &str = "<script type=\"module\" src=\"app/main.js\"></script>";
const SCRIPTS_FROM: &str = "script-src 'self' 'wasm-unsafe-eval'";
const STYLES_FROM: &str = "style-src 'self'";
const REST: &str = "img-src 'self' blob: data:; connect-src 'self'; worker-src 'self' blob:";

/// The sheets' links, in the order in which they apply: `(whole line, address)`.
pub fn sheets(html: &str) -> Vec<(String, String)> {
    let sheet = |line: &str| {
        let address = line.trim().strip_prefix("<link rel=\"stylesheet\" href=\"")?;
        Some((format!("{line}\n"), address.strip_suffix("\" />")?.to_owned()))
    };
    html.lines().filter_map(sheet).collect()
}

/// The index of the folder: its parts by their hashed names.
pub fn of_folder(html: &str, parts: &Parts, version: &str) -> Result<String, Halt> {
    let root = format!(
        " data-published data-version=\"{version}\" data-offline=\"sw.js\" \
         data-engine=\"{}\" data-worker=\"{}\" data-later=\"{}\">",
        parts.engine.name, parts.worker.name, parts.later.name
    );
    let watchdog = format!("<script>{}</script>", parts.watchdog);
    let scripts = format!("{SCRIPTS_FROM} '{}'", integrity(parts.watchdog.as_bytes()));
    let html = replaced(&without_indents(html), ROOT, &root)?;
    let html = replaced(&html, SCRIPTS_FROM, &scripts)?;
    let icon = format!("<link rel=\"icon\" href=\"{}\" type=\"image/svg+xml\" />", parts.icon.name);
    let html = replaced(&html, ICON, &icon)?;
    let sheet = format!("<link rel=\"stylesheet\" href=\"{}\" />", parts.style.name);
    let html = one_sheet(&html, &sheet)?;
    // Last in the head and deferred: the page reads well before it has come.
    let html = replaced(&html, WATCHDOG, &watchdog)?;
    replaced(&html, APP, &format!("<script src=\"{}\" defer></script>", parts.app.name))
}

/// Blanks at the ends of lines mean nothing in our index, and weigh on its way;
/// in a script that is let run by its hash they count.
fn without_indents(html: &str) -> String {
    html.lines().map(str::trim).fold(String::new(), |mut all, line| {
        all.push_str(line);
        all.push('\n');
        all
    })
}

/// The index that holds every part, and whose policy lets it ask for nothing.
pub fn of_one_file(html: &str, parts: &Parts, version: &str) -> Result<String, Halt> {
    let app = inlined(&parts.app.bytes)?;
    let later = inlined(&parts.later.bytes)?;
    let style = inlined(&parts.style.bytes)?;
    let worker = inlined(&parts.worker.bytes)?;
    let code = base64(&super::weights::gzipped(&parts.engine.bytes));
    let scripts = format!(
        "script-src '{}' '{}' '{}' 'wasm-unsafe-eval'",
        integrity(parts.watchdog.as_bytes()),
        integrity(app.as_bytes()),
        integrity(later.as_bytes())
    );
    let root = format!(" data-published data-version=\"{version}\">");
    let html = replaced(html, ROOT, &root)?;
    let html = replaced(&html, SCRIPTS_FROM, &scripts)?;
    let styles = format!("style-src '{}'", integrity(style.as_bytes()));
    let html = replaced(&html, STYLES_FROM, &styles)?;
    let rest = "img-src blob: data:; connect-src 'none'; worker-src blob:";
    let html = replaced(&html, REST, rest)?;
    let icon = format!("data:image/svg+xml;base64,{}", base64(&parts.icon.bytes));
    let icon = format!("<link rel=\"icon\" href=\"{icon}\" type=\"image/svg+xml\" />");
    let html = replaced(&html, ICON, &icon)?;
    let html = one_sheet(&html, &format!("<style>{style}</style>"))?;
    let html = replaced(&html, WATCHDOG, "")?;
    let html = replaced(&html, APP, "")?;
    let asked_for: String = parts.asked_for().map(packed_text).collect();
    let end = format!(
        "<script type=\"text/plain\" id=\"engine-code\">{code}</script>\n{asked_for}\
         <script type=\"text/plain\" id=\"engine-worker\">{worker}</script>\n\
         <script>{}</script>\n<script>{app}</script>\n<script>{later}</script>\n    </body>",
        parts.watchdog
    );
    replaced(&html, "</body>", &end)
}

/// A text that is asked for later, packed, as an element that its name finds.
fn packed_text(part: &Part) -> String {
    let text = base64(&super::weights::gzipped(&part.bytes));
    format!("<script type=\"text/plain\" id=\"{}\">{text}</script>\n", part.name)
}

/// All the sheets' links as one element in place of the first.
fn one_sheet(html: &str, element: &str) -> Result<String, Halt> {
    let mut html = html.to_owned();
    for (at, (line, _)) in sheets(&html.clone()).iter().enumerate() {
        let with = if at == 0 { format!("{element}\n") } else { String::new() };
        html = replaced(&html, line, &with)?;
    }
    Ok(html)
}

/// A part as text that ends no element early.
fn inlined(bytes: &[u8]) -> Result<&str, Halt> {
    let text = std::str::from_utf8(bytes)
        .map_err(|_| Halt::new("A script or sheet is not UTF-8.", "Save it as UTF-8."))?;
    let lower = text.to_ascii_lowercase();
    match ["</script", "</style", "<!--", "<script"].iter().find(|end| lower.contains(**end)) {
        None => Ok(text),
        Some(end) => Err(Halt::new(
            format!("A script or sheet contains `{end}`, which would end its element early."),
            "Write the word in two parts.",
        )),
    }
}

fn replaced(html: &str, old: &str, new: &str) -> Result<String, Halt> {
    match html.matches(old).count() {
        1 => Ok(html.replacen(old, new, 1)),
        n => Err(Halt::new(
            format!("www/index.html has `{}` {n} times; publishing needs it once.", old.trim()),
            "Change crates/xtask/src/dist/index.rs along with the page.",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::super::parts::tests::parts;
    use super::*;

    const PAGE: &str = include_str!("../../../../www/index.html");

    #[test]
    fn the_folder_s_index_names_every_part_by_its_hashed_name_and_nothing_else() {
        let html = of_folder(PAGE, &parts(), "v").expect("changed");
        for name in ["app-", "engine-", "worker-", "later-", "style-", "icon-"] {
            assert_eq!(html.matches(&format!("\"{name}")).count(), 1, "{name}");
        }
        for old in ["app/", "pkg/", "style/", "icons/", "worker/", "later/"] {
            assert!(!html.contains(old), "{old} is left");
        }
        assert!(html.contains("data-version=\"v\""));
    }

    #[test]
    fn the_script_that_stands_inside_is_let_run_by_its_hash_alone() {
        let html = of_folder(PAGE, &parts(), "v").expect("changed");
        let hash = integrity(b"watch()");
        assert!(html.contains(&format!("script-src 'self' 'wasm-unsafe-eval' '{hash}'")));
        assert!(html.contains("<script>watch()</script>"));
        let mut parts = parts();
        parts.watchdog = "a {\n    b\n}".into();
        let html = of_folder(PAGE, &parts, "v").expect("changed");
        assert!(html.contains("<script>a {\n    b\n}</script>"), "as it was hashed");
        assert!(!html.contains("unsafe-inline"));
    }

    #[test]
    fn the_one_file_asks_for_nothing() {
        let html = of_one_file(PAGE, &parts(), "v").expect("changed");
        assert!(!html.contains(" src=\""), "{html}");
        assert_eq!(html.matches("<link").count(), 1, "the icon alone, inside");
        assert!(html.contains("connect-src 'none'") && html.contains("default-src 'none'"));
        assert!(!html.contains("'self'"));
    }

    #[test]
    fn the_one_file_holds_what_is_asked_for_later_and_lets_its_script_run() {
        let html = of_one_file(PAGE, &parts(), "v").expect("changed");
        let packed = base64(&super::super::weights::gzipped(b"<svg/>"));
        assert!(html.contains(&format!("id=\"pictures/a.svg\">{packed}</script>")), "{html}");
        assert!(html.contains("<script>later()</script>"));
        assert!(html.contains(&integrity(b"later()")));
        assert!(!html.contains("lessons/a.json"), "a lesson is for a server");
    }

    #[test]
    fn a_part_that_would_end_its_element_is_refused() {
        for text in ["a = \"</script>\"", "b = \"<!--\"", "c = \"</STYLE>\""] {
            assert!(inlined(text.as_bytes()).is_err(), "{text}");
        }
        assert_eq!(inlined(b"a < b"), Ok("a < b"));
    }

    #[test]
    fn an_index_that_has_moved_on_stops_the_build() {
        let said = of_folder("<html>", &parts(), "v").expect_err("refused");
        assert!(said.message.contains("0 times"), "{said}");
    }
}
