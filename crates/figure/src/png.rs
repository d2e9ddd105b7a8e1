//! The printed size of a PNG: a `pHYs` chunk with its pixels to the metre.
//!
//! Source: W3C Recommendation "Portable Network Graphics (PNG) Specification
//! (Second Edition)", 5 "Datastream structure", 11.3.5.3 "pHYs", annex D
//! (CRC).  The picture itself is neither read nor changed.

use record::{Fault, say, words::word};
use std::fmt;

const SIGNATURE: [u8; 8] = [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a];
/// Length of a header chunk with its length, name and checksum.
const HEADER: usize = 25;

/// Why a density could not be written.
#[derive(Clone, Debug, PartialEq)]
pub enum PngFault {
    /// The bytes do not begin as a PNG does.
    NotPng,
    /// A chunk says it is longer than what follows.
    CutShort {
        /// Where it begins, in bytes from the start.
        at: usize,
    },
    /// The density is not one.
    Density(f64),
}

impl fmt::Display for PngFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotPng => f.write_str(&say!("The picture made by the browser is not a PNG.")),
            Self::CutShort { at } => {
                f.write_str(&say!("The picture ends inside its part at byte {at}."))
            }
            Self::Density(dpi) => {
                f.write_str(&say!("A picture has from 1 to 100,000 dots an inch, not {dpi}."))
            }
        }
    }
}

impl std::error::Error for PngFault {}

impl From<PngFault> for Fault {
    fn from(fault: PngFault) -> Self {
        let remedy = word("Choose a density such as 300, or save the figure as SVG.");
        Self::new("figure/png", fault.to_string(), remedy)
    }
}

/// The same PNG with its density set to `dpi` dots an inch; a density it
/// already had is replaced.
///
/// # Errors
///
/// [`PngFault`] when the bytes are no PNG or end early, or `dpi` does not lie
/// between 1 and 100,000.
pub fn with_density(png: &[u8], dpi: f64) -> Result<Vec<u8>, PngFault> {
    if !(1.0..=100_000.0).contains(&dpi) {
        return Err(PngFault::Density(dpi));
    }
    if png.len() < 8 + HEADER || png[..8] != SIGNATURE || png[12..16] != *b"IHDR" {
        return Err(PngFault::NotPng);
    }
    let per_metre = (dpi / 0.0254).round() as u32;
    let mut out = Vec::with_capacity(png.len() + 21);
    out.extend_from_slice(&png[..8 + HEADER]);
    out.extend(density(per_metre));
    let mut at = 8 + HEADER;
    while at < png.len() {
        let end = chunk_end(png, at).ok_or(PngFault::CutShort { at })?;
        if png[at + 4..at + 8] != *b"pHYs" {
            out.extend_from_slice(&png[at..end]);
        }
        at = end;
    }
    Ok(out)
}

/// Where a chunk ends: after its length, name, data and checksum.
fn chunk_end(png: &[u8], at: usize) -> Option<usize> {
    let length: [u8; 4] = png.get(at..at.checked_add(4)?)?.try_into().ok()?;
    let end = at.checked_add(12)?.checked_add(u32::from_be_bytes(length) as usize)?;
    (end <= png.len()).then_some(end)
}

fn density(per_metre: u32) -> Vec<u8> {
    let mut named = b"pHYs".to_vec();
    named.extend(per_metre.to_be_bytes());
    named.extend(per_metre.to_be_bytes());
    named.push(1); // the unit is the metre
    let mut chunk = 9u32.to_be_bytes().to_vec();
    chunk.extend(&named);
    chunk.extend(crc(&named).to_be_bytes());
    chunk
}

/// CRC-32 with the polynomial 0xEDB88320.
fn crc(bytes: &[u8]) -> u32 {
    let mut c = u32::MAX;
    for byte in bytes {
        c ^= u32::from(*byte);
        for _ in 0..8 {
            c = if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 };
        }
    }
    !c
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn chunk(name: &[u8; 4], data: &[u8]) -> Vec<u8> {
        let mut out = (data.len() as u32).to_be_bytes().to_vec();
        let named: Vec<u8> = name.iter().chain(data).copied().collect();
        out.extend(&named);
        out.extend(crc(&named).to_be_bytes());
        out
    }

    fn tiny() -> Vec<u8> {
        let mut png = SIGNATURE.to_vec();
        png.extend(chunk(b"IHDR", &[0, 0, 0, 1, 0, 0, 0, 1, 8, 0, 0, 0, 0]));
        png.extend(chunk(b"IDAT", &[1, 2, 3]));
        png.extend(chunk(b"IEND", &[]));
        png
    }

    #[test]
    fn the_checksum_is_that_of_the_check_value_and_of_an_empty_end_chunk() {
        // CRC-32 of "123456789": 0xCBF43926, the check value in the catalogue
        // of parametrised CRC algorithms (CRC-32/ISO-HDLC).
        assert_eq!(crc(b"123456789"), 0xcbf4_3926);
        // Every PNG ends with these bytes.
        assert_eq!(crc(b"IEND"), 0xae42_6082);
    }

    #[test]
    fn three_hundred_dots_an_inch_are_11811_a_metre() {
        let found = with_density(&tiny(), 300.0).unwrap();
        assert_eq!(found[37..41], *b"pHYs");
        assert_eq!(u32::from_be_bytes(found[41..45].try_into().unwrap()), 11_811);
        assert_eq!(found[49], 1);
    }

    #[test]
    fn a_density_already_there_is_replaced() {
        let once = with_density(&tiny(), 300.0).unwrap();
        let twice = with_density(&once, 600.0).unwrap();
        assert_eq!(once.len(), twice.len());
        assert_eq!(u32::from_be_bytes(twice[41..45].try_into().unwrap()), 23_622);
    }

    #[test]
    fn what_is_no_png_or_ends_early_is_refused() {
        assert_eq!(with_density(b"GIF89a", 300.0), Err(PngFault::NotPng));
        let cut = &tiny()[..50];
        assert_eq!(with_density(cut, 300.0), Err(PngFault::CutShort { at: 48 }));
        assert_eq!(with_density(&tiny(), 0.0), Err(PngFault::Density(0.0)));
    }

    proptest! {
        #[test]
        fn no_bytes_make_it_panic(tail in prop::collection::vec(any::<u8>(), 0..80), cut in 0usize..70) {
            let mut bytes = tiny();
            bytes.truncate(cut);
            bytes.extend(tail);
            let _ = with_density(&bytes, 300.0);
        }
    }
}
