//! Values replaced in the text of a site file, with nothing else in it touched.
//!
//! Order, comments, blank lines and line ends stay as they are. Every edit is verified: the new
//! text is read again, and its tree must be the old one with just the values changed.

mod entries;

pub use entries::{Change, change};

use crate::source::Source;
use crate::tree::{self, Entry, Node, Value};
use std::ops::Range;
use thiserror::Error;

/// One value to set: the keys that lead to it (list items by index) and its new text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// Keys from the top of the file: `["lines", "L1", "pipe"]`.
    pub keys: Vec<String>,
    /// The new value, without quotes: they are added where YAML wants them.
    pub value: String,
}

impl Edit {
    /// An edit of the value that `keys` lead to.
    pub fn new(keys: &[&str], value: impl Into<String>) -> Self {
        Self { keys: keys.iter().map(|key| (*key).to_owned()).collect(), value: value.into() }
    }

    fn path(&self) -> String {
        self.keys.join(".")
    }
}

/// Why a text could not be edited. The text is unchanged then.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum EditError {
    /// The text is no readable YAML.
    #[error("the file cannot be read as YAML any more")]
    NotReadable,
    /// No mapping or list item that could hold the value.
    #[error("the file has no place for `{path}`")]
    NoPlace {
        /// The keys, joined by points.
        path: String,
    },
    /// What was to be put there is no YAML in one line.
    #[error("what is to stand at `{path}` is no value that a site file could hold")]
    NotYaml {
        /// The keys, joined by points.
        path: String,
    },
    /// Setting the value would change something else too, as where an anchor is shared.
    #[error("`{path}` cannot be set without changing something else in the file")]
    NotAlone {
        /// The keys, joined by points; of all edits, where it cannot be told which.
        path: String,
    },
}

/// Sets values in the text of a site file: a value that is there is replaced, whatever it is;
/// a key that is missing is added at the end of its mapping.
///
/// # Errors
/// [`EditError`] says which value has no place, or cannot be set alone.
pub fn set_values(text: &str, edits: &[Edit]) -> Result<String, EditError> {
    let (mark, body) = match text.strip_prefix('\u{feff}') {
        Some(body) => ("\u{feff}", body),
        None => ("", text),
    };
    let source = Source::new("", body.to_owned());
    let mut wanted = tree::parse(&source).map_err(|_| EditError::NotReadable)?;
    let mut patches = Vec::with_capacity(edits.len());
    for edit in edits {
        let no_place = || EditError::NoPlace { path: edit.path() };
        patches.push(patch(&wanted, &source, edit).ok_or_else(no_place)?);
    }
    for edit in edits {
        set(&mut wanted, &edit.keys, &edit.value);
    }
    patches.sort_by_key(|patch| (patch.bytes.start, patch.bytes.end));
    let all = || edits.iter().map(Edit::path).collect::<Vec<_>>().join("`, `");
    let mut new = String::with_capacity(text.len() + 64 * edits.len());
    let mut done = 0;
    for patch in &patches {
        let kept = body.get(done..patch.bytes.start);
        new.push_str(kept.ok_or_else(|| EditError::NotAlone { path: all() })?);
        new.push_str(&patch.text);
        done = patch.bytes.end;
    }
    new.push_str(&body[done..]);
    let read = tree::parse(&Source::new("", new.clone()));
    match read {
        Ok(read) if same(&read, &wanted) => Ok(format!("{mark}{new}")),
        _ => Err(EditError::NotAlone { path: all() }),
    }
}

/// Sets one value: [`set_values`] with a single edit.
///
/// # Errors
/// As [`set_values`].
pub fn replace_value(text: &str, keys: &[&str], value: &str) -> Result<String, EditError> {
    set_values(text, &[Edit::new(keys, value)])
}

/// New text for some bytes of the old.
struct Patch {
    bytes: Range<usize>,
    text: String,
}

fn patch(root: &Node, source: &Source, edit: &Edit) -> Option<Patch> {
    let (last, parents) = edit.keys.split_last()?;
    let parent = parents.iter().try_fold(root, |node, key| crate::document::step(node, key))?;
    if let Some(node) = crate::document::step(parent, last) {
        let bytes = node.at.range().start..end(node, source)?;
        let old = source.text.get(bytes.clone())?;
        let text = match (old.chars().next(), node.at.range().is_empty()) {
            (None, true) => format!(" {}", quoted(&edit.value, None)), // `key:` without a value
            (first, _) => quoted(&edit.value, first),
        };
        return Some(Patch { bytes, text });
    }
    let Value::Map(entries) = &parent.value else { return None };
    let (first, final_entry) = (entries.first()?, entries.last()?);
    let new = format!("{}: {}", quoted(last, None), quoted(&edit.value, None));
    let after = entry_end(final_entry, source)?;
    if source.text.as_bytes().get(parent.at.range().start) == Some(&b'{') {
        return Some(Patch { bytes: after..after, text: format!(", {new}") });
    }
    // A block mapping: a line of its own below the last entry, indented as the first.
    let first_at = first.key_at.range().start;
    let line = source.line(source.position(first_at).0);
    let indent = source.text.get(line.start..first_at)?;
    if !indent.trim_start_matches([' ', '-']).is_empty() {
        return None;
    }
    let below = source.line(source.position(after).0).end;
    let ends_in_return = source.text[..below].ends_with('\r');
    let (at, newline) = if ends_in_return { (below - 1, "\r\n") } else { (below, "\n") };
    let indent = " ".repeat(indent.len());
    Some(Patch { bytes: at..at, text: format!("{newline}{indent}{new}") })
}

/// Where an entry ends: after its value, or after its colon where it has none.
pub(crate) fn entry_end(entry: &Entry, source: &Source) -> Option<usize> {
    match entry.node.value {
        Value::Nothing => Some(entry.node.at.range().end.max(entry.key_at.range().end)),
        _ => end(&entry.node, source),
    }
}

/// Where a node ends. The reader gives the start only of lists and mappings.
pub(crate) fn end(node: &Node, source: &Source) -> Option<usize> {
    let start = node.at.range().start;
    let last = match &node.value {
        Value::List(items) => items.last().map(|item| end(item, source)),
        Value::Map(entries) => entries.last().map(|entry| entry_end(entry, source)),
        _ => return Some(node.at.range().end),
    };
    let inside = last.unwrap_or(Some(start + 1))?;
    if inside < start {
        return None; // an alias: its value stands elsewhere
    }
    let close = match source.text.as_bytes().get(start) {
        Some(b'[') => ']',
        Some(b'{') => '}',
        _ => return Some(inside),
    };
    let mut at = inside;
    loop {
        let rest = source.text.get(at..)?;
        let c = rest.chars().next()?;
        match c {
            _ if c == close => return Some(at + 1),
            '#' => at += rest.find('\n')?,
            ',' | ':' | ' ' | '\t' | '\r' | '\n' => at += 1,
            _ => return None,
        }
    }
}

/// A value in quotes where YAML wants them, as it would stand in braces.
pub fn quote(value: &str) -> String {
    quoted(value, None)
}

/// The value as YAML, in the quotes of the old value if those were double.
pub(crate) fn quoted(value: &str, old: Option<char>) -> String {
    let plain = |c: char| c.is_alphanumeric() || " ._/%°²³'\"-=:".contains(c);
    // A colon before a letter or a digit ends no key: `1:200`.
    let colons = value
        .match_indices(':')
        .all(|(at, _)| value[at + 1..].starts_with(|c: char| c.is_alphanumeric()));
    // A sign before a number needs none.
    let number = |rest: &&str| rest.starts_with(|c: char| c.is_ascii_digit() || c == '.');
    let body = value.strip_prefix(['-', '+', '\u{2212}']).filter(number).unwrap_or(value);
    let starts_plain = body.starts_with(|c: char| c.is_alphanumeric() || c == '.');
    let nothing = value.eq_ignore_ascii_case("null");
    let safe =
        body.chars().all(plain) && colons && starts_plain && !value.ends_with(' ') && !nothing;
    match old {
        Some('"') if !value.contains(['"', '\\']) => format!("\"{value}\""),
        Some('\'') => format!("'{}'", value.replace('\'', "''")),
        _ if safe => value.to_owned(),
        _ => format!("'{}'", value.replace('\'', "''")),
    }
}

/// Makes the same change in the tree.
fn set(node: &mut Node, keys: &[String], value: &str) {
    let text = || Value::Text(value.into());
    let Some((key, rest)) = keys.split_first() else {
        node.value = text();
        return;
    };
    match &mut node.value {
        Value::List(items) => {
            if let Some(item) = key.parse().ok().and_then(|index: usize| items.get_mut(index)) {
                set(item, rest, value);
            }
        }
        Value::Map(entries) => match entries.iter_mut().find(|entry| *entry.key == **key) {
            Some(entry) => set(&mut entry.node, rest, value),
            None => entries.push(Entry {
                key: (&**key).into(),
                key_at: node.at,
                node: Node { at: node.at, value: text() },
            }),
        },
        _ => {}
    }
}

/// Whether two trees hold the same, wherever it stands.
pub(crate) fn same(a: &Node, b: &Node) -> bool {
    match (&a.value, &b.value) {
        (Value::List(a), Value::List(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b))
        }
        (Value::Map(a), Value::Map(b)) => {
            let entry = |(a, b): (&Entry, &Entry)| a.key == b.key && same(&a.node, &b.node);
            a.len() == b.len() && a.iter().zip(b).all(entry)
        }
        (a, b) => a == b,
    }
}
