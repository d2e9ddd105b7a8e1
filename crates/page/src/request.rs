//! What the page asks for, taken out of its JSON.

use crate::fault::misasked;
use figure::View;
use procedure::Choices;
use record::Fault;
use serde_json::Value;

/// The part of a figure that is shown: `{"x": [lo, hi] | null, "y": ...}`.
///
/// # Errors
///
/// `page/misasked` for text that is not a JSON object.
pub(crate) fn view(text: &str) -> Result<View, Fault> {
    let found: Value = serde_json::from_str(text).map_err(|_| misasked(text))?;
    if !found.is_object() {
        return Err(misasked(text));
    }
    Ok(View { x: span(&found["x"]), y: span(&found["y"]) })
}

/// Any JSON text.
///
/// # Errors
///
/// `page/misasked` for other text.
pub(crate) fn json(text: &str) -> Result<Value, Fault> {
    serde_json::from_str(text).map_err(|_| misasked(text))
}

fn span(value: &Value) -> Option<(f64, f64)> {
    Some((value.get(0)?.as_f64()?, value.get(1)?.as_f64()?))
}

/// Decisions of a reading that the student changed: `{"dates": "day-first"}`.
///
/// # Errors
///
/// `page/misasked` for text that is not an object of texts.
pub(crate) fn choices(text: &str) -> Result<Choices, Fault> {
    let found: Value = serde_json::from_str(text).map_err(|_| misasked(text))?;
    let pairs = found.as_object().ok_or_else(|| misasked(text))?;
    pairs.iter().try_fold(Choices::default(), |choices, (id, alternative)| {
        let alternative = alternative.as_str().ok_or_else(|| misasked(text))?;
        Ok(choices.with(id, alternative))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_view_without_a_span_shows_all() {
        assert_eq!(view(r#"{"x":null,"y":null}"#), Ok(View::ALL));
        assert_eq!(view(r#"{"x":[1,2.5]}"#), Ok(View { x: Some((1.0, 2.5)), y: None }));
    }

    #[test]
    fn what_is_not_an_object_is_refused() {
        assert_eq!(view("[1,2]").unwrap_err().code, "page/misasked");
        assert_eq!(choices("{").unwrap_err().code, "page/misasked");
        assert_eq!(choices(r#"{"a":1}"#).unwrap_err().code, "page/misasked");
    }

    #[test]
    fn decisions_keep_their_names() {
        let read = choices(r#"{"dates":"month-first"}"#).unwrap();
        assert_eq!(read.get("dates"), Some("month-first"));
    }
}
