//! The file as it stands: its text and tree, for places and for values to be replaced.

use crate::diagnostic::Diagnostic;
use crate::source::{Source, Span};
use crate::tree::{Node, Value};
use std::ops::Range;
use std::sync::Arc;

/// Where a value stands in a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Bytes of the text; empty for a block mapping or list, which has a start only.
    pub bytes: Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Character in the line, from 1.
    pub column: usize,
}

/// A parsed file.
#[derive(Clone, Debug)]
pub(crate) struct Document {
    pub(crate) source: Arc<Source>,
    pub(crate) root: Node,
}

impl Document {
    pub(crate) fn place(&self, keys: &[&str]) -> Option<Place> {
        let node = keys.iter().try_fold(&self.root, |node, key| step(node, key))?;
        Some(self.place_of(node.at))
    }

    pub(crate) fn text(&self, keys: &[&str]) -> Option<&str> {
        match &keys.iter().try_fold(&self.root, |node, key| step(node, key))?.value {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// The bytes to point at for a key: its value's, or its own where the value is no text.
    pub(crate) fn mark(&self, keys: &[&str]) -> Span {
        let Some((last, parents)) = keys.split_last() else { return Span::NOWHERE };
        let parent = parents.iter().try_fold(&self.root, |node, key| step(node, key));
        let Some(entry) = parent.and_then(|node| node.get(last)) else { return Span::NOWHERE };
        match entry.node.value {
            Value::Text(_) => entry.node.at,
            _ => entry.key_at,
        }
    }

    pub(crate) fn place_of(&self, span: Span) -> Place {
        let bytes = span.range();
        let (line, column) = self.source.position(bytes.start);
        Place { bytes, line, column }
    }

    pub(crate) fn render(&self, list: &[Diagnostic], colour: bool) -> String {
        crate::render::render(&self.source, list, colour)
    }
}

/// One step down: by key into a mapping, by index into a list.
pub(crate) fn step<'n>(node: &'n Node, key: &str) -> Option<&'n Node> {
    match &node.value {
        Value::Map(_) => node.get(key).map(|entry| &entry.node),
        Value::List(items) => items.get(key.parse::<usize>().ok()?),
        _ => None,
    }
}
