//! The keys that would show what a review finds not shown: a piece of YAML, ready to paste.

use crate::outcome::Refusal;
use wetrun_checks::Finding;
use wetrun_site::edit::hold_places;

/// What stands where a value is to be filled in; as long as it does, the value is not shown.
const PLACEHOLDER: &str = "TBD";

/// What a review asks the file for.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Todo {
    /// The piece to paste, and how.
    pub piece: String,
    /// The whole file with the piece in its place.
    pub file: String,
}

/// Where the answers are collected.
const SECTION: &str = "shown";

/// The missing keys, as a piece with what stands under `shown:` of the file already, and the file with
/// that piece in its place.
///
/// `tags` are those of the site: one with a dot is one step of a key, not two.
///
/// # Errors
/// A refusal where the file cannot take them.
pub(crate) fn todo(findings: &[Finding], tags: &[&str], text: &str) -> Result<Todo, Refusal> {
    let missing = findings.iter().flat_map(|finding| &finding.missing);
    let (by_hand, keys): (Vec<&String>, Vec<&String>) =
        missing.partition(|key| key.contains('[') || key.ends_with(".profile"));
    let keys: Vec<Vec<String>> = keys.into_iter().map(|key| steps(key, tags)).collect();
    let places = hold_places(text, SECTION, &keys, PLACEHOLDER).map_err(Refusal::because)?;
    let left = places.left.iter().map(|key| key.join("."));
    let mut by_hand: Vec<String> = left.chain(by_hand.into_iter().cloned()).collect();
    by_hand.sort_unstable();
    by_hand.dedup();
    let mut piece = String::new();
    if !places.section.is_empty() {
        let where_to = match &places.before {
            None => "at the end".to_owned(),
            Some(lines) if lines.start() == lines.end() => format!("over line {}", lines.start()),
            Some(lines) => format!("over lines {} to {}", lines.start(), lines.end()),
        };
        piece = format!(
            "# Paste this {where_to} of the site file and write over each TBD: what stays\n\
             # TBD stays not shown. A key that has nothing to say is taken out.\n{}",
            places.section
        );
    }
    for key in &by_hand {
        piece.push_str(&format!("# and, in its own place: {key}\n"));
    }
    if piece.is_empty() {
        piece.push_str("# nothing is missing\n");
    }
    Ok(Todo { piece, file: places.file })
}

/// The steps of a key: its section, a tag, and the names below it.
fn steps(key: &str, tags: &[&str]) -> Vec<String> {
    let Some((section, rest)) = key.split_once('.') else { return vec![key.to_owned()] };
    let dotted = tags.iter().filter(|tag| tag.contains('.'));
    let here = dotted.filter(|tag| rest.strip_prefix(**tag).is_some_and(|r| r.starts_with('.')));
    let (tag, below) = match here.max_by_key(|tag| tag.len()) {
        Some(tag) => (Some(*tag), &rest[tag.len() + 1..]),
        None => (None, rest),
    };
    [section].into_iter().chain(tag).chain(below.split('.')).map(str::to_owned).collect()
}
