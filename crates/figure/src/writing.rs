//! Making pieces of writing: quantities, units, powers of ten.

use crate::model::{Run, Script};
use record::{Unit, print};

/// A plain piece.
pub(crate) fn plain(text: impl Into<String>) -> Run {
    Run { text: text.into(), script: Script::Plain, italic: false }
}

/// Plain writing.
pub(crate) fn line(text: impl Into<String>) -> Vec<Run> {
    vec![plain(text)]
}

/// A power of ten, with its exponent raised: 10⁻³.
pub(crate) fn power_of_ten(exponent: i32) -> Vec<Run> {
    let sign = if exponent < 0 { "\u{2212}" } else { "" };
    let raised = format!("{sign}{}", exponent.unsigned_abs());
    vec![plain("10"), Run { text: raised, script: Script::Super, italic: false }]
}

/// A quantity's name: slanted when it is a single letter, as symbols are.
pub(crate) fn quantity(name: &str) -> Run {
    let mut letters = name.chars();
    let single = letters.next().is_some_and(char::is_alphabetic) && letters.next().is_none();
    Run { text: name.to_owned(), script: Script::Plain, italic: single }
}

/// `quantity / unit`, with the power of ten that the numbers were divided by.
pub(crate) fn title(name: &str, unit: &str, exponent: i32) -> Vec<Run> {
    let mut runs = vec![quantity(name)];
    if exponent == 0 && unit.is_empty() {
        return runs;
    }
    runs.push(plain(" / "));
    if exponent != 0 {
        runs.extend(power_of_ten(exponent));
        runs.push(plain(" "));
    }
    runs.push(plain(unit));
    runs.retain(|run| !run.text.is_empty());
    runs
}

/// The characters of pieces of writing, with `^` before what is raised.
pub(crate) fn plain_text(runs: &[Run]) -> String {
    let mut out = String::new();
    for run in runs {
        if run.script == Script::Super {
            out.push('^');
        }
        out.push_str(&run.text);
    }
    out
}

/// How a unit stands in an axis label: degrees are spelt with their sign,
/// compound units go in brackets.
pub(crate) fn unit_in_label(symbol: &str) -> String {
    if symbol.contains('/') { format!("({symbol})") } else { symbol.to_owned() }
}

/// A number with its unit.
pub(crate) fn with_symbol(number: &str, symbol: &str) -> String {
    match symbol {
        "" => number.to_owned(),
        "°" | "′" => format!("{number}{symbol}"),
        _ => format!("{number} {symbol}"),
    }
}

/// The unit of a power density whose quantity has this unit, printed and in
/// ASCII.  A density's own unit is kept.
pub(crate) fn density_unit(unit: Unit) -> (String, String) {
    match unit {
        Unit::Nanotesla2PerHertz | Unit::None => {
            let none = unit == Unit::None;
            if none {
                ("1/Hz".into(), "1/Hz".into())
            } else {
                (unit.symbol().into(), unit.ascii().into())
            }
        }
        other if other.symbol().contains('/') => {
            (format!("({})²/Hz", other.symbol()), format!("({})2/Hz", other.ascii()))
        }
        other => (format!("{}²/Hz", other.symbol()), format!("{}2/Hz", other.ascii())),
    }
}

/// A number to the precision that a pixel of its axis can show.
pub(crate) fn number(value: f64, per_pixel: f64) -> String {
    if !(value.is_finite() && per_pixel.is_finite() && per_pixel > 0.0) {
        return print::significant(value, 6);
    }
    let decimals = (-libm::floor(libm::log10(per_pixel))).clamp(0.0, 12.0) as usize;
    let size = value.abs();
    if size != 0.0 && !(1e-9..1e12).contains(&size) {
        return scientific(value, 4);
    }
    print::fixed(value, decimals)
}

/// A number as digits times a power of ten, the exponent in plain characters.
pub(crate) fn scientific(value: f64, figures: usize) -> String {
    let text = format!("{:.*e}", figures.max(1) - 1, value);
    let (digits, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let sign = |s: &str| s.replace('-', "\u{2212}");
    format!("{} × 10^{}", sign(digits), sign(exponent))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_exponent_is_raised_and_has_a_true_minus() {
        let runs = power_of_ten(-3);
        assert_eq!(runs[1].text, "\u{2212}3");
        assert_eq!(runs[1].script, Script::Super);
    }

    #[test]
    fn a_single_letter_is_slanted_and_a_word_is_not() {
        assert!(quantity("H").italic && !quantity("temperature").italic && !quantity("2").italic);
        assert_eq!(plain_text(&title("H", "nT", 0)), "H / nT");
        assert_eq!(plain_text(&title("rate", "", 0)), "rate");
        assert_eq!(plain_text(&title("counts", "count", 6)), "counts / 10^6 count");
    }

    #[test]
    fn a_compound_unit_is_bracketed() {
        assert_eq!(unit_in_label("nT²/Hz"), "(nT²/Hz)");
        assert_eq!(density_unit(Unit::Celsius).0, "°C²/Hz");
        assert_eq!(density_unit(Unit::Nanotesla).1, "nT2/Hz");
    }
}
