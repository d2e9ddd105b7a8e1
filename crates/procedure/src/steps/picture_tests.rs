//! Every step has a picture beside its Why, and words for whoever does not see it.

use super::ALL;
use std::collections::BTreeSet;
use std::path::Path;

fn sheet() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../www/pictures/why.svg");
    std::fs::read_to_string(path).expect("www/pictures/why.svg is there")
}

#[test]
fn each_step_has_one_picture_and_each_picture_a_step() {
    let sheet = sheet();
    let drawn: Vec<&str> =
        sheet.split("<symbol id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    let steps: BTreeSet<&str> = ALL.iter().map(|step| step.id).collect();
    assert_eq!(drawn.len(), steps.len(), "one picture a step");
    assert_eq!(drawn.into_iter().collect::<BTreeSet<_>>(), steps);
}

#[test]
fn pictures_share_one_form_and_bring_no_colours_or_styles_of_their_own() {
    let sheet = sheet();
    let forms = sheet.matches("viewBox=\"0 0 240 120\"").count();
    assert_eq!(forms, ALL.len());
    for own in ["style=", "stroke=", "fill=", "href", "<script", "<style"] {
        assert!(!sheet.contains(own), "{own}");
    }
}

#[test]
fn letters_in_a_picture_are_symbols_that_need_no_translation() {
    for text in sheet().split("<text").skip(1) {
        let (_, rest) = text.split_once('>').expect("an opening tag");
        let (word, _) = rest.split_once("</text>").expect("a closing tag");
        assert!(["D", "F", "H", "I", "t", "Hz"].contains(&word), "{word}");
    }
}

#[test]
fn what_a_picture_shows_is_told_in_one_short_sentence_and_never_twice_the_same() {
    let mut told = BTreeSet::new();
    for step in ALL {
        let text = step.why.picture;
        assert!(text.ends_with('.') && text.matches(". ").count() == 0, "{}: {text}", step.id);
        assert!((30..=130).contains(&text.len()), "{}: {} letters", step.id, text.len());
        assert!(told.insert(text), "{}: {text}", step.id);
    }
}
