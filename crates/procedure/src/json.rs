//! JSON as text: without blanks, strings and numbers as everywhere else.
//!
//! What `serde_json` writes, byte for byte but for a last digit where two are as near,
//! without its tables for numbers and its writers for every kind of thing: the page is
//! downloaded.

use serde_json::Value;

/// A value as JSON text.
pub fn text(value: &Value) -> String {
    let mut out = String::new();
    put(&mut out, value);
    out
}

fn put(out: &mut String, value: &Value) {
    match value {
        Value::Null => out.push_str("null"),
        Value::Bool(is) => out.push_str(if *is { "true" } else { "false" }),
        Value::Number(number) => match (number.as_u64(), number.as_i64()) {
            (Some(whole), _) => out.push_str(&whole.to_string()),
            (_, Some(whole)) => out.push_str(&whole.to_string()),
            _ => put_number(out, number.as_f64().unwrap_or(0.0)),
        },
        Value::String(words) => put_words(out, words),
        Value::Array(list) => {
            out.push('[');
            for (place, one) in list.iter().enumerate() {
                out.push_str(if place > 0 { "," } else { "" });
                put(out, one);
            }
            out.push(']');
        }
        Value::Object(fields) => {
            out.push('{');
            for (place, (name, one)) in fields.iter().enumerate() {
                out.push_str(if place > 0 { "," } else { "" });
                put_words(out, name);
                out.push(':');
                put(out, one);
            }
            out.push('}');
        }
    }
}

fn put_words(out: &mut String, words: &str) {
    out.push('"');
    for letter in words.chars() {
        match letter {
            '"' | '\\' => out.extend(['\\', letter]),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            '\u{8}' => out.push_str("\\b"),
            '\u{c}' => out.push_str("\\f"),
            '\0'..='\u{1f}' => out.push_str(&format!("\\u{:04x}", u32::from(letter))),
            _ => out.push(letter),
        }
    }
    out.push('"');
}

// The shortest digits that come back as the same number, with a point among them
// while it is not far off.
fn put_number(out: &mut String, number: f64) {
    let text = format!("{number:e}");
    let (digits, power) = text.split_once('e').unwrap_or((&text, "0"));
    let power: i32 = power.parse().unwrap_or(0);
    if !(-5..16).contains(&power) {
        out.push_str(&if power > 0 { text.replace('e', "e+") } else { text });
        return;
    }
    if digits.starts_with('-') {
        out.push('-');
    }
    let mut digits: String = digits.chars().filter(char::is_ascii_digit).collect();
    while (digits.len() as i32) < power + 2 {
        digits.push('0');
    }
    if power < 0 {
        out.push_str("0.");
        (1..-power).for_each(|_| out.push('0'));
        out.push_str(&digits);
        return;
    }
    let (whole, rest) = digits.split_at(power as usize + 1);
    out.extend([whole, ".", rest]);
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn words_and_lists_are_written_as_the_library_writes_them() {
        let odd: String = (0..0x2100).filter_map(char::from_u32).collect();
        let value = json!({
            "b": [1, -2, u64::MAX, i64::MIN, null, true, false, [], {}],
            "a": { "odd": odd, "\"": "\\" },
            "c": [0.0, -0.0, 1.0, 0.1, 1e15, 1e16, 1e17, 123456.789, 1e-4, 1e-5, 1e-6, 1.5e-7],
        });
        assert_eq!(text(&value), value.to_string());
    }

    #[test]
    fn numbers_of_all_sizes_are_written_as_shortly_as_the_library_writes_them() {
        let mut state = 3_u64;
        for round in 0..200_000_u32 {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            let near = ((state % 2_000_003) as f64 - 1e6)
                * record::decimal::ten_to(-((round % 24) as i32));
            for value in [f64::from_bits(state), near, near * 1e18] {
                let (own, other) = (text(&json!(value)), json!(value).to_string());
                let back = record::decimal::parse(&own).map(f64::to_bits);
                let as_good = own.len() == other.len() && back == Some(value.to_bits());
                assert!(own == other || as_good, "{own} {other}");
            }
        }
    }
}
