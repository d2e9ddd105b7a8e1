//! Encodings: the bytes of a file become the bytes of its text.
//!
//! UTF-16 is turned into UTF-8; UTF-8 and Latin-1 pass as they are (the
//! columns are ASCII; names and notes are decoded where they are used).  Byte
//! order marks and the padding that a power loss leaves on a card (NUL and FF
//! bytes) are dropped, and the padding is counted.

/// The encoding of a stream and what was dropped from it.
#[derive(Debug)]
pub(crate) struct Decoder {
    form: Form,
    marked: bool,
    skip: usize,
    out: Vec<u8>,
    pending: Vec<u8>,
    lead: Option<u16>,
    letters: u64,
    foreign: u64,
    /// Padding bytes dropped.
    pub padding: u64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    Bytes,
    Utf16 { big: bool },
}

impl Decoder {
    /// Decides by the first bytes: 4 KiB, or the whole of a shorter file.
    pub(crate) fn new(head: &[u8]) -> Self {
        let (form, skip) = match head {
            [0xEF, 0xBB, 0xBF, ..] => (Form::Bytes, 3),
            [0xFF, 0xFE, ..] => (Form::Utf16 { big: false }, 2),
            [0xFE, 0xFF, ..] => (Form::Utf16 { big: true }, 2),
            _ => (unmarked(head), 0),
        };
        Self {
            form,
            marked: skip > 0,
            skip,
            out: Vec::new(),
            pending: Vec::new(),
            lead: None,
            letters: 0,
            foreign: 0,
            padding: 0,
        }
    }

    /// The text of the next bytes.
    pub(crate) fn push<'a>(&'a mut self, bytes: &'a [u8]) -> &'a [u8] {
        let bytes = &bytes[self.skip.min(bytes.len())..];
        self.skip = 0;
        if let Form::Utf16 { big } = self.form {
            self.out.clear();
            self.utf16(bytes, big);
            return &self.out;
        }
        if self.pending.is_empty() && scan::lines::is_plain(bytes) {
            return bytes;
        }
        self.weigh(bytes);
        if memchr::memchr2(0, 0xFF, bytes).is_none() {
            return bytes;
        }
        self.out.clear();
        self.out.extend(bytes.iter().filter(|b| !matches!(b, 0 | 0xFF)));
        self.padding += (bytes.len() - self.out.len()) as u64;
        &self.out
    }

    /// Name of the encoding, for the report.
    pub(crate) fn name(&self) -> &'static str {
        match self.form {
            Form::Utf16 { big: false } => "utf-16le",
            Form::Utf16 { big: true } => "utf-16be",
            Form::Bytes if self.foreign > self.letters => "latin-1",
            Form::Bytes if self.marked => "utf-8 with mark",
            Form::Bytes => "utf-8",
        }
    }

    fn utf16(&mut self, bytes: &[u8], big: bool) {
        for byte in bytes {
            self.pending.push(*byte);
            if let [a, b] = self.pending[..] {
                self.pending.clear();
                let unit =
                    if big { u16::from_be_bytes([a, b]) } else { u16::from_le_bytes([a, b]) };
                self.unit(unit);
            }
        }
    }

    fn unit(&mut self, unit: u16) {
        if matches!(unit, 0 | 0xFFFF) {
            self.padding += 2;
            return;
        }
        let read = match (self.lead.take(), unit) {
            (_, 0xD800..=0xDBFF) => {
                self.lead = Some(unit);
                return;
            }
            (Some(lead), _) => char::decode_utf16([lead, unit]).next(),
            (None, _) => char::decode_utf16([unit]).next(),
        };
        let letter = read.and_then(Result::ok).unwrap_or(char::REPLACEMENT_CHARACTER);
        self.out.extend_from_slice(letter.encode_utf8(&mut [0; 4]).as_bytes());
    }

    // Counts letters beyond ASCII that are good UTF-8, and bytes that are not.
    fn weigh(&mut self, bytes: &[u8]) {
        let mut joined = std::mem::take(&mut self.pending);
        joined.extend_from_slice(bytes);
        let mut end = joined.len();
        for chunk in joined.utf8_chunks() {
            self.letters += chunk.valid().chars().filter(|c| !c.is_ascii()).count() as u64;
            end -= chunk.valid().len() + chunk.invalid().len();
            let cut = std::str::from_utf8(chunk.invalid()).is_err_and(|e| e.error_len().is_none());
            if end == 0 && cut {
                self.pending = chunk.invalid().to_vec();
            } else {
                self.foreign += chunk.invalid().iter().filter(|b| **b != 0xFF).count() as u64;
            }
        }
    }
}

// UTF-16 without its mark: every second byte of a text in Latin letters is NUL.
fn unmarked(head: &[u8]) -> Form {
    let pairs = head.len() / 2;
    if pairs < 8 {
        return Form::Bytes;
    }
    let nul = |odd: usize| head.chunks_exact(2).filter(|pair| pair[odd] == 0).count();
    let (even, odd) = (nul(0), nul(1));
    if odd * 10 > pairs * 9 && even * 10 < pairs {
        Form::Utf16 { big: false }
    } else if even * 10 > pairs * 9 && odd * 10 < pairs {
        Form::Utf16 { big: true }
    } else {
        Form::Bytes
    }
}

/// Bytes of a name or a note as text: UTF-8 when they are, else Latin-1.
pub(crate) fn text(bytes: &[u8]) -> String {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|b| char::from(*b)).collect(),
    }
}

/// At most `limit` characters of a line, with a sign where it was cut.
pub(crate) fn excerpt(bytes: &[u8], limit: usize) -> String {
    let text = text(&bytes[..bytes.len().min(4 * limit + 4)]);
    let clean = text.trim().replace(['\t', '\r', '\n'], " ");
    if clean.chars().count() <= limit {
        return clean;
    }
    clean.chars().take(limit.saturating_sub(1)).chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decoded(bytes: &[u8], step: usize) -> (Vec<u8>, &'static str, u64) {
        let mut decoder = Decoder::new(bytes);
        let mut out = Vec::new();
        for chunk in bytes.chunks(step) {
            out.extend_from_slice(decoder.push(chunk));
        }
        (out, decoder.name(), decoder.padding)
    }

    #[test]
    fn utf_16_reads_the_same_in_any_chunks_with_or_without_its_mark() {
        let text = "time;µT 😀\n1;2\n";
        let plain: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let marked: Vec<u8> = [0xFF, 0xFE].iter().chain(&plain).copied().collect();
        for step in [1, 2, 3, 7, 1000] {
            assert_eq!(decoded(&marked, step.max(2)), (text.into(), "utf-16le", 0));
            let ascii: Vec<u8> =
                "a,b\n1,2\n3,4\n".encode_utf16().flat_map(u16::to_be_bytes).collect();
            assert_eq!(decoded(&ascii, step), (b"a,b\n1,2\n3,4\n".to_vec(), "utf-16be", 0));
        }
    }

    #[test]
    fn a_lone_micro_sign_makes_latin_1_and_a_split_one_stays_utf_8() {
        assert_eq!(decoded(b"x (\xB5T)\n1\n", 3).1, "latin-1");
        for step in 1..6 {
            assert_eq!(decoded("x (µT)\n1\n".as_bytes(), step).1, "utf-8");
        }
        assert_eq!(text(b"\xB0C"), "°C");
    }

    #[test]
    fn padding_is_dropped_and_counted() {
        assert_eq!(decoded(b"1,2\n\0\0\0\xFF3,4\n", 5), (b"1,2\n3,4\n".to_vec(), "utf-8", 4));
    }
}
