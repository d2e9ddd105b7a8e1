//! Decimal numbers as loggers write them, read exactly.
//!
//! Every number is the `f64` nearest to the decimal written (ties to even): short
//! ones by one exact division, the rest by the standard library's way.

/// How decimals are marked in a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// `48.21`
    Point,
    /// `48,21`
    Comma,
}

impl Mark {
    /// The byte before the decimals.
    pub fn byte(self) -> u8 {
        match self {
            Self::Point => b'.',
            Self::Comma => b',',
        }
    }
}

/// The powers of ten that an `f64` holds exactly.
pub const EXACT_POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];
const EXACT_WHOLE: u64 = 1 << 53;

/// The number at the start of `bytes`, with `mark` before its decimals, and how
/// many bytes it takes; `None` when there is none.  Stops at the first byte
/// that cannot belong to it.
#[inline]
pub fn leading(bytes: &[u8], mark: Mark) -> Option<(f64, usize)> {
    let (negative, start) = match bytes {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        _ => (false, bytes),
    };
    let (whole, rest) = run_of_digits(start, 0);
    let mut digits = start.len() - rest.len();
    let (mut value, mut left, mut decimals) = (whole, rest, 0);
    if let [point, tail @ ..] = rest
        && *point == mark.byte()
    {
        let (whole, rest) = run_of_digits(tail, whole);
        decimals = tail.len() - rest.len();
        digits += decimals;
        (value, left) = (whole, rest);
    }
    if digits == 0 {
        return None;
    }
    let used = bytes.len() - left.len();
    // 19 digits always fit 64 bits; a number and a power of ten that are both
    // exact give a quotient that is rounded once.
    let plain = !matches!(left, [b'e' | b'E', ..]);
    if plain && digits <= 19 && value <= EXACT_WHOLE && decimals < EXACT_POWERS.len() {
        let value = value as f64 / EXACT_POWERS[decimals];
        return Some((if negative { -value } else { value }, used));
    }
    longer(bytes, used, mark)
}

// The digits at the start, behind those of `value`; wraps beyond 64 bits.
#[inline(always)]
fn run_of_digits(mut rest: &[u8], mut value: u64) -> (u64, &[u8]) {
    while let [first, tail @ ..] = rest {
        let digit = first.wrapping_sub(b'0');
        if digit > 9 {
            break;
        }
        value = value.wrapping_mul(10).wrapping_add(u64::from(digit));
        rest = tail;
    }
    (value, rest)
}

#[inline]
fn digit_at(bytes: &[u8], at: usize) -> Option<u64> {
    let digit = bytes.get(at)?.wrapping_sub(b'0');
    (digit < 10).then_some(u64::from(digit))
}

#[cold]
fn longer(bytes: &[u8], mantissa: usize, mark: Mark) -> Option<(f64, usize)> {
    let mut at = mantissa;
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
        let mut end = at + 1 + sign;
        while digit_at(bytes, end).is_some() {
            end += 1;
        }
        if end > at + 1 + sign {
            at = end;
        }
    }
    let text = std::str::from_utf8(&bytes[..at]).ok()?;
    let value: f64 = match mark {
        Mark::Point => record::decimal::parse(text)?,
        Mark::Comma => record::decimal::parse(&text.replace(',', "."))?,
    };
    Some((value, at))
}

/// A plain decimal count at the start of the bytes as a whole number of
/// `10^-scale`, and its length; `None` when it is long or odd.
#[inline]
pub fn count(bytes: &[u8], scale: u32) -> Option<(i64, usize)> {
    let (whole, mut rest) = run_of_digits(bytes, 0);
    let mut value = whole;
    let mut digits = bytes.len() - rest.len();
    if digits == 0 {
        return None;
    }
    let mut left = scale as usize;
    if let [b'.', tail @ ..] = rest {
        (value, rest) = run_of_digits(tail, whole);
        let decimals = tail.len() - rest.len();
        digits += decimals;
        // Digits beyond the wanted unit are left to the careful way.
        left = left.checked_sub(decimals)?;
    }
    if digits > 19 {
        return None;
    }
    let ns = i64::try_from(value).ok()?.checked_mul(*WHOLE_POWERS.get(left)?)?;
    Some((ns, bytes.len() - rest.len()))
}

const WHOLE_POWERS: [i64; 10] =
    [1, 10, 100, 1_000, 10_000, 100_000, 1_000_000, 10_000_000, 100_000_000, 1_000_000_000];

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_plain_decimal_is_the_nearest_double() {
        for text in ["48.21", "-0.1", "+3", "0.000001", "123456789012345678", "1e3", ".5", "5."] {
            let want: f64 = text.parse().unwrap();
            assert_eq!(leading(text.as_bytes(), Mark::Point), Some((want, text.len())), "{text}");
        }
        assert_eq!(leading(b"12,3", Mark::Point), Some((12.0, 2)));
        assert_eq!(leading(b"-", Mark::Point), None);
        assert_eq!(leading(b"1.6232e-035", Mark::Point), Some((1.6232e-35, 11)));
    }

    proptest! {
        #[test]
        fn every_printed_double_comes_back(bits in any::<u64>()) {
            let value = f64::from_bits(bits);
            prop_assume!(value.is_finite());
            for text in [format!("{value}"), format!("{value:e}"), format!("{value:.7}")] {
                let want: f64 = text.parse().unwrap();
                let (got, used) = leading(text.as_bytes(), Mark::Point).unwrap();
                prop_assert_eq!(used, text.len());
                prop_assert_eq!(got.to_bits(), want.to_bits());
            }
        }
    }
}
