//! The examples of the manual: rendered, at one loudness, and as the document says.

use std::collections::BTreeSet;
use std::fs;

use super::examples::GROUPS;
use super::rendered::{DOCUMENT, LOUDNESS_LKFS};
use super::{blocks, page};
use crate::project::workspace::root;

/// ITU-R BS.1770 readings of the examples lie within this, LU.
const LOUDNESS_TOLERANCE: f64 = 0.3;

#[test]
fn every_example_has_a_name_of_its_own_and_one_to_be_compared_with() {
    let all = || GROUPS.iter().flat_map(|group| group.examples);
    let names: BTreeSet<&str> = all().map(|example| example.name).collect();
    assert_eq!(names.len(), all().count());
    for example in all() {
        assert!(names.contains(example.against), "{}", example.name);
    }
}

#[test]
fn every_example_is_ten_seconds_at_one_loudness_and_as_the_document_says() {
    let place = tempfile::tempdir().expect("a folder");
    let rendered = super::examples(place.path()).expect("the examples");
    for one in &rendered {
        let (name, loudness) = (one.example.name, one.facts.loudness_lkfs);
        assert!(
            (loudness - LOUDNESS_LKFS).abs() <= LOUDNESS_TOLERANCE,
            "{name}: {loudness}"
        );
        assert_eq!(one.sound.channels[0].len(), 480_000, "{name}");
    }
    let text = fs::read_to_string(root().join(DOCUMENT)).expect("the document");
    let fresh = blocks::renewed(&text, &rendered).expect("places");
    assert!(blocks::same(&text, &fresh), "{fresh}");
    let html = page::html(&fresh, &rendered, &root().join("docs")).expect("a page");
    assert_eq!(html.matches("<audio").count(), rendered.len());
    assert!(!html.contains("src=\"figures") && !html.contains("PLAYERS"));
}

#[test]
fn a_number_that_moved_is_noticed_and_a_rounded_one_is_not() {
    assert!(blocks::same(
        "| a | −4.1 dB at 6.8 kHz |",
        "| a | −4.2 dB at 6.8 kHz |"
    ));
    assert!(!blocks::same(
        "| a | −4.1 dB at 6.8 kHz |",
        "| a | −4.9 dB at 6.8 kHz |"
    ));
    assert!(!blocks::same("| a | −4.1 dB |", "| b | −4.1 dB |"));
}
