//! Text broken into lines that fit a page 80 columns wide.

use unicode_width::UnicodeWidthStr;

/// No line of a report is wider.
pub(crate) const WIDTH: usize = 80;

/// How many columns a text takes on a terminal.
pub(crate) fn width(text: &str) -> usize {
    text.width()
}

/// Breaks `text` between words; lines after the first start with `indent` spaces, and the
/// first leaves room for `taken` columns. A word wider than a line is broken where it must be.
pub(crate) fn wrap(text: &str, taken: usize, indent: usize) -> String {
    let whole = WIDTH.saturating_sub(indent);
    let mut room = WIDTH.saturating_sub(taken);
    let (mut lines, mut line) = (Vec::new(), String::new());
    for word in text.split_whitespace() {
        let space = if line.is_empty() { "" } else { " " };
        if width(&line) + space.len() + width(word) <= room {
            line.push_str(space);
            line.push_str(word);
            continue;
        }
        if !line.is_empty() || room < whole {
            lines.push(std::mem::take(&mut line));
            room = whole;
        }
        for letter in word.chars() {
            line.push(letter);
            if width(&line) > room && line.chars().nth(1).is_some() {
                line.pop();
                lines.push(std::mem::replace(&mut line, letter.to_string()));
                room = whole;
            }
        }
    }
    lines.push(line);
    lines.join(&format!("\n{}", " ".repeat(indent)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_the_page() {
        let text = "some words and one that is very long: ".repeat(9) + &"x".repeat(200);
        for line in wrap(&text, 10, 6).lines() {
            assert!(width(line) <= WIDTH, "{line}");
        }
        // A sign of two characters is wider than these are one by one.
        for signs in ["\u{260E}\u{FE0F} ".repeat(60), "\u{260E}\u{FE0F}".repeat(90)] {
            assert!(wrap(&signs, 0, 0).lines().all(|line| width(line) <= WIDTH));
        }
        assert_eq!(wrap("one two", 0, 2), "one two");
        assert_eq!(wrap("one two", 76, 2), "one\n  two");
    }
}
