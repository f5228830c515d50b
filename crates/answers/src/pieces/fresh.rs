//! New pieces: an item of a section, and a downspout with the branch that leads its water away.

use super::names::is_taken;
use super::outline;
use super::split::{Cut, cut};
use crate::outcome::Refusal;
use wetrun_site::edit::{Change, change};
use wetrun_site::keys::SITE;

/// Keys with their values as they were typed; what is empty is left out.
pub(super) fn mapping(values: &[(&str, &str)]) -> String {
    let given = values.iter().filter(|(_, value)| !value.trim().is_empty());
    let entries: Vec<String> =
        given.map(|(key, value)| format!("{key}: {}", yaml(value.trim()))).collect();
    format!("{{ {} }}", entries.join(", "))
}

/// A value in a mapping in one line: a list or a mapping as it was typed, a text quoted where YAML
/// wants that.
fn yaml(value: &str) -> String {
    match value.starts_with(['{', '[']) {
        true => value.to_owned(),
        false => wetrun_site::edit::quote(value),
    }
}

/// The text with a new item in a section.
///
/// # Errors
/// A refusal where the tag is empty or taken, or a value is no YAML.
pub fn with_item(
    text: &str,
    section: &str,
    tag: &str,
    values: &[(&str, &str)],
) -> Result<String, Refusal> {
    let item = item(text, section, tag, values)?;
    change(text, &[item]).map_err(Refusal::because)
}

pub(super) fn item(
    text: &str,
    section: &str,
    tag: &str,
    values: &[(&str, &str)],
) -> Result<Change, Refusal> {
    let tag = tag.trim();
    let what = SITE.key(section).map_or(section, |key| key.name);
    if tag.is_empty() {
        return Err(Refusal::because(format_args!("a new entry of `{what}` needs a tag")));
    }
    if is_taken(&outline(text)?, section, tag) {
        return Err(Refusal::because(format_args!("the tag `{tag}` is taken")));
    }
    Ok(Change::yaml(&[section, tag], mapping(values)))
}

/// The text with a new downspout, and a new line from it to a point, which may split another line.
///
/// `downspout` and `branch` are the keys of the two, but for the ends of the branch; `fitting` is
/// the word for how the branch comes in, where it is a wye or a tee.
///
/// # Errors
/// A refusal where a tag is empty or taken, or the line cannot be split there.
pub fn with_downspout(
    text: &str,
    (tag, downspout): (&str, &[(&str, &str)]),
    (line, branch): (&str, &[(&str, &str)]),
    point: &str,
    split: Option<&Cut<'_>>,
    fitting: &str,
) -> Result<String, Refusal> {
    let mut text = match split {
        Some(split) => cut(text, point, split)?,
        None => text.to_owned(),
    };
    text = with_item(&text, "downspouts", tag, downspout)?;
    let ends = [("from", tag.trim()), ("to", point)];
    let values: Vec<(&str, &str)> = ends.into_iter().chain(branch.iter().copied()).collect();
    text = with_item(&text, "lines", line, &values)?;
    if fitting.is_empty() {
        return Ok(text);
    }
    let joint = [
        Change::text(&["points", point, "fitting"], fitting),
        Change::text(&["points", point, "branch"], line.trim()),
    ];
    change(&text, &joint).map_err(Refusal::because)
}
