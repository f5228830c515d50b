//! What a field of the page puts into the text.

use crate::piece::{Target, path, target};
use serde_json::Value as Json;
use wetrun_answers::pieces::{self, PlanMove};
use wetrun_answers::{Grip, grips_of, typed_by_hand};
use wetrun_site::edit::{Change, change, quote};
use wetrun_site::keys::Value;
use wetrun_site::{Outline, Site};

/// A value as it is to stand in the file: a text as it was typed, an object as a mapping in one line.
pub(crate) fn written(value: &Json) -> String {
    match value {
        Json::String(text) => text.clone(),
        Json::Object(pairs) if pairs.is_empty() => "{}".to_owned(),
        Json::Object(pairs) => {
            let pair = |(key, value): (&String, &Json)| {
                format!("{}: {}", quote(key), quote(value.as_str().unwrap_or_default()))
            };
            format!("{{ {} }}", pairs.iter().map(pair).collect::<Vec<_>>().join(", "))
        }
        _ => String::new(),
    }
}

/// The text with the value of a key as it was typed; without the key where nothing was.
///
/// # Errors
/// In words, where the key is none of the format, what it belongs to is gone, or the value is no
/// YAML.
pub(crate) fn put(text: &str, keys: &[&str], value: &str) -> Result<String, String> {
    let found = target(keys).ok_or_else(|| "a site file has no such key".to_owned())?;
    if let Target::Key(key) = found
        && is_whole(&key.value)
    {
        return Err(format!("`{}` is set key by key", key.name));
    }
    let outline = outline(text)?;
    there(&outline, keys)?;
    let value = value.trim();
    if value.is_empty() {
        return match outline.written(keys) {
            Some(_) => changed(text, Change::gone(keys)),
            None => Ok(text.to_owned()),
        };
    }
    if let Some((site, grip)) = grip(text, keys) {
        return typed_by_hand(text, &site, &grip, value).map_err(|why| why.to_string());
    }
    let part = match found {
        Target::Item(_) => true,
        Target::Key(key) | Target::Row(key) => takes_a_part(&key.value),
    };
    changed(
        text,
        match part && value.starts_with(['{', '[']) {
            true => Change::yaml(keys, value),
            false => Change::text(keys, value),
        },
    )
}

/// The text without an item of a list or a row.
///
/// # Errors
/// In words, likewise.
pub(crate) fn without(text: &str, keys: &[&str]) -> Result<String, String> {
    target(keys).ok_or_else(|| "a site file has no such key".to_owned())?;
    changed(text, Change::gone(keys))
}

pub(crate) fn outline(text: &str) -> Result<Outline, String> {
    Outline::read(text)
        .ok_or_else(|| "the file cannot be read as YAML: mend its text first".to_owned())
}

fn changed(text: &str, one: Change) -> Result<String, String> {
    change(text, &[one]).map_err(|why| why.to_string())
}

/// An item is not made by setting one of its keys: another page may have taken it away.
fn there(outline: &Outline, keys: &[&str]) -> Result<(), String> {
    for above in (1..keys.len()).map(|count| &keys[..count]) {
        let item = matches!(target(above), Some(Target::Item(_)));
        if item && outline.written(above).is_none() {
            return Err(format!("there is no `{}` any more", path(outline, above)));
        }
    }
    Ok(())
}

/// Whether a key has only keys or items of its own below it: it is not set as a whole.
fn is_whole(value: &Value) -> bool {
    matches!(
        value,
        Value::Items(_) | Value::Section(_) | Value::Stations(_) | Value::Fittings | Value::Depths
    )
}

/// Whether a list or a mapping may stand under a key.
fn takes_a_part(value: &Value) -> bool {
    !matches!(
        value,
        Value::Version
            | Value::Amount(_)
            | Value::Number(_)
            | Value::YesNo
            | Value::Text
            | Value::Name
            | Value::Choice(_)
            | Value::Tag(_)
            | Value::TankOrGround
            | Value::Start
            | Value::Cap { .. }
            | Value::Limit
    )
}

/// The level that a hand could move by these keys, so that what stands at the same place moves along.
fn grip(text: &str, keys: &[&str]) -> Option<(Site, Grip)> {
    let ["downspouts" | "points" | "lines" | "tanks", tag, rest @ ..] = keys else { return None };
    let site = wetrun_answers::read(text.as_bytes(), "").ok()?;
    let key = hand_key(rest);
    let grip = grips_of(&site, tag).into_iter().find(|grip| grip.key == key)?;
    Some((site, grip))
}

/// Keys below a tag as a hand knows them: `profile[1].level`.
fn hand_key(keys: &[&str]) -> String {
    let mut text = String::new();
    for key in keys {
        match key.parse::<usize>() {
            Ok(index) => text.push_str(&format!("[{index}]")),
            Err(_) if text.is_empty() => text.push_str(key),
            Err(_) => text.push_str(&format!(".{key}")),
        }
    }
    text
}

/// A place in plan, moved: each of its two lengths in its own spelling.
///
/// # Errors
/// In words, where the piece has no place.
pub(crate) fn moved_in_plan(text: &str, tag: &str, by: PlanMove) -> Result<String, String> {
    let outline = outline(text)?;
    let section = pieces::sort_of(&outline, tag);
    let section = section.ok_or_else(|| format!("there is no `{tag}` any more"))?;
    pieces::moved_in_plan(text, &[section, tag, "at"], by).map_err(|why| why.to_string())
}
