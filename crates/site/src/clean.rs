//! Text from a file, cleaned of characters that could command a terminal or a drawing program.

use std::borrow::Cow;

/// `text` without control characters: a space for tabs and every kind of line end, U+FFFD for
/// the rest, the marks that turn the writing direction among them.
pub fn clean_text(text: &str) -> Cow<'_, str> {
    if text.chars().any(|c| substitute(c).is_some()) {
        Cow::Owned(text.chars().map(|c| substitute(c).unwrap_or(c)).collect())
    } else {
        Cow::Borrowed(text)
    }
}

/// The same for an excerpt, where every byte must keep its place.
pub(crate) fn keep_width(text: &str) -> String {
    let same_length = |c: char| match (substitute(c), c.len_utf8()) {
        (None, _) => c,
        (Some(' '), 1) => ' ',
        (Some(_), 1) => '?',
        (Some(_), 2) => '·',
        (Some(_), _) => char::REPLACEMENT_CHARACTER,
    };
    text.chars().map(same_length).collect()
}

fn substitute(c: char) -> Option<char> {
    match c {
        '\t' | '\n' | '\r' | '\u{b}' | '\u{c}' | '\u{85}' | '\u{2028}' | '\u{2029}' => Some(' '),
        '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' => Some('\u{fffd}'),
        '\u{2060}'..='\u{2069}' | '\u{feff}' => Some('\u{fffd}'),
        _ if c.is_control() => Some('\u{fffd}'),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::clean_text;

    #[test]
    fn commands_to_a_terminal_become_marks() {
        assert_eq!(clean_text("\u{1b}[31mred"), "\u{fffd}[31mred");
        assert_eq!(clean_text("a\nb\u{85}c\u{2028}d"), "a b c d");
        assert_eq!(clean_text("\u{202e}abc"), "\u{fffd}abc");
        assert_eq!(clean_text("plain é ☂"), "plain é ☂");
    }
}
