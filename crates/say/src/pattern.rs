//! A sentence with places, taken apart.

/// A part of a sentence.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Piece {
    /// Words, as they are (doubled braces stay doubled).
    Text(String),
    /// A place: its name (empty when it is counted) and its format.
    Place {
        /// The name of a value.
        name: String,
        /// What stands after the colon.
        spec: String,
    },
}

/// The parts of a sentence, in order.
pub(crate) fn pieces(text: &str) -> Result<Vec<Piece>, String> {
    let mut out = Vec::new();
    let mut words = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(['{', '}']) {
        let (before, from) = rest.split_at(at);
        words.push_str(before);
        if from.starts_with("{{") || from.starts_with("}}") {
            words.push_str(&from[..2]);
            rest = &from[2..];
            continue;
        }
        let close = from.find('}').filter(|_| from.starts_with('{'));
        let close = close.ok_or("a brace stands alone in the sentence")?;
        out.push(Piece::Text(std::mem::take(&mut words)));
        let (name, spec) = from[1..close].split_once(':').unwrap_or((&from[1..close], ""));
        out.push(Piece::Place { name: name.to_owned(), spec: spec.to_owned() });
        rest = &from[close + 1..];
    }
    words.push_str(rest);
    out.push(Piece::Text(words));
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_found_with_their_names_and_formats() {
        let found = pieces("{{a}} {n:.2} of {}").unwrap();
        let place = |name: &str, spec: &str| Piece::Place { name: name.into(), spec: spec.into() };
        let text = |text: &str| Piece::Text(text.to_owned());
        let expected = [text("{{a}} "), place("n", ".2"), text(" of "), place("", ""), text("")];
        assert_eq!(found, expected);
        assert!(pieces("a } b").is_err());
    }
}
