//! Digits, fast: numbers and times appended to bytes.
//!
//! Whole numbers of thousandths and hundredths go in, so that what is written
//! is exact.  A log of 60 days is nine million characters; these functions
//! write it without a formatter.

use record::Instant;

/// Appends a number of thousandths with three decimals: −1234 as `-1.234`.
pub fn push_thousandths(out: &mut Vec<u8>, n: i64) {
    push_scaled::<1_000>(out, n);
}

/// Appends a number of hundredths with two decimals.
pub fn push_hundredths(out: &mut Vec<u8>, n: i64) {
    push_scaled::<100>(out, n);
}

/// Appends a number of tenths with one decimal.
pub fn push_tenths(out: &mut Vec<u8>, n: i64) {
    push_scaled::<10>(out, n);
}

/// Appends a whole number.
pub fn push_whole(out: &mut Vec<u8>, n: u64) {
    let mut digits = [0u8; 20];
    let mut start = digits.len();
    let mut rest = n;
    loop {
        start -= 1;
        digits[start] = b'0' + (rest % 10) as u8;
        rest /= 10;
        if rest == 0 {
            break;
        }
    }
    out.extend_from_slice(&digits[start..]);
}

/// Appends two digits.
pub fn push_two(out: &mut Vec<u8>, n: u32) {
    out.push(b'0' + (n / 10 % 10) as u8);
    out.push(b'0' + (n % 10) as u8);
}

// The scale is known when this is compiled, so that no division is left, and
// most numbers fit into 32 bits, which wasm divides faster.
fn push_scaled<const SCALE: u32>(out: &mut Vec<u8>, n: i64) {
    if n < 0 {
        out.push(b'-');
    }
    let size = n.unsigned_abs();
    let mut rest = match u32::try_from(size) {
        Ok(size) => {
            push_small(out, size / SCALE);
            size % SCALE
        }
        Err(_) => {
            push_whole(out, size / u64::from(SCALE));
            (size % u64::from(SCALE)) as u32
        }
    };
    out.push(b'.');
    let mut place = SCALE / 10;
    while place > 0 {
        out.push(b'0' + (rest / place) as u8);
        rest %= place;
        place /= 10;
    }
}

fn push_small(out: &mut Vec<u8>, n: u32) {
    if n < 10 {
        out.push(b'0' + n as u8);
    } else if n < 100 {
        push_two(out, n);
    } else {
        push_whole(out, u64::from(n));
    }
}

/// Writes times of day after a date that is made once a day.
pub struct Clock {
    start_s: i64,
    day: i64,
    date: String,
}

impl Clock {
    /// A clock for seconds after this moment.
    pub fn from(start: Instant) -> Self {
        Self { start_s: start.0.div_euclid(1_000_000_000), day: i64::MIN, date: String::new() }
    }

    /// Appends the moment `t_s` seconds after the start as
    /// `2026-05-01T00:00:30`, without zone.
    pub fn push(&mut self, out: &mut Vec<u8>, t_s: i64) {
        self.push_date(out, t_s);
        out.push(b'T');
        self.push_time(out, t_s);
    }

    /// Appends the date alone.
    pub fn push_date(&mut self, out: &mut Vec<u8>, t_s: i64) {
        let day = (self.start_s + t_s).div_euclid(86_400);
        if day != self.day {
            self.day = day;
            let civil = Instant(day * 86_400_000_000_000).civil();
            self.date = format!("{:04}-{:02}-{:02}", civil.year, civil.month, civil.day);
        }
        out.extend_from_slice(self.date.as_bytes());
    }

    /// Appends the time of day alone, `00:00:30`.
    pub fn push_time(&self, out: &mut Vec<u8>, t_s: i64) {
        let second = (self.start_s + t_s).rem_euclid(86_400) as u32;
        push_two(out, second / 3_600);
        out.push(b':');
        push_two(out, second / 60 % 60);
        out.push(b':');
        push_two(out, second % 60);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(write: impl Fn(&mut Vec<u8>)) -> String {
        let mut out = Vec::new();
        write(&mut out);
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn digits_are_those_of_the_formatter() {
        for n in (-20_000i64..20_000).step_by(7).chain([0, -1, 1, 999, 1_000, 99_999_999]) {
            let plain = |decimals: usize, scale: i64| {
                let sign = if n < 0 { "-" } else { "" };
                let (whole, rest) = (n.abs() / scale, n.abs() % scale);
                format!("{sign}{whole}.{rest:0decimals$}")
            };
            assert_eq!(written(|out| push_thousandths(out, n)), plain(3, 1_000));
            assert_eq!(written(|out| push_hundredths(out, n)), plain(2, 100));
            assert_eq!(written(|out| push_tenths(out, n)), plain(1, 10));
        }
    }

    #[test]
    fn the_clock_writes_what_the_calendar_writes() {
        let start = Instant::from_date(2026, 5, 1).unwrap();
        let mut clock = Clock::from(start);
        for t_s in [-35_400, 0, 30, 86_399, 86_400, 5_183_999] {
            let mut out = Vec::new();
            clock.push(&mut out, t_s);
            let want = Instant(start.0 + t_s * 1_000_000_000).iso();
            assert_eq!(String::from_utf8(out).unwrap() + "Z", want);
        }
    }
}
