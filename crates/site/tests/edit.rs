//! Values replaced in a text: what is asked for changes, every other byte stays.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proptest::prelude::*;
use wetrun_site::edit::{self, Change, Edit, EditError, replace_value, set_values};
use wetrun_site::{Outline, Written};

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

fn done(text: &str, change: Change) -> String {
    edit::change(text, &[change]).unwrap()
}

const ENTRIES: &str = "\
# a job
points:
  W1: { level: 1 m, fitting: wye } # first
  W2:
    level: 2 m
    screen: { open: 60 % }   # mesh
    # the last word
  W3: { level: 3 m }
lines:
  L1:
    profile: # along
      - { at: 0, level: 1 }  # start
      - { at: 4, level: 1 }
      - at: 9
        level: 2
    sizes: [3 in, 4 in]
tanks:
";

#[test]
fn an_entry_goes_with_its_comment_and_nothing_else() {
    for (keys, gone) in [
        (&["points", "W1"][..], "  W1: { level: 1 m, fitting: wye } # first\n"),
        (&["points", "W1", "fitting"], ", fitting: wye"),
        (&["points", "W1", "level"], "level: 1 m, "),
        (&["points", "W2", "level"], "    level: 2 m\n"),
        // A mapping that would hold nothing goes as a whole.
        (&["points", "W2", "screen", "open"], "    screen: { open: 60 % }   # mesh\n"),
        (&["points", "W3"], "  W3: { level: 3 m }\n"),
        (&["lines", "L1", "profile", "0"], "      - { at: 0, level: 1 }  # start\n"),
        (&["lines", "L1", "profile", "2"], "      - at: 9\n        level: 2\n"),
        (&["lines", "L1", "sizes", "1"], ", 4 in"),
        (&["tanks"], "tanks:\n"),
    ] {
        assert!(ENTRIES.contains(gone));
        assert_eq!(done(ENTRIES, Change::gone(keys)), ENTRIES.replacen(gone, "", 1), "{keys:?}");
    }
    assert!(edit::change(ENTRIES, &[Change::gone(&["points", "W9"])]).is_err());
    // The last line of a file without an end.
    assert_eq!(done("a: 1\nb: 2", Change::gone(&["b"])), "a: 1\n");
    assert_eq!(done("a: { b: 1 }\n", Change::gone(&["a", "b"])), "a: { }\n");
}

#[test]
fn a_value_comes_with_all_that_is_missing_on_the_way() {
    for (keys, yaml, at, new) in [
        (
            &["points", "W1", "screen", "open"][..],
            "60 %",
            "fitting: wye",
            ", screen: { open: 60 % }",
        ),
        (&["points", "W2", "at"], "[1 m, 2 m]", "# mesh\n", "    at: [1 m, 2 m]\n"),
        (&["points", "W4"], "{ level: 4 m }", "  W3: { level: 3 m }\n", "  W4: { level: 4 m }\n"),
        (&["tanks", "T1"], "{ inlet: 2 m }", "tanks:", "\n  T1: { inlet: 2 m }"),
        (&["roofs", "north"], "{ area: 4 m2 }", "tanks:", "\nroofs:\n  north: { area: 4 m2 }"),
        (&["storm", "basis"], "none", "tanks:", "\nstorm:\n  basis: none"),
    ] {
        let expected = ENTRIES.replacen(at, &format!("{at}{new}"), 1);
        assert_eq!(done(ENTRIES, Change::yaml(keys, yaml)), expected, "{keys:?}");
    }
    let replaced = done(ENTRIES, Change::yaml(&["points", "W2", "screen"], "{ open: 0.5 }"));
    assert_eq!(replaced, ENTRIES.replace("{ open: 60 % }", "{ open: 0.5 }"));
    let text = done(ENTRIES, Change::text(&["points", "W2", "frost"], "no: it is dry"));
    assert!(text.contains("    frost: 'no: it is dry'\n"));
    assert_eq!(done("a: {}\n", Change::yaml(&["a", "b"], "1")), "a: { b: 1 }\n");
    for wrong in ["{ a: ", "a, b: 1", "x\ny", "[1", "}"] {
        let refused = edit::change(ENTRIES, &[Change::yaml(&["points", "W1", "k"], wrong)]);
        assert!(matches!(refused, Err(EditError::NotYaml { .. })), "{wrong}");
    }
}

#[test]
fn an_item_comes_where_it_belongs() {
    let at = |index: &str| {
        done(ENTRIES, Change::item(&["lines", "L1", "profile", index], "{ at: 2, level: 1 }"))
    };
    let line = "      - { at: 2, level: 1 }\n";
    let before = |what: &str| ENTRIES.replacen(what, &format!("{line}{what}"), 1);
    assert_eq!(at("1"), before("      - { at: 4, level: 1 }\n"));
    assert_eq!(at("2"), before("      - at: 9\n"));
    assert_eq!(at("3"), before("    sizes: [3 in, 4 in]\n"));
    let sizes = |index: &str| done(ENTRIES, Change::item(&["lines", "L1", "sizes", index], "6 in"));
    assert_eq!(sizes("0"), ENTRIES.replace("[3 in, 4 in]", "[6 in, 3 in, 4 in]"));
    assert_eq!(sizes("2"), ENTRIES.replace("[3 in, 4 in]", "[3 in, 4 in, 6 in]"));
}

#[test]
fn windows_line_ends_stay_with_entries_too() {
    let text = ENTRIES.replace('\n', "\r\n");
    for change in [
        Change::gone(&["points", "W1"]),
        Change::yaml(&["points", "W4"], "{ level: 4 m }"),
        Change::item(&["lines", "L1", "profile", "1"], "{ at: 2, level: 1 }"),
        Change::item(&["lines", "L1", "profile", "3"], "{ at: 2, level: 1 }"),
    ] {
        let expected = done(ENTRIES, change.clone()).replace('\n', "\r\n");
        assert_eq!(done(&text, change), expected);
    }
}

#[test]
fn the_outline_has_what_stands_there() {
    let outline = Outline::read(ENTRIES).unwrap();
    assert_eq!(outline.names(&["points"]), ["W1", "W2", "W3"]);
    assert_eq!(outline.count(&["lines", "L1", "profile"]), 3);
    assert_eq!(outline.written(&["points", "W2", "level"]), Some(Written::Text("2 m")));
    assert_eq!(outline.written(&["points", "W2", "screen"]), Some(Written::Part("{ open: 60 % }")));
    assert_eq!(outline.written(&["tanks"]), Some(Written::Nothing));
    assert_eq!(outline.written(&["roofs"]), None);
    assert_eq!(outline.line(&["points", "W2", "level"]), Some(5));
    assert!(Outline::read("a: {").is_none());
}
