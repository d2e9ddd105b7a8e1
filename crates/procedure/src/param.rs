//! Parameters of steps: kinds, ranges, what a typed text means, how a value
//! is shown.
//!
//! A number may be typed with a decimal point or a decimal comma, with a true
//! minus sign, spaces or full-width digits.  There are no thousands
//! separators; a text that looks like one is read as a decimal and answered.

use record::{
    Instant, Unit, print, say,
    words::{word, worded},
};

/// The value of a parameter.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A number; whole ones too.
    Number(f64),
    /// The identifier of one of the options, or the name of a channel.
    Choice(String),
    /// Free text.
    Text(String),
    /// From one instant to another; `None` is the whole record.
    Span(Option<(Instant, Instant)>),
}

/// One of several options: its stable identifier and how the sentence says it.
pub type Choices = &'static [(&'static str, &'static str)];

/// What a parameter can be.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// A number in a range.
    Number {
        /// Smallest allowed.
        min: f64,
        /// Largest allowed.
        max: f64,
        /// Step of the arrow keys.
        step: f64,
    },
    /// A whole number in a range.
    Whole {
        /// Smallest allowed.
        min: f64,
        /// Largest allowed.
        max: f64,
        /// Step of the arrow keys.
        step: f64,
        /// Whether only odd numbers are.
        odd: bool,
    },
    /// One of several.
    Choice(Choices),
    /// A channel of the record as it arrives, or one of these groups.
    Channel(Choices),
    /// A span of time.
    Span,
    /// A short text.
    Text,
    /// So many numbers in a row, or none.
    Numbers(usize),
}

/// A parameter of a step.
#[derive(Clone, Copy, Debug)]
pub struct Param {
    /// Stable name in files.
    pub key: &'static str,
    /// Accessible name of its control, four words or fewer.
    pub label: &'static str,
    /// Unit of its number.
    pub unit: Unit,
    /// What it can be.
    pub kind: Kind,
    /// What it is until it is changed.
    pub default: Default,
    /// Why the range is what it is.
    pub help: &'static str,
}

/// A value that can stand in a constant.
#[derive(Clone, Copy, Debug)]
pub enum Default {
    /// A number.
    Number(f64),
    /// An option, a channel or a text.
    Word(&'static str),
    /// The whole record.
    Whole,
}

/// A typed text understood.
#[derive(Clone, Debug, PartialEq)]
pub struct Understood {
    /// What it means.
    pub value: Value,
    /// How it was read, where that could surprise.
    pub note: Option<String>,
}

impl Param {
    /// A number in a range.
    pub const fn number(
        key: &'static str,
        label: &'static str,
        unit: Unit,
        range: (f64, f64, f64),
        default: f64,
        help: &'static str,
    ) -> Self {
        let kind = Kind::Number { min: range.0, max: range.1, step: range.2 };
        Self { key, label, unit, kind, default: Default::Number(default), help }
    }

    /// A whole number in a range.
    pub const fn whole(
        key: &'static str,
        label: &'static str,
        range: (f64, f64, f64),
        odd: bool,
        default: f64,
        help: &'static str,
    ) -> Self {
        let kind = Kind::Whole { min: range.0, max: range.1, step: range.2, odd };
        Self { key, label, unit: Unit::None, kind, default: Default::Number(default), help }
    }

    /// One of several options.
    pub const fn choice(
        key: &'static str,
        label: &'static str,
        options: Choices,
        default: &'static str,
        help: &'static str,
    ) -> Self {
        let kind = Kind::Choice(options);
        Self { key, label, unit: Unit::None, kind, default: Default::Word(default), help }
    }

    /// A channel, or one of some groups of channels.
    pub const fn channel(
        key: &'static str,
        label: &'static str,
        groups: Choices,
        default: &'static str,
        help: &'static str,
    ) -> Self {
        let kind = Kind::Channel(groups);
        Self { key, label, unit: Unit::None, kind, default: Default::Word(default), help }
    }

    /// A span of time.
    pub const fn span(key: &'static str, label: &'static str, help: &'static str) -> Self {
        Self { key, label, unit: Unit::None, kind: Kind::Span, default: Default::Whole, help }
    }

    /// A short text.
    pub const fn text(
        key: &'static str,
        label: &'static str,
        default: &'static str,
        help: &'static str,
    ) -> Self {
        let default = Default::Word(default);
        Self { key, label, unit: Unit::None, kind: Kind::Text, default, help }
    }

    /// So many numbers with spaces between; none until they are typed.
    pub const fn numbers(
        key: &'static str,
        label: &'static str,
        count: usize,
        help: &'static str,
    ) -> Self {
        let (kind, default) = (Kind::Numbers(count), Default::Word(""));
        Self { key, label, unit: Unit::None, kind, default, help }
    }

    /// The value before anything is changed.
    pub fn initial(&self) -> Value {
        match (self.default, self.kind) {
            (Default::Number(number), _) => Value::Number(number),
            (Default::Word(word), Kind::Text | Kind::Numbers(_)) => Value::Text(word.to_owned()),
            (Default::Word(word), _) => Value::Choice(word.to_owned()),
            (Default::Whole, _) => Value::Span(None),
        }
    }

    /// What a typed text means.
    ///
    /// # Errors
    ///
    /// A sentence saying what is allowed and why.
    pub fn understand(&self, typed: &str) -> Result<Understood, String> {
        match self.kind {
            Kind::Number { .. } | Kind::Whole { .. } => {
                let (number, note) = read_number(typed)
                    .ok_or_else(|| say!("“{}” is not a number. {}", typed.trim(), self.hint()))?;
                // How a text was read matters most where the number is refused.
                self.check(&Value::Number(number)).map_err(|fault| match &note {
                    Some(note) => format!("{note} {fault}"),
                    None => fault,
                })?;
                Ok(Understood { value: Value::Number(number), note })
            }
            Kind::Choice(_) | Kind::Channel(_) => {
                let value = Value::Choice(typed.to_owned());
                self.check(&value)?;
                Ok(Understood { value, note: None })
            }
            Kind::Span => read_span(typed).map(|value| Understood { value, note: None }),
            Kind::Numbers(count) => {
                let list = read_numbers(typed).filter(|l| l.is_empty() || l.len() == count);
                let list = list.ok_or_else(|| self.hint())?;
                let each: Vec<String> = list.iter().map(|n| plain(*n)).collect();
                Ok(Understood { value: Value::Text(each.join(" ")), note: None })
            }
            Kind::Text => {
                let clean: String =
                    typed.trim().chars().filter(|c| !c.is_control()).take(80).collect();
                Ok(Understood { value: Value::Text(clean), note: None })
            }
        }
    }

    /// Whether a value is allowed here.
    ///
    /// # Errors
    ///
    /// A sentence saying what is allowed and why.
    pub fn check(&self, value: &Value) -> Result<(), String> {
        match (self.kind, value) {
            (Kind::Number { min, max, .. }, Value::Number(n)) if (min..=max).contains(n) => Ok(()),
            (Kind::Whole { min, max, odd, .. }, Value::Number(n))
                if (min..=max).contains(n) && n.fract() == 0.0 && (!odd || n % 2.0 != 0.0) =>
            {
                Ok(())
            }
            (Kind::Choice(options), Value::Choice(id)) if options.iter().any(|o| o.0 == id) => {
                Ok(())
            }
            (Kind::Channel(_), Value::Choice(name)) if !name.is_empty() => Ok(()),
            (Kind::Span, Value::Span(None)) | (Kind::Text, Value::Text(_)) => Ok(()),
            (Kind::Numbers(_), Value::Text(text)) => self.understand(text).map(|_| ()),
            (Kind::Span, Value::Span(Some((start, end)))) if start < end => Ok(()),
            (Kind::Span, Value::Span(Some(_))) => {
                Err(worded("The end of the span lies before its start. Change one of the two."))
            }
            (_, Value::Number(n)) => Err(say!("{} is outside. {}", self.bare(*n), self.hint())),
            (_, Value::Choice(id)) => Err(say!("“{id}” is not one of them. {}", self.hint())),
            _ => Err(self.hint()),
        }
    }

    /// What is allowed, in a sentence.
    pub fn hint(&self) -> String {
        let allowed = match self.kind {
            Kind::Number { min, max, .. } => {
                say!("From {} to {}.", self.shown(min), self.shown(max))
            }
            Kind::Whole { min, max, odd, .. } => say!(
                "A whole {}number from {} to {}.",
                word(if odd { "odd " } else { "" }),
                self.shown(min),
                self.shown(max)
            ),
            Kind::Choice(options) => {
                let names: Vec<&str> = options.iter().map(|(_, label)| word(label)).collect();
                say!("One of: {}.", names.join(", "))
            }
            Kind::Channel(_) => worded("The name of a channel."),
            Kind::Span => worded(
                "Two times in UTC with a slash between, such as \
                           2026-05-01T00:00/2026-05-03T12:00, or nothing for the whole record.",
            ),
            Kind::Text => worded("Up to 80 characters."),
            Kind::Numbers(count) => {
                say!("{count} numbers with a decimal point and spaces between, or nothing.")
            }
        };
        if self.help.is_empty() { allowed } else { format!("{allowed} {}", word(self.help)) }
    }

    /// The value after so many steps of the arrow keys, kept in the range.
    pub fn nudged(&self, value: &Value, by: f64) -> Value {
        match (self.kind, value) {
            (Kind::Number { min, max, step }, Value::Number(n)) => {
                let decimals = decimals_of(step);
                let text = format!("{:.decimals$}", n + by * step);
                Value::Number(record::decimal::parse(&text).unwrap_or(*n).clamp(min, max))
            }
            (Kind::Whole { min, max, step, .. }, Value::Number(n)) => {
                Value::Number((n + (by * step).round()).clamp(min, max))
            }
            (_, other) => other.clone(),
        }
    }

    /// The value as it stands in its control.
    pub fn edit_text(&self, value: &Value) -> String {
        match value {
            Value::Number(n) => plain(*n),
            Value::Text(text) => worded(text),
            Value::Choice(text) => text.clone(),
            Value::Span(None) => String::new(),
            Value::Span(Some((a, b))) => format!("{}/{}", a.iso(), b.iso()),
        }
    }

    /// The value as the sentence says it.
    pub fn said(&self, value: &Value) -> String {
        match (self.kind, value) {
            (_, Value::Number(n)) => self.shown(*n),
            (Kind::Choice(options) | Kind::Channel(options), Value::Choice(id)) => options
                .iter()
                .find(|(option, _)| option == id)
                .map_or_else(|| id.clone(), |(_, label)| worded(label)),
            (Kind::Numbers(_), Value::Text(text)) => said_numbers(text),
            (_, Value::Text(text)) => worded(text),
            (_, Value::Choice(text)) => text.clone(),
            (_, Value::Span(None)) => worded("the whole record"),
            (_, Value::Span(Some((a, b)))) => print::span(*a, *b),
        }
    }

    fn shown(&self, number: f64) -> String {
        print::with_unit(&self.bare(number), self.unit)
    }

    fn bare(&self, number: f64) -> String {
        let text = plain(number.abs());
        let (whole, rest) = text.split_once('.').unwrap_or((&text, ""));
        let whole = whole.parse::<usize>().map_or_else(|_| whole.to_owned(), print::count);
        let sign = if number < 0.0 { "−" } else { "" };
        let mut out = format!("{sign}{whole}");
        if !rest.is_empty() {
            out.push(print::decimal_mark());
            out.push_str(rest);
        }
        out
    }
}

/// Shortest text that reads back as the same number, never with an exponent
/// for ordinary sizes.
fn plain(number: f64) -> String {
    format!("{number}")
}

fn decimals_of(step: f64) -> usize {
    plain(step).split_once('.').map_or(0, |(_, rest)| rest.len())
}

/// A typed number, and a note when its comma could have been meant otherwise.
fn read_number(typed: &str) -> Option<(f64, Option<String>)> {
    let mut text = String::new();
    for c in typed.trim().chars() {
        match c {
            '−' | '–' | '－' => text.push('-'),
            ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' => {}
            '０'..='９' => text.push(char::from(b'0' + (u32::from(c) - 0xff10) as u8)),
            '٠'..='٩' => text.push(char::from(b'0' + (u32::from(c) - 0x660) as u8)),
            '．' | '٫' => text.push('.'),
            '，' => text.push(','),
            other => text.push(other),
        }
    }
    let marks = text.matches([',', '.']).count();
    if marks > 1 {
        return None;
    }
    let plain: String = text.replace(',', ".");
    let allowed = plain.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
    let number = record::decimal::parse(&plain).filter(|n| allowed && n.is_finite())?;
    let grouped = text.split_once(',').is_some_and(|(head, tail)| {
        tail.len() == 3 && !head.trim_start_matches('-').is_empty() && !head.ends_with('0')
    });
    let note = grouped.then(|| {
        let digits: String = text.chars().filter(|c| *c != ',').collect();
        say!("Read as {number}; for thousands type {digits}.")
    });
    Some((number, note))
}

/// Numbers with spaces, semicolons or brackets between; commas too, unless they
/// are decimal ones.  `None` when something else stands there.
pub(crate) fn read_numbers(text: &str) -> Option<Vec<f64>> {
    let apart = |c: char| c.is_whitespace() || "()[];".contains(c);
    let words = text.split(apart).map(|word| word.trim_matches(',')).filter(|w| !w.is_empty());
    words.map(|word| read_number(word).map(|(number, _)| number)).collect()
}

// As prose prints them: commas between, true minus signs.
fn said_numbers(text: &str) -> String {
    let list = read_numbers(text).unwrap_or_default();
    if list.is_empty() {
        return worded("(nothing)");
    }
    let each: Vec<String> = list.iter().map(|n| print::trimmed(*n, 7)).collect();
    format!("({})", each.join(", "))
}

fn read_span(typed: &str) -> Result<Value, String> {
    let text = typed.trim();
    if text.is_empty() {
        return Ok(Value::Span(None));
    }
    let parsed = text.split_once('/').and_then(|(a, b)| Some((read_instant(a)?, read_instant(b)?)));
    match parsed {
        Some((start, end)) if start < end => Ok(Value::Span(Some((start, end)))),
        Some(_) => Err(worded("The end of the span lies before its start. Change one of the two.")),
        None => Err(say!(
            "“{text}” is not a span. Type two times in UTC with a slash between, such as \
             2026-05-01T00:00/2026-05-03T12:00, or nothing for the whole record."
        )),
    }
}

/// `2026-05-01`, `2026-05-01T12:30`, `2026-05-01 12:30:15.5Z`: always UTC.
pub(crate) fn read_instant(text: &str) -> Option<Instant> {
    let text = text.trim().trim_end_matches(['Z', 'z']);
    let (date, time) = text.split_once(['T', ' ']).unwrap_or((text, "00:00"));
    let mut parts = date.splitn(3, '-');
    let year = parts.next()?.parse().ok()?;
    let month = parts.next()?.parse().ok()?;
    let day = parts.next()?.parse().ok()?;
    let mut clock = time.splitn(3, ':');
    let hour: i64 = clock.next()?.parse().ok().filter(|h| (0..24).contains(h))?;
    let minute: i64 = clock.next()?.parse().ok().filter(|m| (0..60).contains(m))?;
    let second = record::decimal::parse(clock.next().unwrap_or("0"))?;
    if !(0.0..60.0).contains(&second) {
        return None;
    }
    let midnight = Instant::from_date(year, month, day)?;
    let of_day = (hour * 3600 + minute * 60) * 1_000_000_000 + (second * 1e9).round() as i64;
    Some(Instant(midnight.0 + of_day))
}

#[cfg(test)]
mod tests {
    use super::*;

    const THRESHOLD: Param =
        Param::number("threshold", "Spike threshold", Unit::None, (1.0, 50.0, 0.5), 5.0, "");

    #[test]
    fn a_decimal_comma_and_a_decimal_point_mean_the_same() {
        let comma = THRESHOLD.understand("5,5").unwrap();
        assert_eq!(comma, THRESHOLD.understand("5.5").unwrap());
        assert_eq!(comma.note, None);
    }

    #[test]
    fn a_comma_before_three_digits_is_answered_in_words() {
        let wide = Param { kind: Kind::Number { min: 0.0, max: 1e6, step: 1.0 }, ..THRESHOLD };
        let read = wide.understand("17,500").unwrap();
        assert_eq!(read.value, Value::Number(17.5));
        assert_eq!(read.note.unwrap(), "Read as 17.5; for thousands type 17500.");
    }

    #[test]
    fn a_comma_before_three_digits_is_answered_where_the_number_is_refused_too() {
        let answer = THRESHOLD.understand("7,500").map(|read| read.value);
        assert_eq!(answer, Ok(Value::Number(7.5)));
        let refused = THRESHOLD.understand("175,500").unwrap_err();
        let read = "Read as 175.5; for thousands type 175500.";
        assert_eq!(refused, format!("{read} 175.5 is outside. From 1 to 50."));
    }

    #[test]
    fn a_true_minus_sign_and_foreign_digits_are_read() {
        assert_eq!(read_number("−3").unwrap().0, -3.0);
        assert_eq!(read_number("１２．５").unwrap().0, 12.5);
        assert_eq!(read_number("٣٫٥").unwrap().0, 3.5);
        assert!(read_number("1.2.3").is_none() && read_number("inf").is_none());
    }

    #[test]
    fn numbers_in_a_row_are_counted_and_said_with_commas() {
        let offset = Param::numbers("offset", "Offset", 3, "");
        let read = offset.understand("(12.5, −30; 7e-3)").unwrap();
        assert_eq!(read.value, Value::Text("12.5 -30 0.007".to_owned()));
        assert_eq!(offset.said(&read.value), "(12.5, −30, 0.007)");
        assert_eq!(offset.understand(" ").unwrap().value, Value::Text(String::new()));
        for refused in ["1 2", "1 2 3 4", "1 2 x"] {
            assert!(offset.understand(refused).unwrap_err().starts_with("3 numbers"), "{refused}");
        }
    }

    #[test]
    fn a_number_outside_is_answered_with_the_range() {
        let answer = THRESHOLD.understand("900").unwrap_err();
        assert_eq!(answer, "900 is outside. From 1 to 50.");
    }

    #[test]
    fn arrow_keys_do_not_leave_rounding_dust() {
        let tenth = Param { kind: Kind::Number { min: 0.0, max: 1.0, step: 0.1 }, ..THRESHOLD };
        assert_eq!(tenth.nudged(&Value::Number(0.2), 1.0), Value::Number(0.3));
    }

    #[test]
    fn a_span_is_two_times_with_a_slash() {
        let span = read_span("2026-05-01/2026-05-02T12:30").unwrap();
        let Value::Span(Some((a, b))) = span else { panic!("a span") };
        assert_eq!(
            (a.iso(), b.iso()),
            ("2026-05-01T00:00:00Z".into(), "2026-05-02T12:30:00Z".into())
        );
        assert!(read_span("2026-05-02/2026-05-01").is_err());
    }
}
