//! The language of an engine: the worker's and the page's speak for themselves.

use crate::request;
use record::words::{self, Style};
use wasm_bindgen::prelude::wasm_bindgen;

/// Chooses the language, by its tag and its texts (JSON, translations by their English), and how
/// numbers and dates are written.  Texts that cannot be read leave the language English.
#[wasm_bindgen]
pub fn speak(language: &str, texts: &str, decimal_comma: bool, iso_dates: bool) {
    let read = request::json(texts).ok();
    let texts = read.as_ref().and_then(|json| json.as_object());
    let pairs = texts
        .into_iter()
        .flatten()
        .filter_map(|(english, other)| Some((english.clone(), other.as_str()?.to_owned())));
    words::speak(language, pairs.collect());
    words::set_style(Style { decimal_comma, iso_dates });
}
