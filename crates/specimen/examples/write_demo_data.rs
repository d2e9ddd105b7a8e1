//! Writes the files that are kept with the project into a directory.
//!
//! One argument: the directory, such as `demo-data`.  Nothing is read.

use std::path::Path;

fn main() -> std::io::Result<()> {
    let directory = std::env::args().nth(1).unwrap_or_else(|| "demo-data".to_owned());
    for (name, bytes) in specimen::files() {
        std::fs::write(Path::new(&directory).join(&name), &bytes)?;
        eprintln!("{name}: {} bytes", bytes.len());
    }
    Ok(())
}
