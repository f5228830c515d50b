//! The text of a site file, and where a byte of it stands.

use std::ops::Range;

/// A site file's name and text.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Source {
    pub(crate) name: String,
    pub(crate) text: String,
    line_starts: Vec<u32>,
}

/// Bytes of a source: a start and a length, which fit as files are capped at 64 MB.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Span {
    start: u32,
    length: u32,
}

impl Span {
    pub(crate) const NOWHERE: Self = Self { start: 0, length: 0 };

    pub(crate) fn new(start: usize, length: usize) -> Self {
        let fit = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Self { start: fit(start), length: fit(length) }
    }

    pub(crate) fn range(self) -> Range<usize> {
        self.start as usize..self.start as usize + self.length as usize
    }
}

impl Source {
    pub(crate) fn new(name: &str, text: String) -> Self {
        let ends = text.bytes().enumerate().filter(|(_, b)| *b == b'\n');
        let line_starts =
            std::iter::once(0).chain(ends.map(|(at, _)| Span::new(at + 1, 0).start)).collect();
        Self { name: crate::clean_text(name).into_owned(), text, line_starts }
    }

    /// The text of a span; empty where the span lies outside or cuts a character.
    pub(crate) fn slice(&self, span: Span) -> &str {
        self.text.get(span.range()).unwrap_or_default()
    }

    /// The line (from 1) and the character in it (from 1) of a byte.
    pub(crate) fn position(&self, byte: usize) -> (usize, usize) {
        let line = self.line_of(byte);
        let start = self.line_start(line);
        let before = self.text.get(start..byte.min(self.text.len())).unwrap_or_default();
        (line, before.chars().count() + 1)
    }

    /// The bytes of a line (from 1), its end excluded.
    pub(crate) fn line(&self, line: usize) -> Range<usize> {
        let start = self.line_start(line);
        let end = match self.line_starts.get(line) {
            Some(next) => *next as usize - 1,
            None => self.text.len(),
        };
        start..end.max(start)
    }

    /// The byte of a line and a character in it, both from 1, as a parser counts them.
    pub(crate) fn byte(&self, line: usize, column: usize) -> usize {
        let range = self.line(line.clamp(1, self.line_starts.len()));
        let text = &self.text[range.clone()];
        let within = text.char_indices().nth(column.saturating_sub(1)).map_or(text.len(), |c| c.0);
        range.start + within
    }

    fn line_of(&self, byte: usize) -> usize {
        self.line_starts.partition_point(|start| *start as usize <= byte).max(1)
    }

    fn line_start(&self, line: usize) -> usize {
        self.line_starts.get(line - 1).map_or(self.text.len(), |start| *start as usize)
    }
}
