//! Unpacking of gzip (RFC 1952), chunk by chunk, several members in a row.
//!
//! Head and tail of a member are read here: the ready-made reader of them carries
//! errors with words, and with these kilobytes of tables of letters into the page.

use crate::ReadError;
use flate2::{Crc, Decompress, FlushDecompress, Status};

/// Unpacked bytes at most, for each packed one: deflate packs no tighter than
/// 1032 to 1 (RFC 1951), and logs pack about 4 to 1.
const LARGEST: u64 = 16 << 30;
/// Bytes given to the decoder at once: few, so that its output stays small, and always
/// as many, since what it gives out before a fault depends on where they were cut.
const STEP: usize = 1 << 14;
/// Bytes unpacked at a time.
const ROOM: usize = 1 << 16;
/// The longest head of a member: names and remarks are short.
const HEAD: usize = 1 << 17;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Part {
    Head,
    Body,
    Tail,
}

/// A gzip stream being unpacked.
#[derive(Debug)]
pub(crate) struct Unpack {
    inner: Decompress,
    crc: Crc,
    part: Part,
    // Packed bytes that wait until there are enough of them.
    held: Vec<u8>,
    // Packed bytes being worked on.
    todo: Vec<u8>,
    room: Vec<u8>,
    plain: u64,
    padding: u64,
}

impl Unpack {
    /// A stream that has not begun.
    pub(crate) fn new() -> Self {
        Self {
            inner: Decompress::new(false),
            crc: Crc::new(),
            part: Part::Head,
            held: Vec::new(),
            todo: Vec::new(),
            room: Vec::with_capacity(ROOM),
            plain: 0,
            padding: 0,
        }
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
            self.work(&mut each)?;
            rest = later;
        }
        self.held.extend_from_slice(rest);
        Ok(())
    }

    /// Ends the stream; returns the numbers of bytes unpacked, and of padding behind
    /// the last member.
    pub(crate) fn finish(
        mut self,
        mut each: impl FnMut(&[u8]) -> Result<(), ReadError>,
    ) -> Result<(u64, u64), ReadError> {
        self.work(&mut each)?;
        let whole = self.part == Part::Head && self.todo.is_empty();
        if whole { Ok((self.plain, self.padding)) } else { Err(self.broken()) }
    }

    fn broken(&self) -> ReadError {
        ReadError::Packed { bytes: self.plain }
    }

    fn work(
        &mut self,
        each: &mut dyn FnMut(&[u8]) -> Result<(), ReadError>,
    ) -> Result<(), ReadError> {
        self.todo.append(&mut self.held);
        loop {
            let done = match self.part {
                Part::Head => self.head()?,
                Part::Body => self.body(each)?,
                Part::Tail => self.tail()?,
            };
            if !done {
                return Ok(());
            }
        }
    }

    // Each of these says whether it came on.
    fn head(&mut self) -> Result<bool, ReadError> {
        if self.plain > 0 && self.todo.iter().all(|byte| *byte == 0) {
            self.padding += self.todo.len() as u64;
            self.todo.clear();
        }
        let Some(length) = head(&self.todo) else {
            let begins = b"\x1F\x8B\x08".iter().zip(&self.todo).all(|(a, b)| a == b);
            let short = begins && self.todo.len() < HEAD;
            return if short { Ok(false) } else { Err(self.broken()) };
        };
        self.todo.drain(..length);
        self.inner.reset(false);
        self.crc.reset();
        self.part = Part::Body;
        Ok(true)
    }

    fn body(
        &mut self,
        each: &mut dyn FnMut(&[u8]) -> Result<(), ReadError>,
    ) -> Result<bool, ReadError> {
        let before = self.inner.total_in();
        self.room.clear();
        let status = self.inner.decompress_vec(&self.todo, &mut self.room, FlushDecompress::None);
        let used = (self.inner.total_in() - before) as usize;
        self.todo.drain(..used);
        self.plain += self.room.len() as u64;
        self.crc.update(&self.room);
        if self.plain > LARGEST {
            return Err(self.broken());
        }
        each(&self.room)?;
        match status {
            Err(_) => Err(self.broken()),
            Ok(Status::StreamEnd) => {
                self.part = Part::Tail;
                Ok(true)
            }
            Ok(_) => Ok(used > 0 || !self.room.is_empty()),
        }
    }

    // The sum and the length, modulo 2^32, of what was unpacked.
    fn tail(&mut self) -> Result<bool, ReadError> {
        let Some(tail) = self.todo.first_chunk::<8>() else { return Ok(false) };
        let [sum, length] = [self.crc.sum(), self.crc.amount()].map(u32::to_le_bytes);
        if tail[..4] != sum || tail[4..] != length {
            return Err(self.broken());
        }
        self.todo.drain(..8);
        self.part = Part::Head;
        Ok(true)
    }
}

// The length of a member's head (RFC 1952, section 2.3); none where it is not whole.
fn head(bytes: &[u8]) -> Option<usize> {
    let [0x1F, 0x8B, 8, flags, ..] = *bytes else { return None };
    let mut at = 10;
    if flags & 4 != 0 {
        let length: &[u8; 2] = bytes.get(at..)?.first_chunk()?;
        at += 2 + usize::from(u16::from_le_bytes(*length));
    }
    for text in [8, 16] {
        if flags & text != 0 {
            at += 1 + memchr::memchr(0, bytes.get(at..)?)?;
        }
    }
    at += usize::from(flags & 2);
    (bytes.len() >= at).then_some(at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use flate2::{Compression, GzBuilder};
    use std::io::Write;

    fn unpacked(bytes: &[u8], step: usize) -> Result<(Vec<u8>, u64), ReadError> {
        let (mut out, mut unpack) = (Vec::new(), Unpack::new());
        for chunk in bytes.chunks(step) {
            unpack.push(chunk, |plain| {
                out.extend_from_slice(plain);
                Ok(())
            })?;
        }
        let (_, padding) = unpack.finish(|plain| {
            out.extend_from_slice(plain);
            Ok(())
        })?;
        Ok((out, padding))
    }

    fn packed(text: &[u8], builder: GzBuilder) -> Vec<u8> {
        let mut packer = builder.write(Vec::new(), Compression::default());
        packer.write_all(text).unwrap();
        packer.finish().unwrap()
    }

    #[test]
    fn members_with_every_kind_of_head_come_back_however_they_are_cut() {
        let text: Vec<u8> = (0..200_000u32).flat_map(|k| k.to_le_bytes()).collect();
        let mut bytes = packed(&text, GzBuilder::new().filename("a.csv").comment("b"));
        bytes.extend(packed(b"more", GzBuilder::new().extra(vec![1, 2, 3])));
        bytes.extend(packed(b"", GzBuilder::new()));
        let wanted = [text.as_slice(), b"more"].concat();
        for step in [1, 1000, bytes.len()] {
            assert_eq!(unpacked(&bytes, step).unwrap(), (wanted.clone(), 0));
        }
        bytes.extend([0; 40_000]);
        assert_eq!(unpacked(&bytes, 4096).unwrap(), (wanted, 40_000));
    }

    #[test]
    fn what_is_cut_off_or_damaged_is_refused() {
        let bytes = packed(b"17482.1,17482.3,17482.2", GzBuilder::new().filename("a.csv"));
        for end in 0..bytes.len() {
            assert!(unpacked(&bytes[..end], 7).is_err() || end == 0, "{end}");
        }
        let mut wrong = bytes.clone();
        *wrong.last_mut().unwrap() ^= 1;
        assert!(unpacked(&wrong, 7).is_err());
        assert!(unpacked(&[bytes.as_slice(), b"tail"].concat(), 7).is_err());
    }
}
