//! JSON text, written by hand: an object is built key by key, in order.
//!
//! Numbers are written so that they read back as the same `f64`; a number that
//! is not finite is written as null.  Nothing is read here.

use record::vector::{Mat3, Vec3};
use std::fmt::Write;

/// An object under construction.
#[derive(Clone, Debug, Default)]
pub struct Object {
    body: String,
}

impl Object {
    /// An empty object.
    pub fn new() -> Self {
        Self::default()
    }

    /// A number.
    #[must_use]
    pub fn number(self, key: &str, value: f64) -> Self {
        self.raw(key, &number(value))
    }

    /// A count.
    #[must_use]
    pub fn count(self, key: &str, value: usize) -> Self {
        self.raw(key, &value.to_string())
    }

    /// A text.
    #[must_use]
    pub fn text(self, key: &str, value: &str) -> Self {
        self.raw(key, &quoted(value))
    }

    /// A yes or no.
    #[must_use]
    pub fn flag(self, key: &str, value: bool) -> Self {
        self.raw(key, if value { "true" } else { "false" })
    }

    /// Three numbers.
    #[must_use]
    pub fn vector(self, key: &str, value: Vec3) -> Self {
        self.raw(key, &list(value.iter().map(|v| number(*v))))
    }

    /// Three rows of three numbers.
    #[must_use]
    pub fn matrix(self, key: &str, value: &Mat3) -> Self {
        self.raw(key, &list(value.iter().map(|row| list(row.iter().map(|v| number(*v))))))
    }

    /// An object inside.
    #[must_use]
    pub fn object(self, key: &str, value: Object) -> Self {
        let text = value.finish();
        self.raw(key, &text)
    }

    /// Objects in a row.
    #[must_use]
    pub fn objects(self, key: &str, values: impl IntoIterator<Item = Object>) -> Self {
        self.raw(key, &list(values.into_iter().map(Object::finish)))
    }

    /// Counts in a row.
    #[must_use]
    pub fn counts(self, key: &str, values: &[usize]) -> Self {
        self.raw(key, &list(values.iter().map(usize::to_string)))
    }

    /// The text of the object.
    pub fn finish(self) -> String {
        format!("{{{}}}", self.body)
    }

    /// The text with one key of the outermost object a line, for a file.
    pub fn finish_in_lines(self) -> String {
        let mut out = String::from("{\n");
        let (mut depth, mut quoted, mut escaped) = (0i32, false, false);
        for c in self.body.chars() {
            out.push(c);
            match c {
                _ if escaped => escaped = false,
                '\\' if quoted => escaped = true,
                '"' => quoted = !quoted,
                '{' | '[' if !quoted => depth += 1,
                '}' | ']' if !quoted => depth -= 1,
                ',' if !quoted && depth == 0 => out.push('\n'),
                _ => {}
            }
        }
        out.push_str("\n}\n");
        out
    }

    fn raw(mut self, key: &str, value: &str) -> Self {
        if !self.body.is_empty() {
            self.body.push(',');
        }
        self.body.push_str(&quoted(key));
        self.body.push(':');
        self.body.push_str(value);
        self
    }
}

fn list(items: impl Iterator<Item = String>) -> String {
    format!("[{}]", items.collect::<Vec<_>>().join(","))
}

fn number(value: f64) -> String {
    if value.is_finite() { format!("{value}") } else { "null".to_owned() }
}

fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            c if c < ' ' => {
                // Writing to a String cannot fail.
                let _ = write!(out, "\\u{:04x}", c as u32);
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_back_by_another_reader() {
        let inner = Object::new().flag("yes", true).counts("rows", &[1, 2]);
        let text = Object::new()
            .text("name", "a \"b\" \\ {[,\n")
            .number("pi", std::f64::consts::PI)
            .number("none", f64::NAN)
            .vector("v", [1.0, -0.5, 1e-9])
            .matrix("m", &record::vector::IDENTITY)
            .object("o", inner.clone())
            .objects("list", [inner, Object::new()]);
        for text in [text.clone().finish(), text.finish_in_lines()] {
            let read: serde_json::Value = serde_json::from_str(&text).unwrap();
            assert_eq!(read["name"], "a \"b\" \\ {[,\n");
            assert_eq!(read["pi"].as_f64(), Some(std::f64::consts::PI));
            assert!(read["none"].is_null());
            assert_eq!(read["v"][2].as_f64(), Some(1e-9));
            assert_eq!(read["o"]["rows"][1], 2);
            assert_eq!(read["list"].as_array().unwrap().len(), 2);
        }
    }
}
