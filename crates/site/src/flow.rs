//! Mappings in braces, as they are written into a file.

use crate::edit::quoted;

/// No line that is written here is longer, in characters.
const WIDTH: usize = 80;

/// A mapping in braces, broken into lines that line up behind `column` characters.
pub(crate) fn flow(depths: &[(String, String)], column: usize) -> String {
    let indent = if column > WIDTH / 2 { 4 } else { column + 2 };
    let mut out = "{ ".to_owned();
    let mut used = column + 2;
    for (index, (key, value)) in depths.iter().enumerate() {
        let item = format!("{}: {}", quoted(key, None), quoted(value, None));
        let more = if index + 1 < depths.len() { "," } else { " }" };
        if index > 0 && used + 1 + item.len() + more.len() > WIDTH {
            out.push_str(&format!("\n{}", " ".repeat(indent)));
            used = indent;
        } else if index > 0 {
            out.push(' ');
            used += 1;
        }
        used += item.len() + more.len();
        out.push_str(&format!("{item}{more}"));
    }
    out
}

pub(crate) fn json_text(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        if matches!(c, '"' | '\\') {
            out.push('\\');
        }
        out.push(c);
    }
    out + "\""
}

pub(crate) fn json_map(entries: &[(&str, &str)]) -> String {
    let entry = |(key, value): &(&str, &str)| format!("{}: {}", json_text(key), json_text(value));
    let entries: Vec<String> = entries.iter().map(entry).collect();
    format!("{{{}}}", entries.join(", "))
}
