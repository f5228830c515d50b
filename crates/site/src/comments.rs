//! The comments of a file's text: the tree has none, and nothing that is edited may lose one.

use crate::source::Span;
use crate::tree::{Node, Value};

/// The comments of a text, each from its sign to the end of its line.
pub(crate) fn comments<'t>(text: &'t str, root: &Node) -> impl Iterator<Item = &'t str> {
    comments_in(text, root, 0, text.len())
}

/// Those that start between two places. A sign inside a key or a value starts none.
pub(crate) fn comments_in<'t>(
    text: &'t str,
    root: &Node,
    from: usize,
    to: usize,
) -> impl Iterator<Item = &'t str> {
    let mut scalars = Vec::new();
    gather(root, &mut scalars);
    scalars.sort_unstable();
    let mut found = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let sign = line.char_indices().map(|(at, c)| (start + at, c)).find(|(at, c)| {
            let opens = *at == start || text[..*at].ends_with([' ', '\t']);
            *c == '#' && opens && !covered(&scalars, *at)
        });
        if let Some((at, _)) = sign
            && (from..to).contains(&at)
        {
            found.push(text[at..start + line.len()].trim_end());
        }
        start += line.len();
    }
    found.into_iter()
}

fn gather(node: &Node, scalars: &mut Vec<(usize, usize)>) {
    let mut add = |span: Span| scalars.push((span.range().start, span.range().end));
    match &node.value {
        Value::Text(_) | Value::Plain => add(node.at),
        Value::Nothing => {}
        Value::List(items) => items.iter().for_each(|item| gather(item, scalars)),
        Value::Map(entries) => {
            for entry in entries {
                scalars.push((entry.key_at.range().start, entry.key_at.range().end));
                gather(&entry.node, scalars);
            }
        }
    }
}

fn covered(scalars: &[(usize, usize)], at: usize) -> bool {
    let after = scalars.partition_point(|(start, _)| *start <= at);
    scalars[..after].iter().rev().take(4).any(|(_, end)| at < *end)
}
