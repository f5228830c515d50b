//! A mapping of the file as named fields: unknown, doubled and missing keys are reported here.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic};
use crate::keys::Section;
use crate::path::Path;
use crate::source::{Source, Span};
use crate::tree::{Entry, Node, Value};
use crate::values::short;
use std::collections::HashMap;

/// A key and its value, with the way to it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Field<'p> {
    pub(crate) node: &'p Node,
    pub(crate) key_at: Span,
    pub(crate) path: Path<'p>,
}

impl<'p> Field<'p> {
    /// The bytes to point at: a value's own, or the key of a mapping or list that has none.
    pub(crate) fn span(&self) -> Span {
        match self.node.value {
            Value::Text(_) | Value::Plain if !self.node.at.range().is_empty() => self.node.at,
            _ => self.key_at,
        }
    }

    /// The text of a single value.
    pub(crate) fn text(&self, cx: &mut Context<'_>, what: &str) -> Option<&'p str> {
        match &self.node.value {
            Value::Text(text) => {
                if let Some(tag) = self.yaml_tag(cx) {
                    let message = format!("the YAML tag `{}` has no meaning here", short(tag));
                    cx.fault(Code::Value, self, message, "the value alone");
                }
                Some(text)
            }
            Value::Nothing | Value::Plain => {
                let message = format!("`{}` has no value", self.path.name());
                cx.fault(Code::Value, self, message, what);
                None
            }
            Value::List(_) => {
                cx.fault(Code::Shape, self, "a list stands where one value belongs", what);
                None
            }
            Value::Map(_) => {
                cx.fault(Code::Shape, self, "a mapping stands where one value belongs", what);
                None
            }
        }
    }

    /// The tag (`!!binary`) that stands before a single value on its line, or at its start.
    fn yaml_tag<'s>(&self, cx: &Context<'s>) -> Option<&'s str> {
        let source: &'s Source = cx.source;
        let at = self.node.at.range();
        let line = source.line(source.position(at.start).0);
        let before = source.text.get(line.start..at.start).unwrap_or_default();
        let here = source.slice(self.node.at).split_whitespace().next();
        let last = before.split_whitespace().rev().find(|word| !word.starts_with('&'));
        [here, last].into_iter().flatten().find(|word| word.starts_with('!'))
    }

    /// The items of a list.
    pub(crate) fn list(&self, cx: &mut Context<'_>, what: &str) -> Option<Vec<Field<'_>>> {
        let Value::List(items) = &self.node.value else {
            cx.fault(Code::Shape, self, format!("`{}` is no list", self.path.name()), what);
            return None;
        };
        let item = |(index, node): (usize, &'p Node)| {
            let first_key = match &node.value {
                Value::Map(entries) => entries.first().map(|e| e.key_at),
                _ => None,
            };
            Field { node, key_at: first_key.unwrap_or(node.at), path: self.path.index(index) }
        };
        Some(items.iter().enumerate().map(item).collect())
    }

    /// The entries of a mapping whose keys are the user's own names; doubled ones are reported.
    pub(crate) fn entries(&self, cx: &mut Context<'_>, what: &str) -> Option<Vec<Field<'_>>> {
        let entries = match &self.node.value {
            Value::Map(entries) => entries,
            Value::Nothing => return Some(Vec::new()),
            _ => {
                let message = format!("`{}` is no mapping", self.path.name());
                cx.fault(Code::Shape, self, message, what);
                return None;
            }
        };
        let mut first = HashMap::with_capacity(entries.len());
        let mut fields = Vec::with_capacity(entries.len());
        for entry in entries {
            let path = self.path.key(&entry.key);
            match first.get(&*entry.key) {
                Some(before) => doubled(cx, entry, *before, &path),
                None => {
                    first.insert(&*entry.key, entry.key_at);
                    fields.push(Field { node: &entry.node, key_at: entry.key_at, path });
                }
            }
        }
        Some(fields)
    }
}

/// A mapping whose keys are those of the contract.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fields<'p> {
    entries: &'p [Entry],
    pub(crate) at: Span,
    pub(crate) path: Path<'p>,
}

impl<'p> Fields<'p> {
    /// Opens a field's mapping, and reports the keys in it that its section has not or that stand
    /// twice.
    pub(crate) fn open(cx: &mut Context<'_>, field: &Field<'p>, section: &Section) -> Option<Self> {
        Self::open_as(cx, field, section, section.what)
    }

    /// The same, `what` being what messages call the section.
    pub(crate) fn open_as(
        cx: &mut Context<'_>,
        field: &Field<'p>,
        section: &Section,
        what: &str,
    ) -> Option<Self> {
        let keys = || section.keys().map(|key| key.name);
        let listed = || keys().collect::<Vec<_>>().join(", ");
        let entries = match &field.node.value {
            Value::Map(entries) => entries.as_slice(),
            Value::Nothing => &[],
            _ => {
                let message = format!("{what} is a mapping, not a single value or a list");
                cx.fault(Code::Shape, field, message, format!("keys of {what}: {}", listed()));
                return None;
            }
        };
        let mut first = HashMap::with_capacity(entries.len());
        for entry in entries {
            let path = field.path.key(&entry.key);
            if let Some(before) = first.get(&*entry.key) {
                doubled(cx, entry, *before, &path);
                continue;
            }
            first.insert(&*entry.key, entry.key_at);
            if !keys().any(|key| key == &*entry.key) {
                let message = format!("{what} has no key `{}`", entry.key);
                let expected = format!("one of {}", listed());
                cx.unknown(
                    Code::UnknownKey,
                    (entry.key_at, &path),
                    message,
                    expected,
                    &entry.key,
                    keys(),
                );
            }
        }
        Some(Self { entries, at: field.key_at, path: field.path })
    }

    /// The field of a key, where the file has it.
    pub(crate) fn get<'f>(&'f self, key: &'f str) -> Option<Field<'f>> {
        let entry = self.entries.iter().find(|entry| &*entry.key == key)?;
        Some(Field { node: &entry.node, key_at: entry.key_at, path: self.path.key(key) })
    }

    /// The field of a key that must be there.
    pub(crate) fn require<'f>(
        &'f self,
        cx: &mut Context<'_>,
        key: &'f str,
        what: &str,
    ) -> Option<Field<'f>> {
        let field = self.get(key);
        if field.is_none() {
            let owner = match self.path.name() {
                "" => "the file".to_owned(),
                name => format!("`{name}`"),
            };
            let fault =
                Diagnostic::new(Code::MissingKey, self.at, format!("{owner} lacks `{key}`"))
                    .path(&self.path.key(key))
                    .expected(format!("`{key}:` {what}"));
            cx.report(fault);
        }
        field
    }
}

fn doubled(cx: &mut Context<'_>, entry: &Entry, before: Span, path: &Path<'_>) {
    let message = format!("the key `{}` stands twice", entry.key);
    let fault = Diagnostic::new(Code::DuplicateKey, entry.key_at, message);
    cx.report(fault.path(path).expected("each key once").label(before, "it stands here first"));
}
