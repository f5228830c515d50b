//! A file as it is written, whether or not it makes a site: its names and values, with their lines.

use crate::diagnostic::Diagnostics;
use crate::document::{Document, step};
use crate::edit::quoted;
use crate::site::Site;
use crate::source::Source;
use crate::tree::{self, Entry, Node, Value};
use std::sync::Arc;

/// A file that can be read as YAML.
#[derive(Clone, Debug)]
pub struct Outline {
    pub(crate) document: Document,
}

/// What stands at a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written<'a> {
    /// The key alone.
    Nothing,
    /// A single value, without its quotes.
    Text(&'a str),
    /// A list or a mapping, as it stands there.
    Part(&'a str),
}

impl Outline {
    /// Reads a text; `None` where it is no YAML.
    pub fn read(text: &str) -> Option<Self> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let source = Source::new("", text.to_owned());
        let root = tree::parse(&source).ok()?;
        Some(Self { document: Document { source: Arc::new(source), root } })
    }

    /// The site that it makes, as [`crate::read()`] reads it; messages give the file no name.
    ///
    /// # Errors
    /// [`Diagnostics`] with every independent fault.
    pub fn site(&self) -> Result<Site, Diagnostics> {
        crate::read::site(self.document.clone())
    }

    /// The keys of a mapping, in the order of the file; none where there is none.
    pub fn names(&self, keys: &[&str]) -> Vec<&str> {
        match self.node(keys).map(|node| &node.value) {
            Some(Value::Map(entries)) => entries.iter().map(|entry| &*entry.key).collect(),
            _ => Vec::new(),
        }
    }

    /// How many items a list has; 0 where there is none.
    pub fn count(&self, keys: &[&str]) -> usize {
        match self.node(keys).map(|node| &node.value) {
            Some(Value::List(items)) => items.len(),
            _ => 0,
        }
    }

    /// What stands at a key; `None` where the file lacks it.
    pub fn written(&self, keys: &[&str]) -> Option<Written<'_>> {
        let node = self.node(keys)?;
        Some(match &node.value {
            Value::Nothing | Value::Plain => Written::Nothing,
            Value::Text(text) => Written::Text(text),
            Value::List(_) | Value::Map(_) => {
                let source = &self.document.source;
                let end = crate::edit::end(node, source)?;
                Written::Part(source.text.get(node.at.range().start..end)?)
            }
        })
    }

    /// What stands at a key as YAML in one line; `None` where the file lacks it.
    pub fn in_one_line(&self, keys: &[&str]) -> Option<String> {
        self.node(keys).map(one_line)
    }

    /// The line of a key, from 1.
    pub fn line(&self, keys: &[&str]) -> Option<usize> {
        self.document.place(keys).map(|place| place.line)
    }

    fn node(&self, keys: &[&str]) -> Option<&Node> {
        keys.iter().try_fold(&self.document.root, |node, key| step(node, key))
    }
}

fn one_line(node: &Node) -> String {
    match &node.value {
        Value::Nothing | Value::Plain => String::new(),
        Value::Text(text) => quoted(text, None),
        Value::List(items) => {
            format!("[{}]", items.iter().map(one_line).collect::<Vec<_>>().join(", "))
        }
        Value::Map(entries) if entries.is_empty() => "{}".to_owned(),
        Value::Map(entries) => {
            let entry =
                |entry: &Entry| format!("{}: {}", quoted(&entry.key, None), one_line(&entry.node));
            format!("{{ {} }}", entries.iter().map(entry).collect::<Vec<_>>().join(", "))
        }
    }
}
