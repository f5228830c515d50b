//! The embedded font: which characters it has, how wide each is, and its bytes.

use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider};
use std::sync::OnceLock;

const BOOK: &[u8] = include_bytes!("../../fonts/DejaVuSansCondensed.ttf");
const BOLD: &[u8] = include_bytes!("../../fonts/DejaVuSansCondensed-Bold.ttf");

/// Stands where the font lacks a character.
const MISSING: char = '\u{FFFD}';

/// The two weights that the sheets use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Text.
    Book,
    /// Headings, tags and what matters.
    Bold,
}

/// One glyph of a laid-out line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glyph {
    /// Its number in the font.
    pub id: u32,
    /// Its width, as a fraction of the text size.
    pub advance_em: f64,
}

/// A weight's characters and widths.
pub struct Face {
    /// By character, in ascending order.
    glyphs: Vec<(char, Glyph)>,
}

/// The face of a weight.
pub fn face(weight: Weight) -> &'static Face {
    static FACES: [OnceLock<Face>; 2] = [OnceLock::new(), OnceLock::new()];
    match weight {
        Weight::Book => FACES[0].get_or_init(|| Face::read(BOOK)),
        Weight::Bold => FACES[1].get_or_init(|| Face::read(BOLD)),
    }
}

/// The font file of a weight.
pub fn file(weight: Weight) -> &'static [u8] {
    match weight {
        Weight::Book => BOOK,
        Weight::Bold => BOLD,
    }
}

impl Face {
    /// Width of a line, as a multiple of the text size.
    pub fn width_em(&self, text: &str) -> f64 {
        text.chars().map(|c| self.glyph(c).advance_em).sum()
    }

    /// Whether the font has a character.
    pub fn has(&self, c: char) -> bool {
        self.glyphs.binary_search_by_key(&c, |g| g.0).is_ok()
    }

    /// The glyph of a character; the replacement sign's where the font lacks it.
    pub fn glyph(&self, c: char) -> Glyph {
        let find = |c: char| self.glyphs.binary_search_by_key(&c, |g| g.0).ok();
        match find(c).or_else(|| find(MISSING)) {
            Some(index) => self.glyphs[index].1,
            None => Glyph { id: 0, advance_em: 1.0 },
        }
    }

    /// An unreadable file gives a face that lacks every character; a test holds that it is not.
    fn read(file: &'static [u8]) -> Self {
        let Ok(font) = FontRef::new(file) else { return Self { glyphs: Vec::new() } };
        let metrics = font.glyph_metrics(Size::unscaled(), LocationRef::default());
        let em = f64::from(font.metrics(Size::unscaled(), LocationRef::default()).units_per_em);
        let mut glyphs: Vec<(char, Glyph)> = font
            .charmap()
            .mappings()
            .filter_map(|(code, id)| {
                let advance_em = f64::from(metrics.advance_width(id)?) / em;
                Some((char::from_u32(code)?, Glyph { id: id.to_u32(), advance_em }))
            })
            .collect();
        glyphs.sort_by_key(|g| g.0);
        glyphs.dedup_by_key(|g| g.0);
        Self { glyphs }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Widths from the `hmtx` table of the font files, read with fontTools 4: 1172, 585 and
    /// 1401 of 2048 units (digits, full stop, capital A in bold).
    #[test]
    fn widths_are_those_of_the_file() {
        let book = face(Weight::Book);
        for digit in '0'..='9' {
            assert!((book.glyph(digit).advance_em - 1172.0 / 2048.0).abs() < 1e-12);
        }
        assert!((book.width_em("1.0") - (2.0 * 1172.0 + 585.0) / 2048.0).abs() < 1e-12);
    }

    #[test]
    fn has_the_signs_that_the_sheets_write() {
        for weight in [Weight::Book, Weight::Bold] {
            for sign in "−–≤≥√νρεΣ·×²³½°→±½¼′″✓□∆".chars() {
                assert_ne!(face(weight).glyph(sign).id, face(weight).glyph(MISSING).id, "{sign}");
            }
        }
    }
}
