//! A folder as one zip file (PKWARE APPNOTE 6.3.10), the same bytes each time.
//!
//! In go names and bytes; out comes the archive.  Every file is deflated and
//! carries the date on which the format's calendar begins.

use crate::halt::Halt;
use flate2::write::DeflateEncoder;
use flate2::{Compression, Crc};
use std::io::Write;

/// Version 2.0: deflate and folders.
const VERSION: u16 = 20;
const DEFLATED: u16 = 8;
/// 1 January 1980.
const FIRST_DAY: u16 = 1 << 5 | 1;

/// Packs files into an archive.
pub fn zip(files: &[(String, Vec<u8>)]) -> Result<Vec<u8>, Halt> {
    let mut archive = Vec::new();
    let mut directory = Vec::new();
    for (name, bytes) in files {
        let begin = length(archive.len())?;
        let packed = deflated(bytes)?;
        let facts = facts(name, bytes, &packed)?;
        archive.extend(b"PK\x03\x04");
        archive.extend(&facts);
        archive.extend(name.as_bytes());
        archive.extend(&packed);
        directory.extend(b"PK\x01\x02");
        directory.extend(VERSION.to_le_bytes());
        directory.extend(&facts);
        // No comment, disk 0, no attributes.
        directory.extend([0; 10]);
        directory.extend(begin.to_le_bytes());
        directory.extend(name.as_bytes());
    }
    let count = u16::try_from(files.len()).map_err(|_| too_large())?.to_le_bytes();
    let begin = length(archive.len())?;
    archive.extend(&directory);
    archive.extend(b"PK\x05\x06\0\0\0\0");
    archive.extend(count);
    archive.extend(count);
    archive.extend(length(directory.len())?.to_le_bytes());
    archive.extend(begin.to_le_bytes());
    archive.extend([0; 2]);
    Ok(archive)
}

/// What a file's own header and the directory both say of it.
fn facts(name: &str, bytes: &[u8], packed: &[u8]) -> Result<Vec<u8>, Halt> {
    let mut crc = Crc::new();
    crc.update(bytes);
    let mut facts = Vec::with_capacity(26);
    for word in [VERSION, 0, DEFLATED, 0, FIRST_DAY] {
        facts.extend(word.to_le_bytes());
    }
    for word in [crc.sum(), length(packed.len())?, length(bytes.len())?] {
        facts.extend(word.to_le_bytes());
    }
    let letters = u16::try_from(name.len()).map_err(|_| too_large())?;
    facts.extend(letters.to_le_bytes());
    facts.extend([0; 2]);
    Ok(facts)
}

fn deflated(bytes: &[u8]) -> Result<Vec<u8>, Halt> {
    let mut packer = DeflateEncoder::new(Vec::new(), Compression::best());
    packer
        .write_all(bytes)
        .and_then(|()| packer.finish())
        .map_err(|error| Halt::new(format!("A file could not be packed: {error}."), ""))
}

fn length(bytes: usize) -> Result<u32, Halt> {
    u32::try_from(bytes).map_err(|_| too_large())
}

fn too_large() -> Halt {
    Halt::new("The folder is too large for a plain zip file.", "Publish fewer or smaller files.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read;

    #[test]
    fn each_file_comes_out_of_the_archive_as_it_went_in() {
        let text = "a line\n".repeat(500).into_bytes();
        let archive =
            zip(&[("a/x.txt".into(), text.clone()), ("a/y".into(), Vec::new())]).expect("packed");
        assert_eq!(&archive[..4], b"PK\x03\x04");
        let size = |at: usize| u32::from_le_bytes(archive[at..at + 4].try_into().expect("four"));
        let packed = size(18) as usize;
        assert_eq!(size(22) as usize, text.len());
        assert_eq!(&archive[30..37], b"a/x.txt");
        let mut found = Vec::new();
        flate2::read::DeflateDecoder::new(&archive[37..37 + packed])
            .read_to_end(&mut found)
            .expect("unpacked");
        assert_eq!(found, text);
        assert_eq!(&archive[37 + packed..41 + packed], b"PK\x03\x04");
    }

    #[test]
    fn the_directory_is_where_the_end_says_and_counts_the_files() {
        let archive = zip(&[("a".into(), vec![1]), ("b".into(), vec![2])]).expect("packed");
        let end = &archive[archive.len() - 22..];
        assert_eq!(&end[..4], b"PK\x05\x06");
        assert_eq!(&end[8..12], &[2, 0, 2, 0]);
        let word = |at: usize| u32::from_le_bytes(end[at..at + 4].try_into().expect("four"));
        let begin = word(16) as usize;
        assert_eq!(&archive[begin..begin + 4], b"PK\x01\x02");
        assert_eq!(begin + word(12) as usize, archive.len() - 22);
        // CRC-32 of the single byte 1, as zlib computes it.
        let crc = flate2_crc(&[1]);
        assert_eq!(&archive[begin + 16..begin + 20], &crc.to_le_bytes());
    }

    fn flate2_crc(bytes: &[u8]) -> u32 {
        let mut crc = Crc::new();
        crc.update(bytes);
        crc.sum()
    }

    #[test]
    fn the_same_files_give_the_same_bytes() {
        let files = [("a".to_owned(), b"one".to_vec())];
        assert_eq!(zip(&files), zip(&files));
    }
}
