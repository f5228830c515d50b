//! Values replaced in a text: what is asked for changes, every other byte stays.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proptest::prelude::*;
use wetrun_site::edit::{Edit, EditError, replace_value, set_values};

const TEXT: &str = "# a job\nwetrun: 1\nlines:\n  L1:                # first\n    from: D1\n    \
                    pipe: { type: pvc-sch40, size: any }   # open\n    length: 32 ft  # taped\n  \
                    L2: { from: D2, pipe: \"pvc-sch40 3 in\", profile: [ { at: 0, level: 4 } ] }\n  \
                    L3:\n    pipe:\n      type: pvc-sch40\n      size: [3 in, 4 in]\n    k: 0\n";

fn set(keys: &[&str], value: &str) -> String {
    replace_value(TEXT, keys, value).unwrap()
}

#[test]
fn a_plain_value_is_replaced_and_nothing_else() {
    let new = set(&["lines", "L1", "length"], "33 ft");
    assert_eq!(new, TEXT.replace("32 ft", "33 ft"));
}

#[test]
fn a_flow_mapping_gives_way_to_a_value() {
    let new = set(&["lines", "L1", "pipe"], "pvc-sch40 4 in");
    assert_eq!(new, TEXT.replace("{ type: pvc-sch40, size: any }", "pvc-sch40 4 in"));
}

#[test]
fn quotes_stay_quotes() {
    let new = set(&["lines", "L2", "pipe"], "pvc-sch40 4 in");
    assert_eq!(new, TEXT.replace("\"pvc-sch40 3 in\"", "\"pvc-sch40 4 in\""));
}

#[test]
fn a_value_in_a_list_is_reached_by_its_index() {
    let new = set(&["lines", "L2", "profile", "0", "level"], "4.5 m");
    assert_eq!(new, TEXT.replace("level: 4 }", "level: 4.5 m }"));
}

#[test]
fn a_block_mapping_gives_way_to_a_value() {
    let new = set(&["lines", "L3", "pipe"], "pvc-sch40 4 in");
    let old = "type: pvc-sch40\n      size: [3 in, 4 in]";
    assert_eq!(new, TEXT.replace(old, "pvc-sch40 4 in"));
}

#[test]
fn a_missing_key_is_added_to_its_mapping() {
    let flow = set(&["lines", "L2", "k"], "0.5");
    assert_eq!(flow, TEXT.replace("level: 4 } ] }", "level: 4 } ], k: 0.5 }"));
    let block = set(&["lines", "L1", "k"], "0.5");
    assert_eq!(block, TEXT.replace("# taped\n", "# taped\n    k: 0.5\n"));
}

#[test]
fn windows_line_ends_stay() {
    let text = "a:\r\n  b: 1 # one\r\nc: 2\r\n";
    assert_eq!(replace_value(text, &["a", "b"], "3").unwrap(), text.replace('1', "3"));
    let new = replace_value(text, &["a", "d"], "3").unwrap();
    assert_eq!(new, "a:\r\n  b: 1 # one\r\n  d: 3\r\nc: 2\r\n");
}

#[test]
fn values_that_yaml_would_misread_are_quoted() {
    for value in ["4\"", "\"4\"", "a: b", "a # b", "'x'", "- 1", "{ a }", "1, 2", "", "*x", "@x"] {
        let new = replace_value("a: { b: 1 }\n", &["a", "b"], value).unwrap();
        let read: serde_yaml::Value = serde_yaml::from_str(&new).unwrap();
        let back = &read["a"]["b"];
        assert_eq!(back.as_str().unwrap(), value, "{new}");
    }
}

#[test]
fn a_shared_anchor_is_not_changed_for_all() {
    let text = "a: &x 4\nb: *x\n";
    let error = replace_value(text, &["b"], "5").unwrap_err();
    assert!(matches!(error, EditError::NotAlone { .. }));
}

#[test]
fn a_place_that_does_not_exist_is_named() {
    let error = replace_value(TEXT, &["lines", "L9", "pipe"], "x").unwrap_err();
    assert_eq!(error, EditError::NoPlace { path: "lines.L9.pipe".into() });
    assert_eq!(replace_value("a: {", &["a"], "x").unwrap_err(), EditError::NotReadable);
}

#[test]
fn several_edits_are_one_pass() {
    let edits = [
        Edit::new(&["lines", "L3", "k"], "1.5"),
        Edit::new(&["lines", "L1", "pipe"], "pvc-sch40 6 in"),
    ];
    let wanted =
        TEXT.replace("k: 0", "k: 1.5").replace("{ type: pvc-sch40, size: any }", "pvc-sch40 6 in");
    assert_eq!(set_values(TEXT, &edits).unwrap(), wanted);
}

proptest! {
    #[test]
    fn whatever_is_set_reads_back(value in "[ -~é²]{0,20}", key in "[a-z]{1,4}") {
        let value = value.trim();
        for text in ["a: { b: 1, c: 2 } # x\n", "a:\n  b: 1 # x\n  c: 2\n", "a: { b: \"1\" }\n"] {
            for keys in [["a", "b"], ["a", key.as_str()]] {
                let new = replace_value(text, &keys, value).unwrap();
                let read: serde_yaml::Value = serde_yaml::from_str(&new).unwrap();
                let back = &read["a"][keys[1]];
                let same = match back {
                    serde_yaml::Value::String(text) => text == value,
                    other => !other.is_null() || value.is_empty() || value == "null",
                };
                prop_assert!(same, "{new}");
                prop_assert_eq!(new.matches("# x").count(), text.matches("# x").count()
                    + value.matches("# x").count());
            }
        }
    }
}
