//! CRC-32 of gzip and zip, with one table of a kilobyte, made when it is first needed.
//!
//! `flate2` takes its sums from a library of this name, which brings sixteen such
//! tables, 16 kilobytes that do not compress, to be fast; the page is downloaded, and
//! unpacking takes longer than summing.  `[patch.crates-io]` puts this in its place.
//!
//! # Source
//!
//! RFC 1952, section 8: polynomial 0xEDB88320, bits from the least on, both ends inverted.

use std::sync::LazyLock;

// Made when first used: its kilobyte does not compress either.
static TABLE: LazyLock<[u32; 256]> = LazyLock::new(table);

fn table() -> [u32; 256] {
    let mut table = [0; 256];
    let mut byte = 0;
    while byte < 256 {
        let mut sum = byte as u32;
        let mut bit = 0;
        while bit < 8 {
            sum = if sum & 1 == 1 { 0xEDB8_8320 ^ (sum >> 1) } else { sum >> 1 };
            bit += 1;
        }
        table[byte] = sum;
        byte += 1;
    }
    table
}

fn next(table: &[u32; 256], sum: u32, byte: u8) -> u32 {
    table[usize::from(sum as u8 ^ byte)] ^ (sum >> 8)
}

/// A sum that is being taken.
#[derive(Clone, Debug, Default)]
pub struct Hasher {
    sum: u32,
    bytes: u64,
}

impl Hasher {
    /// No bytes yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes the next bytes.
    pub fn update(&mut self, bytes: &[u8]) {
        let table = &*TABLE;
        self.sum = !bytes.iter().fold(!self.sum, |sum, byte| next(table, sum, *byte));
        self.bytes += bytes.len() as u64;
    }

    /// The sum of all bytes.
    pub fn finalize(self) -> u32 {
        self.sum
    }

    /// Forgets them.
    pub fn reset(&mut self) {
        *self = Self::new();
    }

    /// Takes the bytes of another, of which only the sum is known.
    pub fn combine(&mut self, other: &Self) {
        let table = &*TABLE;
        self.sum = (0..other.bytes).fold(self.sum, |sum, _| next(table, sum, 0)) ^ other.sum;
        self.bytes += other.bytes;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sum(bytes: &[u8]) -> Hasher {
        let mut hasher = Hasher::new();
        hasher.update(bytes);
        hasher
    }

    #[test]
    fn the_check_value_of_the_catalogue_of_sums_comes_out() {
        // "123456789" has 0xCBF43926 (from memory; RFC 1952 gives the algorithm).
        assert_eq!(sum(b"123456789").finalize(), 0xCBF4_3926);
        assert_eq!(sum(b"").finalize(), 0);
    }

    #[test]
    fn parts_sum_to_the_whole_however_they_come() {
        let mut parts = sum(b"1234");
        parts.update(b"567");
        parts.combine(&sum(b"89"));
        assert_eq!(parts.clone().finalize(), 0xCBF4_3926);
        parts.reset();
        assert_eq!(parts.finalize(), 0);
    }
}
