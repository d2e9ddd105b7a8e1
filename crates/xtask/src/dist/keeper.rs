//! The script that keeps the page for use offline, with its version and parts.

use super::digest::integrity;
use super::module;
use super::parts::Parts;
use crate::halt::Halt;

const VERSION: &str = "const VERSION = \"\";";
const PARTS: &str = "const PARTS = {};";

/// Writes the version and every part's hash into the script.
pub fn script(text: &str, parts: &Parts, version: &str) -> Result<String, Halt> {
    let missing = || {
        Halt::new(
            format!("www/sw.js lacks `{VERSION}` or `{PARTS}`."),
            "Change crates/xtask/src/dist/keeper.rs along with it.",
        )
    };
    if !(text.contains(VERSION) && text.contains(PARTS)) {
        return Err(missing());
    }
    let line = |part: &super::parts::Part| {
        format!("    \"{}\": \"{}\",\n", part.name, integrity(&part.bytes))
    };
    let list: String = parts.files().map(line).collect();
    let text = module::without_comments(text)
        .map_err(|words| Halt::new(format!("www/sw.js cannot be published: it {words}."), ""))?;
    let text = text.replacen(VERSION, &format!("const VERSION = \"{version}\";"), 1);
    Ok(text.replacen(PARTS, &format!("const PARTS = {{\n{list}}};"), 1))
}

#[cfg(test)]
mod tests {
    use super::super::parts::tests::parts;
    use super::*;

    const SCRIPT: &str = include_str!("../../../../www/sw.js");

    #[test]
    fn every_part_is_listed_with_the_hash_of_its_bytes() {
        let script = script(SCRIPT, &parts(), "0123").expect("written");
        assert!(script.contains("const VERSION = \"0123\";"));
        for part in parts().files() {
            let line = format!("\"{}\": \"{}\",", part.name, integrity(&part.bytes));
            assert!(script.contains(&line), "{line}");
        }
    }

    #[test]
    fn the_script_knows_a_part_by_the_form_of_its_name() {
        assert!(SCRIPT.contains("/^[a-z]+-[0-9a-f]{12}\\.[a-z]+$/"));
        for part in parts().hashed() {
            let (word, rest) = part.name.split_once('-').expect("a hyphen");
            let (hash, ending) = rest.split_once('.').expect("an ending");
            assert!(word.chars().chain(ending.chars()).all(|c| c.is_ascii_lowercase()));
            assert_eq!(hash.len(), 12);
        }
    }

    #[test]
    fn a_script_that_has_moved_on_stops_the_build() {
        assert!(script("const PARTS = {};", &parts(), "v").is_err());
    }
}
