//! The parts of the published page: joined scripts, one sheet, engine and icon.

use super::{digest, index, join, module};
use crate::halt::Halt;
use std::path::Path;

/// A file whose name carries the hash of its bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// The name, such as `app-0123456789ab.js`.
    pub name: String,
    /// What it holds.
    pub bytes: Vec<u8>,
}

impl Part {
    /// Names the bytes: a word for what it is, and the ending.
    pub fn new(word: &str, ending: &str, bytes: Vec<u8>) -> Self {
        Self { name: format!("{word}-{}.{ending}", digest::short(&bytes)), bytes }
    }
}

/// Everything but the index.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Parts {
    /// The page's script.
    pub app: Part,
    /// The worker's script.
    pub worker: Part,
    /// The script that is fetched when somebody first asks why.
    pub later: Part,
    /// The engine.
    pub engine: Part,
    /// The sheet.
    pub style: Part,
    /// The icon.
    pub icon: Part,
    /// The script that says why the page did not start: it stands in the index.
    pub watchdog: String,
    /// Whatever else lies in `www/`, under its own name: lessons stand in the
    /// links of course pages, and a teacher may put further ones beside them.
    pub others: Vec<Part>,
}

/// What `www/` holds that is published in another form, or not at all.
const MADE_INTO_PARTS: [&str; 8] =
    ["app/", "worker/", "later/", "pkg/", "style/", "icons/", "index.html", "sw.js"];

/// Where files lie that the page asks for only when they are needed.
const ASKED_FOR: [&str; 2] = ["pictures/", "words/"];

/// Whether a file lies where the page asks for it only when it is needed.
pub fn is_asked_for(name: &str) -> bool {
    ASKED_FOR.iter().any(|folder| name.starts_with(folder))
}

impl Parts {
    /// Makes the parts out of `www/`, its built engine included.
    pub fn make(www: &Path, html: &str) -> Result<Self, Halt> {
        Ok(Self {
            app: Part::new("app", "js", join::join(www, "app/main.js")?.into_bytes()),
            worker: Part::new("worker", "js", join::join(www, "worker/engine.js")?.into_bytes()),
            later: Part::new("later", "js", join::join(www, "later/main.js")?.into_bytes()),
            engine: Part::new("engine", "wasm", read(&www.join("pkg/page_bg.wasm"))?),
            style: Part::new("style", "css", style(www, html)?.into_bytes()),
            icon: Part::new("icon", "svg", read(&www.join("icons/lodelog.svg"))?),
            watchdog: plain(&www.join("app/watchdog.js"))?,
            others: others(www)?,
        })
    }

    /// The parts whose names carry their hash.
    pub fn hashed(&self) -> [&Part; 6] {
        [&self.app, &self.worker, &self.later, &self.engine, &self.style, &self.icon]
    }

    /// The files that the page asks for only when they are needed.
    pub fn asked_for(&self) -> impl Iterator<Item = &Part> {
        self.others.iter().filter(|part| is_asked_for(&part.name))
    }

    /// All that are files of their own.
    pub fn files(&self) -> impl Iterator<Item = &Part> {
        self.hashed().into_iter().chain(&self.others)
    }
}

/// The files that are published as they are, sorted by name.
fn others(www: &Path) -> Result<Vec<Part>, Halt> {
    let mut found = Vec::new();
    let mut waiting = vec![String::new()];
    while let Some(below) = waiting.pop() {
        let here = www.join(&below);
        let entries = std::fs::read_dir(&here).map_err(|e| Halt::file(&here, "listed", &e))?;
        for entry in entries.flatten() {
            let name = format!("{below}{}", entry.file_name().to_string_lossy());
            let is_folder = entry.path().is_dir();
            let name = if is_folder { format!("{name}/") } else { name };
            if MADE_INTO_PARTS.contains(&name.as_str()) || name.starts_with('.') {
                continue;
            }
            if is_folder {
                waiting.push(name);
            } else {
                found.push(Part { bytes: read(&entry.path())?, name });
            }
        }
    }
    found.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(found)
}

/// The sheets in the order of the index, without their comments and indents.
fn style(www: &Path, html: &str) -> Result<String, Halt> {
    let mut style = String::new();
    for (_, address) in index::sheets(html) {
        let path = www.join(&address);
        let text = text(&path)?;
        if text.contains("url(") || text.contains("@import") {
            return Err(Halt::new(
                format!("{} loads another file.", path.display()),
                "A sheet is published joined with the others: let it stand alone.",
            ));
        }
        style.push_str(&without_comments(&text));
    }
    Ok(style)
}

fn without_comments(css: &str) -> String {
    let mut plain = String::new();
    let mut rest = css;
    while let Some((before, after)) = rest.split_once("/*") {
        plain.push_str(before);
        rest = after.split_once("*/").map_or("", |(_, end)| end);
    }
    plain.push_str(rest);
    plain.lines().map(str::trim).filter(|line| !line.is_empty()).fold(
        String::new(),
        |mut all, line| {
            all.push_str(line);
            all.push('\n');
            all
        },
    )
}

/// A plain script without the comments that fill lines.
fn plain(path: &Path) -> Result<String, Halt> {
    module::without_comments(&text(path)?).map_err(|words| {
        Halt::new(format!("{} cannot be published: it {words}.", path.display()), "")
    })
}

fn read(path: &Path) -> Result<Vec<u8>, Halt> {
    std::fs::read(path).map_err(|error| Halt::file(path, "read", &error))
}

fn text(path: &Path) -> Result<String, Halt> {
    std::fs::read_to_string(path).map_err(|error| Halt::file(path, "read", &error))
}

#[cfg(test)]
pub mod tests {
    use super::*;

    /// Parts of a few bytes.
    pub fn parts() -> Parts {
        let part = |word, ending| Part::new(word, ending, format!("{word}()").into_bytes());
        Parts {
            app: part("app", "js"),
            worker: part("worker", "js"),
            later: part("later", "js"),
            engine: part("engine", "wasm"),
            style: part("style", "css"),
            icon: part("icon", "svg"),
            watchdog: "watch()".into(),
            others: vec![
                Part { name: "lessons/a.json".into(), bytes: b"{}".to_vec() },
                Part { name: "pictures/a.svg".into(), bytes: b"<svg/>".to_vec() },
            ],
        }
    }

    #[test]
    fn a_part_s_name_follows_its_bytes() {
        let one = Part::new("app", "js", b"1".to_vec());
        assert_eq!(one.name, "app-6b86b273ff34.js");
        assert_ne!(one.name, Part::new("app", "js", b"2".to_vec()).name);
    }

    #[test]
    fn a_file_beside_the_page_s_own_is_published_under_its_name() {
        let www = std::env::temp_dir().join(format!("lodelog-others-{}", std::process::id()));
        for name in ["lessons/a.json", "app/a.js", "index.html", "licence.txt", ".hidden"] {
            let path = www.join(name);
            std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
            std::fs::write(path, name).expect("written");
        }
        let found = others(&www).expect("found");
        let names: Vec<&str> = found.iter().map(|part| part.name.as_str()).collect();
        assert_eq!(names, ["lessons/a.json", "licence.txt"]);
        assert_eq!(found[0].bytes, b"lessons/a.json");
        std::fs::remove_dir_all(www).expect("removed");
    }

    #[test]
    fn comments_and_empty_lines_leave_the_sheet() {
        let css =
            "/* One. */\n@layer a {\n    /* two\n       lines */\n    b { c: d; } /* e */\n\n}\n";
        assert_eq!(without_comments(css), "@layer a {\nb { c: d; }\n}\n");
    }
}
