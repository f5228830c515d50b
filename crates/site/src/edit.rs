//! Values replaced in the text of a site file, with nothing else in it touched.
//!
//! Order, comments, blank lines and line ends stay as they are. Every edit is verified: the new
//! text is read again, and its tree must be the old one with just the values changed. Only where a
//! measure takes the place of a measure is that known beforehand.

mod entries;
mod places;
mod respelled;

pub use entries::{Change, change};
pub use places::{Places, hold_places};

use crate::document::{Document, step};
use crate::outline::Outline;
use crate::source::Source;
use crate::tree::{Entry, Node, Value};
use entries::{put, set};
use respelled::respelled;
use std::ops::Range;
use std::sync::Arc;
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
    let written = Outline::read(text).ok_or(EditError::NotReadable)?;
    set_in(text, &written, edits).map(|(text, _)| text)
}

/// The same in a text that was read already, with what the new one was read as.
///
/// # Errors
/// As [`set_values`]; [`EditError::NotReadable`] where `written` is that of another text.
pub fn set_in(
    text: &str,
    written: &Outline,
    edits: &[Edit],
) -> Result<(String, Outline), EditError> {
    let (mark, body) = match text.strip_prefix('\u{feff}') {
        Some(body) => ("\u{feff}", body),
        None => ("", text),
    };
    let source = &*written.document.source;
    if source.text != body {
        return Err(EditError::NotReadable);
    }
    let mut wanted = written.document.root.clone();
    let mut patches = Vec::with_capacity(edits.len());
    for edit in edits {
        // What is to hold the value is there: none of it is made on the way.
        let held = |keys: &[String]| keys.iter().try_fold(&wanted, |node, key| step(node, key));
        let held = edit.keys.split_last().and_then(|(_, parents)| held(parents));
        let patch = held.and_then(|_| put(&wanted, source, &edit.keys, &edit.value, None));
        patches.push(patch.ok_or_else(|| EditError::NoPlace { path: edit.path() })?);
    }
    for edit in edits {
        set(&mut wanted, &edit.keys, &Value::Text(edit.value.as_str().into()));
    }
    patches.sort_by_key(|patch| (patch.bytes.start, patch.bytes.end));
    let all = || edits.iter().map(Edit::path).collect::<Vec<_>>().join("`, `");
    let new = patched(body, &patches).ok_or_else(|| EditError::NotAlone { path: all() })?;
    if let Some(root) = respelled(&written.document.root, &wanted, source, edits, &patches) {
        let source = Source::new("", new.clone());
        debug_assert_eq!(crate::tree::parse(&source).ok().as_ref(), Some(&root));
        let document = Document { source: Arc::new(source), root };
        return Ok((format!("{mark}{new}"), Outline { document }));
    }
    match Outline::read(&new) {
        Some(read) if same(&read.document.root, &wanted) => Ok((format!("{mark}{new}"), read)),
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

/// The text with patches made, which are in order; `None` where two want the same bytes.
fn patched(text: &str, patches: &[Patch]) -> Option<String> {
    let mut new = String::with_capacity(text.len() + 64 * patches.len());
    let mut done = 0;
    for patch in patches {
        new.push_str(text.get(done..patch.bytes.start)?);
        new.push_str(&patch.text);
        done = patch.bytes.end;
    }
    new.push_str(&text[done..]);
    Some(new)
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
