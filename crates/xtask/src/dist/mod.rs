//! `dist`: what is published, and its sizes against the bars.
//!
//! In go `www/` and the engine at its smallest; out come `dist/lodelog/`, a
//! folder that works from any static path and offline after the first visit;
//! `dist/lodelog.html`, the same page in one file, which works from a stick;
//! and `dist/lodelog.zip`, both together.  Nothing is committed from them.

mod digest;
mod index;
mod join;
mod keeper;
mod module;
mod parts;
mod weights;

use crate::arguments::Arguments;
use crate::engine::{self, Build};
use crate::halt::Halt;
use parts::{Part, Parts};
use procedure::archive;
use std::path::{Path, PathBuf};
use weights::Weight;

/// The page in one file.
const ONE_FILE: &str = "lodelog.html";
/// The folder that is published, and the one that its packed form unpacks to.
const FOLDER: &str = "lodelog";

/// Builds all three, prints the sizes, and fails when a bar is passed.
///
/// With `--as-built` the engine in `www/pkg` is taken as it stands.
pub fn command(root: &Path, mut arguments: Arguments) -> Result<(), Halt> {
    let as_built = arguments.flag("--as-built");
    arguments.nothing_left()?;
    let published = if as_built { gather(root)? } else { build(root)? };
    print!("{}", published.table());
    published.judge()
}

/// Builds the engine, and everything that is published with it.
pub fn build(root: &Path) -> Result<Published, Halt> {
    engine::build(root, Build::Dist, &root.join("www/pkg"))?;
    gather(root)
}

/// What was written, and its weights.
pub struct Published {
    /// The folder to be served.
    pub folder: PathBuf,
    weights: Vec<Weight>,
    sums: Vec<weights::Judged>,
}

impl Published {
    /// The sizes as a table.
    pub fn table(&self) -> String {
        weights::table(&self.weights, &self.sums)
    }

    /// Fails when a bar is passed.
    pub fn judge(&self) -> Result<(), Halt> {
        weights::judge(&self.sums)
    }
}

/// Makes everything out of `www/` as it stands, its built engine included.
pub fn gather(root: &Path) -> Result<Published, Halt> {
    let www = root.join("www");
    let text = |name: &str| {
        let path = www.join(name);
        std::fs::read_to_string(&path).map_err(|error| Halt::file(&path, "read", &error))
    };
    let html = text("index.html")?;
    let parts = Parts::make(&www, &html)?;
    let files = folder_files(&html, &parts, &text("sw.js")?)?;
    let one_file = index::of_one_file(&html, &parts, &version(&html, &parts))?.into_bytes();
    let zip = archive::zip(FOLDER, &with_one_file(&files, &one_file));
    let weights: Vec<Weight> = files.iter().map(|f| Weight::of(&f.name, &f.bytes)).collect();
    let sums = weights::judged(&weights, one_file.len() as u64, zip.len() as u64);
    let place = root.join("dist");
    if place.exists() {
        std::fs::remove_dir_all(&place).map_err(|e| Halt::file(&place, "cleared", &e))?;
    }
    let folder = place.join(FOLDER);
    for Part { name, bytes } in &files {
        write(&folder.join(name), bytes)?;
    }
    write(&place.join(ONE_FILE), &one_file)?;
    write(&place.join("lodelog.zip"), &zip)?;
    Ok(Published { folder, weights, sums })
}

/// The folder's files, sorted by name.
fn folder_files(html: &str, parts: &Parts, keeper: &str) -> Result<Vec<Part>, Halt> {
    let version = version(&format!("{html}{keeper}"), parts);
    let named = |name: &str, text: String| Part { name: name.into(), bytes: text.into_bytes() };
    let mut files: Vec<Part> = parts.files().cloned().collect();
    files.push(named("index.html", index::of_folder(html, parts, &version)?));
    files.push(named("sw.js", keeper::script(keeper, parts, &version)?));
    files.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(files)
}

/// What changes whenever anything that is published changes.
fn version(rest: &str, parts: &Parts) -> String {
    let each = parts.files().map(|part| format!("{} {}\n", part.name, digest::short(&part.bytes)));
    digest::short(format!("{rest}{}{}", parts.watchdog, each.collect::<String>()).as_bytes())
}

/// The folder as it is packed: the page in one file lies beside its index, for
/// whoever opens the folder without a server.
fn with_one_file(files: &[Part], one_file: &[u8]) -> Vec<(String, Vec<u8>)> {
    let mut packed: Vec<(String, Vec<u8>)> =
        files.iter().map(|f| (f.name.clone(), f.bytes.clone())).collect();
    packed.push((ONE_FILE.to_owned(), one_file.to_vec()));
    packed.sort();
    packed
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Halt> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).map_err(|e| Halt::file(folder, "made", &e))?;
    }
    std::fs::write(path, bytes).map_err(|error| Halt::file(path, "written", &error))
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: &str = include_str!("../../../../www/index.html");
    const KEEPER: &str = include_str!("../../../../www/sw.js");

    fn made(parts: &Parts) -> Vec<Part> {
        folder_files(PAGE, parts, KEEPER).expect("made")
    }

    #[test]
    fn index_and_keeper_name_the_same_version_and_it_follows_every_part() {
        let version_in = |files: &[Part], name: &str, before: &str| {
            let file = files.iter().find(|f| f.name == name).expect("there");
            let text = String::from_utf8(file.bytes.clone()).expect("text");
            let (_, rest) = text.split_once(before).expect("a version");
            rest[..12].to_owned()
        };
        let mut parts = parts::tests::parts();
        let files = made(&parts);
        let version = version_in(&files, "index.html", "data-version=\"");
        assert_eq!(version_in(&files, "sw.js", "VERSION = \""), version);
        parts.engine = Part::new("engine", "wasm", b"newer".to_vec());
        assert_ne!(version_in(&made(&parts), "sw.js", "VERSION = \""), version);
        parts.others[0].bytes.push(b' ');
        assert_ne!(version_in(&made(&parts), "sw.js", "VERSION = \""), version);
        parts = parts::tests::parts();
        parts.watchdog.push(' ');
        assert_ne!(version_in(&made(&parts), "index.html", "data-version=\""), version);
    }

    #[test]
    fn the_packed_folder_has_the_one_file_in_it() {
        let packed = with_one_file(&made(&parts::tests::parts()), b"<html>");
        assert!(packed.iter().any(|(name, _)| name == "lodelog.html"));
        assert!(packed.iter().any(|(name, _)| name == "index.html"));
        assert!(packed.is_sorted());
    }

    #[test]
    fn names_are_short_ascii_in_lower_case() {
        for file in made(&parts::tests::parts()) {
            let fits = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || "-./".contains(c);
            assert!(file.name.chars().all(fits) && file.name.len() <= 60, "{}", file.name);
        }
    }
}
