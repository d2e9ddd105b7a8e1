//! What the published files weigh, against their bars.

use super::parts::is_asked_for;
use crate::halt::Halt;
use flate2::Compression;
use flate2::write::GzEncoder;
use std::io::Write;

/// What is read before the page can be used, gzip -9: the most it may weigh in bytes.
pub const LANDING_BAR: u64 = 60_000;
/// The whole folder but what is fetched only when somebody asks for it, gzip -9.
pub const FOLDER_BAR: u64 = 900_000;
/// What is fetched only when somebody asks for it: the pictures and the words.
pub const ASKED_FOR_BAR: u64 = 120_000;
/// The page in one file, as stored.
pub const ONE_FILE_BAR: u64 = 1_600_000;
/// The packed folder, as stored.
pub const ZIP_BAR: u64 = 3_000_000;

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

impl Weight {
    /// Weighs a file's bytes.
    pub fn of(name: &str, bytes: &[u8]) -> Self {
        let packed = gzipped(bytes).len() as u64;
        Self { name: name.to_owned(), raw: bytes.len() as u64, packed }
    }

    // The engine, its worker, what keeps the page, and lessons come after the landing.
    fn is_landing(&self) -> bool {
        let later = |start: &&str| self.name.starts_with(start);
        !["engine-", "worker-", "later-", "sw.js"].iter().any(later) && !self.name.contains('/')
    }

    fn is_asked_for(&self) -> bool {
        self.name.starts_with("later-") || is_asked_for(&self.name)
    }
}

/// Bytes as gzip -9.
pub fn gzipped(bytes: &[u8]) -> Vec<u8> {
    let mut gzip = GzEncoder::new(Vec::new(), Compression::best());
    // Writing to memory does not fail; an empty result would show in the table.
    gzip.write_all(bytes).and_then(|()| gzip.finish()).unwrap_or_default()
}

/// A sum and the most it may be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Judged {
    /// What is weighed.
    pub what: &'static str,
    /// Its bytes.
    pub bytes: u64,
    /// The most they may be.
    pub bar: u64,
}

/// The sums that have bars.
pub fn judged(folder: &[Weight], one_file: u64, zip: u64) -> Vec<Judged> {
    let packed =
        |fits: &dyn Fn(&Weight) -> bool| folder.iter().filter(|w| fits(w)).map(|w| w.packed).sum();
    vec![
        at_bar("landing, gzip -9", packed(&Weight::is_landing), LANDING_BAR),
        at_bar("page and engine, gzip -9", packed(&|w| !w.is_asked_for()), FOLDER_BAR),
        at_bar("fetched when asked for, gzip -9", packed(&Weight::is_asked_for), ASKED_FOR_BAR),
        at_bar("lodelog.html", one_file, ONE_FILE_BAR),
        at_bar("lodelog.zip", zip, ZIP_BAR),
    ]
}

fn at_bar(what: &'static str, bytes: u64, bar: u64) -> Judged {
    Judged { what, bytes, bar }
}

/// The sizes as a table, in bytes.
pub fn table(weights: &[Weight], sums: &[Judged]) -> String {
    let mut text = format!("{:>10} {:>10}  file\n", "bytes", "gzip -9");
    for w in weights {
        text.push_str(&format!("{:>10} {:>10}  {}\n", w.raw, w.packed, w.name));
    }
    text.push_str(&format!("{:>10} {:>10}\n", "bytes", "bar"));
    for Judged { what, bytes, bar } in sums {
        let missed = bytes.saturating_sub(*bar);
        let told = if missed > 0 { format!(": over its bar by {missed}") } else { String::new() };
        text.push_str(&format!("{bytes:>10} {bar:>10}  {what}{told}\n"));
    }
    text
}

/// Fails when anything is heavier than its bar.
pub fn judge(sums: &[Judged]) -> Result<(), Halt> {
    let heavy = sums.iter().filter(|one| one.bytes > one.bar);
    let words =
        heavy.map(|one| format!("{}: {} bytes; the limit is {}", one.what, one.bytes, one.bar));
    let words: Vec<String> = words.collect();
    if words.is_empty() {
        return Ok(());
    }
    Err(Halt::new(
        format!("Too heavy. {}.", words.join(". ")),
        "The table above shows which file to make lighter.",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn weighing(name: &str, packed: u64) -> Weight {
        Weight { name: name.into(), raw: 2 * packed, packed }
    }

    #[test]
    fn a_folder_at_its_bar_passes_and_one_over_it_is_refused_and_told() {
        let at = judged(&[weighing("engine-1.wasm", FOLDER_BAR)], 0, 0);
        assert_eq!(judge(&at), Ok(()));
        let over = [weighing("engine-1.wasm", FOLDER_BAR), weighing("index.html", 1)];
        assert!(table(&[], &judged(&over, 0, 0)).contains("gzip -9: over its bar by 1\n"));
        let said = judge(&judged(&over, 0, 0)).expect_err("refused");
        assert!(said.message.contains("900001 bytes"), "{said}");
    }

    #[test]
    fn the_landing_leaves_out_what_comes_later() {
        let folder = [
            weighing("app-1.js", 30),
            weighing("engine-1.wasm", 800),
            weighing("index.html", 2),
            weighing("sw.js", 5),
            weighing("worker-1.js", 7),
            weighing("later-1.js", 11),
            weighing("pictures/why.svg", 13),
        ];
        let sums = judged(&folder, 0, 0);
        assert_eq!(sums.iter().map(|s| s.bytes).collect::<Vec<_>>(), [32, 844, 24, 0, 0]);
    }

    #[test]
    fn one_file_and_zip_have_bars_of_their_own() {
        assert!(judge(&judged(&[], ONE_FILE_BAR + 1, 0)).is_err());
        assert!(judge(&judged(&[], 0, ZIP_BAR + 1)).is_err());
        assert_eq!(judge(&judged(&[], ONE_FILE_BAR, ZIP_BAR)), Ok(()));
    }

    #[test]
    fn the_table_names_every_file_and_every_bar() {
        let folder = [weighing("a.js", 10)];
        let text = table(&folder, &judged(&folder, 5, 6));
        assert!(text.contains("        20         10  a.js\n"), "{text}");
        assert!(text.contains("         5    1600000  lodelog.html\n"), "{text}");
    }

    #[test]
    fn compressible_bytes_pack_small_and_are_a_gzip_stream_with_its_18_byte_frame() {
        assert!(gzipped(&[0; 10_000]).len() < 100);
        assert!(gzipped(&[]).len() >= 18);
    }
}
