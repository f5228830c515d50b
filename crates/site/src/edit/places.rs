//! Keys put under a section of a site file, each with a text that holds the place of its value.

use super::entries::{set, within};
use super::{EditError, Patch, entry_end, patched, same};
use crate::source::Source;
use crate::tree::{self, Node, Value};
use std::collections::BTreeMap;
use std::ops::RangeInclusive;
use wetrun_units::holds_a_place;

/// A section with the keys that were put under it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Places {
    /// The whole file with it.
    pub file: String,
    /// The section alone, in whole lines; empty where it holds no such key.
    pub section: String,
    /// The lines, from 1, on which it stood before; none where it is new.
    pub before: Option<RangeInclusive<usize>>,
    /// Keys for which the file has no place.
    pub left: Vec<Vec<String>>,
}

/// Puts keys under a section, each with a text that holds its place, on lines of their own unless
/// what they go into stands in braces. Keys that are there already, in that section or in their own place,
/// stay as they are, as does all else.
///
/// # Errors
/// [`EditError`] where the text is no YAML, or nothing can be put there alone.
pub fn hold_places(
    text: &str,
    section: &str,
    keys: &[Vec<String>],
    holds: &str,
) -> Result<Places, EditError> {
    let (mark, body) = match text.strip_prefix('\u{feff}') {
        Some(body) => ("\u{feff}", body),
        None => ("", text),
    };
    let source = Source::new("", body.to_owned());
    let root = tree::parse(&source).map_err(|_| EditError::NotReadable)?;
    let mut keys: Vec<&Vec<String>> = keys.iter().filter(|key| !holds_more(&root, key)).collect();
    keys.sort();
    // What stands below a key holds its place too.
    let next = keys.iter().skip(1).map(Some).chain([None]);
    let last = keys.iter().zip(next).filter(|(key, next)| next.is_none_or(|n| !n.starts_with(key)));
    let below = last.map(|(key, _)| [&[section.to_owned()], key.as_slice()].concat());
    let below = below.filter(|key| !holds_more(&root, key));
    let (fit, left): (Vec<Vec<String>>, Vec<_>) =
        below.partition(|key| fits(&root, key) && fits(&root, &key[1..]));
    let mut asked = Asked::default();
    let mut wanted = root.clone();
    for key in &fit {
        asked.add(key);
        if key.iter().try_fold(&root, |node, key| Some(&node.get(key)?.node)).is_none() {
            set(&mut wanted, key, &Value::Text(holds.into()));
        }
    }
    let no_place = || EditError::NoPlace { path: section.to_owned() };
    let mut patches = Vec::new();
    asked.fill(&root, &source, holds, &mut patches).ok_or_else(no_place)?;
    patches.sort_by_key(|patch| patch.bytes.start);
    let not_alone = || EditError::NotAlone { path: section.to_owned() };
    let new = patched(body, &patches).ok_or_else(not_alone)?;
    let written = Source::new("", new);
    let read = tree::parse(&written).map_err(|_| not_alone())?;
    if !same(&read, &wanted) {
        return Err(not_alone());
    }
    let lines = |root: &Node, source: &Source| {
        let entry = root.get(section)?;
        let last = source.position(entry_end(entry, source)?).0;
        Some(source.position(entry.key_at.range().start).0..=last)
    };
    let section = match lines(&read, &written) {
        Some(lines) if !fit.is_empty() => {
            let bytes = written.line(*lines.start()).start..written.line(*lines.end()).end;
            format!("{}\n", written.text[bytes].trim_end())
        }
        _ => String::new(),
    };
    let before = lines(&root, &source);
    let left = left.into_iter().map(|key| key[1..].to_vec()).collect();
    Ok(Places { file: format!("{mark}{}", written.text), section, before, left })
}

/// Whether a text stands at a key that does not only hold a place.
fn holds_more(root: &Node, key: &[String]) -> bool {
    let node = key.iter().try_fold(root, |node, key| Some(&node.get(key)?.node));
    node.is_some_and(|node| matches!(&node.value, Value::Text(text) if !holds_a_place(text)))
}

/// Whether a key is there and holds no more than a place, or can be put into a mapping.
fn fits(root: &Node, key: &[String]) -> bool {
    let mut node = root;
    for step in key {
        match (&node.value, node.get(step)) {
            (_, Some(entry)) => node = &entry.node,
            (Value::Map(_) | Value::Nothing, None) => return true,
            _ => return false,
        }
    }
    matches!(node.value, Value::Text(_) | Value::Nothing)
}

/// A key with those below it.
#[derive(Clone, Debug, Default)]
struct Asked(BTreeMap<String, Asked>);

impl Asked {
    fn add(&mut self, key: &[String]) {
        if let Some((first, rest)) = key.split_first() {
            self.0.entry(first.clone()).or_default().add(rest);
        }
    }

    /// What puts those into a mapping that it lacks.
    fn fill(
        &self,
        node: &Node,
        source: &Source,
        holds: &str,
        patches: &mut Vec<Patch>,
    ) -> Option<()> {
        let mut new = Asked::default();
        for (key, below) in &self.0 {
            match node.get(key) {
                None => {
                    new.0.insert(key.clone(), below.clone());
                }
                Some(_) if below.0.is_empty() => {}
                Some(entry) if entry.node.value == Value::Nothing => {
                    let key = entry.key_at.range();
                    let colon = key.end + source.text.get(key.end..)?.find(':')? + 1;
                    let text = match in_braces(node, source) {
                        true => format!(" {{ {} }}", below.in_braces(holds)),
                        false => {
                            let line = source.line(source.position(key.start).0);
                            let indent = " ".repeat(key.start - line.start + 2);
                            let lines = below.on_lines(holds);
                            lines.lines().map(|line| format!("\n{indent}{line}")).collect()
                        }
                    };
                    patches.push(Patch { bytes: colon..colon, text });
                }
                Some(entry) => below.fill(&entry.node, source, holds, patches)?,
            }
        }
        if !new.0.is_empty() {
            patches.push(within(node, source, &new.in_braces(holds), &new.on_lines(holds))?);
        }
        Some(())
    }

    /// As entries in braces, without those.
    fn in_braces(&self, holds: &str) -> String {
        let entry = |(key, below): (&String, &Self)| match below.0.is_empty() {
            true => format!("{}: {holds}", quoted(key)),
            false => format!("{}: {{ {} }}", quoted(key), below.in_braces(holds)),
        };
        self.0.iter().map(entry).collect::<Vec<_>>().join(", ")
    }

    /// As lines.
    fn on_lines(&self, holds: &str) -> String {
        let entry = |(key, below): (&String, &Self)| match below.0.is_empty() {
            true => format!("{}: {holds}\n", quoted(key)),
            false => {
                let lines = below.on_lines(holds);
                let lines: String = lines.lines().map(|line| format!("  {line}\n")).collect();
                format!("{}:\n{lines}", quoted(key))
            }
        };
        self.0.iter().map(entry).collect()
    }
}

/// Whether a mapping stands in braces.
fn in_braces(node: &Node, source: &Source) -> bool {
    source.text.as_bytes().get(node.at.range().start) == Some(&b'{')
}

/// A key as every reader of YAML takes it for a text.
fn quoted(key: &str) -> String {
    let plain = key.starts_with(|c: char| c.is_ascii_alphabetic())
        && key.chars().all(|c| c.is_ascii_alphanumeric() || "_-".contains(c))
        && !["yes", "no", "on", "off", "true", "false", "null", "y", "n"]
            .contains(&&*key.to_lowercase());
    if plain { key.to_owned() } else { format!("'{}'", key.replace('\'', "''")) }
}
