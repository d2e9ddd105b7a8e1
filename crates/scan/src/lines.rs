//! Bytes looked through eight at a time.

const ONES: u64 = 0x0101_0101_0101_0101;
const HIGH: u64 = 0x8080_8080_8080_8080;

// A word whose high bits mark the bytes of `word` that are nought; the lowest of them is exact,
// those above it may be wrong ("Bit Twiddling Hacks", Anderson, "Determine if a word has a zero
// byte").
#[inline(always)]
const fn noughts(word: u64) -> u64 {
    word.wrapping_sub(ONES) & !word & HIGH
}

/// Where the next line feed or carriage return stands.
#[must_use]
pub fn line_end(bytes: &[u8]) -> Option<usize> {
    let (words, tail) = bytes.as_chunks::<8>();
    for (at, word) in words.iter().enumerate() {
        let word = u64::from_le_bytes(*word);
        let ends = noughts(word ^ (ONES * 0x0A)) | noughts(word ^ (ONES * 0x0D));
        if ends != 0 {
            return Some(at * 8 + ends.trailing_zeros() as usize / 8);
        }
    }
    let found = tail.iter().position(|b| matches!(b, b'\n' | b'\r'))?;
    Some(words.len() * 8 + found)
}

/// Whether all bytes are ASCII, and none of them NUL.
#[must_use]
pub fn is_plain(bytes: &[u8]) -> bool {
    let (words, tail) = bytes.as_chunks::<8>();
    let odd = words.iter().fold(0, |odd, word| {
        let word = u64::from_le_bytes(*word);
        odd | (word & HIGH) | noughts(word)
    });
    odd == 0 && tail.iter().all(|b| (1..0x80).contains(b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn eight_at_a_time_finds_what_one_at_a_time_does(
            bytes in proptest::collection::vec(
                prop_oneof![
                    4 => Just(b'7'), 1 => 0u8..0x20, 1 => 0x70u8..0x90, 1 => any::<u8>(),
                ],
                0..60,
            ),
        ) {
            let end = bytes.iter().position(|b| matches!(b, b'\n' | b'\r'));
            prop_assert_eq!(line_end(&bytes), end);
            prop_assert_eq!(is_plain(&bytes), bytes.iter().all(|b| (1..0x80).contains(b)));
        }
    }
}
