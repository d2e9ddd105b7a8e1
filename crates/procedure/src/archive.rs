//! Everything of a session in one zip: hand-in, methods, procedure, processed
//! record, tables, figures and the report that replay prints.
//!
//! The form is that of APPNOTE.TXT 6.3.10 without its later parts: local
//! headers, deflated data, a central directory.  No times are in it, so the
//! same session gives the same bytes.

use crate::handin::{self, Written};
use crate::replay;
use crate::session::Session;
use flate2::{Compression, Crc};

/// All files of a session: name and content.
pub fn files(session: &mut Session, written: &Written) -> Vec<(String, Vec<u8>)> {
    let report = replay::report(session, true);
    let mut files = vec![
        ("hand-in.html".to_owned(), handin::html(session, written).into_bytes()),
        ("methods.txt".to_owned(), session.methods().into_bytes()),
        (
            "procedure.json".to_owned(),
            crate::json::text(&session.whole_procedure().to_json()).into_bytes(),
        ),
        ("report.json".to_owned(), report.json.into_bytes()),
    ];
    files.extend(report.files);
    files
}

/// Files packed under one folder.
pub fn zip(folder: &str, files: &[(String, Vec<u8>)]) -> Vec<u8> {
    let mut out = Vec::new();
    let mut directory = Vec::new();
    for (name, content) in files {
        let entry = Entry::new(&format!("{folder}/{name}"), content, out.len());
        out.extend(entry.local());
        out.extend(&entry.packed);
        directory.extend(entry.central());
    }
    let at = out.len();
    out.extend(&directory);
    out.extend(0x0605_4b50_u32.to_le_bytes());
    out.extend([0; 4]);
    let n = files.len() as u16;
    out.extend(n.to_le_bytes());
    out.extend(n.to_le_bytes());
    out.extend((directory.len() as u32).to_le_bytes());
    out.extend((at as u32).to_le_bytes());
    out.extend([0; 2]);
    out
}

struct Entry {
    name: String,
    packed: Vec<u8>,
    // Flags to lengths: what both headers hold.
    shared: Vec<u8>,
    at: usize,
}

impl Entry {
    fn new(name: &str, content: &[u8], at: usize) -> Self {
        let packed = crate::link::packed(content, Compression::default());
        let mut crc = Crc::new();
        crc.update(content);
        let mut shared = Vec::new();
        // Version 2.0; names are UTF-8; deflate; midnight of 1 January 1980.
        for word in [20_u16, 1 << 11, 8, 0, 0x21] {
            shared.extend(word.to_le_bytes());
        }
        for word in [crc.sum(), packed.len() as u32, content.len() as u32] {
            shared.extend(word.to_le_bytes());
        }
        shared.extend((name.len() as u16).to_le_bytes());
        shared.extend([0; 2]);
        Self { name: name.to_owned(), packed, shared, at }
    }

    fn local(&self) -> Vec<u8> {
        let mut out = 0x0403_4b50_u32.to_le_bytes().to_vec();
        out.extend(&self.shared);
        out.extend(self.name.as_bytes());
        out
    }

    fn central(&self) -> Vec<u8> {
        let mut out = 0x0201_4b50_u32.to_le_bytes().to_vec();
        out.extend(20_u16.to_le_bytes());
        out.extend(&self.shared);
        // No comment, first disk, no attributes.
        out.extend([0; 10]);
        out.extend((self.at as u32).to_le_bytes());
        out.extend(self.name.as_bytes());
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use flate2::read::DeflateDecoder;
    use std::io::Read;

    fn word(bytes: &[u8], at: usize) -> usize {
        u32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]]) as usize
    }

    #[test]
    fn each_file_comes_back_from_its_place() {
        let files = vec![
            ("a.txt".to_owned(), b"one one one one".to_vec()),
            ("empty".to_owned(), Vec::new()),
            ("ü.csv".to_owned(), vec![7; 70_000]),
        ];
        let zip = zip("work", &files);
        let end = zip.len() - 22;
        assert_eq!(&zip[end..end + 4], b"PK\x05\x06");
        let mut at = word(&zip, end + 16);
        for (name, content) in &files {
            assert_eq!(&zip[at..at + 4], b"PK\x01\x02");
            let (packed, plain) = (word(&zip, at + 20), word(&zip, at + 24));
            assert_eq!(plain, content.len());
            let local = word(&zip, at + 42);
            let path = format!("work/{name}");
            let start = local + 30 + path.len();
            assert_eq!(&zip[local + 30..start], path.as_bytes());
            let mut back = Vec::new();
            DeflateDecoder::new(&zip[start..start + packed]).read_to_end(&mut back).unwrap();
            assert_eq!(&back, content);
            at += 46 + path.len();
        }
        assert_eq!(at, end);
    }
}
