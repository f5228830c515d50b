//! The site file as a JSON Schema (draft-07, which the editors' servers read), made from the tables
//! that the reader opens its sections by.

mod kinds;

use super::{document, object};
use kinds::{described, value};
use serde_json::{Value as Json, json};
use wetrun_site::keys::{Key, Need, SITE, Section, Value};

/// The schema, for a file read as YAML 1.2: there `yes` and `1:200` are words.
pub fn schema() -> String {
    let mut root = section(&SITE, Part::Whole);
    let shown = section(&SITE, Part::Shown);
    let top = [
        ("$schema", json!("http://json-schema.org/draft-07/schema#")),
        ("title", json!("wetrun site file, version 1")),
        (
            "description",
            json!("All that wetrun knows of a job: levels, sizes, roofs, pipes and tanks."),
        ),
    ];
    if let Some(keys) = root.get_mut("properties").and_then(Json::as_object_mut) {
        let meaning = "answers to what a review asked for, each where its key belongs";
        keys.insert("shown".to_owned(), described(meaning, shown));
    }
    if let Some(keys) = root.as_object_mut() {
        keys.insert("allOf".to_owned(), conditions());
    }
    let root = root.as_object().into_iter().flatten();
    let root = root.map(|(key, value)| (key.as_str(), value.clone()));
    let definitions = [("definitions", kinds::definitions())];
    document(&object(top.into_iter().chain(root).chain(definitions)))
}

/// What one section of the file asks of another.
fn conditions() -> Json {
    // A pipe by its numbers gives what the law of friction needs.
    let needs = |key: &str| {
        let by_numbers = json!({ "type": "object", "required": ["inside"] });
        let pipe = json!({ "if": by_numbers, "then": { "required": [key] } });
        let of_items = json!({ "additionalProperties": { "properties": { "pipe": pipe } } });
        json!({ "properties": { "lines": of_items, "downspouts": of_items } })
    };
    let law = json!({ "properties": { "losses": { "const": "hazen-williams" } },
                      "required": ["losses"] });
    let from =
        json!({ "properties": { "storm": { "required": ["from"] } }, "required": ["storm"] });
    json!([
        { "if": law, "then": needs("c"), "else": needs("roughness") },
        { "if": from, "then": { "required": ["rainfall"] } },
    ])
}

/// Which part of a file a schema is for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    /// The file itself: what is required must be there.
    Whole,
    /// What stands under `shown`: any of it, or a word in its place.
    Shown,
}

/// A mapping with the keys of a section.
fn section(section: &Section, part: Part) -> Json {
    let keys = section.keys().map(|key| (key.name, one(key, part)));
    let mut parts = vec![("properties", object(keys))];
    // In braces a comma in a text parts it: what follows is a key without a value to an editor.
    let texts = section.keys().any(|key| matches!(key.value, Value::Text | Value::Texts));
    let others = if texts { json!({ "type": "null" }) } else { json!(false) };
    parts.push(("additionalProperties", others));
    let required: Vec<&str> = section
        .keys()
        .filter(|key| key.need == Need::Required && part == Part::Whole)
        .map(|key| key.name)
        .collect();
    let alternatives = alternatives(section, part);
    // Nothing at all is a mapping without keys.
    let nothing = required.is_empty() && alternatives.is_none();
    parts.insert(0, ("type", if nothing { json!(["object", "null"]) } else { json!("object") }));
    if !required.is_empty() {
        parts.push(("required", json!(required)));
    }
    if let Some(alternatives) = alternatives {
        parts.push(("anyOf", alternatives));
    }
    let beside = section.keys().filter_map(|key| Some((key.name, json!([key.beside?]))));
    let beside: Vec<_> = beside.filter(|_| part == Part::Whole).collect();
    if !beside.is_empty() {
        parts.push(("dependencies", object(beside)));
    }
    object(parts)
}

/// The sets of keys of which one must be there.
fn alternatives(section: &Section, part: Part) -> Option<Json> {
    if section.one_of.is_empty() || part == Part::Shown {
        return None;
    }
    let one = |set: &&[&str]| {
        let others = section.one_of.iter().copied().filter(|other| other != set).flatten();
        let none = others.map(|key| (*key, json!(false)));
        let mut one = vec![("required", json!(set))];
        if section.exclusive {
            one.push(("properties", object(none)));
        }
        object(one)
    };
    Some(Json::Array(section.one_of.iter().map(one).collect()))
}

fn one(key: &Key, part: Part) -> Json {
    let mut found = value(key, part);
    let holds_a_place = part == Part::Shown || key.review;
    let single = !matches!(key.value, Value::Section(_) | Value::Items(_) | Value::Stations(_));
    if holds_a_place && single {
        found = json!({ "anyOf": [found, { "$ref": "#/definitions/to-come" }] });
    }
    let mut found = described(&kinds::meaning(key), found);
    let Some(found_keys) = found.as_object_mut() else { return found };
    if let (Need::Default(value), Part::Whole) = (key.need, part) {
        found_keys.insert("default".to_owned(), kinds::written(key, value));
    }
    found
}
