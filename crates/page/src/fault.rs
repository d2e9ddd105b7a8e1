//! Faults on their way to the page: JSON text, thrown.

use procedure::json;
use record::{Fault, say};
use serde_json::json;
use wasm_bindgen::JsValue;

/// What an exported function gives: its answer, or a fault thrown as text.
pub(crate) type Answer<T> = Result<T, JsValue>;

/// A fault as the page reads it.
pub(crate) fn text(fault: &Fault) -> String {
    let Fault { code, message, place, remedy } = fault;
    json::text(&json!({ "code": code, "message": message, "place": place, "remedy": remedy }))
}

/// A fault of any stage as what is thrown.
pub(crate) fn thrown(fault: impl Into<Fault>) -> JsValue {
    JsValue::from_str(&text(&fault.into()))
}

/// A request that the page should not have made.
pub(crate) fn misasked(what: &str) -> Fault {
    Fault::new(
        "page/misasked",
        say!("The page asked the engine for something it does not know: {what}."),
        "Load the page again, so that its parts are of one version.",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_reaches_the_page_with_its_four_fields() {
        let fault = Fault::new("a/b", "It was \"so\".", "Do this.").at("line 3");
        let read: serde_json::Value = serde_json::from_str(&text(&fault)).unwrap();
        assert_eq!(read["code"], "a/b");
        assert_eq!(read["message"], "It was \"so\".");
        assert_eq!(read["place"], "line 3");
        assert_eq!(read["remedy"], "Do this.");
    }
}
