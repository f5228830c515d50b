//! Faults of the YAML itself, in plain words.

use crate::diagnostic::{Code, Diagnostic};
use crate::source::{Source, Span};
use serde_saphyr::Error;

/// Words of the YAML reader, and what it reads the file for instead.
const HINTS: &[(&str, &str)] = &[
    ("mapping values are not allowed", "quotes round a text with `: ` in it, or another indent"),
    ("trailing content after", "single quotes round the whole text, as in '4\" pipe'"),
    ("tabs disallowed", "spaces to indent with"),
    ("cannot start any token", "spaces to indent with, and no special signs outside quotes"),
    ("simple key", "a colon and a space after a key"),
    ("expected string scalar", "a key that is a single text"),
    ("unexpected character", "a text file without control characters"),
    ("multiple YAML documents", "one document: no line `---` after the first"),
    ("unknown anchor", "an anchor (`&name`) before its use (`*name`)"),
    ("expected ',' or '}'", "a comma between keys, and a closing brace"),
    ("expected ',' or ']'", "a comma between items, and a closing bracket"),
];

/// The YAML reader's error as a diagnostic.
pub(crate) fn fault(source: &Source, error: &Error) -> Diagnostic {
    let at = error.location().map_or(Span::NOWHERE, |location| {
        let number = |n: u64| usize::try_from(n).unwrap_or(1);
        Span::new(source.byte(number(location.line()), number(location.column())), 0)
    });
    let text = error.to_string();
    let text = text.lines().next().unwrap_or_default();
    if let Some(limit) = limit(text) {
        return Diagnostic::new(Code::Limit, at, limit)
            .expected("a site file, which needs far less");
    }
    let plain = text.rfind(" at line ").map_or(text, |end| &text[..end]);
    let message = match error.without_snippet() {
        Error::MultipleDocuments { .. } => "this file holds more than one YAML document".to_owned(),
        _ if plain.starts_with("invalid ") && plain.len() < 30 => {
            "the YAML tag (`!!`) here does not fit its value".to_owned()
        }
        _ => format!("this is not valid YAML: {}", crate::clean_text(plain)),
    };
    let hint = HINTS.iter().find(|(words, _)| plain.contains(words)).map_or("", |hint| hint.1);
    Diagnostic::new(Code::Syntax, at, message).expected(hint)
}

/// What a breached bound of the reader says, in words.
fn limit(text: &str) -> Option<String> {
    let has = |words: &[&str]| words.iter().any(|word| text.contains(word));
    if !has(&["budget breached", "limit exceeded", "recursive references"]) {
        return None;
    }
    Some(if has(&["Depth", "recursion limit"]) {
        format!("this file nests deeper than {} levels", crate::tree::DEEPEST)
    } else if has(&["lias", "nchor", "Merge", "recursive"]) {
        "this file repeats itself through anchors (`&`, `*`, `<<`) too often".to_owned()
    } else {
        format!("this file holds more than {} values", crate::tree::MOST_NODES)
    })
}
