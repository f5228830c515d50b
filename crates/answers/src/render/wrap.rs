//! Text broken into lines that fit a page 80 columns wide.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// No line of a report is wider.
pub(crate) const WIDTH: usize = 80;

/// How many columns a text takes on a terminal.
pub(crate) fn width(text: &str) -> usize {
    text.width()
}

/// Breaks `text` between words; lines after the first start with `indent` spaces, and the
/// first leaves room for `taken` columns. A word wider than a line is broken where it must be.
pub(crate) fn wrap(text: &str, taken: usize, indent: usize) -> String {
    let mut out = String::new();
    let mut column = taken;
    let mut at_start = true;
    for word in text.split_whitespace() {
        let space = usize::from(!at_start);
        if column + space + width(word) > WIDTH && column > indent {
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            column = indent;
        } else if space == 1 {
            out.push(' ');
            column += 1;
        }
        for letter in word.chars() {
            let wide = letter.width().unwrap_or(0);
            if column + wide > WIDTH {
                out.push('\n');
                out.push_str(&" ".repeat(indent));
                column = indent;
            }
            out.push(letter);
            column += wide;
        }
        at_start = false;
    }
    out
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
        assert_eq!(wrap("one two", 0, 2), "one two");
        assert_eq!(wrap("one two", 76, 2), "one\n  two");
    }
}
