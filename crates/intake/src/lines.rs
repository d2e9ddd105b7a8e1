//! Lines out of chunks: LF, CR LF and lone CR all end one.
//!
//! Chunks may be cut anywhere, between CR and LF too; the lines come out the
//! same.  A line longer than the limit is cut there and the rest of it is
//! passed over, so that one endless line cannot fill the memory.

/// The longest line kept, bytes.  From memory: the widest loggers write a few
/// thousand bytes a row.
const LONGEST: usize = 1 << 20;

/// Cuts chunks into lines.
#[derive(Debug, Default)]
pub(crate) struct Lines {
    carry: Vec<u8>,
    number: u64,
    after_return: bool,
    unlimited: bool,
    open: bool,
}

impl Lines {
    /// Lines without a limit of length, for JSON on a single line.
    pub(crate) fn unlimited() -> Self {
        Self { unlimited: true, ..Self::default() }
    }

    /// Hands every line that ends in `bytes` to `each`, with its number from 1.
    #[inline]
    pub(crate) fn push(&mut self, mut bytes: &[u8], mut each: impl FnMut(u64, &[u8])) {
        if self.after_return && !bytes.is_empty() {
            self.after_return = false;
            bytes = bytes.strip_prefix(b"\n").unwrap_or(bytes);
        }
        let mut start = 0;
        while let Some(found) = scan::lines::line_end(&bytes[start..]) {
            let end = start + found;
            self.number += 1;
            if self.open {
                self.keep(&bytes[start..end]);
                each(self.number, &self.carry);
                self.carry.clear();
                self.open = false;
            } else {
                let kept = if self.unlimited { end } else { end.min(start + LONGEST) };
                each(self.number, &bytes[start..kept]);
            }
            start = end + 1;
            if bytes[end] == b'\r' {
                match bytes.get(start) {
                    Some(b'\n') => start += 1,
                    Some(_) => {}
                    None => self.after_return = true,
                }
            }
        }
        if start < bytes.len() {
            self.open = true;
            self.keep(&bytes[start..]);
        }
    }

    /// Hands on the last line when the file does not end with a line end, and
    /// says whether there was one.
    pub(crate) fn finish(&mut self, mut each: impl FnMut(u64, &[u8])) -> bool {
        if !self.open {
            return false;
        }
        self.number += 1;
        each(self.number, &self.carry);
        self.carry = Vec::new();
        self.open = false;
        true
    }

    fn keep(&mut self, bytes: &[u8]) {
        let room =
            if self.unlimited { bytes.len() } else { LONGEST - self.carry.len().min(LONGEST) };
        self.carry.extend_from_slice(&bytes[..bytes.len().min(room)]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn cut(bytes: &[u8], step: usize) -> Vec<(u64, Vec<u8>)> {
        let mut lines = Lines::default();
        let mut out = Vec::new();
        for chunk in bytes.chunks(step.max(1)) {
            lines.push(chunk, |n, line| out.push((n, line.to_vec())));
        }
        lines.finish(|n, line| out.push((n, line.to_vec())));
        out
    }

    #[test]
    fn the_three_line_ends_may_be_mixed() {
        let want = ["a", "b", "c", "", "d"];
        let got = cut(b"a\nb\r\nc\r\rd", 100);
        assert_eq!(
            got.iter().map(|(_, l)| l.as_slice()).collect::<Vec<_>>(),
            want.map(str::as_bytes)
        );
        assert_eq!(got.iter().map(|(n, _)| *n).collect::<Vec<_>>(), [1, 2, 3, 4, 5]);
    }

    proptest! {
        #[test]
        fn chunks_do_not_change_the_lines(
            bytes in proptest::collection::vec(prop_oneof![Just(b'\n'), Just(b'\r'), Just(b'x')], 0..60),
            step in 1usize..20,
        ) {
            prop_assert_eq!(cut(&bytes, step), cut(&bytes, 1000));
        }
    }
}
