//! `dist`: the folder that is published, and its sizes against the bars.
//!
//! In go `www/` and the engine at its smallest; out comes `dist/`, which works
//! from any static path.  Nothing is committed from it.

use crate::arguments::Arguments;
use crate::engine::{self, Build};
use crate::halt::Halt;
use flate2::Compression;
use flate2::write::GzEncoder;
use std::io::Write;
use std::path::{Path, PathBuf};

/// The most that the page and its engine may weigh, gzip -9, in bytes.
pub const BAR_BYTES: u64 = 900_000;

/// What one published file weighs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Weight {
    /// The file, from the folder's top.
    pub name: String,
    /// Bytes as stored.
    pub raw: u64,
    /// Bytes as sent by a server that compresses: gzip -9.
    pub packed: u64,
}

/// Builds the folder, prints the sizes, and fails when a bar is passed.
pub fn command(root: &Path, arguments: Arguments) -> Result<(), Halt> {
    arguments.nothing_left()?;
    let folder = build(root)?;
    let weights = weigh(&folder)?;
    print!("{}", table(&weights));
    judge(&weights)
}

/// Builds `dist/` and gives its path.
pub fn build(root: &Path) -> Result<PathBuf, Halt> {
    engine::build(root, Build::Dist, &root.join("www/pkg"))?;
    gather(root)
}

/// Copies `www/` as it stands, its built engine included, to `dist/`.
pub fn gather(root: &Path) -> Result<PathBuf, Halt> {
    let folder = root.join("dist");
    if folder.exists() {
        std::fs::remove_dir_all(&folder).map_err(|e| Halt::file(&folder, "cleared", &e))?;
    }
    for name in files_below(&root.join("www"))? {
        if is_published(&name) {
            copy(&root.join("www").join(&name), &folder.join(&name))?;
        }
    }
    Ok(folder)
}

/// Type declarations and tool files serve the checks, not the visitor.
fn is_published(name: &str) -> bool {
    let file = name.rsplit('/').next().unwrap_or(name);
    !name.ends_with(".d.ts") && !file.starts_with('.') && file != "package.json"
}

fn copy(from: &Path, to: &Path) -> Result<(), Halt> {
    if let Some(folder) = to.parent() {
        std::fs::create_dir_all(folder).map_err(|e| Halt::file(folder, "made", &e))?;
    }
    std::fs::copy(from, to).map(|_| ()).map_err(|error| Halt::file(from, "copied", &error))
}

/// Every file below a folder, by its path from there with `/`, sorted.
fn files_below(folder: &Path) -> Result<Vec<String>, Halt> {
    let mut found = Vec::new();
    let mut waiting = vec![PathBuf::new()];
    while let Some(below) = waiting.pop() {
        let here = folder.join(&below);
        let entries = std::fs::read_dir(&here).map_err(|e| Halt::file(&here, "listed", &e))?;
        for entry in entries.flatten() {
            let path = below.join(entry.file_name());
            if entry.path().is_dir() {
                waiting.push(path);
            } else {
                found.push(path.to_string_lossy().replace('\\', "/"));
            }
        }
    }
    found.sort();
    Ok(found)
}

/// The sizes of every file in a folder.
pub fn weigh(folder: &Path) -> Result<Vec<Weight>, Halt> {
    let weight = |name: String| {
        let path = folder.join(&name);
        let bytes = std::fs::read(&path).map_err(|error| Halt::file(&path, "read", &error))?;
        Ok(Weight { name, raw: bytes.len() as u64, packed: packed_bytes(&bytes) })
    };
    files_below(folder)?.into_iter().map(weight).collect()
}

fn packed_bytes(bytes: &[u8]) -> u64 {
    let mut gzip = GzEncoder::new(Vec::new(), Compression::best());
    // Writing to memory does not fail; an empty result would show in the table.
    let packed = gzip.write_all(bytes).and_then(|()| gzip.finish());
    packed.map_or(0, |p| p.len() as u64)
}

fn total(weights: &[Weight]) -> (u64, u64) {
    weights.iter().fold((0, 0), |(raw, packed), w| (raw + w.raw, packed + w.packed))
}

/// The sizes as a table, in bytes.
pub fn table(weights: &[Weight]) -> String {
    let mut text = format!("{:>10} {:>10}  file\n", "bytes", "gzip -9");
    for w in weights {
        text.push_str(&format!("{:>10} {:>10}  {}\n", w.raw, w.packed, w.name));
    }
    let (raw, packed) = total(weights);
    text.push_str(&format!("{raw:>10} {packed:>10}  together (bar: {BAR_BYTES} gzip -9)\n"));
    text
}

/// Fails when the folder is heavier than its bar.
pub fn judge(weights: &[Weight]) -> Result<(), Halt> {
    let (_, packed) = total(weights);
    if packed <= BAR_BYTES {
        return Ok(());
    }
    Err(Halt::new(
        format!("The page weighs {packed} bytes gzip -9; the bar is {BAR_BYTES}."),
        "The table above shows which file to make lighter.",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn weighing(packed: u64) -> Weight {
        Weight { name: "x".into(), raw: 2 * packed, packed }
    }

    #[test]
    fn a_page_over_its_bar_is_refused_and_one_at_it_is_not() {
        assert_eq!(judge(&[weighing(BAR_BYTES - 1), weighing(1)]), Ok(()));
        assert!(judge(&[weighing(BAR_BYTES), weighing(1)]).is_err());
    }

    #[test]
    fn the_table_adds_up() {
        let text = table(&[weighing(10), weighing(20)]);
        assert!(text.contains("        60         30  together"), "{text}");
    }

    #[test]
    fn compressible_bytes_pack_small_and_are_a_gzip_stream_with_its_18_byte_frame() {
        assert!(packed_bytes(&[0; 10_000]) < 100);
        assert!(packed_bytes(&[]) >= 18);
    }

    #[test]
    fn declarations_and_tool_files_are_not_published() {
        assert!(is_published("pkg/page.js"));
        assert!(!is_published("pkg/page.d.ts"));
        assert!(!is_published("pkg/.gitignore"));
        assert!(!is_published("pkg/package.json"));
    }

    #[test]
    fn the_published_folder_is_a_copy_of_the_page() {
        let root = std::env::temp_dir().join(format!("lodelog-dist-{}", std::process::id()));
        std::fs::create_dir_all(root.join("www/app")).expect("made");
        std::fs::write(root.join("www/index.html"), "page").expect("written");
        std::fs::write(root.join("www/app/a.js"), "1").expect("written");
        std::fs::write(root.join("www/app/a.d.ts"), "1").expect("written");
        let weights = weigh(&gather(&root).expect("gathered")).expect("weighed");
        let names: Vec<&str> = weights.iter().map(|w| w.name.as_str()).collect();
        assert_eq!(names, ["app/a.js", "index.html"]);
        std::fs::remove_dir_all(root).expect("removed");
    }
}
