//! Placement of labels in the open drawing: the first free place among a few, or none.

use super::{Rect, Text};

/// What is taken already.
#[derive(Clone, Debug, Default)]
pub(crate) struct Taken {
    boxes: Vec<Rect>,
}

impl Taken {
    /// Keeps a box free of labels.
    pub(crate) fn keep(&mut self, rect: Rect) {
        self.boxes.push(rect);
    }

    /// Takes the first of the texts that overlaps nothing and lies within `frame`.
    pub(crate) fn first_free(
        &mut self,
        frame: Rect,
        candidates: impl IntoIterator<Item = Text>,
    ) -> Option<Text> {
        for text in candidates {
            let bounds = text.bounds();
            if contains(frame, bounds) && !self.boxes.iter().any(|b| b.overlaps(&bounds)) {
                self.boxes.push(with_air(bounds));
                return Some(text);
            }
        }
        None
    }

    /// Takes all of the texts where each of them is free and inside; else none.
    pub(crate) fn all_free(&mut self, frame: Rect, texts: &[Text]) -> bool {
        let before = self.boxes.len();
        for text in texts {
            // Lines of one label stand closer than other labels may.
            let bounds = text.bounds();
            let free = contains(frame, bounds)
                && !self.boxes[..before].iter().any(|b| b.overlaps(&bounds));
            if !free {
                self.boxes.truncate(before);
                return false;
            }
            self.boxes.push(with_air(bounds));
        }
        true
    }
}

/// Words side by side stand as far apart as words in a sentence.
fn with_air(r: Rect) -> Rect {
    const AIR_PT: f64 = 2.0;
    Rect { x: r.x - AIR_PT, w: r.w + 2.0 * AIR_PT, ..r }
}

fn contains(frame: Rect, inner: Rect) -> bool {
    inner.x >= frame.x
        && inner.y >= frame.y
        && inner.x + inner.w <= frame.x + frame.w
        && inner.y + inner.h <= frame.y + frame.h
}
