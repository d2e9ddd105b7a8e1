//! Decimals read exactly: text becomes the nearest `f64`, ties to even.
//!
//! The library's reader does the same; it brings ten kilobytes of powers of five,
//! which do not compress, and the page is downloaded.  Here short decimals take one
//! exact division, longer ones a division of whole numbers of 128 bits, and only
//! those beyond that are worked out with whole numbers of any length.

/// The number that a text spells: digits with a point, an exponent and a sign if need
/// be, or a word for infinity or no number.  `None` for anything else, blanks included.
///
/// ```
/// assert_eq!(record::decimal::parse("-1.25e3"), Some(-1250.0));
/// assert_eq!(record::decimal::parse("1 250"), None);
/// ```
pub fn parse(text: &str) -> Option<f64> {
    let (negative, rest) = match text.as_bytes() {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        rest => (false, rest),
    };
    let is = |word: &str| rest.eq_ignore_ascii_case(word.as_bytes());
    let size = if is("inf") || is("infinity") {
        f64::INFINITY
    } else if is("nan") {
        f64::NAN
    } else {
        magnitude(rest)?
    };
    Some(if negative { -size } else { size })
}

/// Ten to a whole power, correctly rounded.
pub fn ten_to(exponent: i32) -> f64 {
    nearest(&[1], i64::from(exponent))
}

fn magnitude(text: &[u8]) -> Option<f64> {
    let mut digits: Vec<u8> = Vec::new();
    let (mut ten, mut seen, mut behind_point) = (0_i64, false, false);
    let mut left = text.iter();
    let mut exponent = 0;
    while let Some(byte) = left.next() {
        match byte {
            b'0'..=b'9' => {
                seen = true;
                ten -= i64::from(behind_point);
                if *byte > b'0' || !digits.is_empty() {
                    digits.push(byte - b'0');
                }
            }
            b'.' if !behind_point => behind_point = true,
            b'e' | b'E' if seen => {
                exponent = power(left.as_slice())?;
                break;
            }
            _ => return None,
        }
    }
    seen.then(|| nearest(&digits, ten + exponent))
}

fn power(text: &[u8]) -> Option<i64> {
    let (negative, digits) = match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        rest => (false, rest),
    };
    if digits.is_empty() || !digits.iter().all(u8::is_ascii_digit) {
        return None;
    }
    // Beyond this every number is zero or infinite, however many digits it has.
    let most = 1_i64 << 40;
    let size = digits.iter().fold(0, |sum, b| most.min(sum * 10 + i64::from(b - b'0')));
    Some(if negative { -size } else { size })
}

// The double nearest to these digits, the first not 0, times ten to a power.
fn nearest(digits: &[u8], ten: i64) -> f64 {
    // No half way between two doubles has more digits than these.
    const DIGITS: usize = 800;
    let magnitude = digits.len() as i64 + ten;
    if digits.is_empty() || magnitude < -330 {
        return 0.0;
    }
    if magnitude > 310 {
        return f64::INFINITY;
    }
    if digits.len() <= 19 {
        let whole = digits.iter().fold(0_u64, |sum, d| sum * 10 + u64::from(*d));
        if let Some(value) = short(whole, ten) {
            return value;
        }
    }
    let kept = &digits[..digits.len().min(DIGITS)];
    let mut ten = ten + (digits.len() - kept.len()) as i64;
    let mut above = Long::default();
    kept.iter().for_each(|digit| above.times_and(10, u32::from(*digit)));
    if digits[kept.len()..].iter().any(|d| *d > 0) {
        above.times_and(10, 1);
        ten -= 1;
    }
    let mut below = Long(vec![1]);
    let scaled = if ten > 0 { &mut above } else { &mut below };
    (0..ten.unsigned_abs()).for_each(|_| scaled.times_and(10, 0));
    quotient(above, below)
}

// Whole numbers up to 64 bits and powers that 128 bits hold.
fn short(whole: u64, ten: i64) -> Option<f64> {
    let power = 10_u128.checked_pow(u32::try_from(ten.unsigned_abs()).ok()?)?;
    if ten >= 0 {
        // One rounding, to the nearest.
        return (ten <= 19).then(|| (u128::from(whole) * power) as f64);
    }
    if whole <= 1 << 53 && ten >= -22 {
        return Some(whole as f64 / power as f64);
    }
    let (mut found, mut rest, mut exponent) = (0_u128, u128::from(whole), 0);
    // Digits of the quotient, as many as fit at a time, until there are 64.
    while rest > 0 && found >> 64 == 0 {
        let more = rest.leading_zeros().min(found.leading_zeros());
        rest <<= more;
        found = (found << more) + rest / power;
        rest %= power;
        exponent -= more as i32;
    }
    Some(rounded(found, exponent, rest > 0))
}

fn quotient(mut above: Long, mut below: Long) -> f64 {
    // Shifted so that the quotient has 65 or 66 bits.
    let shift = 65 - (above.bits() - below.bits());
    if shift > 0 {
        above.shift_up(shift.unsigned_abs());
    } else {
        below.shift_up(shift.unsigned_abs());
    }
    below.shift_up(67);
    let mut found = 0_u128;
    for _ in 0..67 {
        below.half();
        found = 2 * found + u128::from(above.take_off(&below));
    }
    rounded(found, -(shift as i32), above.bits() > 0)
}

// The double nearest to a whole number times two to a power, and a little more if
// something is left.
fn rounded(whole: u128, exponent: i32, left: bool) -> f64 {
    if whole == 0 {
        return 0.0;
    }
    let bits = 128 - whole.leading_zeros() as i32;
    // To 53 bits, and no finer than the least of all doubles.
    let off = (bits - 53).max(-1074 - exponent);
    let mantissa = match off {
        ..=0 => (whole << -off) as u64,
        1..=127 => {
            let (half, low) = (1_u128 << (off - 1), whole & ((1 << off) - 1));
            let kept = (whole >> off) as u64;
            let up = low > half || (low == half && (left || kept % 2 == 1));
            kept + u64::from(up)
        }
        _ => 0,
    };
    // A carry into the next power of two carries into the exponent as well.
    let first = 1_u64 << 52;
    let biased = (exponent + off + 1074).max(0) as u64;
    let bits = if mantissa < first { mantissa } else { biased * first + mantissa };
    if bits >= f64::INFINITY.to_bits() { f64::INFINITY } else { f64::from_bits(bits) }
}

// A whole number of any length, in pieces of 32 bits, the least first.
#[derive(Default)]
struct Long(Vec<u32>);

impl Long {
    fn times_and(&mut self, factor: u32, more: u32) {
        let mut carry = u64::from(more);
        for piece in &mut self.0 {
            carry += u64::from(*piece) * u64::from(factor);
            *piece = carry as u32;
            carry >>= 32;
        }
        if carry > 0 {
            self.0.push(carry as u32);
        }
    }

    fn bits(&self) -> i64 {
        match self.0.iter().rposition(|piece| *piece > 0) {
            Some(last) => 32 * (last as i64 + 1) - i64::from(self.0[last].leading_zeros()),
            None => 0,
        }
    }

    fn shift_up(&mut self, bits: u64) {
        (0..bits % 32).for_each(|_| self.times_and(2, 0));
        self.0.splice(0..0, (0..bits / 32).map(|_| 0));
    }

    fn half(&mut self) {
        let mut carry = 0;
        for piece in self.0.iter_mut().rev() {
            let odd = *piece & 1;
            *piece = (*piece >> 1) | (carry << 31);
            carry = odd;
        }
    }

    // Takes another off if it is not larger.
    fn take_off(&mut self, other: &Self) -> bool {
        let len = self.0.len().max(other.0.len());
        let piece = |of: &[u32], k: usize| of.get(k).copied().unwrap_or(0);
        let order = (0..len).rev().map(|k| piece(&self.0, k).cmp(&piece(&other.0, k)));
        if order.into_iter().find(|o| o.is_ne()).is_some_and(std::cmp::Ordering::is_lt) {
            return false;
        }
        let mut borrow = 0;
        for (k, own) in self.0.iter_mut().enumerate() {
            let less = i64::from(*own) - i64::from(piece(&other.0, k)) - borrow;
            *own = less as u32;
            borrow = i64::from(less < 0);
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn same(text: &str) {
        let want: Option<f64> = text.parse().ok();
        let bits = |value: Option<f64>| value.map(|v| if v.is_nan() { 0 } else { v.to_bits() });
        assert_eq!(bits(parse(text)), bits(want), "{text}");
    }

    #[test]
    fn texts_of_every_form_read_as_the_library_reads_them() {
        for text in [
            "0",
            "-0",
            "+3",
            ".5",
            "5.",
            ".",
            "",
            "-",
            "1e",
            "1e+",
            "e5",
            "1e5x",
            "1.2.3",
            "1_0",
            "inf",
            "-Infinity",
            "nan",
            "NaN",
            "infin",
            " 1",
            "1 ",
            "00012.500",
            "1E5",
            "1e-5",
            "9007199254740993",
            "9007199254740992.5",
            "1.7976931348623157e308",
            "1e-400",
            "1e400",
            "1.7976931348623158e308",
            "1.7976931348623159e308",
            "2.2250738585072014e-308",
            "2.2250738585072011e-308",
            "4.9e-324",
            "2.4703282292062327e-324",
            "0e999999999999999",
            "2.4703282292062328e-324",
            "1e99999999999999999999",
            "1e-99999999999999999999",
            "18446744073709551615",
            "9999999999999999999",
            "123456789012345678901234567890",
        ] {
            same(text);
        }
        same(&format!("0.{}1", "0".repeat(400)));
        same(&format!("1{}e-390", "0".repeat(400)));
        // Half way between two doubles, and a digit far behind that.
        let half = "9007199254740993".to_owned();
        same(&format!("{half}.{}1", "0".repeat(900)));
        same(&format!("{half}.{}", "0".repeat(900)));
    }

    #[test]
    fn numbers_of_all_sizes_and_lengths_read_as_the_library_reads_them() {
        let mut state = 5_u64;
        let mut any = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            state
        };
        for _ in 0..40_000 {
            let value = f64::from_bits(any());
            let near = (any() % 2_000_000) as f64 / 1e3;
            let (digits, power) = (any(), any() % 60);
            for text in [
                format!("{value:e}"),
                format!("{value:.25e}"),
                format!("{:.17}", near / 7.0),
                format!("{digits}e-{power}"),
                format!("{digits}e{power}"),
                format!("{}.{}", digits % 100_000, any()),
            ] {
                same(&text);
            }
        }
    }

    #[test]
    fn half_ways_go_to_the_even_one() {
        let mut state = 11_u64;
        for _ in 0..2_000 {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            // 54 bits: the last is the half.
            let odd = (state >> 10) | 1;
            for shift in [0, 1, 5, 40] {
                let half = f64::from_bits(0x3FE0_0000_0000_0000 >> (shift % 2));
                same(&format!("{}", u128::from(odd) << shift));
                same(&format!("{:.80}", (odd >> 1) as f64 * half));
            }
        }
    }

    #[test]
    fn powers_of_ten_are_the_nearest() {
        for exponent in -350..=330 {
            let want: f64 = format!("1e{exponent}").parse().unwrap();
            assert_eq!(ten_to(exponent).to_bits(), want.to_bits());
        }
    }
}
