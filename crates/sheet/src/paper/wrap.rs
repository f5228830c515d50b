//! Text broken into lines of a measured width.

use crate::draw::font::Weight;
use crate::draw::text_width_pt;

/// The text in lines no wider than `width_pt`; a word that is wider is broken.
pub(crate) fn wrap(text: &str, size_pt: f64, weight: Weight, width_pt: f64) -> Vec<String> {
    let width = |text: &str| text_width_pt(text, size_pt, weight);
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        // A word that fits no line may part after a hyphen, or anywhere at the last.
        let parts: Vec<&str> =
            if width(word) > width_pt { word.split_inclusive('-').collect() } else { vec![word] };
        for (index, part) in parts.into_iter().enumerate() {
            let space = if line.is_empty() || index > 0 { "" } else { " " };
            let longer = format!("{line}{space}{part}");
            if width(&longer) <= width_pt {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for c in part.chars() {
                line.push(c);
                if width(&line) > width_pt && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, c.to_string()));
                }
            }
        }
    }
    lines.push(line);
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_fits_and_nothing_is_lost() {
        let text =
            "Levels are above the datum; a-very-long-unbroken-word-that-cannot-fit-anywhere stays.";
        let lines = wrap(text, 8.0, Weight::Book, 60.0);
        assert!(lines.iter().all(|l| text_width_pt(l, 8.0, Weight::Book) <= 60.0));
        let joined: String = lines.concat().replace(' ', "");
        assert_eq!(joined, text.replace(' ', ""));
    }
}
