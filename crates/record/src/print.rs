//! Numbers, counts and durations as they are printed on the page.
//!
//! One place for thousands separators, the true minus sign, how many digits
//! an uncertainty earns, and the names of durations.

use crate::{
    Instant, Unit, say,
    words::{self, word, worded},
};

/// The minus sign used in print, U+2212.
pub const MINUS: char = '\u{2212}';

// Between thousands where the comma marks decimals (ISO 80000-1: a small space).
const NARROW: char = '\u{202f}';

/// The mark before the decimals, a point or a comma.
pub fn decimal_mark() -> char {
    if words::style().decimal_comma { ',' } else { '.' }
}

/// A whole number with commas: `172,800`.
pub fn count(n: usize) -> String {
    grouped(&n.to_string())
}

/// A count and its noun: `1 sample`, `12 samples`.
pub fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{} {}", count(n), word(if n == 1 { one } else { many }))
}

/// How often something was: `1 time`, `12 times`.
pub fn often(n: usize) -> String {
    if n == 1 { say!("{} time", 1) } else { say!("{} times", count(n)) }
}

/// A number with a fixed number of decimals, commas and a true minus sign.
pub fn fixed(value: f64, decimals: usize) -> String {
    if value.is_nan() {
        return worded("not defined");
    }
    if value.is_infinite() {
        return if value > 0.0 { "∞".to_owned() } else { format!("{MINUS}∞") };
    }
    let text = format!("{:.decimals$}", value.abs());
    let zero = text.bytes().all(|b| matches!(b, b'0' | b'.'));
    let (whole, rest) = text.split_once('.').map_or((text.as_str(), None), |(w, r)| (w, Some(r)));
    let mut out = String::new();
    if value < 0.0 && !zero {
        out.push(MINUS);
    }
    out.push_str(&grouped(whole));
    if let Some(rest) = rest {
        out.push(decimal_mark());
        out.push_str(rest);
    }
    out
}

/// A number to `figures` significant figures, written plainly.
pub fn significant(value: f64, figures: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return fixed(value, 0);
    }
    let decimals = decimals_for(value, figures);
    let step = power_of_ten(-decimals);
    let rounded = if decimals < 0 { (value / step).round() * step } else { value };
    fixed(rounded, decimals.max(0) as usize)
}

/// `value ± sigma`, the uncertainty to two significant figures and the value
/// to the same place; the value alone, to six figures, without a usable sigma.
pub fn with_sigma(value: f64, sigma: f64) -> String {
    if !value.is_finite() {
        return fixed(value, 0);
    }
    if !(sigma.is_finite() && sigma > 0.0) {
        return significant(value, 6);
    }
    let decimals = decimals_for(sigma, 2);
    let step = power_of_ten(-decimals);
    let (value, sigma) = if decimals < 0 {
        ((value / step).round() * step, (sigma / step).round() * step)
    } else {
        (value, sigma)
    };
    let shown = decimals.max(0) as usize;
    format!("{} ± {}", fixed(value, shown), fixed(sigma, shown))
}

/// A printed number followed by its unit, with the space the unit wants.
pub fn with_unit(number: &str, unit: Unit) -> String {
    if unit == Unit::None {
        number.to_owned()
    } else if unit.spaced() {
        format!("{number} {}", unit.symbol())
    } else {
        format!("{number}{}", unit.symbol())
    }
}

/// A share as a percentage with two significant figures: `0.12 %`.
pub fn percent(part: usize, whole: usize) -> String {
    if whole == 0 {
        return "0 %".to_owned();
    }
    let share = part as f64 / whole as f64 * 100.0;
    let text = match share {
        0.0 => "0".to_owned(),
        s if s >= 10.0 => fixed(s, 0),
        s if s < 0.001 => worded("less than 0.001"),
        s => significant(s, 2),
    };
    format!("{text} %")
}

/// A duration in the unit a person would use: `30 s`, `7 h 12 min`, `59.9 days`.
pub fn duration(seconds: f64) -> String {
    let s = seconds.abs();
    let text = if !s.is_finite() {
        return worded("not defined");
    } else if s < 1e-3 {
        format!("{} µs", significant(s * 1e6, 3))
    } else if s < 1.0 {
        format!("{} ms", significant(s * 1e3, 3))
    } else if s < 120.0 {
        format!("{} s", trimmed(s, 3))
    } else if s < 7200.0 {
        say!("{} min", trimmed(s / 60.0, 3))
    } else if s < 2.0 * 86_400.0 {
        let minutes = (s / 60.0).round() as u64;
        match minutes % 60 {
            0 => format!("{} h", minutes / 60),
            m => say!("{} h {m} min", minutes / 60),
        }
    } else {
        say!("{} days", trimmed(s / 86_400.0, 3))
    };
    if seconds < 0.0 { format!("{MINUS}{text}") } else { text }
}

/// A duration known to within `half` seconds, rounded to a step that a person would name.
pub fn rounded_within(seconds: f64, half: f64) -> f64 {
    const STEPS: [f64; 10] =
        [86_400.0, 21_600.0, 3600.0, 1800.0, 600.0, 300.0, 60.0, 30.0, 10.0, 1.0];
    let fits = |step: &&f64| **step <= half && **step <= seconds;
    STEPS.iter().find(fits).map_or(seconds, |step| (seconds / step).round() * step)
}

/// A number to the place of the first figure of `step`; to six figures where that is nothing.
pub fn to_place(value: f64, step: f64) -> String {
    if step > 0.0 { fixed(value, decimals_for(step, 1).max(0) as usize) } else { trimmed(value, 6) }
}

/// The span between two instants: `1 May 2026 00:00 to 30 June 2026 00:00 UTC`.
pub fn span(start: Instant, end: Instant) -> String {
    say!("{} to {} UTC", start.readable(), end.readable())
}

/// Significant figures without trailing zeros after the point.
pub fn trimmed(value: f64, figures: usize) -> String {
    let text = significant(value, figures);
    if text.contains(decimal_mark()) {
        text.trim_end_matches('0').trim_end_matches(decimal_mark()).to_owned()
    } else {
        text
    }
}

/// Decimals that show `figures` significant figures of a number; negative
/// when even the units digit says too much.
fn decimals_for(value: f64, figures: usize) -> i32 {
    // Printing rounds 9.96 up to 10.0, which then has a figure more.
    let text = format!("{:.*e}", figures.max(1) - 1, value.abs());
    let exponent: i32 = text.split_once('e').and_then(|(_, e)| e.parse().ok()).unwrap_or(0);
    (figures.max(1) as i32 - 1 - exponent).min(15)
}

fn power_of_ten(exponent: i32) -> f64 {
    crate::decimal::ten_to(exponent)
}

fn grouped(digits: &str) -> String {
    let between = if words::style().decimal_comma { NARROW } else { ',' };
    let mut out = String::with_capacity(digits.len() + digits.len() / 3);
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            out.push(between);
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_carry_commas_and_a_true_minus() {
        assert_eq!(count(172_800), "172,800");
        assert_eq!(fixed(-1234.5, 1), "−1,234.5");
        assert_eq!(fixed(-0.04, 1), "0.0");
        assert_eq!(significant(0.001_234, 2), "0.0012");
        assert_eq!(significant(48_231.0, 2), "48,000");
        assert_eq!(significant(9.96, 2), "10");
    }

    #[test]
    fn a_large_uncertainty_rounds_the_value_with_it() {
        assert_eq!(with_sigma(49_812.3, 152.0), "49,810 ± 150");
        assert_eq!(with_sigma(0.5, 0.0), "0.500000");
    }

    #[test]
    fn durations_use_the_unit_a_person_would() {
        assert_eq!(duration(30.0), "30 s");
        assert_eq!(duration(25_920.0), "7 h 12 min");
        assert_eq!(duration(86_400.0 * 60.0), "60 days");
        assert_eq!(duration(0.02), "20.0 ms");
    }

    #[test]
    fn a_number_says_no_more_than_is_known() {
        assert_eq!(duration(rounded_within(54_480.0, 13_000.0)), "15 h");
        assert_eq!(duration(rounded_within(86_100.0, 6500.0)), "24 h");
        assert_eq!(duration(rounded_within(3312.0, 80.0)), "55 min");
        assert_eq!(rounded_within(0.02, 0.5), 0.02);
        assert_eq!(to_place(15_307.0, 40.0 / 3.0), "15,307");
        assert_eq!(to_place(4.57, 0.01), "4.57");
        assert_eq!(to_place(-110.232, 1.82), "−110");
        assert_eq!(to_place(4.57, 0.168), "4.6");
        assert_eq!(to_place(0.5, 0.0), "0.5");
    }

    #[test]
    fn shares_keep_two_figures() {
        assert_eq!(percent(212, 172_800), "0.12 %");
        assert_eq!(percent(0, 10), "0 %");
    }
}
