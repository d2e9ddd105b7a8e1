//! `demo-data`: writes the invented logs, or with `--check` compares them.
//!
//! The logs come from `specimen`, seeded: the same bytes on every machine.

use crate::arguments::Arguments;
use crate::halt::Halt;
use std::collections::BTreeSet;
use std::path::Path;

/// What people write about the logs; everything else in the folder is generated.
const BY_HAND: [&str; 1] = ["README.md"];

/// A file's name and its bytes.
type File = (String, Vec<u8>);

/// Writes or compares the folder `demo-data`.
pub fn command(root: &Path, mut arguments: Arguments) -> Result<(), Halt> {
    let check = arguments.flag("--check");
    arguments.nothing_left()?;
    let folder = root.join("demo-data");
    let files: Vec<File> =
        specimen::files().into_iter().map(|(name, bytes)| (name.to_string(), bytes)).collect();
    if check { compare(&folder, &files) } else { write(&folder, &files) }
}

fn write(folder: &Path, files: &[File]) -> Result<(), Halt> {
    std::fs::create_dir_all(folder).map_err(|error| Halt::file(folder, "made", &error))?;
    for (name, bytes) in files {
        let path = folder.join(name);
        std::fs::write(&path, bytes).map_err(|error| Halt::file(&path, "written", &error))?;
        println!("{:>9} bytes  {name}", bytes.len());
    }
    Ok(())
}

fn compare(folder: &Path, files: &[File]) -> Result<(), Halt> {
    let found = differences(folder, files)?;
    for line in &found {
        println!("{line}");
    }
    println!("demo-data: {} files compared, {} differ", files.len(), found.len());
    if found.is_empty() {
        return Ok(());
    }
    Err(Halt::new(
        "The demo logs are not what the generator makes.",
        "If the generator was meant to change: cargo xtask demo-data, then read the difference.",
    ))
}

/// A line for each file that is missing, different, or of unknown origin.
fn differences(folder: &Path, files: &[File]) -> Result<Vec<String>, Halt> {
    let mut found = Vec::new();
    for (name, bytes) in files {
        match std::fs::read(folder.join(name)) {
            Ok(kept) if kept == *bytes => {}
            Ok(kept) => found.push(first_difference(name, &kept, bytes)),
            Err(_) => found.push(format!("{name}: is missing")),
        }
    }
    let made: BTreeSet<&str> = files.iter().map(|(name, _)| name.as_str()).chain(BY_HAND).collect();
    let entries = std::fs::read_dir(folder).map_err(|e| Halt::file(folder, "listed", &e))?;
    let names = entries.flatten().map(|entry| entry.file_name().to_string_lossy().into_owned());
    let mut strange: Vec<String> = names.filter(|name| !made.contains(name.as_str())).collect();
    strange.sort();
    found.extend(strange.into_iter().map(|name| format!("{name}: is not generated")));
    Ok(found)
}

/// The line on which a kept file first differs, with both readings.
fn first_difference(name: &str, kept: &[u8], made: &[u8]) -> String {
    let mut pairs = kept.split(|b| *b == b'\n').zip(made.split(|b| *b == b'\n')).enumerate();
    match pairs.find(|(_, (one, other))| one != other) {
        Some((at, (one, other))) => format!(
            "{name}:{}: kept `{}`, made `{}`",
            at + 1,
            String::from_utf8_lossy(one),
            String::from_utf8_lossy(other)
        ),
        None => format!("{name}: kept {} bytes, made {}", kept.len(), made.len()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_compares_equal_and_every_change_is_found() {
        let folder = std::env::temp_dir().join(format!("lodelog-demo-{}", std::process::id()));
        let files = [
            ("a.csv".to_owned(), b"t,x\n1,2\n".to_vec()),
            ("b.csv".to_owned(), b"1\n".to_vec()),
            ("c.csv".to_owned(), b"1\n".to_vec()),
        ];
        write(&folder, &files).expect("written");
        std::fs::write(folder.join("README.md"), "by hand").expect("written");
        assert_eq!(differences(&folder, &files), Ok(vec![]));
        std::fs::write(folder.join("a.csv"), "t,x\n1,3\n").expect("written");
        std::fs::write(folder.join("b.csv"), "1\n2").expect("written");
        std::fs::remove_file(folder.join("c.csv")).expect("removed");
        std::fs::write(folder.join("d.csv"), "").expect("written");
        let found = differences(&folder, &files).expect("compared");
        let wanted = [
            "a.csv:2: kept `1,3`, made `1,2`",
            "b.csv:2: kept `2`, made ``",
            "c.csv: is missing",
            "d.csv: is not generated",
        ];
        assert_eq!(found, wanted);
        assert!(compare(&folder, &files).is_err());
        std::fs::remove_dir_all(folder).expect("removed");
    }
}
