//! What a file is called on the wire.

use std::path::Path;

/// The media type for a file's name; plain bytes when the name says nothing.
///
/// Browsers compile WebAssembly while it arrives only under its own type, and
/// run a module only under JavaScript's (both registered with IANA).
pub fn of(path: &Path) -> &'static str {
    match path.extension().and_then(|e| e.to_str()).unwrap_or("") {
        "html" => "text/html; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "json" | "webmanifest" => "application/json; charset=utf-8",
        "wasm" => "application/wasm",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "ico" => "image/x-icon",
        "csv" => "text/csv; charset=utf-8",
        "txt" | "md" | "ts" | "min" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wasm_and_modules_have_the_types_that_browsers_insist_on() {
        assert_eq!(of(Path::new("pkg/page_bg.wasm")), "application/wasm");
        assert_eq!(of(Path::new("app/main.js")), "text/javascript; charset=utf-8");
    }

    #[test]
    fn a_name_without_an_ending_is_plain_bytes() {
        assert_eq!(of(Path::new("LICENSE")), "application/octet-stream");
    }
}
