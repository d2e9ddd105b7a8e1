//! Plain stamps, `2026-05-03T14:20:05.250Z` and the like.

use record::NANOS_PER_SECOND;

/// Midnight of a year, month and day, nanoseconds; `None` when there is no such day.
pub type Midnight = fn(u32, u32, u32) -> Option<i64>;

/// Reads `2026-05-03T14:20:05.250Z`, remembering the last day's midnight.
#[derive(Clone, Copy, Debug, Default)]
pub struct IsoClock {
    day: [u8; 10],
    midnight_ns: i64,
}

impl IsoClock {
    /// The stamp at the start of the bytes, with `T`, a blank or `separator`
    /// before the time of day: nanoseconds, length, whether it ends with `Z`.
    /// `None` for every other form.
    pub fn leading(
        &mut self,
        bytes: &[u8],
        separator: u8,
        midnight: Midnight,
    ) -> Option<(i64, usize, bool)> {
        let head: &[u8; 19] = bytes.first_chunk()?;
        let [.., between, h1, h2, c1, m1, m2, c2, s1, s2] = *head;
        if !(matches!(between, b'T' | b' ') || between == separator) || c1 != b':' || c2 != b':' {
            return None;
        }
        let hour = two(h1, h2)?;
        let (minute, second) = (two(m1, m2)?, two(s1, s2)?);
        if hour > 23 || minute > 59 || second > 59 {
            return None;
        }
        let day: &[u8; 10] = bytes.first_chunk()?;
        if *day != self.day {
            self.remember(day, midnight)?;
        }
        let seconds = i64::from(hour * 3600 + minute * 60 + second);
        let mut ns = self.midnight_ns + seconds * NANOS_PER_SECOND;
        let mut at = 19;
        if matches!(bytes.get(at), Some(b'.')) {
            let digits = bytes[20..].iter().take(10).take_while(|b| b.is_ascii_digit()).count();
            if digits == 0 || digits > 9 {
                return None;
            }
            let value = bytes[20..20 + digits].iter().fold(0, |v, b| v * 10 + i64::from(b - b'0'));
            ns += value * POWERS[9 - digits];
            at = 20 + digits;
        }
        let utc = matches!(bytes.get(at), Some(b'Z'));
        Some((ns, at + usize::from(utc), utc))
    }

    #[cold]
    fn remember(&mut self, day: &[u8; 10], midnight: Midnight) -> Option<()> {
        let [y1, y2, y3, y4, a, m1, m2, b, d1, d2] = *day;
        if a != b || !matches!(a, b'-' | b'/') {
            return None;
        }
        let year = two(y1, y2)? * 100 + two(y3, y4)?;
        self.midnight_ns = midnight(year, two(m1, m2)?, two(d1, d2)?)?;
        self.day = *day;
        Some(())
    }
}

const POWERS: [i64; 9] = [1, 10, 100, 1_000, 10_000, 100_000, 1_000_000, 10_000_000, 100_000_000];

#[inline(always)]
fn two(tens: u8, ones: u8) -> Option<u32> {
    let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
    (tens < 10 && ones < 10).then(|| u32::from(tens) * 10 + u32::from(ones))
}
