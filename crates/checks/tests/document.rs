//! The document of the checks stands as the rules say it; `UPDATE_EXPECT=1` writes it anew.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;
use std::path::Path;

#[test]
fn the_document_is_what_the_rules_say() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/checks.md");
    let document = wetrun_checks::document();
    if std::env::var_os("UPDATE_EXPECT").is_some() {
        std::fs::write(&path, &document).unwrap();
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(written == document, "docs/checks.md is stale: UPDATE_EXPECT=1 writes it");
}

#[test]
fn names_are_unique_and_plain() {
    let names: BTreeSet<&str> = wetrun_checks::rules().iter().map(|rule| rule.name).collect();
    assert_eq!(names.len(), wetrun_checks::rules().len());
    for name in names {
        assert!(name.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{name}");
        assert_eq!(wetrun_checks::rule(name).map(|rule| rule.name), Some(name));
    }
}

/// A threshold that nobody read is never printed as a clause: a source that cites a numbered
/// clause was read.
#[test]
fn a_cited_clause_was_read() {
    for rule in wetrun_checks::rules() {
        let cites = ["P29", "P26", "1101.", "312.", "708."].iter();
        if cites.clone().any(|clause| rule.source.text.contains(clause)) {
            let words = rule.source.confidence.words();
            assert!(words == "read" || words == "reasoned", "{} cites a clause", rule.name);
        }
    }
}
