//! A short run of the fuzz targets of `tests/fuzz`: their laws on logs of the corpus
//! that are damaged by a generator whose seed is fixed, so that every run is the same.

// A test may stop at what should not be.
#![allow(clippy::expect_used)]

#[path = "../../../tests/fuzz/laws.rs"]
mod laws;

use std::path::Path;

fn corpus() -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/corpus");
    let entries = std::fs::read_dir(folder).expect("the corpus lies in tests/corpus");
    let mut paths: Vec<_> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.retain(|path| path.extension().is_some_and(|e| e == "log"));
    paths.sort();
    paths.iter().map(|path| std::fs::read(path).expect("a log")).collect()
}

/// xorshift64 (G. Marsaglia, J. Stat. Softw. 8 (2003) 14, triple 13, 7, 17).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 >> 33).unwrap_or(0) % n.max(1)
    }
}

/// Pieces that parsers stumble over.
const PIECES: [&[u8]; 12] = [
    b"9223372036854775807",
    b"-1e308",
    b"NaN",
    b"\"",
    b",,,",
    b"\0\0",
    b"\xFF\xFE",
    b"{\"a\":[",
    b"24:60:61",
    b"32/13/2026",
    b"+99:99",
    b"|",
];

fn damaged(log: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut out = log.to_vec();
    for _ in 0..=dice.below(4) {
        let at = dice.below(out.len() + 1);
        let end = (at + dice.below(24)).min(out.len());
        match dice.below(4) {
            0 => drop(out.drain(at..end)),
            1 => drop(out.splice(at..end, PIECES[dice.below(PIECES.len())].iter().copied())),
            2 => drop(out.splice(at..at, [dice.below(256) as u8])),
            _ => {
                let copy = out[at..end].to_vec();
                let to = dice.below(out.len() + 1);
                drop(out.splice(to..to, copy));
            }
        }
    }
    out
}

#[test]
fn no_law_of_the_fuzz_targets_breaks_on_damaged_logs() {
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    for log in corpus() {
        for _ in 0..6 {
            let damaged = damaged(&log, &mut dice);
            laws::bytes(&damaged);
            laws::chunks(&damaged);
            laws::rows(&damaged);
            laws::json(&damaged);
            laws::choices(&damaged);
            damaged.split(|byte| *byte == b'\n').take(6).for_each(laws::parts);
        }
    }
}

/// Found by fuzzing: how much a damaged archive had given out depended on the chunks.
#[test]
fn a_damaged_archive_breaks_off_at_one_place_however_it_is_cut() {
    laws::chunks(FOUND);
}

const FOUND: &[u8] =
    b"&\x1F\x8B\x08\x00ha0,0\x00\xC2\xB0\x09\x09\xC20\x0C0ors\x85w\x0Acadence 0.00.02\x0A.\
    02\x0Arti\xD3ews 1v632rtimews 1v6te T\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\x04\
    \xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFFime$, \x09magsQa1\xF6EAR\
    ,3";

/// Found by fuzzing: a day of a year at the end of what nanoseconds reach.
#[test]
fn a_day_beyond_the_last_year_is_no_date() {
    for row in ["2261-626t:2026-", "2262-099T00:00:00Z,1,2,3,", "2262-04-11T23:59:59-12:00,1,2,3,"]
    {
        laws::rows(row.as_bytes());
    }
}
