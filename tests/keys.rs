//! Every key that a rule reads, or asks for where something is not shown, is one that the reader knows.

use crate::drawings::{self, path};
use crate::support::run;
use serde_json::Value as Json;
use serde_yaml::Value;
use std::collections::BTreeSet;
use wetrun_site::Code;

/// The places of the clean drawing that `*` stands for.
const TAGS: [(&str, &str); 7] = [
    ("roofs", "north"),
    ("gutters", "eave"),
    ("downspouts", "D1"),
    ("points", "P1"),
    ("lines", "L1"),
    ("tanks", "T1"),
    ("pipes", "own"),
];

/// Whether the reader knows a key, or says itself that it does not: it is given a value there that
/// nothing can be.
fn known(way: &[&str]) -> bool {
    let text = std::fs::read_to_string(path("clean/site")).unwrap();
    let mut site: Value = serde_yaml::from_str(&text).unwrap();
    let mut at = &mut site;
    for step in way {
        // A value of its own gives way to what is asked below it.
        at = match step.parse::<usize>() {
            Ok(index) => &mut at[index],
            Err(_) => {
                if !at.is_mapping() {
                    *at = Value::Mapping(Default::default());
                }
                at.as_mapping_mut().unwrap().entry((*step).into()).or_insert(Value::Null)
            }
        };
    }
    *at = serde_yaml::from_str("[[no, value], of, any, key]").unwrap();
    let read = wetrun_site::read(serde_yaml::to_string(&site).unwrap().as_bytes(), "site.yaml");
    let faults = read.map_or_else(|faults| faults.list().to_vec(), |_| Vec::new());
    let key = way.join(".");
    !faults.iter().any(|f| f.code == Code::UnknownKey && key.starts_with(&f.key_path))
}

/// The keys of a list such as `tanks.*.overflow: { level, to }, datum`, each as its steps; words
/// between them that are no keys are left out.
fn ways(keys: &str) -> Vec<Vec<String>> {
    let mut found: Vec<Vec<String>> = Vec::new();
    let flat = keys.replace("[*]", ".0").replace(" and ", ", ");
    let mut below: Option<Vec<String>> = None;
    for piece in flat.split([',', ';']).map(str::trim) {
        let (piece, closes) = (piece.trim_end_matches('}').trim(), piece.ends_with('}'));
        let (head, inner) = match piece.split_once(": {") {
            Some((head, inner)) => (head, Some(inner.trim())),
            None => (piece, None),
        };
        let steps = |text: &str| text.split('.').map(str::to_owned).collect::<Vec<_>>();
        let within = |outer: &[String], text: &str| [outer, &steps(text)].concat();
        match (&below, inner) {
            (Some(outer), _) => found.push(within(outer, head)),
            (None, Some(inner)) => {
                let outer = steps(head);
                found.push(within(&outer, inner));
                below = Some(outer);
            }
            (None, None) if head.is_empty() || head.contains(' ') => {}
            // `downspouts.*.outlet and leaf_head`: the second stands beside the first.
            (None, None) if !of_the_site(head) => {
                let mut beside = found.last().cloned().unwrap_or_default();
                beside.truncate(2);
                found.push(within(&beside, head));
            }
            (None, None) => found.push(steps(head)),
        }
        if closes {
            below = None;
        }
    }
    found
}

/// Whether a key starts at the top of the file; `pipe` stands for that of whatever has one.
fn of_the_site(key: &str) -> bool {
    let top = "datum benchmarks revision storm ordinary_rain losses targets tolerances documents \
               ground test pipe";
    let first = key.split('.').next().unwrap();
    top.split(' ').any(|name| name == first) || TAGS.iter().any(|(section, _)| *section == first)
}

fn tag_of(section: &str) -> &'static str {
    TAGS.iter().find(|(name, _)| *name == section).unwrap().1
}

#[test]
fn a_rule_reads_keys_that_the_reader_knows() {
    let mut held = 0;
    for rule in wetrun_checks::rules() {
        for way in ways(rule.keys).iter().filter(|way| way[0] != "pipe") {
            let tag = |i: usize| tag_of(&way[i - 1]);
            let way = way.iter().enumerate();
            let way: Vec<&str> = way.map(|(i, s)| if s == "*" { tag(i) } else { s }).collect();
            assert!(known(&way), "{} reads {way:?}, which is no key", rule.name);
            held += 1;
        }
    }
    assert!(held > 100, "{held}");
    for none in [&["datums"][..], &["tanks", "T1", "lid"], &["tanks", "T1", "overflow", "size"]] {
        assert!(!known(none), "{none:?} is taken for a key");
    }
}

#[test]
fn what_is_not_shown_is_asked_for_by_keys_that_the_reader_knows() {
    let mut asked = BTreeSet::new();
    for (name, path) in drawings::all().iter().filter(|(name, _)| name.ends_with("/not-shown")) {
        let ran = run(&["review", path.to_str().unwrap(), "--format", "json"]);
        let result: Json = serde_json::from_str(&ran.stdout).unwrap();
        for finding in result["findings"].as_array().unwrap() {
            let missing = finding["missing"].as_array().unwrap();
            asked.extend(missing.iter().map(|key| (key.as_str().unwrap().to_owned(), name)));
        }
    }
    let keys: BTreeSet<&str> = asked.iter().map(|(key, _)| key.as_str()).collect();
    for key in &keys {
        let flat = key.replace('[', ".").replace(']', "");
        let way: Vec<&str> = flat.split('.').collect();
        assert!(known(&way), "{key} is asked for, and is no key");
    }
    assert!(keys.len() > 40, "{}", keys.len());
}
