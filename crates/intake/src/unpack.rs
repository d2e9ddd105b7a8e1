//! Unpacking of gzip (RFC 1952), chunk by chunk, several members in a row.

use crate::ReadError;
use flate2::write::MultiGzDecoder;
use std::io::Write;

/// Unpacked bytes at most, for each packed one: deflate packs no tighter than
/// 1032 to 1 (RFC 1951), and logs pack about 4 to 1.
const LARGEST: u64 = 16 << 30;

/// A gzip stream being unpacked.
#[derive(Debug)]
pub(crate) struct Unpack {
    inner: MultiGzDecoder<Vec<u8>>,
    // Packed bytes that wait until there are enough of them.
    held: Vec<u8>,
    plain: u64,
}

/// Bytes given to the decoder at once: few, so that its output stays small, and always
/// as many, since what it gives out before a fault depends on where they were cut.
const STEP: usize = 1 << 14;

impl Unpack {
    /// A stream that has not begun.
    pub(crate) fn new() -> Self {
        Self { inner: MultiGzDecoder::new(Vec::new()), held: Vec::new(), plain: 0 }
    }

    /// Unpacks the next bytes and hands them on.
    pub(crate) fn push(
        &mut self,
        bytes: &[u8],
        mut each: impl FnMut(&[u8]) -> Result<(), ReadError>,
    ) -> Result<(), ReadError> {
        let mut rest = bytes;
        while self.held.len() + rest.len() >= STEP {
            let (now, later) = rest.split_at(STEP - self.held.len());
            self.held.extend_from_slice(now);
            self.write(&mut each)?;
            rest = later;
        }
        self.held.extend_from_slice(rest);
        Ok(())
    }

    fn write(
        &mut self,
        each: &mut impl FnMut(&[u8]) -> Result<(), ReadError>,
    ) -> Result<(), ReadError> {
        let written = self.inner.write_all(&self.held);
        self.held.clear();
        self.hand_on(each)?;
        written.map_err(|_| ReadError::Packed { bytes: self.plain })
    }

    /// Ends the stream; returns the number of bytes unpacked.
    pub(crate) fn finish(
        mut self,
        mut each: impl FnMut(&[u8]) -> Result<(), ReadError>,
    ) -> Result<u64, ReadError> {
        self.write(&mut each)?;
        let ended = self.inner.try_finish().is_ok();
        self.hand_on(&mut each)?;
        if ended { Ok(self.plain) } else { Err(ReadError::Packed { bytes: self.plain }) }
    }

    fn hand_on(
        &mut self,
        each: &mut impl FnMut(&[u8]) -> Result<(), ReadError>,
    ) -> Result<(), ReadError> {
        let plain = self.inner.get_mut();
        self.plain += plain.len() as u64;
        if self.plain > LARGEST {
            return Err(ReadError::Packed { bytes: self.plain });
        }
        let result = each(plain);
        plain.clear();
        result
    }
}
