//! Entries and items put into the text of a site file, and taken out of it.

use super::{Edit, EditError, Patch, end, entry_end, quoted, same};
use crate::document::step;
use crate::source::Source;
use crate::tree::{self, Entry, Node, Value};

/// What changes in a file's tree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// A value, as a text: quotes are added where YAML wants them.
    Text(Edit),
    /// A value, as YAML in one line: `{ bend-45: 2 }`. Mappings missing on the way are added.
    Yaml(Edit),
    /// An item put into a list before the one that now has this index.
    Item(Edit),
    /// An entry or an item taken out, with the comment on its line. A mapping that holds nothing
    /// else goes with it, unless it is a whole section.
    Gone(Vec<String>),
}

impl Change {
    /// A value, as a text.
    pub fn text(keys: &[&str], value: impl Into<String>) -> Self {
        Self::Text(Edit::new(keys, value))
    }

    /// A value, as YAML in one line.
    pub fn yaml(keys: &[&str], value: impl Into<String>) -> Self {
        Self::Yaml(Edit::new(keys, value))
    }

    /// An item of a list, as YAML in one line; the last key is its index.
    pub fn item(keys: &[&str], value: impl Into<String>) -> Self {
        Self::Item(Edit::new(keys, value))
    }

    /// An entry or an item to be taken out.
    pub fn gone(keys: &[&str]) -> Self {
        Self::Gone(keys.iter().map(|key| (*key).to_owned()).collect())
    }
}

/// Makes changes in the text of a site file, one after the other: everything else in it stays as it
/// is, which is verified after each.
///
/// # Errors
/// [`EditError`] says which change has no place, is no YAML, or cannot be made alone.
pub fn change(text: &str, changes: &[Change]) -> Result<String, EditError> {
    changes.iter().try_fold(text.to_owned(), |text, change| one(&text, change))
}

fn one(text: &str, change: &Change) -> Result<String, EditError> {
    let (mark, body) = match text.strip_prefix('\u{feff}') {
        Some(body) => ("\u{feff}", body),
        None => ("", text),
    };
    let source = Source::new("", body.to_owned());
    let mut wanted = tree::parse(&source).map_err(|_| EditError::NotReadable)?;
    let (keys, patch) = match change {
        Change::Text(edit) => (&edit.keys, put(&wanted, &source, &edit.keys, &edit.value, None)),
        Change::Yaml(edit) | Change::Item(edit) => {
            let value = value(&edit.value)
                .ok_or_else(|| EditError::NotYaml { path: edit.keys.join(".") })?;
            let patch = match change {
                Change::Item(_) => item(&wanted, &source, &edit.keys, &edit.value),
                _ => put(&wanted, &source, &edit.keys, &edit.value, Some(&value)),
            };
            (&edit.keys, patch)
        }
        Change::Gone(keys) => {
            let keys = emptied(&wanted, keys);
            let patch = gone(&wanted, &source, &keys);
            let path = || keys.join(".");
            let patch = patch.ok_or_else(|| EditError::NoPlace { path: path() })?;
            take(&mut wanted, &keys, &source);
            let new = format!("{}{}", &body[..patch.bytes.start], &body[patch.bytes.end..]);
            return verified(mark, new, &wanted, path);
        }
    };
    let path = || keys.join(".");
    let patch = patch.ok_or_else(|| EditError::NoPlace { path: path() })?;
    match change {
        Change::Text(edit) => set(&mut wanted, keys, &Value::Text(edit.value.as_str().into())),
        Change::Yaml(edit) => set(&mut wanted, keys, &value(&edit.value).unwrap_or(Value::Nothing)),
        Change::Item(edit) => {
            insert(&mut wanted, keys, &value(&edit.value).unwrap_or(Value::Nothing))
        }
        Change::Gone(_) => {}
    }
    let (start, end) = (patch.bytes.start, patch.bytes.end);
    let new = format!("{}{}{}", &body[..start], patch.text, &body[end..]);
    verified(mark, new, &wanted, path)
}

fn verified(
    mark: &str,
    new: String,
    wanted: &Node,
    path: impl Fn() -> String,
) -> Result<String, EditError> {
    match tree::parse(&Source::new("", new.clone())) {
        Ok(read) if same(&read, wanted) => Ok(format!("{mark}{new}")),
        _ => Err(EditError::NotAlone { path: path() }),
    }
}

/// What a text in one line is as YAML.
fn value(yaml: &str) -> Option<Value> {
    if yaml.contains(['\n', '\r']) {
        return None;
    }
    // As it will stand: after a key, in braces.
    let text = format!("{{ x: {yaml} }}");
    let root = tree::parse(&Source::new("", text)).ok()?;
    match root.value {
        Value::Map(entries) => match <[Entry; 1]>::try_from(entries) {
            Ok([Entry { node, .. }]) => Some(node.value),
            Err(_) => None,
        },
        _ => None,
    }
}

/// A value put in place of the old one, or with its key where there is none yet.
pub(super) fn put(
    root: &Node,
    source: &Source,
    keys: &[String],
    given: &str,
    value: Option<&Value>,
) -> Option<Patch> {
    let written = |old: Option<char>| match value {
        Some(_) => given.trim().to_owned(),
        None => quoted(given, old),
    };
    let known = keys.iter().scan(root, |node, key| {
        *node = step(node, key)?;
        Some(*node)
    });
    let known: Vec<&Node> = known.collect();
    let parent = known.last().copied().unwrap_or(root);
    if known.len() == keys.len() {
        let bytes = parent.at.range().start..end(parent, source)?;
        let first = source.text.get(bytes.clone())?.chars().next();
        let text = match first {
            None => format!(" {}", written(None)), // `key:` without a value
            Some(_) => written(first),
        };
        return Some(Patch { bytes, text });
    }
    let missing = &keys[known.len()..];
    let (first, inner) = missing.split_first()?;
    let nested = inner.iter().rev();
    let value =
        nested.fold(written(None), |value, key| format!("{{ {}: {value} }}", quoted(key, None)));
    let entry = format!("{}: {value}", quoted(first, None));
    // A new section stands on lines of its own, an item of it on each.
    let block = match inner {
        [tag, ..] if known.is_empty() => {
            let of = nested_below(inner, &written(None));
            format!("{}:\n  {}: {of}", quoted(first, None), quoted(tag, None))
        }
        _ => entry.clone(),
    };
    if parent.value == Value::Nothing {
        // `key:` without a value: behind its colon, for a section on a line below.
        let above = known.len().checked_sub(2).map_or(root, |index| known[index]);
        let key = above.get(keys.get(known.len().checked_sub(1)?)?)?.key_at.range().end;
        let at = key + source.text.get(key..)?.find(':')? + 1;
        let (at, text) = match known.len() {
            1 => {
                let below = source.line(source.position(at).0).end;
                let ends_in_return = source.text[..below].ends_with('\r');
                let (at, newline) =
                    if ends_in_return { (below - 1, "\r\n") } else { (below, "\n") };
                (at, format!("{newline}  {block}"))
            }
            _ => (at, format!(" {{ {entry} }}")),
        };
        return Some(Patch { bytes: at..at, text });
    }
    within(parent, source, &entry, &block)
}

/// The value below the tag of a new section.
fn nested_below(inner: &[String], value: &str) -> String {
    inner
        .iter()
        .skip(1)
        .rev()
        .fold(value.to_owned(), |value, key| format!("{{ {}: {value} }}", quoted(key, None)))
}

/// An entry added at the end of a mapping: in braces as `entry`, on lines of their own as `block`.
pub(super) fn within(parent: &Node, source: &Source, entry: &str, block: &str) -> Option<Patch> {
    let start = parent.at.range().start;
    let opens = |c| source.text.as_bytes().get(start) == Some(&c);
    let Value::Map(entries) = &parent.value else { return None };
    let (Some(first), Some(last)) = (entries.first(), entries.last()) else {
        let bytes = start..end(parent, source)?;
        return opens(b'{').then(|| Patch { bytes, text: format!("{{ {entry} }}") });
    };
    let after = entry_end(last, source)?;
    if opens(b'{') {
        return Some(Patch { bytes: after..after, text: format!(", {entry}") });
    }
    let (indent, at, newline) = below(first.key_at.range().start, after, source)?;
    let text = block.lines().map(|line| format!("{newline}{indent}{line}")).collect();
    Some(Patch { bytes: at..at, text })
}

/// Where a line goes below the one on which `after` stands, how far it is indented as the thing at
/// `first` is, and what ends lines here.
fn below(first: usize, after: usize, source: &Source) -> Option<(String, usize, &'static str)> {
    let line = source.line(source.position(first).0);
    let indent = source.text.get(line.start..first)?;
    if !indent.trim_start_matches([' ', '-']).is_empty() {
        return None;
    }
    let below = source.line(source.position(after).0).end;
    let ends_in_return = source.text[..below].ends_with('\r');
    let (at, newline) = if ends_in_return { (below - 1, "\r\n") } else { (below, "\n") };
    Some((" ".repeat(indent.len()), at, newline))
}

/// An item put into a list.
fn item(root: &Node, source: &Source, keys: &[String], given: &str) -> Option<Patch> {
    let (index, list) = keys.split_last()?;
    let index: usize = index.parse().ok()?;
    let list = list.iter().try_fold(root, |node, key| step(node, key))?;
    let Value::List(items) = &list.value else { return None };
    let start = list.at.range().start;
    let given = given.trim();
    if source.text.as_bytes().get(start) == Some(&b'[') {
        return Some(match (items.get(index), items.last()) {
            (Some(next), _) => {
                let at = next.at.range().start;
                Patch { bytes: at..at, text: format!("{given}, ") }
            }
            (None, Some(last)) => {
                let at = end(last, source)?;
                Patch { bytes: at..at, text: format!(", {given}") }
            }
            (None, None) => Patch { bytes: start..end(list, source)?, text: format!("[{given}]") },
        });
    }
    let (first, last) = (items.first()?, items.last()?);
    match items.get(index) {
        Some(next) => {
            let line = source.line(source.position(next.at.range().start).0);
            let dash = source.text.get(line.clone())?.find('-')?;
            let indent = source.text.get(line.start..line.start + dash)?;
            if !indent.trim().is_empty() {
                return None;
            }
            let newline = if source.text[..line.end].ends_with('\r') { "\r\n" } else { "\n" };
            let text = format!("{indent}- {given}{newline}");
            Some(Patch { bytes: line.start..line.start, text })
        }
        None => {
            let start = first.at.range().start;
            let (indent, at, newline) = below(start, end(last, source)?, source)?;
            let line = source.line(source.position(start).0);
            let dash = source.text.get(line)?.find('-')?;
            let text = format!("{newline}{}- {given}", &indent[..dash.min(indent.len())]);
            Some(Patch { bytes: at..at, text })
        }
    }
}

/// The keys of what goes: a mapping that would be left without an entry goes as a whole, unless it is
/// a section of the file.
fn emptied(root: &Node, keys: &[String]) -> Vec<String> {
    let mut keys = keys.to_vec();
    while keys.len() > 2 {
        let parent = keys[..keys.len() - 1].iter().try_fold(root, |node, key| step(node, key));
        match parent.map(|node| &node.value) {
            Some(Value::Map(entries)) if entries.len() == 1 => keys.pop(),
            _ => break,
        };
    }
    keys
}

/// The bytes of an entry or an item, with what parts it from its neighbours.
fn gone(root: &Node, source: &Source, keys: &[String]) -> Option<Patch> {
    let (last, parents) = keys.split_last()?;
    let parent = parents.iter().try_fold(root, |node, key| step(node, key))?;
    let spans: Vec<(usize, usize)> = match &parent.value {
        Value::Map(entries) => entries
            .iter()
            .map(|entry| Some((entry.key_at.range().start, entry_end(entry, source)?)))
            .collect::<Option<_>>()?,
        Value::List(items) => items
            .iter()
            .map(|item| Some((item.at.range().start, end(item, source)?)))
            .collect::<Option<_>>()?,
        _ => return None,
    };
    let index = match &parent.value {
        Value::Map(entries) => entries.iter().position(|entry| *entry.key == **last)?,
        _ => last.parse().ok().filter(|index| *index < spans.len())?,
    };
    let (start, stop) = spans[index];
    let patch = |from, to| Some(Patch { bytes: from..to, text: String::new() });
    let open = parent.at.range().start;
    if matches!(source.text.as_bytes().get(open), Some(b'{' | b'[')) {
        return match (index.checked_sub(1).map(|before| spans[before]), spans.get(index + 1)) {
            (_, Some(next)) => patch(start, next.0),
            (Some(before), None) => patch(before.1, stop),
            (None, None) => patch(start, source.text[..end(parent, source)?].len() - 1),
        };
    }
    // On lines of its own: nothing but blanks or the dash of an item before it.
    let (first, final_line) = (source.position(start).0, source.position(stop).0);
    let lines = source.line(first).start..source.line(final_line).end;
    let before = source.text.get(lines.start..start)?;
    let item = matches!(parent.value, Value::List(_));
    let lone = if item {
        before.trim().trim_start_matches('-').is_empty()
    } else {
        before.trim().is_empty()
    };
    if !lone {
        return None;
    }
    // The line's end goes too: that below, or at the end of the file the one above.
    let to = (lines.end + 1).min(source.text.len());
    patch(lines.start, to)
}

/// Makes the same change in the tree.
pub(super) fn set(node: &mut Node, keys: &[String], value: &Value) {
    let Some((key, rest)) = keys.split_first() else {
        node.value = value.clone();
        return;
    };
    if node.value == Value::Nothing {
        node.value = Value::Map(Vec::new());
    }
    match &mut node.value {
        Value::List(items) => {
            if let Some(item) = key.parse().ok().and_then(|index: usize| items.get_mut(index)) {
                set(item, rest, value);
            }
        }
        Value::Map(entries) => {
            if let Some(entry) = entries.iter_mut().find(|entry| *entry.key == **key) {
                return set(&mut entry.node, rest, value);
            }
            let mut new = Node { at: node.at, value: Value::Nothing };
            set(&mut new, rest, value);
            entries.push(Entry { key: (&**key).into(), key_at: node.at, node: new });
        }
        _ => {}
    }
}

fn insert(node: &mut Node, keys: &[String], value: &Value) {
    let Some((key, rest)) = keys.split_first() else { return };
    match &mut node.value {
        Value::List(items) if rest.is_empty() => {
            let index = key.parse().unwrap_or(items.len()).min(items.len());
            items.insert(index, Node { at: node.at, value: value.clone() });
        }
        Value::List(items) => {
            if let Some(item) = key.parse().ok().and_then(|index: usize| items.get_mut(index)) {
                insert(item, rest, value);
            }
        }
        Value::Map(entries) => {
            if let Some(entry) = entries.iter_mut().find(|entry| *entry.key == **key) {
                insert(&mut entry.node, rest, value);
            }
        }
        _ => {}
    }
}

fn take(node: &mut Node, keys: &[String], source: &Source) {
    let Some((key, rest)) = keys.split_first() else { return };
    let left = match &mut node.value {
        Value::List(items) => {
            let Ok(index) = key.parse::<usize>() else { return };
            if rest.is_empty() && index < items.len() {
                items.remove(index);
            } else if let Some(item) = items.get_mut(index) {
                take(item, rest, source);
            }
            items.len()
        }
        Value::Map(entries) => {
            if rest.is_empty() {
                entries.retain(|entry| *entry.key != **key);
            } else if let Some(entry) = entries.iter_mut().find(|entry| *entry.key == **key) {
                take(&mut entry.node, rest, source);
            }
            entries.len()
        }
        _ => return,
    };
    // On lines of its own what holds nothing is nothing; in braces it stays a mapping or a list.
    let open = source.text.as_bytes().get(node.at.range().start);
    if left == 0 && !matches!(open, Some(b'{' | b'[')) {
        node.value = Value::Nothing;
    }
}
